"""In which order a line of text is seen: the Unicode Bidirectional Algorithm (UAX #9), whole.

Letters of Latin and Greek run to the right, those of Hebrew and Arabic to the left, and numbers
among the latter to the right again. Each letter is given an embedding level, even ones run to the
right; runs of letters of one level are then put in the order in which they are seen.
Source: Unicode Standard Annex #9, rules P2 to L2; their names stand beside the code.
"""

from __future__ import annotations

import unicodedata
from functools import lru_cache
from typing import NamedTuple

from templater.lettering.bidi_weak import resolve

_DEEPEST = 125
_EMBEDDINGS = {"LRE": 0, "RLE": 1, "LRO": 0, "RLO": 1}
_OVERRIDES = {"LRO": "L", "RLO": "R"}
_ISOLATES = {"LRI", "RLI", "FSI"}
_REMOVED = {"LRE", "RLE", "LRO", "RLO", "PDF", "BN"}
_TURNING = {"R", "AL", "AN", *_EMBEDDINGS, *_ISOLATES}
"""Without any of these, and unless it is wanted otherwise, all runs to the right."""
_ENDS = {"S", "B"}
_BLANKS = {"WS", "LRI", "RLI", "FSI", "PDI", *_REMOVED}
_IMPLICIT = ({"L": 0, "R": 1, "EN": 2, "AN": 2}, {"L": 1, "R": 0, "EN": 1, "AN": 1})
"""I1, I2: what each class adds to an even and to an odd level."""
_UNASSIGNED = (
    (0x0590, 0x05FF, "R"), (0x0600, 0x07BF, "AL"), (0x07C0, 0x085F, "R"), (0x0860, 0x08FF, "AL"),
    (0x20A0, 0x20CF, "ET"), (0xFB1D, 0xFB4F, "R"), (0xFB50, 0xFDFF, "AL"), (0xFE70, 0xFEFF, "AL"),
    (0x10800, 0x10FFF, "R"), (0x1E800, 0x1EFFF, "R"),
)  # fmt: skip
"""What letters are that are younger than Python's tables (DerivedBidiClass.txt, shortened)."""


class Run(NamedTuple):
    """Letters `start` to `end` (exclusive) of the text, seen together; odd levels run leftwards."""

    start: int
    end: int
    level: int


@lru_cache(maxsize=4096)
def visual_runs(text: str) -> tuple[Run, ...]:
    """The text's runs from left to right as they are seen; its main direction is that of its
    first letter that has one.
    """
    level, levels = embedding_levels(text)
    before = level
    filled = []
    for own in levels:  # what X9 removes goes with what stands before it
        before = before if own is None else own
        filled.append(before)
    runs: list[Run] = []
    for index, own in enumerate(filled):
        if runs and runs[-1].level == own:
            runs[-1] = runs[-1]._replace(end=index + 1)
        else:
            runs.append(Run(index, index + 1, own))
    return tuple(_reordered(runs))


def embedding_levels(text: str, base: int | None = None) -> tuple[int, list[int | None]]:
    """The paragraph's level and that of each character; None for what rule X9 removes.

    `base` 0 or 1 sets the paragraph's direction; without it the first strong letter does.
    """
    classes = [bidi_class(letter) for letter in text]
    if not base and _TURNING.isdisjoint(classes):
        return 0, [None if each in _REMOVED else 0 for each in classes]
    partners = _isolates(classes)
    level = _first_strong(classes, partners, 0, len(classes)) if base is None else base
    given, explicit = _explicit(classes, partners, level)
    levels = list(given)
    kept = [i for i, each in enumerate(classes) if each not in _REMOVED]
    beside = _beside(kept, given, level)
    for sequence in _sequences(kept, classes, given, partners):
        first, last = sequence[0], sequence[-1]
        own, before, after = given[first], beside[first][0], beside[last][1]
        if classes[last] in _ISOLATES and last not in partners:
            after = level
        found = resolve(
            "".join(text[index] for index in sequence),
            [explicit[index] for index in sequence],
            own,
            "R" if max(before, own) % 2 else "L",
            "R" if max(after, own) % 2 else "L",
        )
        for index, each in zip(sequence, found, strict=True):
            levels[index] = own + _IMPLICIT[own % 2][each]
    trailing = True  # L1
    for index in range(len(classes) - 1, -1, -1):
        if classes[index] in _ENDS:
            trailing = True
        elif classes[index] not in _BLANKS:
            trailing = False
        if trailing:
            levels[index] = level
    return level, [None if each in _REMOVED else levels[i] for i, each in enumerate(classes)]


@lru_cache(maxsize=4096)
def bidi_class(letter: str) -> str:
    """The character's Bidi_Class."""
    found = unicodedata.bidirectional(letter)
    if found:
        return found
    return next((each for low, high, each in _UNASSIGNED if low <= ord(letter) <= high), "L")


def _reordered(runs: list[Run]) -> list[Run]:
    """L2: from the highest level down to the lowest odd one, whatever is at least as high turns round."""
    ordered = list(runs)
    for level in range(max((run.level for run in runs), default=0), 0, -1):
        start = 0
        while start < len(ordered):
            end = start
            while end < len(ordered) and ordered[end].level >= level:
                end += 1
            ordered[start:end] = ordered[start:end][::-1]
            start = end + 1
    return ordered


def _isolates(classes: list[str]) -> dict[int, int]:
    """BD9: each isolate's start to its end and back, where both are there."""
    partners: dict[int, int] = {}
    open_: list[int] = []
    for index, each in enumerate(classes):
        if each in _ISOLATES:
            open_.append(index)
        elif each == "PDI" and open_:
            start = open_.pop()
            partners[start], partners[index] = index, start
        elif each == "B":
            open_.clear()
    return partners


def _first_strong(classes: list[str], partners: dict[int, int], start: int, end: int) -> int:
    """P2, P3: 1 if the first letter with a direction, isolates aside, runs leftwards, else 0."""
    index = start
    while index < end:
        each = classes[index]
        if each in {"L", "R", "AL"}:
            return 0 if each == "L" else 1
        if each == "B":
            return 0
        if each in _ISOLATES:
            index = partners.get(index, end)
        index += 1
    return 0


def _explicit(
    classes: list[str], partners: dict[int, int], base: int
) -> tuple[list[int], list[str]]:
    """X1 to X8: levels, and the classes as overrides have them."""
    levels, given = [base] * len(classes), list(classes)
    stack: list[tuple[int, str, bool]] = [(base, "", False)]
    too_deep_isolates = too_deep_embeddings = isolates = 0
    for index, each in enumerate(classes):
        level, override, _ = stack[-1]
        levels[index] = level
        if each in _EMBEDDINGS:
            higher = _next_level(level, _EMBEDDINGS[each])
            if higher <= _DEEPEST and not (too_deep_isolates or too_deep_embeddings):
                stack.append((higher, _OVERRIDES.get(each, ""), False))
            elif not too_deep_isolates:
                too_deep_embeddings += 1
        elif each in _ISOLATES:
            given[index] = override or each
            end = partners.get(index, len(classes))
            leftwards = _first_strong(classes, partners, index + 1, end)
            higher = _next_level(level, {"LRI": 0, "RLI": 1}.get(each, leftwards))
            if higher <= _DEEPEST and not (too_deep_isolates or too_deep_embeddings):
                isolates += 1
                stack.append((higher, "", True))
            else:
                too_deep_isolates += 1
        elif each == "PDI":
            if too_deep_isolates:
                too_deep_isolates -= 1
            elif isolates:
                too_deep_embeddings = 0
                while not stack[-1][2]:
                    stack.pop()
                stack.pop()
                isolates -= 1
            level, override, _ = stack[-1]
            levels[index], given[index] = level, override or each
        elif each == "PDF":
            if not too_deep_isolates and too_deep_embeddings:
                too_deep_embeddings -= 1
            elif not too_deep_isolates and not stack[-1][2] and len(stack) > 1:
                stack.pop()
        elif each == "B":
            stack = [(base, "", False)]
            too_deep_isolates = too_deep_embeddings = isolates = 0
            levels[index] = base
        elif each != "BN":
            given[index] = override or each
    return levels, given


def _next_level(level: int, leftwards: int) -> int:
    """The least level above this one that runs that way."""
    return level + 1 if (level + 1) % 2 == leftwards else level + 2


def _sequences(
    kept: list[int], classes: list[str], levels: list[int], partners: dict[int, int]
) -> list[list[int]]:
    """BD13: isolating run sequences, as indices into the text."""
    runs: list[list[int]] = []
    for index in kept:
        if runs and levels[runs[-1][-1]] == levels[index]:
            runs[-1].append(index)
        else:
            runs.append([index])
    starting = {run[0]: run for run in runs}
    sequences = []
    for run in runs:
        if classes[run[0]] == "PDI" and run[0] in partners:
            continue
        sequence = list(run)
        while classes[sequence[-1]] in _ISOLATES and sequence[-1] in partners:
            sequence += starting[partners[sequence[-1]]]
        sequences.append(sequence)
    return sequences


def _beside(kept: list[int], levels: list[int], base: int) -> dict[int, tuple[int, int]]:
    """X10: the levels before and after each character; the paragraph's own at its ends."""
    bordered = [base, *(levels[index] for index in kept), base]
    return {index: (bordered[at], bordered[at + 2]) for at, index in enumerate(kept)}
