"""A pack's folder to facts: its tables, and every sheet that was written."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

from templater.model.facts import PackFacts, SheetFacts
from templater.model.formats import ENDINGS
from templater.model.plan import Plan
from templater.model.plan_file import PLAN_FILE
from templater.model.plan_file import load_plan as plan_from_bytes
from templater.model.problems import Problem, Refused
from templater.readback.faults import Unreadable, fault, refuse
from templater.readback.tables import read_holes, read_shopping, read_stones

Table = TypeVar("Table")


def load_plan(folder: Path) -> Plan:
    """The plan of a pack, from its plan.json; sheets come without their layers.

    Raises Refused if it is not there, of another version, or not readable.
    """
    return plan_from_bytes(_bytes(folder, PLAN_FILE), PLAN_FILE)


def read_pack(folder: Path) -> PackFacts:
    """Everything the pack's files hold, in mm. Sheets are the files in its sub-folders.

    Pictures and the book stand at the top and are no sheets. Raises Refused with every file that
    is missing or cannot be read.
    """
    faults: list[Problem] = []
    files = tuple(
        sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())
    )
    stones = _table(folder, "stones.csv", read_stones, faults)
    holes = _table(folder, "holes.csv", read_holes, faults)
    shopping = _table(folder, "shopping.csv", read_shopping, faults)
    later = (
        _table(folder, "after-sewing.csv", read_stones, faults)
        if "after-sewing.csv" in files
        else ()
    )
    sheets: list[SheetFacts] = []
    for file in files:
        reader = _reader(file) if "/" in file else None
        if reader is None:
            continue
        try:
            sheets.extend(reader(_bytes(folder, file), file))
        except Unreadable as error:
            faults.append(fault("sheet-unreadable", file, str(error)))
        except Refused as error:
            faults.extend(error.problems)
    if faults:
        raise Refused(tuple(faults))
    return PackFacts(stones, holes, shopping, tuple(sheets), files, later)


def _reader(file: str) -> Callable[[bytes, str], tuple[SheetFacts, ...]] | None:
    """The reader for a file's ending, imported only when a file needs it."""
    match file.rsplit(".", 1)[-1].lower():
        case "svg":
            from templater.readback.svg import read_svg

            return lambda data, name: (read_svg(data, name),)
        case "dxf":
            from templater.readback.dxf import read_dxf

            return lambda data, name: (read_dxf(data, name),)
        case "pdf":
            from templater.readback.pdf import read_pdf

            return read_pdf
        case "hpgl":
            from templater.readback.hpgl import read_hpgl

            return lambda data, name: (read_hpgl(data, name),)
        case "drl":
            from templater.readback.drill import read_drill

            return lambda data, name: (read_drill(data, name),)
        case "gcode":
            from templater.readback.gcode import read_gcode

            return lambda data, name: (read_gcode(data, name),)
        case "csv" if file.endswith(ENDINGS["xy"]):
            from templater.readback.xy_table import read_xy

            return lambda data, name: (read_xy(data, name),)
        case _:
            return None


def _table(
    folder: Path,
    file: str,
    read: Callable[[bytes, str], tuple[Table, ...]],
    faults: list[Problem],
) -> tuple[Table, ...]:
    try:
        return read(_bytes(folder, file), file)
    except Refused as error:
        faults.extend(error.problems)
        return ()


def _bytes(folder: Path, file: str) -> bytes:
    try:
        return (folder / file).read_bytes()
    except FileNotFoundError as error:
        raise refuse("pack-file-missing", file, "is not in the pack") from error
