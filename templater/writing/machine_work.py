"""What a machine does with a sheet, by operation: lines to draw, holes, outlines, each in order.

Words, test bars, seam and grain lines are for people and are left out.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from templater.model.curves import Area, Path
from templater.model.sheets import Circle, Lettering, Pen, Sheet
from templater.writing.cut_order import in_cut_order
from templater.writing.protocol import draw_sheet

Shape = Circle | Path
_MARKS = frozenset({Pen.MARK, Pen.REGISTER})


@dataclass(frozen=True, slots=True)
class MachineWork:
    """`marks` to draw, `holes` to cut or drill, `outlines` to cut, in this order of work."""

    marks: tuple[Shape, ...]
    holes: tuple[Shape, ...]
    outlines: tuple[Shape, ...]

    @property
    def round_holes(self) -> tuple[Circle, ...]:
        return tuple(hole for hole in self.holes if isinstance(hole, Circle))

    @property
    def cuts_nothing(self) -> bool:
        return not (self.holes or self.outlines)


def machine_work(sheet: Sheet) -> MachineWork:
    """The sheet's work in cutting order, coordinates on the 0.0001 mm grid.

    Raises ValueError for a number that is not finite.
    """
    gathered = _Gathered()
    draw_sheet(in_cut_order(sheet), gathered)
    return MachineWork(tuple(gathered.marks), tuple(gathered.holes), tuple(gathered.outlines))


@dataclass(slots=True)
class _Gathered:
    """A sheet writer that only sorts by pen."""

    marks: list[Shape] = field(default_factory=list)
    holes: list[Shape] = field(default_factory=list)
    outlines: list[Shape] = field(default_factory=list)

    def begin_layer(self, name: str) -> None:
        """Layers do not matter here."""

    def end_layer(self) -> None:
        """Layers do not matter here."""

    def stroke(self, path: Path, pen: Pen) -> None:
        self._take(path, pen)

    def circle(self, circle: Circle) -> None:
        self._take(circle, circle.pen)

    def fill(self, area: Area, colour: str) -> None:
        """Fills are for people."""

    def lettering(self, lettering: Lettering) -> None:
        """Words are for people."""

    def _take(self, shape: Shape, pen: Pen) -> None:
        if pen is Pen.HOLE:
            self.holes.append(shape)
        elif pen is Pen.CUT:
            self.outlines.append(shape)
        elif pen in _MARKS:
            self.marks.append(shape)
