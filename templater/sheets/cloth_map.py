"""How the parts lie on the cloth they are cut of: a map on one page, reduced, for each cloth."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from templater.geometry.hole_sheets import MARGIN_MM
from templater.geometry.moves import moved_path
from templater.geometry.polygons import polyline, to_polygon
from templater.lettering import fitted, text_width_mm
from templater.model.curves import Point, Transform
from templater.model.parts import CutPart
from templater.model.plan import ClothLine, ClothSpot
from templater.model.problems import Problems
from templater.model.sheets import Anchor, Drawable, Lettering, Pen, Sheet, SheetLayer, Stroke
from templater.model.words import counted
from templater.sheets.marks import arrow, line
from templater.sheets.one_page import Draft, Page, numbered, pages_of
from templater.sheets.words import joined, side_words

if TYPE_CHECKING:
    from templater.job.schema import Job

_SIDE_MM = 14.0
"""Left of the cloth: room for its length and the grain."""
_TEXT_MM = 2.5
_SMALL_MM = 1.8
_ROW_MM = 4.0
_MOST_ROWS = 12
_INCH_MM = 25.4
_SCALES = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 75, 100, 200)


def cloth_maps(
    cloths: Sequence[ClothLine], parts: Sequence[CutPart], job: Job
) -> tuple[tuple[Sheet, ...], Problems]:
    """A map for every cloth that parts were laid on. Nothing can be wrong with them."""
    by_id = {part.id: part for part in parts}
    laid = [cloth for cloth in cloths if cloth.laid and cloth.spots]
    drafts = [_map(cloth, by_id, job, number) for number, cloth in enumerate(laid, start=1)]
    return numbered(drafts, "cloth"), ()


def _map(cloth: ClothLine, parts: dict[str, CutPart], job: Job, number: int) -> Draft:
    names = [_name(parts[spot.part], doubled=spot.doubled) for spot in cloth.spots]
    scale, page, rows = min(
        ((_scale(cloth, page, len(names)), page, _rows(page, names)) for page in pages_of(job)),
        key=lambda each: each[0],
    )
    k = 1.0 / scale
    low = MARGIN_MM + rows * _ROW_MM + 10.0
    to_map = Transform(k, 0.0, 0.0, k, MARGIN_MM + _SIDE_MM, low)
    heading = joined(f"Lay on cloth 1 : {scale}", job.name)
    identity = joined(
        cloth.fabric or "cloth without a name", f"{counted(len(cloth.spots), 'part')} laid"
    )
    facts = (
        joined("NOT TRUE SIZE", f"buy {_buy(cloth.length_mm, job)} of cloth {_width(cloth, job)}"),
        "The right side of the cloth up, the grain along it. Lay and measure before you cut anything."
        if not cloth.doubled_mm
        else "Below the line lay the cloth doubled, right sides together; above it open, right side up.",
    )
    return Draft(
        f"print/cloth-lay-{number}",
        page.size_mm,
        heading,
        identity,
        facts,
        (
            SheetLayer("cloth", tuple(_edges(cloth, to_map, job))),
            SheetLayer("cut", tuple(_outlines(cloth.spots, parts, to_map))),
            SheetLayer("names", tuple(_numbers(cloth.spots, parts, to_map))),
            SheetLayer("table", tuple(_table(names, page, rows))),
        ),
    )


def _name(part: CutPart, *, doubled: bool) -> str:
    what = " ".join(word for word in (part.zone or part.piece, _region(part)) if word)
    return joined(what, "BOTH, CUT DOUBLE" if doubled else side_words(part.side))


def _region(part: CutPart) -> str:
    return str(part.region) if part.region > 1 else ""


def _rows(page: Page, names: Sequence[str]) -> int:
    """How many rows the list of names takes below the map."""
    return min(_MOST_ROWS, -(-len(names) // _columns(page, names)))


def _columns(page: Page, names: Sequence[str]) -> int:
    widest = max(text_width_mm(f"99 {name}", _TEXT_MM) for name in names) + 5.0
    return max(1, int((page.width_mm - 2.0 * MARGIN_MM) / widest))


def _scale(cloth: ClothLine, page: Page, parts: int) -> int:
    wide = page.width_mm - 2.0 * MARGIN_MM - _SIDE_MM - 2.0
    high = page.below_block_mm - MARGIN_MM - min(parts, _MOST_ROWS) * _ROW_MM - 16.0
    fitting = (s for s in _SCALES if cloth.width_mm / s <= wide and cloth.length_mm / s <= high)
    return next(fitting, round(max(cloth.width_mm / wide, cloth.length_mm / high)) + 1)


def _edges(cloth: ClothLine, to_map: Transform, job: Job) -> Iterator[Drawable]:
    """Selvedges, ends, the fold and the line up to which the cloth is doubled; length and grain."""

    def at(x: float, y: float) -> Point:
        return to_map.apply((x, y))

    width, length, double = cloth.width_mm, cloth.length_mm, cloth.doubled_mm
    half = width / 2.0
    if double:
        yield line(at(0.0, 0.0), at(0.0, double), Pen.FOLD)
        yield Stroke(
            polyline((at(0.0, 0.0), at(half, 0.0), at(half, double)), closed=False), Pen.NOTE
        )
        yield line(at(0.0, double), at(half, double), Pen.SEAM)
        x, y = at(half, double / 2.0)
        yield Lettering("doubled, the fold on the left", (x + 3.0, y), _SMALL_MM)
    if length > double:
        corners = (at(0.0, double), at(width, double), at(width, length), at(0.0, length))
        yield Stroke(polyline(corners, closed=True), Pen.NOTE)
    left, low = at(0.0, 0.0)
    _, top = at(0.0, length)
    x = left - 3.5
    yield line((x, low), (x, top), Pen.NOTE)
    for y in (low, top):
        yield line((x - 1.0, y), (x + 1.0, y), Pen.NOTE)
    middle = (x - 1.5, (low + top) / 2.0)
    words, height = fitted(_buy(length, job), max(top - low, 12.0), (_TEXT_MM, _SMALL_MM))
    yield Lettering(words, middle, height, 90.0, Anchor.MIDDLE)
    if top - low > 16.0:
        yield from arrow(
            (left - 10.0, low + 2.0), (left - 10.0, top - 2.0), Pen.GRAIN, both_ends=True
        )
    across = at(width / 2.0 if length > double else half / 2.0, 0.0)
    yield Lettering(_width(cloth, job), (across[0], low - 5.0), _TEXT_MM, anchor=Anchor.MIDDLE)


def _outlines(
    spots: Sequence[ClothSpot], parts: dict[str, CutPart], to_map: Transform
) -> Iterator[Drawable]:
    for spot in spots:
        area = parts[spot.part].cut
        for path in (area.outline, *area.holes):
            yield Stroke(moved_path(path, spot.move.then(to_map)), Pen.CUT)


def _numbers(
    spots: Sequence[ClothSpot], parts: dict[str, CutPart], to_map: Transform
) -> Iterator[Drawable]:
    """A number deep inside every part."""
    from shapely import maximum_inscribed_circle

    for number, spot in enumerate(spots, start=1):
        deep = maximum_inscribed_circle(to_polygon(parts[spot.part].cut, 0.5), tolerance=1.0)
        x, y = spot.move.then(to_map).apply(tuple(deep.coords[0]))
        height = _TEXT_MM if deep.length * to_map.a > 1.2 * _TEXT_MM else _SMALL_MM
        yield Lettering(str(number), (x, y - height / 2.0), height, anchor=Anchor.MIDDLE)


def _table(names: Sequence[str], page: Page, rows: int) -> Iterator[Drawable]:
    """What the numbers stand for, in columns below the map."""
    columns = _columns(page, names)
    room = (page.width_mm - 2.0 * MARGIN_MM) / columns
    shown = [f"{number} {name}" for number, name in enumerate(names, start=1)]
    most = rows * columns
    if len(shown) > most:
        shown = [*shown[: most - 1], f"and {len(shown) - most + 1} more: see the sheets of parts"]
    for place, text in enumerate(shown):
        column, row = divmod(place, rows)
        at = (MARGIN_MM + column * room, MARGIN_MM + (rows - 1 - row) * _ROW_MM)
        yield Lettering(text, at, _TEXT_MM)


def _buy(length_mm: float, job: Job) -> str:
    """Rounded up to whole centimetres, or quarters of an inch."""
    if job.display == "in":
        return f"{-(-length_mm // (_INCH_MM / 4.0)) / 4.0:g} in"
    return f"{-(-length_mm // 10.0):.0f} cm"


def _width(cloth: ClothLine, job: Job) -> str:
    if job.display == "in":
        return f"{cloth.width_mm / _INCH_MM:.1f} in wide"
    return f"{cloth.width_mm / 10.0:g} cm wide"
