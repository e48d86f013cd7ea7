"""Millimetres for one drawing unit of a DXF file."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from templater.model.problems import Problem, Severity, Source

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document

# $INSUNITS: number, name, mm (DXF reference, HEADER; an inch is 25.4 mm by definition, a US survey
# foot 1200/3937 m)
_HEADER_UNITS = {
    1: ("in", 25.4),
    2: ("ft", 304.8),
    4: ("mm", 1.0),
    5: ("cm", 10.0),
    6: ("m", 1000.0),
    8: ("µin", 25.4e-6),
    9: ("mil", 0.0254),
    10: ("yd", 914.4),
    13: ("µm", 1e-3),
    14: ("dm", 100.0),
    21: ("US survey ft", 1200.0e3 / 3937.0),
}
_MM_OF = {
    "mm": 1.0,
    "cm": 10.0,
    "dm": 100.0,
    "m": 1000.0,
    "in": 25.4,
    "inch": 25.4,
    "inches": 25.4,
    "ft": 304.8,
    "feet": 304.8,
    "yd": 914.4,
    "pt": 25.4 / 72.0,
    "pc": 25.4 / 6.0,
    "px": 25.4 / 96.0,
    "q": 0.25,
}


class Unit(NamedTuple):
    """`mm` for one unit; `words` say how it was found; `assumed` if nothing said so."""

    mm: float
    words: str
    assumed: bool
    in_inches: bool = False
    """Whether the header, which names no unit, counts in feet and inches."""


def named_unit(name: str) -> float | None:
    """Millimetres of a unit by name ("mm", "cm", "in"), None for one unknown."""
    return _MM_OF.get(name.strip().casefold())


def unknown_unit(name: str, file: str) -> Problem:
    """The message for a job's `unit` that is not known."""
    return Problem(
        "unknown-unit",
        Severity.ERROR,
        f"The unit “{name}” asked for is not known.",
        "Use one of: mm, cm, dm, m, in, ft, yd, pt, px.",
        Source(file),
    )


def header_unit(document: Document, data: bytes) -> Unit:
    """The unit by the file's $INSUNITS; 1 mm, assumed, where it says nothing we can use.

    ezdxf fills in a header of its own (in metres) for files without one, so the file's bytes are
    asked whether they have one.
    """
    number = 0
    if b"$INSUNITS" in data:
        try:
            number = int(document.header.get("$INSUNITS", 0))
        except (TypeError, ValueError):
            number = 0
    if number in _HEADER_UNITS:
        name, mm = _HEADER_UNITS[number]
        return Unit(mm, f"{name} by the file's header", assumed=False)
    words = "mm, assumed" if number == 0 else f"mm, assumed (header unit number {number})"
    return Unit(1.0, words, assumed=True, in_inches=_counts_in_inches(document, data))


def _counts_in_inches(document: Document, data: bytes) -> bool:
    """By $LUNITS (3 engineering, 4 architectural) or $MEASUREMENT (0 English), if it has them."""
    by_units = b"$LUNITS" in data and document.header.get("$LUNITS", 2) in (3, 4)
    return by_units or (b"$MEASUREMENT" in data and document.header.get("$MEASUREMENT", 1) == 0)


def assumed_unit_problem(file: str, size_mm: tuple[float, float], unit: Unit) -> Problem:
    """Says what was assumed, and the size that follows."""
    width, height = size_mm
    inches = (
        f" Its header counts in feet and inches; in inches it would be {width * 25.4:.1f} × "
        f"{height * 25.4:.1f} mm."
        if unit.in_inches
        else ""
    )
    return Problem(
        "unit-assumed",
        Severity.WARNING,
        f"“{file}” does not say its unit; millimetres are assumed, which makes the drawing "
        f"{width:.1f} × {height:.1f} mm ({width / 10:.1f} × {height / 10:.1f} cm).{inches}",
        'If that is wrong, say the unit in the job: unit = "cm" or unit = "in"; if it is right, '
        'unit = "mm" ends this warning.',
        Source(file),
    )


def unlikely_size_problem(file: str, size_mm: tuple[float, float], unit: Unit) -> Problem:
    """Says that the unit makes the drawing too small or too large to wear."""
    width, height = size_mm
    return Problem(
        "size-unlikely",
        Severity.WARNING,
        f"“{file}” measures {width:.1f} × {height:.1f} mm with the unit {unit.words}, which is "
        "unlikely for a costume piece.",
        "Compare one length you have measured with the survey, and say the unit in the job if it "
        'is another, such as unit = "mm".',
        Source(file),
    )
