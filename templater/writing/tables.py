"""stones.csv, holes.csv, shopping.csv, and records of any table: UTF-8, LF, RFC 4180, four decimals."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from templater.model.plan import Plan
from templater.model.stones import PlacedStone
from templater.writing.numbers import snap

STONES_HEAD = "zone,side,x_mm,y_mm,angle_deg,size,length_mm,width_mm,colour,finish,piece,kind,id"
HOLES_HEAD = "template,pass,order,x_mm,y_mm,diameter_mm,punch_mm,kind,stone_id"
SHOPPING_HEAD = "size,colour,finish,count,spare,gross"
_SHEET_FORMATS = ("svg", "dxf", "pdf")


def _number(value: float) -> str:
    return f"{snap(value):.4f}"


def table(head: str, rows: Iterable[Sequence[object]]) -> bytes:
    """A head of names with commas, and records, as CSV."""
    return "".join(_line(cells) for cells in (head.split(","), *rows)).encode()


def _line(cells: Sequence[object]) -> str:
    """One record. Of line ends the csv module quotes only those of which its own is made, and RFC
    4180 wants a bare carriage return in quotes too: so it is given both, and ours is put after.
    """
    text = io.StringIO(newline="")
    csv.writer(text, lineterminator="\r\n").writerow(cells)
    return text.getvalue().removesuffix("\r\n") + "\n"


def stones_csv(plan: Plan) -> bytes:
    """Every stone on the finished piece, in the drawing's frame."""
    return _stones(plan.stones)


def after_sewing_csv(plan: Plan) -> bytes:
    """Of these the ones to set when the seams beside them are sewn."""
    return _stones(tuple(stone for stone in plan.stones if stone.after_sewing))


def _stones(stones: Sequence[PlacedStone]) -> bytes:
    return table(
        STONES_HEAD,
        (
            (
                stone.zone,
                stone.side.value,
                _number(stone.x_mm),
                _number(stone.y_mm),
                _number(snap(stone.turn_deg) % 360.0),
                stone.size,
                _number(stone.length_mm),
                _number(stone.width_mm),
                stone.colour,
                stone.finish,
                stone.piece,
                stone.kind.value,
                stone.id,
            )
            for stone in stones
        ),
    )


def sheet_ending(formats: Sequence[str]) -> str:
    """The ending of the sheet file that holes.csv names: the first written of svg, dxf, pdf.

    A job that writes none of them names the sheet alone.
    """
    return next((f".{ending}" for ending in _SHEET_FORMATS if ending in formats), "")


def holes_csv(plan: Plan) -> bytes:
    """Every hole of every pass, in the frame of the sheet file it is named with."""
    ending = sheet_ending(plan.rules.formats)
    return table(
        HOLES_HEAD,
        (
            (
                f"{one.template}{ending}",
                one.number,
                hole.order,
                _number(hole.x_mm),
                _number(hole.y_mm),
                _number(hole.diameter_mm),
                "" if hole.punch_mm is None else _number(hole.punch_mm),
                hole.kind.value,
                hole.stone_id,
            )
            for one in plan.passes
            for hole in one.holes
        ),
    )


def shopping_csv(plan: Plan) -> bytes:
    """What to buy, one line a size, colour and finish."""
    return table(
        SHOPPING_HEAD,
        (
            (line.size, line.colour, line.finish, line.count, line.spare, line.gross)
            for line in plan.counts.shopping
        ),
    )
