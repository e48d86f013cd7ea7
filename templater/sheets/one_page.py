"""Sheets for people that fit on one page of the maker's paper: maps and tables."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from templater.catalogue.papers import find_paper
from templater.geometry.hole_sheets import MARGIN_MM
from templater.model.sheets import Sheet, SheetLayer
from templater.sheets.frame import BLOCK_MM, Head, title_block
from templater.sheets.words import joined

if TYPE_CHECKING:
    from templater.job.schema import Job

_FOOTER_MM = 8.5
"""The strip that printed pages keep at their foot, and a little."""


@dataclass(frozen=True, slots=True)
class Page:
    """A sheet that fits on one page of the maker's paper."""

    width_mm: float
    height_mm: float

    @property
    def size_mm(self) -> tuple[float, float]:
        return (self.width_mm, self.height_mm)

    @property
    def below_block_mm(self) -> float:
        """The top of what is free below the title block."""
        return self.height_mm - MARGIN_MM - BLOCK_MM - 4.0


def pages_of(job: Job) -> tuple[Page, ...]:
    """The maker's paper upright and lying, less what its printer leaves blank."""
    paper = job.templates.paper
    size = find_paper(paper.size) if isinstance(paper.size, str) else paper.size
    width, height = size or (210.0, 297.0)
    wide = (width - 2.0 * paper.margin) / paper.calibrate[0]
    high = (height - 2.0 * paper.margin) / paper.calibrate[1]
    bare, foot = 2.0 * MARGIN_MM, _FOOTER_MM
    return tuple(
        Page(round(w + bare - 0.01, 2), round(h + bare - foot, 2))
        for w, h in ((wide, high), (high, wide))
    )


@dataclass(frozen=True, slots=True)
class Draft:
    """A page before it is known how many there are."""

    name: str
    size_mm: tuple[float, float]
    heading: str
    identity: str
    facts: tuple[str, ...]
    layers: tuple[SheetLayer, ...]


def numbered(drafts: Sequence[Draft], kind: str) -> tuple[Sheet, ...]:
    """The pages with their title blocks, which also count them: "map 1 of 3"."""
    return tuple(_framed(draft, kind, n, len(drafts)) for n, draft in enumerate(drafts, start=1))


def _framed(draft: Draft, kind: str, number: int, of: int) -> Sheet:
    width, height = draft.size_mm
    low = round(height - MARGIN_MM - BLOCK_MM, 4)
    head = Head(MARGIN_MM, low, round(width - 2.0 * MARGIN_MM, 4), MARGIN_MM)
    block = title_block(
        head, draft.heading, draft.identity, draft.facts, f"{kind} {number} of {of}"
    )
    return Sheet(
        name=draft.name,
        title=joined(draft.heading, draft.identity),
        size_mm=draft.size_mm,
        kind=kind,
        register=(),
        bars=(),
        number=number,
        of=of,
        layers=(*draft.layers, SheetLayer("text", block)),
    )
