"""The formats of sheets: how their files' names end. One list for who writes and who checks."""

from __future__ import annotations

ENDINGS: dict[str, str] = {
    "svg": ".svg",
    "dxf": ".dxf",
    "pdf": ".pdf",
    "dxf-r12": "-r12.dxf",
    "hpgl": ".hpgl",
    "drill": ".drl",
    "gcode": ".gcode",
    "xy": "-xy.csv",
}
"""By the job's word for the format: what follows a sheet's name in the name of its file."""

MACHINE_FORMATS = ("hpgl", "drill", "gcode", "xy")
"""Those that say only where a tool goes: no words, no test bars, nothing where nothing is cut."""

_LONGEST_FIRST = sorted(ENDINGS.values(), key=len, reverse=True)


def sheet_stem(file: str) -> str:
    """A sheet's name, without the ending of its file; unchanged where it has none of ours."""
    for ending in _LONGEST_FIRST:
        if file.endswith(ending) and len(file) > len(ending):
            return file.removesuffix(ending)
    return file
