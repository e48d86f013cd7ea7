"""Where an SVG file keeps what others refer to, and the inner pages of nested `svg` and `symbol`.

Imports lxml; imported late.
"""

from __future__ import annotations

from lxml import etree

from templater.model.curves import Transform, shift
from templater.reading.colours import BLACK
from templater.reading.svg_css import StyleSheets
from templater.reading.svg_shapes import Sizes
from templater.reading.svg_style import css_colour
from templater.reading.svg_units import Viewport, fit_box, parse_fit, parse_view_box
from templater.reading.svg_xml import href, local

_SWATCHES = 8  # gradients that refer to one another


class Places:
    """Elements by id, each with a number of its own. The first of a doubled id counts."""

    def __init__(self, root: etree._Element) -> None:
        self._found: dict[str, tuple[int, etree._Element]] = {}
        for number, element in enumerate(root.iter(etree.Element)):
            name = element.get("id")
            if name is not None:
                self._found.setdefault(name, (number, element))

    def find(self, name: str) -> tuple[int, etree._Element] | None:
        return self._found.get(name)

    def swatch(self, reference: str, sheets: StyleSheets) -> str:
        """The colour of `url(#id)` where that is a gradient of one colour, as editors keep named
        swatches; "" for a true gradient, a pattern, or what is not there.
        """
        name = reference[4:].partition(")")[0].strip("'\" #")
        for _ in range(_SWATCHES):
            found = self._found.get(name)
            if found is None or not local(found[1]).endswith("Gradient"):
                return ""
            stops = [stop for stop in found[1] if local(stop) == "stop"]
            if stops:
                inks = {css_colour(sheets.declared(s).get("stop-color", BLACK)) for s in stops}
                return inks.pop() if len(inks) == 1 else ""
            name = href(found[1]).lstrip("#")
        return ""

    @staticmethod
    def holds(target: etree._Element, element: etree._Element) -> bool:
        """Whether an element lies inside what it refers to, or is it."""
        return target is element or any(one is target for one in element.iterancestors())


def nested_page(
    element: etree._Element, sizes: Sizes, wanted: Sizes | None
) -> tuple[Transform, Viewport, Viewport] | None:
    """From an inner page to its surroundings; its viewport; what it shows of the surroundings.

    None where it shows nothing. `wanted` are a `use`'s own sizes, which come before the inner
    page's (SVG 2, 5.5). Raises BadLength or BadShape.
    """
    whole_width, whole_height = sizes.viewport.width, sizes.viewport.height
    width, height = sizes.get("width", whole_width), sizes.get("height", whole_height)
    if wanted is not None:
        width, height = wanted.get("width", width), wanted.get("height", height)
    x, y = sizes.get("x"), sizes.get("y")
    if width <= 0.0 or height <= 0.0:
        return None
    place = Viewport(x, y, width, height)
    box = parse_view_box(element.get("viewBox"))
    if box is None:
        inner = Viewport(0.0, 0.0, width, height)
        return shift(x, y), inner, place
    if box.width == 0.0 or box.height == 0.0:
        return None
    return fit_box(box, place, parse_fit(element.get("preserveAspectRatio"))), box, place
