"""DXF files of simple programs that write entities younger than R12 without their subclass marks.

Such files break the rules of DXF, but nothing in them is in doubt: the marks are put where they
belong, so that the loader finds the entity's own data.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

_MARKS = {
    b"LWPOLYLINE": b"AcDbPolyline",
    b"SPLINE": b"AcDbSpline",
    b"ELLIPSE": b"AcDbEllipse",
    b"MTEXT": b"AcDbMText",
}
_COMMON = frozenset(
    (5, 6, 8, 48, 60, 62, 67, 102, 330, 347, 360, 370, 380, 390, 410, 420, 430, 440)
)
"""Group codes of every entity (DXF reference, "Common group codes for entities")."""
_YOUNG = re.compile(rb"\n[ \t]*0[ \t]*\r?\n[ \t]*(?:" + b"|".join(_MARKS) + rb")[ \t]*\r?\n")
_VERSION = re.compile(rb"(\n[ \t]*9[ \t]*\n[ \t]*\$ACADVER[ \t]*\n[ \t]*1[ \t]*\n[ \t]*)AC1009")
_YOUNGEST_MARKED = b"AC1015"
"""R2000: of a file that says R12 the loader reads no marks."""
_HEADER = b"0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\n" + _YOUNGEST_MARKED + b"\n0\nENDSEC\n"
_MARKED = re.compile(rb"\n[ \t]*100[ \t]*\r?\n[ \t]*AcDb")


def with_marks(data: bytes) -> bytes | None:
    """The file with its missing marks; None where it has some, or needs none."""
    if not _YOUNG.search(data) or _MARKED.search(data):
        return None
    marked = b"\n".join(_marked(data.replace(b"\r\n", b"\n").split(b"\n")))
    if not _VERSION.search(marked):
        return _HEADER + marked
    return _VERSION.sub(rb"\g<1>" + _YOUNGEST_MARKED, marked, count=1)


def _marked(lines: list[bytes]) -> Iterator[bytes]:
    """The lines, in pairs of code and value, with marks before an entity's own data."""
    mark = None
    for k in range(0, len(lines) - 1, 2):
        code, value = lines[k].strip(), lines[k + 1].strip()
        if code == b"0":
            mark = _MARKS.get(value)
            yield from (lines[k], lines[k + 1])
            if mark:
                yield from (b"100", b"AcDbEntity")
            continue
        if mark and code.isdigit() and int(code) not in _COMMON:
            yield from (b"100", mark)
            mark = None
        yield from (lines[k], lines[k + 1])
    if len(lines) % 2:
        yield lines[-1]
