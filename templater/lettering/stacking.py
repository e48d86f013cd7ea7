"""Lines of text in a column, each as near as can be to the thing it names, none over another."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate


def stacked(
    wanted: Sequence[float],
    pitch_mm: float | Sequence[float],
    limits_mm: tuple[float, float] | None = None,
) -> list[float]:
    """Places at least a pitch apart, in the order of those wanted (from below to above), moved as
    little as can be: the sum of squared moves is least. Of several pitches each is that to the next
    place above. All lie within the limits, as far as there is room; else from the lower one on.

    Pools that would overlap are centred on the mean of their wishes (pool adjacent violators, the
    known algorithm of isotonic regression; with limits its answer is the same, cut off at them).
    """
    if not wanted:
        return []
    pitches = [pitch_mm] * (len(wanted) - 1) if isinstance(pitch_mm, float | int) else pitch_mm
    above = [0.0, *accumulate(pitches)]
    pools: list[tuple[float, int]] = []  # sum of (wish − pitches below), members
    for wish, below in zip(wanted, above, strict=True):
        total, count = wish - below, 1
        while pools and pools[-1][0] / pools[-1][1] > total / count:
            before, members = pools.pop()
            total, count = total + before, count + members
        pools.append((total, count))
    levels = [total / count for total, count in pools for _ in range(count)]
    if limits_mm is not None:
        low, high = limits_mm[0], limits_mm[1] - above[-1]
        levels = [max(min(level, high), low) for level in levels]
    return [level + below for level, below in zip(levels, above, strict=True)]


def wrapped(text: str, width_mm: float, height_mm: float) -> list[str]:
    """The text in lines no wider than `width_mm` at this cap height, broken between words.

    A word that is wider than a line is broken where it must be.
    """
    from templater.lettering.measure import fits
    from templater.lettering.shaping import clusters

    lines: list[str] = []
    line = ""
    for word in text.split():
        longer = f"{line} {word}" if line else word
        if fits(longer, height_mm, width_mm):
            line = longer
            continue
        if line:
            lines.append(line)
        line = ""
        for letter in clusters(word):
            if line and not fits(line + letter, height_mm, width_mm):
                lines.append(line)
                line = ""
            line += letter
    return [*lines, line] if line else lines
