"""Every sheet of holes of a job: stencils or tapes by pass, prick sheets, punch layouts.

Planned on the garment; a group that mirrors an earlier one takes over its passes, panels, and
cut order, so that left and right sheets are each other's mirror images.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from templater.geometry.hole_sheets import HoleSheet
from templater.geometry.measure import box_of
from templater.geometry.tour import tour
from templater.model.curves import Box, Point, Transform, shift
from templater.model.ground import Ground
from templater.model.parts import Hole, HoleKind, Pass
from templater.model.problems import Problem, Problems, has_errors
from templater.model.stones import PlacedStone, Size
from templater.stencils.drafts import Draft, drafts_of
from templater.stencils.film import film_problem, too_thick_film, unserved_methods
from templater.stencils.groups import Group, make_groups
from templater.stencils.names import Names, slug, zone_slugs
from templater.stencils.panels import Panel, make_panels, sheets_to_use
from templater.stencils.sizing import sizing_problems

if TYPE_CHECKING:
    from templater.job.schema import Job


@dataclass(frozen=True, slots=True)
class DraftSheet:
    """One sheet: which of a draft's members are on it, in cut order."""

    draft: Draft
    panel: Panel
    number: int
    of: int
    order: tuple[int, ...]


def make_passes(
    ground: Ground, stones: tuple[PlacedStone, ...], sizes: Mapping[str, Size], job: Job
) -> tuple[tuple[Pass, ...], Problems]:
    """All passes, in the order of groups, kinds, sizes (largest first), passes, panels.

    `stones` lie on the finished garment, `sizes` holds every size they name. An error among the
    problems means that a sheet could not be made or could not be used.
    """
    if not stones:
        return (), ()
    sheets, fault = sheets_to_use(job)
    if fault is not None:
        return (), (fault,)
    used = {stone.size: sizes[stone.size] for stone in stones}
    groups = make_groups(ground, stones, job)
    problems = [
        *unserved_methods(groups, job.templates.kinds),
        *too_thick_film(groups, used, job.templates.stencil.thickness),
        *sizing_problems(used, job),
    ]
    if has_errors(problems):
        return (), tuple(problems)
    slugs = zone_slugs([group.zone for group in groups])
    names = Names()
    planned: list[tuple[DraftSheet, ...]] = []
    passes: list[Pass] = []
    for group in groups:
        if group.twin is not None and group.from_twin is not None:
            made = tuple(_moved(sheet, group.from_twin) for sheet in planned[group.twin])
        else:
            made = tuple(_plan(group, used, sheets, job))
            found = _film_problem(group, made, used, job)
            problems.extend([found] if found else [])
        planned.append(made)
        passes.extend(_pass(group, sheet, slugs[group.zone], names, job) for sheet in made)
    return tuple(passes), tuple(problems)


def _plan(
    group: Group, sizes: Mapping[str, Size], sheets: Sequence[HoleSheet], job: Job
) -> Iterator[DraftSheet]:
    drafts = drafts_of(group, sizes, job)
    radii = [0.0] * len(group.stones)
    for draft in drafts:
        for member, hole in zip(draft.members, draft.holes, strict=True):
            radii[member] = max(radii[member], hole.length_mm / 2.0, hole.width_mm / 2.0)
    points = [(stone.x_mm, stone.y_mm) for stone in group.stones]
    if not drafts:
        return
    panels = make_panels(points, radii, group.marks, sheets)
    for draft in drafts:
        count = len(draft.lots)
        for number in range(count):
            for panel in panels:
                inside = set(panel.members)
                on_sheet = [
                    place
                    for place, member in enumerate(draft.members)
                    if draft.pass_of[place] == number and member in inside
                ]
                if on_sheet:
                    home = (panel.core[0], panel.core[1])
                    order = tour([points[draft.members[place]] for place in on_sheet], home, 0)
                    cut = tuple(on_sheet[place] for place in order)
                    yield DraftSheet(draft, panel, number + 1, count, cut)


def _film_problem(
    group: Group, made: Sequence[DraftSheet], sizes: Mapping[str, Size], job: Job
) -> Problem | None:
    if group.method not in {"film", "tape"}:
        return None
    sheet_of = [-1] * len(group.stones)
    for place, sheet in enumerate(made):
        if sheet.draft.kind is HoleKind.STENCIL:
            for member in sheet.order:
                sheet_of[sheet.draft.members[member]] = place
    stencil = job.templates.stencil
    return film_problem(group, sheet_of, sizes, stencil.clearance_of, stencil.registration)


def _moved(sheet: DraftSheet, move: Transform) -> DraftSheet:
    """The same sheet for the mirrored side: its panel's frame moved, its order kept."""
    panel = sheet.panel
    marks = tuple(_snapped(move.apply(mark)) for mark in panel.marks)
    x0, y0, x1, y1 = panel.core
    corners = [move.apply(corner) for corner in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
    core: Box = box_of(corners)
    moved = Panel(panel.letter, panel.members, marks, core, panel.sheet)
    return DraftSheet(sheet.draft, moved, sheet.number, sheet.of, sheet.order)


def _pass(group: Group, made: DraftSheet, zone: str, names: Names, job: Job) -> Pass:
    """The sheet as it is cut: its frame's origin lower left, holes in cut order."""
    draft, panel = made.draft, made.panel
    to_sheet = shift(
        round(panel.sheet.core_left_mm - panel.core[0], 4),
        round(panel.sheet.core_bottom_mm - panel.core[1], 4),
    )
    holes = []
    for order, place in enumerate(made.order, start=1):
        stone, size = group.stones[draft.members[place]], draft.holes[place]
        x, y = _snapped(to_sheet.apply((stone.x_mm, stone.y_mm)))
        turn = 0.0 if size.shape == "round" else stone.turn_deg
        holes.append(
            Hole(
                order, x, y, size.path_width_mm, size.path_length_mm, turn, size.shape,
                size.punch_mm, draft.kind, stone.id,
            )
        )  # fmt: skip
    lot = draft.lots[made.number - 1]
    words = (*draft.words, *(slug(word, "lot") for word in lot))
    numbered = "" if draft.kind is HoleKind.PRICK else str(made.number)
    folder = "stencils" if draft.kind is HoleKind.STENCIL else "punch"
    template = names.take(folder, zone, group.side.value, *words, numbered, panel.letter)
    return Pass(
        template=template,
        kind=draft.kind,
        zone=group.zone,
        piece=group.piece,
        side=group.side,
        sizes=draft.sizes,
        number=made.number,
        of=made.of,
        method=group.method,
        bridge_mm=draft.bridge_mm,
        clearance_mm=max(job.templates.stencil.clearance_of(name) for name in draft.sizes),
        size_mm=(panel.sheet.width_mm, panel.sheet.height_mm),
        to_sheet=to_sheet,
        reversed=False,
        register=tuple(_snapped(to_sheet.apply(mark)) for mark in panel.marks),
        holes=tuple(holes),
        panel=panel.letter,
        least=draft.least,
        lot=lot,
    )


def _snapped(point: Point) -> Point:
    return (round(point[0], 4) + 0.0, round(point[1], 4) + 0.0)
