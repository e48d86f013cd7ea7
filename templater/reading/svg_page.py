"""The page's true size: where millimetres come from, and what to say when the file is unsure."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from templater.catalogue.papers import find_paper, paper_names
from templater.model.curves import Transform
from templater.model.problems import Problem, Severity, Source
from templater.reading.svg_units import (
    ASKED_MM,
    MM_PER_INCH,
    NORMAL_FONT_PX,
    PX_MM,
    UNIT_MM,
    BadLength,
    Viewport,
    fit_box,
    length,
    parse_fit,
    parse_view_box,
    split_length,
)

if TYPE_CHECKING:
    from lxml import etree

_MEND = (
    'Measure one length on the drawing. If it is not right, put unit = "px72" (or "px90", "mm",'
    ' "cm", "in", "pt") or measured = { layer = "…", length = … } into the job,'
    " or set the document's units to mm in the editor."
)
_OLD_VERSION = re.compile(r"0\.([0-9]{2})\b")
_NOTHING = Viewport(0.0, 0.0, 1.0, 1.0)


@dataclass(frozen=True, slots=True)
class Page:
    """User units to mm (y up), the page in mm, and the viewport percentages refer to.

    `unsized` pages have no height of their own: the drawing's extent must give it.
    """

    to_mm: Transform
    size_mm: tuple[float, float]
    unit: str
    viewport: Viewport
    unsized: bool = False


def page_of(
    root: etree._Element,
    file: str,
    unit: str | None,
    generator: str,
    declared: Mapping[str, str],
) -> tuple[Page | None, list[Problem]]:
    """The page of a root `svg`, or None with the reason. `generator` is the file's first text,
    `declared` what styles say of the root.
    """
    source = Source(file, "", "svg", root.sourceline)
    problems: list[Problem] = []
    try:
        box = parse_view_box(root.get("viewBox"))
        width_text = _stated(declared.get("width"), root.get("width"))
        width, width_unit = _side(width_text)
        height, height_unit = _side(_stated(declared.get("height"), root.get("height")))
    except BadLength as bad:
        return None, [_no_size(source, f"the size of the page cannot be read: {bad}")]
    for side, value in (("width", width), ("height", height)):
        if value is not None and value <= 0.0:
            return None, [_no_size(source, f"the page's {side} is {value:g}: nothing is shown")]
    if box is not None and (box.width == 0.0 or box.height == 0.0):
        return None, [_no_size(source, "the viewBox has no area: nothing is shown")]
    if unit is not None:
        return _asked(unit, box, width, height, source)
    if box is not None:
        if width is None and height is None:
            width, height = box.width, box.height
        elif width is None and height is not None:
            width = height * box.width / box.height
            width_unit = height_unit
        elif height is None and width is not None:
            height = width * box.height / box.width
            height_unit = width_unit
    if width is None or height is None:
        problems.append(_unknown(source))
        flipped = Transform(a=PX_MM, d=-PX_MM)
        return Page(flipped, (0.0, 0.0), "px at 96 per inch, assumed", _NOTHING, True), problems
    place = Viewport(0.0, 0.0, width, height)
    fit = fit_box(box, place, parse_fit(root.get("preserveAspectRatio"))) if box else Transform()
    size_mm = (width * PX_MM, height * PX_MM)
    to_mm = fit.then(Transform(a=PX_MM, d=-PX_MM, f=size_mm[1]))
    real = width_unit in UNIT_MM and width_unit != "px" and height_unit not in {"", "px"}
    if real:
        words = f"{width_unit} by the page's stated size"
        problems.extend(_about_scale(to_mm, source))
    else:
        words = "px at 96 per inch, assumed"
        stated = width_text is not None and "%" not in width_text
        per_inch = _usual_ratio(root, generator)
        problems.append(_assumed(size_mm, source, stated=stated, usual=per_inch))
    return Page(to_mm, size_mm, words, box or place), problems


def _stated(styled: str | None, attribute: str | None) -> str | None:
    """A style goes before an attribute (SVG 2, 7.2), but not one that fits the drawing to a
    window, as web pages do: that is no size.
    """
    try:
        real = styled is not None and split_length(styled)[1] in UNIT_MM
    except BadLength:
        real = False
    return styled if real else attribute or styled


def _side(text: str | None) -> tuple[float | None, str]:
    """Width or height in px and its unit; None where it is left open (absent, auto, percent)."""
    if text is None or not text.strip() or text.strip() == "auto":
        return None, ""
    _, unit = split_length(text)
    if unit in {"%", "vw", "vh"}:
        return None, unit
    return length(text, 0.0, NORMAL_FONT_PX, _NOTHING), unit


def _asked(
    unit: str,
    box: Viewport | None,
    width: float | None,
    height: float | None,
    source: Source,
) -> tuple[Page | None, list[Problem]]:
    """The page where the job says what one user unit is."""
    scale = ASKED_MM.get(unit)
    if scale is None:
        known = ", ".join(ASKED_MM)
        return None, [
            Problem(
                "unit-unknown",
                Severity.ERROR,
                f"The unit “{unit}” is not known.",
                f"Use one of {known}.",
                source,
            )
        ]
    words = f"{unit} for each unit of the drawing, by the job"
    if box is None and width is not None and height is not None:
        box = Viewport(0.0, 0.0, width, height)
    if box is None:
        return Page(Transform(a=scale, d=-scale), (0.0, 0.0), words, _NOTHING, True), []
    to_mm = Transform(a=scale, d=-scale, e=-box.x * scale, f=(box.y + box.height) * scale)
    return Page(to_mm, (box.width * scale, box.height * scale), words, box), []


def _about_scale(to_mm: Transform, source: Source) -> list[Problem]:
    """Notes on a stated size whose inner scale is an old editor's, or uneven."""
    found: list[Problem] = []
    across, up = abs(to_mm.a), abs(to_mm.d)
    if abs(across - up) > 1e-6 * max(across, up):
        found.append(
            Problem(
                "uneven-scale",
                Severity.WARNING,
                f"The page stretches the drawing unevenly: one unit is {across:.6g} mm across and"
                f" {up:.6g} mm up.",
                "If that was not meant, make width and height fit the viewBox, or take"
                " preserveAspectRatio “none” out.",
                source,
            )
        )
        return found
    per_inch = MM_PER_INCH / across
    found.extend(
        Problem(
            "old-ratio",
            Severity.NOTE,
            f"Inside the page one unit is {across:.5g} mm ({old:.0f} per inch). The stated page size"
            " is trusted.",
            "If a length you measure is not right, put unit or measured into the job.",
            source,
        )
        for old in (72.0, 90.0)
        if abs(per_inch - old) < old * 1e-3
    )
    return found


def _assumed(
    size_mm: tuple[float, float], source: Source, *, stated: bool, usual: float
) -> Problem:
    """The warning for a size in px, percent, or none."""
    what = (
        "The file gives its size in px, not in a real unit"
        if stated
        else "The file does not say how large it is"
    )
    hint = ""
    for per_inch in (72.0, 90.0):
        shape = (size_mm[0] * 96.0 / per_inch, size_mm[1] * 96.0 / per_inch)
        paper = _paper_like(shape)
        if paper:
            hint = (
                f" At {per_inch:.0f} per inch the page would be {paper}"
                f" ({shape[0]:.1f} × {shape[1]:.1f} mm): that is likely what was drawn."
            )
            break
    if not hint and usual:
        shape = (size_mm[0] * 96.0 / usual, size_mm[1] * 96.0 / usual)
        hint = (
            f" The kind of program that wrote it usually means {usual:.0f} per inch, which would"
            f" make it {shape[0]:.1f} × {shape[1]:.1f} mm."
        )
    return Problem(
        "size-suspicious" if hint else "size-assumed",
        Severity.WARNING,
        f"{what}. Taken at 96 px per inch the page is {size_mm[0]:.1f} × {size_mm[1]:.1f} mm.{hint}",
        _MEND,
        source,
    )


def _usual_ratio(root: etree._Element, head: str) -> float:
    """Units per inch that the writing program is likely to mean, or 0 if it bears no sign.

    From memory, no source: programs that write x="0px" and y="0px" on the page count 72, and an
    editor's own version mark below 0.92 means 90, as that editor did before it turned to 96.
    """
    if 'x="0px"' in head and 'y="0px"' in head:
        return 72.0
    for name, value in root.attrib.items():
        found = _OLD_VERSION.match(str(value))
        if str(name).endswith("}version") and found and int(found.group(1)) < 92:
            return 90.0
    return 0.0


def _paper_like(size_mm: tuple[float, float]) -> str:
    """The paper a size is, either way up, to within 0.3 mm; "" if none."""
    for name in paper_names():
        paper = find_paper(name)
        if paper is None:
            continue
        for way in (paper, paper[::-1]):
            if abs(way[0] - size_mm[0]) < 0.3 and abs(way[1] - size_mm[1]) < 0.3:
                return name.upper() if len(name) == 2 else name
    return ""


def _unknown(source: Source) -> Problem:
    return Problem(
        "size-assumed",
        Severity.WARNING,
        "The file has no width, height or viewBox, so nothing says how large it is. One unit is"
        " taken as 1/96 in (0.2646 mm), and the page as far as the drawing reaches.",
        _MEND,
        source,
    )


def _no_size(source: Source, why: str) -> Problem:
    return Problem(
        "page-broken",
        Severity.ERROR,
        f"{source.file}, line {source.line}: {why}.",
        "Set the page size in the editor and save the drawing again.",
        source,
    )
