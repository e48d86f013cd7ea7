"""A smooth chain of many small arcs as few cubic Béziers.

Arcs meet a bend's changing curvature only to third order and need many nodes for it; a cubic that
keeps both ends and both end tangents meets it to sixth order. Imports numpy inside functions.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from templater.geometry.smooth import start_direction
from templater.model.curves import Arc, Cubic, Line, Point

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]

_SAMPLES = 41
_ROUNDS = 6
_HOPELESS = 15.0
_STRETCH = 1.25
_MOST_TURN_RAD = math.radians(135.0)
_SAFETY = 1.05
"""The error is measured at 41 places and at every joint; between them it can be a little larger."""


def cubics_along(
    chain: Sequence[Line | Arc], tolerance_mm: float
) -> tuple[Line | Arc | Cubic, ...]:
    """Cubics from the chain's start to its end, smoothly joined, within `tolerance_mm` of it.

    The chain's segments must meet without corners. It is given back as it is where cubics would
    not be fewer.
    """
    track = _Track(chain)
    if len(chain) < 2 or track.length <= 4.0 * tolerance_mm:
        return tuple(chain)
    found: list[Cubic] = []
    at, last = 0.0, track.length
    while at < track.length:
        fitted = _longest(track, at, last, tolerance_mm)
        if fitted is None or len(found) + 1 >= len(chain):
            return tuple(chain)
        cubic, end = fitted
        found.append(cubic)
        at, last = end, end - at
    found[-1] = Cubic(found[-1].start, found[-1].control1, found[-1].control2, chain[-1].end)
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Piece:
    cubic: Cubic
    error_mm: float


class _Track:
    """Points and directions along a chain, by distance from its start."""

    def __init__(self, chain: Sequence[Line | Arc]) -> None:
        import numpy as np

        starts, turns, bends, lengths = [], [], [], []
        for segment in chain:
            x, y = start_direction(segment)
            chord = math.dist(segment.start, segment.end)
            sweep = 4.0 * math.atan(segment.bulge) if isinstance(segment, Arc) else 0.0
            length = chord if sweep == 0.0 else chord * (sweep / 2.0) / math.sin(sweep / 2.0)
            starts.append(segment.start)
            turns.append(math.atan2(y, x))
            bends.append(sweep / length if length > 0.0 else 0.0)
            lengths.append(length)
        self._starts = np.asarray(starts)
        self._turns = np.asarray(turns)
        self._bends = np.asarray(bends)
        self._ends = np.cumsum(lengths)
        self._begins = self._ends - np.asarray(lengths)
        self.length = float(self._ends[-1])

    def turned_by(self, start: float, most_rad: float) -> float:
        """How far on from a place the chain has turned by so much, either way, in all."""
        import numpy as np

        sweeps = np.abs(self._bends) * (self._ends - self._begins)
        total = np.cumsum(sweeps)
        first = min(int(np.searchsorted(self._ends, start, side="right")), len(sweeps) - 1)
        before = float(total[first] - abs(self._bends[first]) * (self._ends[first] - start))
        last = int(np.searchsorted(total, before + most_rad))
        return self.length if last >= len(total) else float(self._ends[last])

    def places(self, start: float, end: float) -> Floats:
        """Even places along a stretch, and every joint in it: tight bends have short arcs."""
        import numpy as np

        even = np.linspace(start, end, _SAMPLES)
        joints = self._ends[(self._ends > start) & (self._ends < end)]
        return np.unique(np.concatenate([even, joints]))

    def at(self, distances: Floats) -> tuple[Floats, Floats]:
        """Points and unit directions, one row each."""
        import numpy as np

        index = np.minimum(
            np.searchsorted(self._ends, distances, side="right"), len(self._ends) - 1
        )
        along = distances - self._begins[index]
        turned = self._bends[index] * along
        direction = self._turns[index] + turned
        # A chord leaves at half the turn and is shorter than its arc by sin(x)/x.
        half = turned / 2.0
        reach = along * np.sinc(half / np.pi)
        chord = self._turns[index] + half
        points = self._starts[index] + reach[:, None] * np.stack(
            [np.cos(chord), np.sin(chord)], axis=1
        )
        return points, np.stack([np.cos(direction), np.sin(direction)], axis=1)


def _longest(
    track: _Track, start: float, last: float, tolerance_mm: float
) -> tuple[Cubic, float] | None:
    """The longest cubic found from a place on, and where it ends. None if even short ones fail.

    Begins a little beyond the `last` one's length. The error grows with the sixth power of the
    length, which tells how much to take off or to add.
    """
    end = min(track.turned_by(start, _MOST_TURN_RAD), start + _STRETCH * last, track.length)
    best: tuple[Cubic, float] | None = None
    for _ in range(40):
        piece = _fit(track, start, end, tolerance_mm)
        factor = 0.5
        if piece is not None:
            ratio = tolerance_mm / max(piece.error_mm, 1e-9)
            factor = min(2.0, max(0.4, 0.97 * ratio ** (1.0 / 6.0)))
            if ratio >= 1.0:
                best = piece.cubic, end
                if end >= track.length or factor < _STRETCH:
                    return best
        if best is not None and (piece is None or factor < 1.0):
            return best
        end = min(start + min(factor, 0.95 if best is None else 2.0) * (end - start), track.length)
        if end - start < tolerance_mm:
            return None
    return best


def _fit(track: _Track, start: float, end: float, tolerance_mm: float) -> _Piece | None:
    """The least-squares cubic over a stretch of the track, its ends and directions kept.

    One that is far off after three rounds is not worth more of them.
    """
    import numpy as np

    length = end - start
    places = track.places(start, end)
    points, directions = track.at(places)
    p0, p3, t0, t1 = points[0], points[-1], directions[0], directions[-1]
    u = (places - start) / length
    handles = (length / 3.0, length / 3.0)
    controls = np.stack([p0, p0, p3, p3])
    for number in range(_ROUNDS):
        solved = _handles(points, u, p0, p3, t0, t1)
        if solved is None or not all(0.0 < h < 2.0 * length for h in solved):
            return None
        handles = solved
        controls = np.stack([p0, p0 + handles[0] * t0, p3 - handles[1] * t1, p3])
        u = _nearest(controls, points, u)
        if number == 2 and _error(controls, u, points) > _HOPELESS * tolerance_mm:
            break
    error = _error(controls, u, points)
    corners: list[Point] = [(float(x), float(y)) for x, y in controls]
    return _Piece(Cubic(*corners), error * _SAFETY)


def _error(controls: Floats, u: Floats, points: Floats) -> float:
    import numpy as np

    return float(np.hypot(*(_value(controls, u) - points).T).max())


def _handles(
    points: Floats, u: Floats, p0: Floats, p3: Floats, t0: Floats, t1: Floats
) -> tuple[float, float] | None:
    """Both handle lengths by the normal equations of least squares."""
    v = 1.0 - u
    first, second = 3.0 * v * v * u, 3.0 * v * u * u
    base = (v * v * v + first)[:, None] * p0 + (u * u * u + second)[:, None] * p3
    rest = points - base
    a, c = float((first * first).sum()), float((second * second).sum())
    b = -float((first * second).sum()) * float(t0 @ t1)
    right0 = float((first * (rest @ t0)).sum())
    right1 = -float((second * (rest @ t1)).sum())
    determinant = a * c - b * b
    if abs(determinant) < 1e-12:
        return None
    return ((right0 * c - right1 * b) / determinant, (right1 * a - right0 * b) / determinant)


def _value(controls: Floats, u: Floats) -> Floats:
    v = 1.0 - u
    weights = (v * v * v, 3.0 * v * v * u, 3.0 * v * u * u, u * u * u)
    total: Floats = sum(
        (weight[:, None] * control for weight, control in zip(weights, controls, strict=True)),
        start=0.0 * controls[0] * u[:, None],
    )
    return total


def _nearest(controls: Floats, points: Floats, u: Floats) -> Floats:
    """One Newton step of each parameter towards the point's foot on the cubic; ends stay."""
    import numpy as np

    v = 1.0 - u
    d1 = 3.0 * np.diff(controls, axis=0)
    d2 = 2.0 * np.diff(d1, axis=0)
    away = _value(controls, u) - points
    speed = (v * v)[:, None] * d1[0] + (2.0 * v * u)[:, None] * d1[1] + (u * u)[:, None] * d1[2]
    change = v[:, None] * d2[0] + u[:, None] * d2[1]
    slope = (speed * speed).sum(axis=1) + (away * change).sum(axis=1)
    step = np.where(slope > 0.0, (away * speed).sum(axis=1) / np.where(slope > 0, slope, 1.0), 0.0)
    moved = np.clip(u - np.clip(step, -0.05, 0.05), 0.0, 1.0)
    moved[0], moved[-1] = 0.0, 1.0
    nearest: Floats = moved
    return nearest
