"""Even spacing of bodies along a line by the gap between their true shapes."""

from __future__ import annotations

from collections.abc import Callable

Gap = Callable[[float, float], float]
"""The gap in mm between the stones at two distances along a line."""

_FINE_MM = 1e-6


def spaced(gap: Gap, low: float, high: float, gap_mm: float, most_mm: float) -> list[float]:
    """Places from `low` to `high`, evenly: as many as keep `gap_mm`, the rest shared among them.

    `most_mm`: a step after which two stones surely keep the gap. A single stone sits in the middle.
    """
    if high < low:
        return []
    tight = _string(gap, low, high, gap_mm, most_mm)
    count = len(tight)
    if count == 1:
        return [(low + high) / 2.0]
    best, extra = tight, 0.0
    for _ in range(12):
        left = high - best[-1]
        if left <= _FINE_MM:
            break
        trial_extra = extra + left / (count - 1)
        trial = _string(gap, low, high, gap_mm + trial_extra, most_mm + trial_extra)
        tries = 0
        while len(trial) < count and tries < 8:
            # Overshot: slanted stones gain more than the gap asks for.
            trial_extra = (extra + trial_extra) / 2.0
            trial = _string(gap, low, high, gap_mm + trial_extra, most_mm + trial_extra)
            tries += 1
        if len(trial) < count:
            break
        best, extra = trial[:count], trial_extra
    return best


def _string(gap: Gap, low: float, high: float, gap_mm: float, most_mm: float) -> list[float]:
    """One stone after the other, each as near to the last as the gap allows."""
    places = [low]
    guess = most_mm
    while True:
        at = _next(gap, places[-1], gap_mm, most_mm, min(guess, most_mm), high)
        if at > high + 1e-9:
            return places
        guess = 1.02 * (at - places[-1]) + 0.01
        places.append(at)


def _next(
    gap: Gap, last: float, gap_mm: float, most_mm: float, guess_mm: float, high: float
) -> float:
    """The nearest later place that keeps the gap, come at from beyond.

    A stone moved by a step changes its distance by little more than the step, so that stepping
    back by most of what is to spare does not pass the place.
    """
    at = last + guess_mm
    if gap(last, at) < gap_mm:
        at = last + most_mm
    while gap(last, at) < gap_mm:
        at += most_mm / 2.0
        if at > high + 2.0 * most_mm:
            return at
    low = last
    for _ in range(60):
        spare = gap(last, at) - gap_mm
        if spare <= _FINE_MM:
            break
        trial = max(at - 0.98 * spare, (low + at) / 2.0)
        if gap(last, trial) >= gap_mm:
            at = trial
        else:
            low = trial
            if at - low <= _FINE_MM:
                break
    return at
