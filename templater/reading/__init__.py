"""Bytes to a Drawing. The only room, with writing and readback, that knows file formats."""

from __future__ import annotations

from templater.model.drawing import Drawing
from templater.model.problems import Problem, Severity, Source

_KNOWN = {"svg": "svg", "svgz": "svg", "dxf": "dxf", "pdf": "pdf"}
_MEND = "Save the drawing as SVG, DXF or vector PDF."


def read_drawing(
    data: bytes, file: str, *, unit: str | None = None, size: str | None = None
) -> Drawing:
    """A drawing file as a Drawing, its kind known by its content first, then by its ending.

    `unit` says what one unit of the file is where the file does not (mm, cm, in, …); `size` picks
    a size of a sewn-pattern file. Never raises for what the file holds: a file that cannot be read
    gives a Drawing without layers and a problem of severity ERROR that says why.
    """
    match _kind(data, file):
        case "svg":
            from templater.reading.svg import read_svg

            return read_svg(data, file, unit=unit)
        case "dxf":
            from templater.reading.dxf import read_dxf

            return read_dxf(data, file, unit=unit, size=size)
        case "pdf":
            from templater.reading.pdf import read_pdf

            return read_pdf(data, file, unit=unit)
        case other:
            return _refused(file, other)


def _kind(data: bytes, file: str) -> str:
    """svg, dxf or pdf; else words for what the file seems to be."""
    head = data[:1024]
    ending = file.rpartition(".")[2].casefold() if "." in file else ""
    if b"%PDF-" in head:
        return "pdf"
    if head.startswith(b"AutoCAD Binary DXF"):
        return "dxf"
    if head.startswith(b"AC10"):
        return "a DWG file, which only CAD programs read"
    pictures = ((b"\x89PNG", "PNG"), (b"\xff\xd8\xff", "JPEG"), (b"GIF8", "GIF"))
    for mark, name in pictures:
        if head.startswith(mark):
            return f"a {name} picture made of pixels, which has no lines to read"
    text = head.lstrip(b"\xef\xbb\xbf \t\r\n")
    if text.startswith(b"<") or head[:2] in {b"\xff\xfe", b"\xfe\xff", b"\x1f\x8b"}:
        return "svg"
    if not data.strip():
        return _KNOWN.get(ending, "an empty file") if ending == "svg" else "an empty file"
    if head.startswith(b"%!PS"):
        return "a PostScript file"
    return _KNOWN.get(
        ending, f"of a kind that is not known (“.{ending}”)" if ending else "no known kind"
    )


def _refused(file: str, seems: str) -> Drawing:
    problem = Problem(
        "kind-unknown",
        Severity.ERROR,
        f"{file} cannot be read: it is {seems}.",
        _MEND,
        Source(file),
    )
    return Drawing(file, (), (0.0, 0.0), "unknown", (problem,))
