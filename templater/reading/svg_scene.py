"""What is handed down while an SVG tree is walked: the frame, the look, the layer.

Imports lxml; imported late.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from lxml import etree

from templater.model.curves import Box, Transform
from templater.reading.naming import chosen, role_of, unescaped
from templater.reading.svg_style import Style
from templater.reading.svg_transform import BadTransform, about, parse_origin, parse_transform
from templater.reading.svg_units import Viewport
from templater.reading.svg_xml import in_svg, local

_FARTHEST = 1e9
_LABELS = frozenset({"label"})


@dataclass(frozen=True, slots=True)
class Scene:
    """The surroundings of an element. `to_mm` takes its user units to the canonical frame."""

    to_mm: Transform
    viewport: Viewport
    style: Style
    layer: str = ""
    layer_given: bool = False
    within: tuple[int, ...] = ()  # sequence numbers of the elements that `use` is unfolding
    window_mm: Box | None = None  # what a nested page would show
    depth: int = 0

    @property
    def role(self) -> str:
        return role_of(self.layer)


def label_of(element: etree._Element) -> str:
    """An editor's own label on an element, else `data-name`, else its title; "" without."""
    for name, value in element.attrib.items():
        if str(name).rpartition("}")[2] in _LABELS and str(value).strip():
            return str(value).strip()
    own = (element.get("data-name") or "").strip()
    if own:
        return own
    for child in element:
        if local(child) == "title" and in_svg(child):
            return " ".join("".join(child.itertext()).split())
    return ""


def name_of(element: etree._Element) -> str:
    """What an editor calls an element: its label, else its id, else ""."""
    return label_of(element) or unescaped(element.get("id") or "")


def called(element: etree._Element) -> str:
    """An element in words, for messages: what it is, then what it is called."""
    name = name_of(element)
    return f"{local(element)} {name}" if name else local(element)


def inside_group(scene: Scene, element: etree._Element, *, copied: bool) -> Scene:
    """The scene inside a group, with the group's name as the layer where it counts.

    The id of a group that `use` copies is there to be referred to: only a role makes it a name.
    """
    label = label_of(element)
    own = label or unescaped(element.get("id") or "")
    if copied and not label and not role_of(own):
        own = ""
    layer, given = chosen(
        own, own_is_label=bool(label), above=scene.layer, above_given=scene.layer_given
    )
    if layer == scene.layer and given == scene.layer_given:
        return scene
    return replace(scene, layer=layer, layer_given=given)


def moved(scene: Scene, declared: dict[str, str], own_box: Callable[[], Viewport | None]) -> Scene:
    """The scene under an element's own transform. Raises BadTransform.

    `own_box` is asked for the box around the element where the transform refers to that.
    """
    text = declared.get("transform")
    if not text or text == "none":
        return scene
    box, corner = scene.viewport, (0.0, 0.0)
    if declared.get("transform-box", "") in {"fill-box", "content-box"}:
        own = own_box()
        if own is None:
            raise BadTransform("a transform about a group's own box is not served")
        box, corner = own, (own.x, own.y)
    elif declared.get("transform-box", "") == "stroke-box":
        raise BadTransform("a transform about the box of its stroke is not served")
    inner = parse_transform(text, box, scene.style.font_px)
    x, y = parse_origin(declared.get("transform-origin", "0 0"), box, scene.style.font_px)
    inner = about((x + corner[0], y + corner[1]), inner)
    to_mm = inner.then(scene.to_mm)
    numbers = (to_mm.a, to_mm.b, to_mm.c, to_mm.d, to_mm.e, to_mm.f)
    if not all(abs(number) <= _FARTHEST for number in numbers):
        raise BadTransform(f"“{text[:40]}” moves or scales beyond any size")
    return replace(scene, to_mm=to_mm)


def window_of(scene: Scene, box: Viewport) -> Box:
    """A box of user units in mm."""
    corners = [
        scene.to_mm.apply((box.x + u * box.width, box.y + v * box.height))
        for u in (0.0, 1.0)
        for v in (0.0, 1.0)
    ]
    xs, ys = [c[0] for c in corners], [c[1] for c in corners]
    return (min(xs), min(ys), max(xs), max(ys))
