"""All sheets of a job: appliqués, templates, placement."""

from __future__ import annotations

import re
import unicodedata
from collections import Counter
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from templater.model.curves import Point
from templater.model.ground import Ground, Side
from templater.model.lays import KeptLay
from templater.model.parts import CutPart, HoleKind, MarkKind, Pass, Placed
from templater.model.problems import Problems
from templater.model.sheets import Sheet
from templater.model.stones import PlacedStone, Size
from templater.sheets.appliques import applique_sheets
from templater.sheets.cloth_marks import cloth_marks, panel_of
from templater.sheets.fold_half import half_sheets
from templater.sheets.measures import pins_on
from templater.sheets.part_drawing import part_marks
from templater.sheets.placement import placement_sheets
from templater.sheets.placing_map import map_sheets
from templater.sheets.strip import strip_sheet
from templater.sheets.templates import seen_from_behind, template_sheet
from templater.sheets.ways import ways_of
from templater.sheets.xy_pages import xy_sheets

if TYPE_CHECKING:
    from templater.job.schema import Job


def make_sheets(
    ground: Ground,
    parts: tuple[CutPart, ...],
    passes: tuple[Pass, ...],
    stones: tuple[PlacedStone, ...],
    sizes: Mapping[str, Size],
    job: Job,
    lays: tuple[KeptLay, ...] = (),
) -> tuple[tuple[Placed, ...], tuple[Sheet, ...], Problems]:
    """Where every part lies, and every sheet: appliqués, then templates in the order of the
    passes (each prick sheet once more reversed), a test strip, then placement and its maps, and halves
    to be cut on the fold. A part too large for the job's sheet gets a sheet of its own and a note.
    """
    stems = _stems(ground, parts)
    placed, sheets, problems = applique_sheets(ground, parts, job, stems, lays)
    by_id = {stone.id: stone for stone in stones}
    counts = Counter(one.kind for one in passes)
    numbers: Counter[HoleKind] = Counter()
    cloth = cloth_marks(passes, parts, ground.zones)
    templates = []
    drawn: list[Pass] = []
    for one in passes:
        numbers[one.kind] += 1
        number, count = numbers[one.kind], counts[one.kind]
        drawn.append(one)
        templates.append(
            template_sheet(
                one, by_id, ways_of(one, ground), cloth[panel_of(one)], job, number, count
            )
        )
        if one.kind is HoleKind.PRICK:
            behind = seen_from_behind(one)
            drawn.append(behind)
            templates.append(
                template_sheet(
                    behind, by_id, ways_of(behind, ground), cloth[panel_of(one)], job, number, count
                )
            )
    if stones and "stencil" in job.templates.kinds:
        templates.append(strip_sheet(sizes, job))
    marks = _marks_on_garment(parts)
    pins = {piece.name: pins_on(parts, piece.name) for piece in ground.pieces}
    placement = placement_sheets(ground, stones, passes, marks, sizes, job, stems, pins, cloth)
    maps = map_sheets(ground, pins, job, stems)
    halves = half_sheets(ground, parts, job, stems)
    tables = xy_sheets(drawn, job)
    return placed, (*sheets, *templates, *placement, *maps, *halves, *tables), problems


def _stems(ground: Ground, parts: Iterable[CutPart]) -> dict[str, str]:
    """A file-safe word for every piece, zone and cloth, no two alike."""
    names = [
        *(piece.name for piece in ground.pieces),
        *(zone.name for zone in ground.zones),
        *(part.fabric for part in parts),
    ]
    stems: dict[str, str] = {}
    for name in names:
        if name in stems:
            continue
        plain = unicodedata.normalize("NFKD", name.lower()).encode("ascii", "ignore").decode()
        wanted = stem = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:40].strip("-") or "part"
        number = 2
        while stem in stems.values():
            stem, number = f"{wanted}-{number}", number + 1
        stems[name] = stem
    return stems


def _marks_on_garment(
    parts: Iterable[CutPart],
) -> dict[tuple[str, Side], dict[Point, str]]:
    """Register marks of zones' parts, where they lie on the garment, with their zones' names."""
    found: dict[tuple[str, Side], dict[Point, str]] = {}
    for part in parts:
        if part.zone and not part.reversed:
            for mark in _marks_as_drawn(part):
                x, y = part.to_side.apply(mark)
                found.setdefault((part.piece, part.side), {})[round(x, 4), round(y, 4)] = part.zone
    return found


def _marks_as_drawn(part: CutPart) -> tuple[Point, ...]:
    """The part's register marks on the drawn reference: of one with closed darts its zone's frame."""
    if not part.halves:
        return part_marks(part)
    return tuple(
        mark.drawn_at for mark in part.marks if mark.kind is MarkKind.REGISTER and mark.drawn_at
    )
