"""Vector PDF pages to a Drawing in true size.

A page's unit is 1/72 in, times its UserUnit. Paths that are filled or stroked count; curves stay
Béziers. Optional-content layers are the layers; what lies on none is on a layer called `page N`.
Several pages are laid side by side. A page that is only a picture is refused. Imports pikepdf when
called.
"""

from __future__ import annotations

import io
import logging
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING, Any

from templater.geometry.joining import JOIN_TOLERANCE_MM, Joined, join
from templater.model.curves import Box, Transform, shift
from templater.model.drawing import AreaShape, Drawing, DrawingLayer, LineShape, Shape
from templater.model.problems import Problem, Problems, Severity, Source
from templater.model.roles import SINGLE_STROKES
from templater.model.words import counted
from templater.reading.colours import in_colours, with_colours
from templater.reading.naming import role_of

if TYPE_CHECKING:
    from templater.reading.pdf_content import Content, LayerContent
    from templater.reading.pdf_layers import PdfLayers

_POINT_MM = 25.4 / 72.0
_BETWEEN_MM = 20.0
_UNIT = "pt at 72 per inch"


@dataclass(frozen=True, slots=True)
class _Sheet:
    """A page's frame: from its own units to mm with the lower left of what it shows at 0, 0."""

    to_mm: Transform
    width_mm: float
    height_mm: float


def read_pdf(
    data: bytes, file: str, *, unit: str | None = None, size: str | None = None
) -> Drawing:
    """The drawing on the pages of a PDF. Never raises for bad content: see the problems.

    A PDF says its own unit and has no sizes: `unit` and `size` are told to be unused.
    """
    import pikepdf

    if not data.strip():
        return _refused(file, "pdf-empty", f"“{file}” is empty.", "Save the drawing again as PDF.")
    # what the library would write to the terminal; a caller's handlers still hear it
    logger = logging.getLogger("pikepdf")
    if not logger.handlers:
        logger.addHandler(logging.NullHandler())
    try:
        document = pikepdf.open(io.BytesIO(data))
    except pikepdf.PasswordError:
        return _refused(
            file,
            "pdf-locked",
            f"“{file}” is locked with a password.",
            "Save it without a password.",
        )
    except Exception as error:  # noqa: BLE001  whatever a foreign file makes the library raise
        return _refused(
            file,
            "pdf-unreadable",
            f"“{file}” cannot be read as PDF: {str(error).splitlines()[0] if str(error) else error!r}.",
            "Save it again as PDF, or as SVG.",
        )
    with document:
        drawing = _pages(document, file)
        damage = document.get_warnings()
    if damage:
        drawing = replace(drawing, problems=(_damaged(file, str(damage[0])), *drawing.problems))
    unused = [("unit", unit), ("size", size)]
    told = tuple(
        Problem(
            f"{name}-not-used",
            Severity.WARNING,
            f"The job says {name} = “{value}”, which a PDF has no use for: it tells its true size.",
            f"Take `{name}` out of the job; if the size is wrong, use `measured`.",
            Source(file),
        )
        for name, value in unused
        if value is not None
    )
    return Drawing(
        drawing.file, drawing.layers, drawing.size_mm, drawing.unit, (*drawing.problems, *told)
    )


def _refused(file: str, code: str, message: str, mend: str) -> Drawing:
    problem = Problem(code, Severity.ERROR, message, mend, Source(file))
    return Drawing(file, (), (0.0, 0.0), "unknown", (problem,))


def _damaged(file: str, first: str) -> Problem:
    what = first.removeprefix("WARNING: ").partition(": ")[2] or first
    return Problem(
        "pdf-damaged",
        Severity.WARNING,
        f"“{file}” is damaged ({what}); what could be recovered was read.",
        "Copy or save it again, and compare the survey with what you see on the page.",
        Source(file),
    )


def _pages(document: Any, file: str) -> Drawing:
    from templater.reading.pdf_content import Content, Follower
    from templater.reading.pdf_layers import PdfLayers

    layers = PdfLayers.of(document.Root)
    content = Content()
    problems: list[Problem] = []
    x, height, drawn = 0.0, 0.0, 0
    for number, page in enumerate(document.pages, 1):
        before = content.painted
        try:
            sheet = _sheet(page)
            start = sheet.to_mm.then(shift(x, 0.0))
            follower = Follower(file, f"page {number}", layers, content, start)
            clip: Box = (x, 0.0, x + sheet.width_mm, sheet.height_mm)
            follower.follow(page, page.obj.get("/Resources"), clip)
            laid_over = [mark for mark in page.obj.get("/Annots", ()) if _shows(mark)]
            if laid_over:
                content.count("annotations", None, len(laid_over))
        except Exception as error:  # noqa: BLE001  a broken page must not end the reading
            problems.append(
                Problem(
                    "page-unreadable",
                    Severity.ERROR,
                    f"Page {number} of “{file}” cannot be read to its end: {error}.",
                    "Save it again as PDF, or as SVG.",
                    Source(file, f"page {number}"),
                )
            )
            continue
        if content.painted > before:
            x += sheet.width_mm + _BETWEEN_MM
            height = max(height, sheet.height_mm)
            drawn += 1
    width = max(x - _BETWEEN_MM, 0.0)
    made, faults = _layers(content)
    problems.extend(faults)
    problems.extend(_counted(content, layers, file))
    if drawn > 1:
        problems.append(_side_by_side(file, drawn))
    if not any(isinstance(s, AreaShape | LineShape) for layer in made for s in layer.shapes):
        problems.append(_nothing(file, content))
    return Drawing(file, made, (width, height), _UNIT, tuple(problems))


def _sheet(page: Any) -> _Sheet:
    """Source: ISO 32000-1, 7.7.3.3 "Page objects" (boxes, Rotate, UserUnit)."""
    (x0, y0, x1, y1), media = (_box(box) for box in (page.cropbox, page.mediabox))
    if x0 < media[2] and x1 > media[0] and y0 < media[3] and y1 > media[1]:
        x0, y0 = max(x0, media[0]), max(y0, media[1])
        x1, y1 = min(x1, media[2]), min(y1, media[3])
    scale = _POINT_MM * float(page.obj.get("/UserUnit", 1.0))
    turn = int(page.rotation if hasattr(page, "rotation") else page.obj.get("/Rotate", 0)) % 360
    width, height = x1 - x0, y1 - y0
    turned = {
        0: Transform(),
        90: Transform(0.0, -1.0, 1.0, 0.0, 0.0, width),
        180: Transform(-1.0, 0.0, 0.0, -1.0, width, height),
        270: Transform(0.0, 1.0, -1.0, 0.0, height, 0.0),
    }.get(turn, Transform())
    if turn in (90, 270):
        width, height = height, width
    to_mm = shift(-x0, -y0).then(turned).then(Transform(a=scale, d=scale))
    return _Sheet(to_mm, width * scale, height * scale)


def _shows(annotation: Any) -> bool:
    """Whether an annotation draws something: links and windows do not."""
    return str(annotation.get("/Subtype", "")) not in {"/Link", "/Popup", "/Widget"}


def _box(box: Any) -> Box:
    x0, y0, x1, y1 = (float(value) for value in box)
    return (min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))


def _layers(content: Content) -> tuple[tuple[DrawingLayer, ...], Problems]:
    made: list[DrawingLayer] = []
    problems: Problems = ()
    for name, held in content.layers.items():
        shapes, faults = _joined(held, role_of(name))
        problems += faults
        if shapes:
            coloured = _by_colour(held)
            read = partial(_of_colour, coloured, role_of(name))
            made.append(with_colours(DrawingLayer(name, tuple(shapes)), coloured, read))
    return tuple(made), problems


def _by_colour(held: LayerContent) -> dict[str, LayerContent]:
    """What was painted on a layer, told apart by its colour."""
    from templater.reading.pdf_content import LayerContent

    shapes = in_colours(held.shapes, lambda shape: shape.source.colour)
    lines = in_colours(held.open, lambda line: line[0][1].colour)
    return {
        colour: LayerContent(shapes.get(colour, []), lines.get(colour, []))
        for colour in dict.fromkeys((*shapes, *lines))
    }


def _of_colour(coloured: Mapping[str, LayerContent], role: str, colour: str) -> tuple[Shape, ...]:
    """One colour read for itself; what is wrong has been told of the whole layer."""
    shapes, _ = _joined(coloured[colour], role)
    return tuple(shapes)


def _joined(held: LayerContent, role: str) -> tuple[list[Shape], Problems]:
    """A layer's shapes with its loose lines joined and what was painted twice dropped."""
    from templater.reading.areas import areas_of
    from templater.reading.tidy import without_doubles

    loose = [traced for traced, _ in held.open]
    if role in SINGLE_STROKES:
        joined = Joined((), tuple(loose), ())
    else:
        joined = join(loose, JOIN_TOLERANCE_MM)
    widths = {source.element: width for (_, source), width in held.open}
    shapes = list(held.shapes)
    for path, source in joined.closed:
        inside = areas_of([path], evenodd=True)
        shapes.extend(AreaShape(area, source) for area in inside.areas)
        shapes.extend(LineShape(line, source) for line in inside.lines)
    shapes.extend(
        LineShape(path, source, widths.get(source.element.split(" and ")[0], 0.0))
        for path, source in joined.open
    )
    kept, doubles = without_doubles(shapes)
    problems = joined.problems
    if doubles:
        source = doubles[0].source
        problems += (
            Problem(
                "repeats-dropped",
                Severity.NOTE,
                f"Left out on layer “{source.layer}”, as they lie exactly on others: "
                f"{counted(len(doubles), 'shape')}.",
                "Nothing needs doing: outlines are often painted twice, to fill and to stroke.",
                source,
            ),
        )
    return kept, problems


_COUNTED = {
    "white fills": (Severity.NOTE, "Left out, as filled in white, which does not show",
                    "Give them an outline if they should count."),
    "see-through": (Severity.NOTE, "Left out, as painted wholly see-through",
                    "Give them some opacity if they should count."),
    "annotations": (Severity.NOTE, "Left out, as comments and marks laid over the page",
                    "Draw them on the page itself if they should count."),
    "clipped away": (Severity.NOTE, "Left out, as outside the page or what it shows",
                     "Move them onto the page if they should count."),
    "clipped in part": (Severity.WARNING, "Shapes clipped by the page or a mask, but read whole",
                        "Release the mask in the editor and trim the shape itself."),
    "closed as filled": (Severity.NOTE, "Shapes filled but not closed, which a line now closes",
                         "Close them in the editor."),
    "crossing": (Severity.NOTE, "Shapes that cross themselves, worked out within 0.001 mm",
                 "Nothing needs doing, unless the crossing was not meant."),
    "covered": (Severity.NOTE, "Left out, as inside another of the same fill without being a hole",
                "Nothing needs doing, unless a hole was meant."),
    "without width": (Severity.NOTE, "Left out, as they enclose nothing",
                      "Nothing needs doing, unless an area was meant."),
    "too tangled": (Severity.ERROR, "Shapes that cross themselves too often to be read",
                    "Simplify the path in the editor."),
    "shadings": (Severity.NOTE, "Left out, as shadings without an outline",
                 "Draw an outline if they should count."),
    "texts unreadable": (Severity.NOTE, "Texts whose font does not say its letters",
                         "Nothing needs doing: texts are only notes."),
    "forms in themselves": (Severity.ERROR, "Groups that contain themselves",
                            "Save the file again."),
    "objects missing": (Severity.ERROR, "Things that are named but missing",
                        "Save the file again."),
}  # fmt: skip


def _counted(content: Content, layers: PdfLayers, file: str) -> list[Problem]:
    found = []
    for what, (severity, words, mend) in _COUNTED.items():
        if count := content.counts[what]:
            at = content.places.get(what)
            where = f", the first at x {at[0]:.2f}, y {at[1]:.2f} mm" if at else ""
            message = f"{words} in “{file}”: {count}{where}."
            code = "pdf-" + what.replace(" ", "-")
            found.append(Problem(code, severity, message, mend, Source(file), at))
    if content.counts["images"] and content.painted:
        found.append(
            Problem(
                "pdf-images",
                Severity.NOTE,
                f"Left out of “{file}”, as only lines are read: "
                f"{counted(content.counts['images'], 'picture')}.",
                "Trace them if they should count.",
                Source(file),
                content.places.get("images"),
            )
        )
    found.extend(
        Problem(
            "layer-hidden",
            Severity.NOTE,
            f"Left out on layer “{name}”: {counted(count, 'shape')}, as the layer is off.",
            "Switch the layer on and save again if they are needed.",
            Source(file, name),
        )
        for name, count in layers.hidden.items()
    )
    return found


def _side_by_side(file: str, pages: int) -> Problem:
    return Problem(
        "pages-side-by-side",
        Severity.WARNING,
        f"“{file}” has {pages} pages with lines; they were laid side by side, {_BETWEEN_MM:g} mm "
        "apart.",
        "If they are tiles of one sheet, use the file made for one large sheet, or put the tiles "
        "together in an editor: templater does not.",
        Source(file),
    )


def _nothing(file: str, content: Content) -> Problem:
    if content.counts["images"]:
        return Problem(
            "pdf-picture-only",
            Severity.ERROR,
            f"“{file}” holds only pictures made of pixels, which have no lines to read.",
            "Ask for the vector PDF, or trace the picture in a vector editor and save as SVG.",
            Source(file),
        )
    return Problem(
        "drawing-empty",
        Severity.ERROR,
        f"“{file}” has no lines or areas in it that are shown.",
        "Save the drawing again with its layers on.",
        Source(file),
    )
