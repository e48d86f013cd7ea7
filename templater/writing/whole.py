"""A sheet written whole, once in each of the job's formats."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from templater.model.formats import ENDINGS, MACHINE_FORMATS
from templater.model.plan import Rules
from templater.model.sheets import Circle, Pen, Sheet, Stroke

_CUTTING = frozenset({Pen.CUT, Pen.HOLE})


def whole_files(sheet: Sheet, rules: Rules) -> Iterator[tuple[str, Callable[[], bytes]]]:
    """The names of the sheet's files and what writes each; no machine file without work for it.

    Raises ValueError for a format that nobody writes.
    """
    from templater.writing.drill import drill_bytes
    from templater.writing.dxf import dxf_bytes
    from templater.writing.gcode import gcode_bytes
    from templater.writing.hpgl import hpgl_bytes
    from templater.writing.pdf import pdf_bytes
    from templater.writing.svg import svg_bytes
    from templater.writing.xy_table import xy_bytes

    writers: dict[str, Callable[[], bytes]] = {
        "svg": lambda: svg_bytes(sheet),
        "dxf": lambda: dxf_bytes(sheet),
        "dxf-r12": lambda: dxf_bytes(sheet, "R12"),
        "pdf": lambda: pdf_bytes((sheet,), sheet.title),
        "hpgl": lambda: hpgl_bytes(sheet, rules.hpgl_units_per_mm),
        "drill": lambda: drill_bytes(sheet),
        "gcode": lambda: gcode_bytes(sheet, rules.gcode_unit),
        "xy": lambda: xy_bytes(sheet),
    }
    for name in dict.fromkeys(rules.formats):
        if name not in writers:
            raise ValueError(f"sheets cannot be written as {name!r}")
        if name not in MACHINE_FORMATS or _has_work(sheet, name):
            yield f"{sheet.name}{ENDINGS[name]}", writers[name]


def _has_work(sheet: Sheet, format_name: str) -> bool:
    """Whether there is anything to be cut on the sheet, or for a table of holes a round one."""
    if format_name == "xy" and not sheet.register:
        return False
    items = [item for layer in sheet.layers for item in layer.items]
    if format_name in {"drill", "xy"}:
        return any(isinstance(item, Circle) and item.pen is Pen.HOLE for item in items)
    return any(isinstance(item, Stroke | Circle) and item.pen in _CUTTING for item in items)
