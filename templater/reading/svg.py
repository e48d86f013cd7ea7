"""SVG drawings to the canonical frame: bytes in, a Drawing out, whatever the bytes hold."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

from templater.geometry.measure import box_of
from templater.model.curves import Point, shift
from templater.model.drawing import AreaShape, Drawing, DrawingLayer, LineShape, PointShape
from templater.model.problems import Problem, Severity, Source, has_errors
from templater.reading.svg_page import Page, page_of

if TYPE_CHECKING:
    from lxml import etree

    from templater.reading.svg_css import StyleSheets


def read_svg(data: bytes, file: str, *, unit: str | None = None) -> Drawing:
    """An SVG file (plain or gzipped) as a Drawing. Never raises for what the file holds.

    `unit` says what one user unit is: mm, cm, in, pt, px (1/96 in), px72 or px90; without it the
    page's own size counts. What is wrong with the file stands in the drawing's problems.
    """
    from templater.reading.svg_css import read_sheets
    from templater.reading.svg_xml import in_svg, local, parse_xml

    root, problems = parse_xml(data, file)
    if root is None:
        return _nothing(file, problems)
    if local(root) != "svg" or not in_svg(root):
        return _nothing(
            file,
            [
                Problem(
                    "not-svg",
                    Severity.ERROR,
                    f"{file} is XML but no SVG drawing: its root is <{local(root)}>.",
                    "Save the drawing as SVG, DXF or PDF.",
                    Source(file, line=root.sourceline),
                )
            ],
        )
    head = data[:4096].decode("latin-1")
    sheets = read_sheets(root, file)
    page, found = page_of(root, file, unit, head, sheets.declared(root))
    if page is None:
        return _nothing(file, found)
    layers, more = _layers(root, file, page, sheets)
    if page.unsized and layers:
        x0, y0, x1, _ = box_of(_points(layers))
        size = (max(x1, 0.0), max(-y0, 0.0))
        if min(size) > 0.0:
            to_mm = page.to_mm.then(shift(0.0, size[1]))
            page = replace(page, to_mm=to_mm, size_mm=size)
            layers, more = _layers(root, file, page, sheets)
            found.append(_extent_note(size, x0, file))
    found.extend(more)
    if "<?xml-stylesheet" in head:
        found.append(
            Problem(
                "style-not-read",
                Severity.WARNING,
                "The file refers to a style sheet of its own in another file; it was not read.",
                "Save the drawing with its styles inside.",
                Source(file),
            )
        )
    if not layers and not has_errors(found):
        found.append(
            Problem(
                "nothing-drawn",
                Severity.ERROR,
                f"{file} holds no line, area or text that could be read.",
                "Check that the layers are shown and hold paths, not pictures.",
                Source(file, line=root.sourceline),
            )
        )
    return Drawing(file, layers, page.size_mm, page.unit, tuple(found))


def _layers(
    root: etree._Element, file: str, page: Page, sheets: StyleSheets
) -> tuple[tuple[DrawingLayer, ...], list[Problem]]:
    """Everything drawn on the page, by layer, and what was found on the way."""
    from templater.reading.svg_layers import Layers
    from templater.reading.svg_scene import Scene
    from templater.reading.svg_selectors import TooHeavy
    from templater.reading.svg_style import Style
    from templater.reading.svg_walk import TooMuch, Walk
    from templater.reading.tally import Tally

    tally = Tally(file)
    tally.adopt(sheets.problems)
    frame = None if page.unsized else (0.0, 0.0, *page.size_mm)
    layers = Layers(tally, frame)
    walk = Walk(root, file, sheets, tally)
    try:
        for drawn in walk.run(Scene(page.to_mm, page.viewport, Style())):
            layers.add(drawn)
    except (TooMuch, TooHeavy) as reason:
        why = str(reason) or "its style sheets take too long to apply"
        tally.tell(
            "too-much",
            Severity.ERROR,
            f"{file} cannot be read: {why}.",
            "Unlink the copies and simplify the drawing in an editor, then save it again.",
            Source(file),
        )
        return (), tally.problems()
    finished = layers.finished()
    names = {layer.name for layer in finished}
    for name, source in walk.roles_seen.items():
        if name not in names:
            tally.tell(
                "empty-layer",
                Severity.WARNING,
                f"The layer “{name}” (line {source.line}) holds nothing that could be read.",
                "Show what is hidden on it, or delete the layer.",
                source,
            )
    return finished, tally.problems()


def _points(layers: Iterable[DrawingLayer]) -> Iterable[Point]:
    """Points that span what is drawn."""
    from templater.geometry.measure import path_box

    for layer in layers:
        for shape in layer.shapes:
            match shape:
                case AreaShape():
                    box = path_box(shape.area.outline)
                case LineShape():
                    box = path_box(shape.path)
                case PointShape():
                    box = (*shape.at, *shape.at)
                case _:
                    box = (*shape.at, *shape.at)
            yield box[:2]
            yield box[2:]


def _extent_note(size_mm: tuple[float, float], left_mm: float, file: str) -> Problem:
    beyond = "" if left_mm >= 0.0 else " Part of it lies left of the origin."
    return Problem(
        "page-by-extent",
        Severity.NOTE,
        f"The page is taken as far as the drawing reaches: {size_mm[0]:.1f} × {size_mm[1]:.1f} mm"
        f" from the origin.{beyond}",
        "Set a page size in the editor if places on the page matter.",
        Source(file),
    )


def _nothing(file: str, problems: Iterable[Problem]) -> Drawing:
    return Drawing(file, (), (0.0, 0.0), "unknown", tuple(problems))
