"""A sheet's cutting work as motion in ISO 6983-1 words: mm, absolute, explicit decimals.

Source: ISO 6983-1:2009, words as controls' makers print them (see docs/machine-files.md): G0 rapid,
G1 straight, G2 and G3 arcs clockwise and anticlockwise with I, J from the start to the centre, G17,
G90, M02; comments in brackets. Its word for mm is G71; most small controls know G21 instead (as in
RS274/NGC), and to a few G21 means mirroring, so that the job says which.

Only where the tool goes: no feed, speed, power or depth, which hang on the machine and on what is
cut. Each cut stands between the comments TOOL ON and TOOL OFF, for which the maker puts the M-codes
of the machine; without a feed most controls refuse the first G1, and so nothing is cut unawares.
"""

from __future__ import annotations

from collections.abc import Iterator

from templater.geometry.arcs import split_arc
from templater.geometry.flatten import arc_centre
from templater.geometry.smooth import arcs_of_segment
from templater.model.curves import Arc, Line, Path, Point
from templater.model.sheets import Circle, Sheet
from templater.writing.machine_words import CAUTIONS, comments
from templater.writing.machine_work import MachineWork, Shape, machine_work
from templater.writing.numbers import snap, snap_point

_TO_DO = (
    "Set a feed before the first cutting move, and put your machine's own codes in place of "
    "every TOOL ON and TOOL OFF."
)
_FIT_MM = 0.005
_QUARTER_DEG = 90.0
_FLAT_MM = 0.0005
"""An arc that leaves its chord by less is a straight move: its centre would be far and uncertain."""


def gcode_bytes(sheet: Sheet, unit: str = "G21") -> bytes:
    """The sheet's holes, then its outlines, inside before outside. Register and match marks are not
    cut and are left out. Curves become arcs within 0.005 mm. `unit` is the control's word for mm.

    Raises ValueError for a number that is not finite.
    """
    return "".join(f"{line}\n" for line in _lines(sheet, machine_work(sheet), unit)).encode("ascii")


def _lines(sheet: Sheet, work: MachineWork, unit: str) -> Iterator[str]:
    width, height = sheet.size_mm
    yield "%"
    for text in (
        f"templater, sheet {sheet.name}",
        sheet.title,
        f"{len(work.holes)} holes, then {len(work.outlines)} outlines, inside before outside.",
        f"mm, absolute. Sheet {width:g} by {height:g} mm, origin its lower left corner, y up.",
        "Motion only: no feed, no speed, no power, no depth.",
        f"{unit} says millimetres here: see that your control means that by it.",
        _TO_DO,
        *CAUTIONS,
    ):
        yield from comments(text)
    yield from ("G17", unit, "G90")
    for name, shapes in (("HOLES", work.holes), ("OUTLINES", work.outlines)):
        if shapes:
            yield f"({name})"
        for shape in shapes:
            yield from _cut(shape)
    yield "M02"
    yield "%"


def _cut(shape: Shape) -> Iterator[str]:
    moves = list(_circle(shape) if isinstance(shape, Circle) else _path(shape))
    start = _start(shape)
    if moves:
        yield f"G0 {_at(start)}"
        yield "(TOOL ON)"
        yield from moves
        yield "(TOOL OFF)"


def _start(shape: Shape) -> Point:
    if isinstance(shape, Circle):
        return (snap(shape.x_mm + shape.diameter_mm / 2.0), shape.y_mm)
    return shape.start


def _circle(circle: Circle) -> Iterator[str]:
    """Two half circles: some controls take a whole one in one word for no move at all."""
    right = _start(circle)
    left = (snap(2.0 * circle.x_mm - right[0]), circle.y_mm)
    for end, to_centre in ((left, circle.x_mm - right[0]), (right, circle.x_mm - left[0])):
        yield f"G3 {_at(end)} I{snap(to_centre):.4f} J0.0000"


def _path(path: Path) -> Iterator[str]:
    at = path.start
    for segment in path.segments:
        for part in arcs_of_segment(segment, _FIT_MM):
            for piece in split_arc(part, _QUARTER_DEG) if isinstance(part, Arc) else (part,):
                end = snap_point(piece.end)
                if end != at:
                    yield _move(at, end, piece)
                    at = end


def _move(start: Point, end: Point, piece: Line | Arc) -> str:
    if isinstance(piece, Arc):
        chord = ((end[0] - start[0]) ** 2 + (end[1] - start[1]) ** 2) ** 0.5
        if abs(piece.bulge) * chord / 2.0 >= _FLAT_MM:
            (x, y), _, _ = arc_centre(Arc(start, end, piece.bulge))
            turn = "G3" if piece.bulge > 0.0 else "G2"
            return f"{turn} {_at(end)} I{snap(x - start[0]):.4f} J{snap(y - start[1]):.4f}"
    return f"G1 {_at(end)}"


def _at(point: Point) -> str:
    return f"X{point[0]:.4f} Y{point[1]:.4f}"
