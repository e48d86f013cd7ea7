"""One drawing, written in ever other ways: random groups, transforms, units, copies, path forms.

The drawing is known in mm (x right, y up). A writer invents a page, nests frames, and writes each
shape with the inverse of all frames around it, so a right reader must undo everything.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

import numpy as np

PAGE = (180.0, 140.0)
MM_PER = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "Q": 0.25}

# (layer, closed, start, segments); a segment is ("L", end), ("C", c1, c2, end) or
# ("A", centre, end, anticlockwise): a circular arc in the canonical frame.
SHAPES = (
    (
        "piece front",
        True,
        (10.0, 10.0),
        (("L", (170.0, 10.0)), ("C", (165.0, 60.0), (172.0, 90.0), (150.0, 130.0)),
         ("L", (40.0, 132.0)), ("C", (20.0, 100.0), (25.0, 50.0), (10.0, 10.0))),
    ),
    (
        "zone frond",
        True,
        (60.0, 40.0),
        (("A", (60.0, 60.0), (80.0, 60.0), True), ("L", (80.0, 90.0)),
         ("A", (70.0, 90.0), (60.0, 90.0), True), ("L", (60.0, 40.0))),
    ),
    (
        "zone tip",
        True,
        (100.0, 40.0),
        (("L", (140.0, 45.0)), ("C", (141.0, 60.0), (139.0, 62.0), (138.0, 70.0)),
         ("C", (130.0, 110.0), (110.0, 80.0), (100.0, 75.0)), ("L", (100.0, 40.0))),
    ),
    (
        "clear snap",
        True,
        (37.5, 30.0),
        (("A", (30.0, 30.0), (22.5, 30.0), True), ("A", (30.0, 30.0), (37.5, 30.0), True)),
    ),
    ("seam side", False, (5.0, 5.0), (("L", (60.0, 8.0)), ("C", (90.0, 12.0), (95.0, 0.0), (175.0, 6.0)))),
    (
        "row spine",
        False,
        (20.0, 120.0),
        (("A", (20.0, 100.0), (20.0, 80.0), False), ("L", (50.0, 80.0)), ("L", (50.0, 95.0))),
    ),
)  # fmt: skip


@dataclass(frozen=True)
class Frame:
    """An affine map as a 3 × 3 matrix, and the way it is written."""

    matrix: np.ndarray

    def inverse(self) -> np.ndarray:
        return np.linalg.inv(self.matrix)


def num(value: float, rng: random.Random) -> str:
    """A number in one of the forms that editors write."""
    forms = [repr(float(value)), f"{value:.13g}", f"{value:.13e}", f"{value:+.12f}"]
    text = rng.choice(forms)
    if rng.random() < 0.3 and text.startswith(("0.", "-0.")):
        text = text.replace("0.", ".", 1)
    return text


def mat(a, b, c, d, e, f) -> np.ndarray:
    return np.array([[a, c, e], [b, d, f], [0.0, 0.0, 1.0]])


def random_transform(rng: random.Random, *, css: bool) -> tuple[np.ndarray, str]:
    """A well-conditioned transform of one to three functions and its text."""
    matrix, words = np.eye(3), []
    for _ in range(rng.randint(1, 3)):
        kind = rng.choice(["matrix", "translate", "scale", "rotate", "rotate3", "skewX", "skewY"])
        if css and kind == "rotate3":
            kind = "rotate"
        n = lambda v: num(v, rng)  # noqa: E731 a short name for a long list of formats
        sep = "," if css else rng.choice([",", " ", " , "])
        if kind == "translate":
            x, y = rng.uniform(-200, 200), rng.uniform(-200, 200)
            unit = "px" if css else ""
            one, text = mat(1, 0, 0, 1, x, y), f"translate({n(x)}{unit}{sep}{n(y)}{unit})"
        elif kind == "scale":
            x, y = rng.choice([-1, 1]) * rng.uniform(0.4, 2.5), rng.uniform(0.4, 2.5)
            if rng.random() < 0.5:
                one, text = mat(x, 0, 0, x, 0, 0), f"scale({n(x)})"
            else:
                one, text = mat(x, 0, 0, y, 0, 0), f"scale({n(x)}{sep}{n(y)})"
        elif kind.startswith("rotate"):
            turn = rng.choice([90.0, -180.0, rng.uniform(-360, 360)])
            cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
            one, text = mat(cos, sin, -sin, cos, 0, 0), f"rotate({n(turn)}{'deg' if css else ''})"
            if kind == "rotate3":
                x, y = rng.uniform(-50, 50), rng.uniform(-50, 50)
                one = mat(1, 0, 0, 1, x, y) @ one @ mat(1, 0, 0, 1, -x, -y)
                text = f"rotate({n(turn)}{sep}{n(x)}{sep}{n(y)})"
        elif kind.startswith("skew"):
            turn = rng.uniform(-35, 35)
            slope = math.tan(math.radians(turn))
            one = mat(1, 0, slope, 1, 0, 0) if kind == "skewX" else mat(1, slope, 0, 1, 0, 0)
            text = f"{kind}({n(turn)}{'deg' if css else ''})"
        else:
            values = [rng.uniform(0.5, 1.5), rng.uniform(-0.4, 0.4), rng.uniform(-0.4, 0.4)]
            values += [rng.choice([-1, 1]) * rng.uniform(0.5, 1.5)]
            values += [rng.uniform(-90, 90), rng.uniform(-90, 90)]
            one, text = mat(*values), f"matrix({sep.join(n(v) for v in values)})"
        matrix = matrix @ one
        words.append(text)
    return matrix, (" " if css else rng.choice([" ", ",", ""])).join(words)


def at(matrix: np.ndarray, point) -> tuple[float, float]:
    x, y, _ = matrix @ np.array([point[0], point[1], 1.0])
    return float(x), float(y)


def path_data(shape, inverse: np.ndarray, rng: random.Random) -> str:
    """Path data of a shape under the inverse of its frames, in random forms."""
    _, closed, start, segments = shape
    x, y = at(inverse, start)
    words = [f"{rng.choice('Mm')}{num(x, rng)},{num(y, rng)}"]
    last = ""
    for i, (kind, *points) in enumerate(segments):
        ends_shape = closed and i == len(segments) - 1
        if kind == "L" and ends_shape and rng.random() < 0.7:
            break  # the closing command draws this line
        relative = rng.random() < 0.5
        ex, ey = at(inverse, points[-2] if kind == "A" else points[-1])

        def pair(px: float, py: float, base=(x, y), relative=relative) -> str:
            if relative:
                px, py = px - base[0], py - base[1]
            return f"{num(px, rng)}{rng.choice([' ', ','])}{num(py, rng)}"

        letter = kind.lower() if relative else kind
        if kind == "A":
            centre, _, anticlockwise = points
            text = _arc(shape, i, centre, inverse, anticlockwise, rng) + pair(ex, ey)
        else:
            text = " ".join(pair(*at(inverse, p)) for p in points)
        omit = letter == last and rng.random() < 0.5
        words.append((" " if omit else letter) + text)
        last = letter
        x, y = ex, ey
    if (closed and rng.random() < 0.8) or words[-1:] == words[:1]:
        words.append(rng.choice("zZ"))
    elif closed and len(words) <= len(segments):
        words.append("z")
    return "".join(words)


def _arc(shape, index: int, centre, inverse: np.ndarray, anticlockwise: bool, rng) -> str:
    """Radii, turn and flags of a circle's arc seen through an affine map."""
    start = shape[2] if index == 0 else _end(shape[3][index - 1])
    end = _end(shape[3][index])
    radius = math.dist(centre, start)
    u, sizes, _ = np.linalg.svd(inverse[:2, :2])
    turn = math.degrees(math.atan2(u[1, 0], u[0, 0]))
    first = math.atan2(start[1] - centre[1], start[0] - centre[0])
    last = math.atan2(end[1] - centre[1], end[0] - centre[0])
    span = (last - first) % (2 * math.pi) if anticlockwise else (first - last) % (2 * math.pi)
    large = int(span > math.pi + 1e-9)
    # In a y-down frame that does not mirror, increasing angles sweep with flag 1.
    flag = int(anticlockwise == (np.linalg.det(inverse[:2, :2]) > 0))
    rx, ry = sizes[0] * radius, sizes[1] * radius
    flags = rng.choice([f"{large}{flag}", f"{large} {flag} ", f"{large},{flag},"])
    return f"{num(rx, rng)} {num(ry, rng)} {num(turn, rng)} {flags}"


def _end(segment):
    return segment[-2] if segment[0] == "A" else segment[-1]


def sample(shape, count: int = 300) -> list[tuple[float, float]]:
    """Points on the true curve, in order."""
    _, _, start, segments = shape
    points, x0 = [start], start
    for kind, *p in segments:
        for i in range(1, count + 1):
            t = i / count
            if kind == "L":
                point = (x0[0] + t * (p[0][0] - x0[0]), x0[1] + t * (p[0][1] - x0[1]))
                if i < count:
                    continue
            elif kind == "C":
                u = 1 - t
                weights = (u**3, 3 * u * u * t, 3 * u * t * t, t**3)
                point = tuple(
                    sum(w * q[k] for w, q in zip(weights, (x0, *p), strict=True)) for k in (0, 1)
                )
            else:
                centre, end, anticlockwise = p
                radius = math.dist(centre, x0)
                first = math.atan2(x0[1] - centre[1], x0[0] - centre[0])
                last = math.atan2(end[1] - centre[1], end[0] - centre[0])
                span = (last - first) % (2 * math.pi)
                if not anticlockwise:
                    span -= 2 * math.pi
                angle = first + span * t
                point = (
                    centre[0] + radius * math.cos(angle),
                    centre[1] + radius * math.sin(angle),
                )
            points.append(point)
        x0 = p[-2] if kind == "A" else p[-1]
    return points


def write(seed: int) -> tuple[str, str | None]:
    """The drawing as SVG text in random form, and the `unit` to read it with (or None)."""
    rng = random.Random(seed)
    unit = rng.choice([*MM_PER, "asked"])
    scale = rng.choice([1.0, rng.uniform(0.1, 12.0)])  # mm for one user unit of the viewBox
    x0, y0 = rng.choice([(0.0, 0.0), (rng.uniform(-500, 500), rng.uniform(-500, 500))])
    width, height = PAGE[0] / scale, PAGE[1] / scale
    n = lambda v: repr(float(v))  # noqa: E731 as above
    asked = None
    head = f'viewBox="{n(x0)} {n(y0)} {n(width)} {n(height)}"'
    if unit == "asked":
        asked, scale_mm = rng.choice([("mm", 1.0), ("px90", 25.4 / 90), ("in", 25.4)])
        scale = scale_mm
        width, height = PAGE[0] / scale, PAGE[1] / scale
        head = f'viewBox="{n(x0)},{n(y0)},{n(width)},{n(height)}" width="{n(width)}"'
    else:
        size = f'width="{n(PAGE[0] / MM_PER[unit])}{unit}"'
        if rng.random() < 0.7:
            size += f' height="{n(PAGE[1] / MM_PER[unit])}{unit}"'
        head = f"{size} {head}"
    # Canonical mm to the user units of the page: y turned over.
    page = mat(1 / scale, 0, 0, -1 / scale, x0, y0 + height)
    defs: list[str] = []
    body: list[str] = []
    for index, shape in enumerate(SHAPES):
        body.append(_placed(shape, index, page, rng, defs))
    inner = "\n".join(body)
    definitions = f"<defs>{''.join(defs)}</defs>"
    inner = inner + definitions if rng.random() < 0.5 else definitions + inner
    text = (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
        f' xmlns:ed="urn:editor" {head}>{inner}</svg>'
    )
    return text, asked


def _placed(shape, index: int, page: np.ndarray, rng: random.Random, defs: list[str]) -> str:
    """One shape in its own nest of frames, directly or as a copy."""
    name = shape[0]
    opened, closing = [], []
    frames = np.eye(3)
    label = rng.choice(["label", "data-name", "id"])
    shown = name if label != "id" else name.replace(" ", rng.choice(["_x20_", "_", "-"]))
    attribute = {"label": "ed:label", "data-name": "data-name", "id": "id"}[label]
    opened.append(f'<g {attribute}="{shown}" fill="none" stroke="#000">')
    closing.append("</g>")
    for depth in range(rng.randint(0, 4)):
        css = rng.random() < 0.3
        matrix, text = random_transform(rng, css=css)
        frames = frames @ matrix
        written = f'style="transform: {text}"' if css else f'transform="{text}"'
        opened.append(f'<g {written} id="g{index}{depth}7">')
        closing.append("</g>")
    if rng.random() < 0.3:
        w, h, k = rng.uniform(50, 300), rng.uniform(50, 300), rng.uniform(0.3, 3.0)
        x, y = rng.uniform(-50, 50), rng.uniform(-50, 50)
        bx, by = rng.uniform(-50, 50), rng.uniform(-50, 50)
        frames = frames @ mat(k, 0, 0, k, x - bx * k, y - by * k)
        opened.append(
            f'<svg x="{x!r}" y="{y!r}" width="{w * k!r}" height="{h * k!r}" overflow="visible"'
            f' viewBox="{bx!r} {by!r} {w!r} {h!r}">'
        )
        closing.append("</svg>")
    copied = rng.choice(["", "path", "g", "symbol"])
    own = ""
    if rng.random() < 0.5:
        matrix, text = random_transform(rng, css=False)
        own = f' transform="{text}"'
        frames = frames @ matrix
    if copied:
        x, y = rng.uniform(-50, 50), rng.uniform(-50, 50)
        frames = frames @ mat(1, 0, 0, 1, x, y)
        inverse = np.linalg.inv(frames) @ page
        data = path_data(shape, inverse, rng)
        path = f'<path d="{data}"/>'
        if copied == "path":
            defs.append(f'<path id="d{index}" d="{data}"/>')
        elif copied == "g":
            defs.append(f'<g id="d{index}">{path}</g>')
        else:
            defs.append(f'<symbol id="d{index}" overflow="visible">{path}</symbol>')
        href = rng.choice(["href", "xlink:href"])
        drawn = f'<use {href}="#d{index}" x="{x!r}" y="{y!r}"{own}/>'
    else:
        inverse = np.linalg.inv(frames) @ page
        drawn = f'<path{own} d="{path_data(shape, inverse, rng)}"/>'
    return "".join(opened) + drawn + "".join(reversed(closing))
