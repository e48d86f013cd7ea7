"""A written SVG back to circles, paths and texts in mm, y up. Imported only when one is read."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from templater.model.curves import IDENTITY, Transform
from templater.model.facts import CircleFact, SheetFacts, TextFact
from templater.readback.faults import Unreadable
from templater.readback.marks import FLAT_MM, Found, arc_points, keeps_circles, moved, scale_of
from templater.readback.svg_path import path_points

if TYPE_CHECKING:
    from lxml.etree import _Element as Element

_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6, "px": 25.4 / 96, "": 25.4 / 96, "q": 0.25}  # fmt: skip
# Source: CSS Values and Units Level 4, section 6.2 (absolute lengths).
_SPACE = "{http://www.w3.org/XML/1998/namespace}space"
_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
_LENGTH = re.compile(rf"\s*({_NUMBER})\s*([a-zA-Z]*)\s*")
_CALL = re.compile(r"([a-zA-Z]+)\s*\(([^)]*)\)")
_NEVER_DRAWN = frozenset(
    {
        "defs",
        "symbol",
        "clipPath",
        "mask",
        "pattern",
        "marker",
        "metadata",
        "title",
        "desc",
        "style",
    }
)
_DEEPEST = 32


@dataclass(frozen=True)
class _Place:
    """Where an element stands: its layer, what takes it to mm with y up, and its font size."""

    layer: str
    to_mm: Transform
    font: float
    depth: int = 0


_ISOLATES = dict.fromkeys(range(0x2066, 0x206A))
"""What keeps apart words that run in two directions (UAX #9): no part of what is said."""


def read_svg(data: bytes, file: str) -> SheetFacts:
    """One sheet. Raises Unreadable for what is no SVG, has no physical size, or cannot be placed."""
    from lxml import etree

    parser = etree.XMLParser(resolve_entities="internal", no_network=True, huge_tree=False)
    try:
        root = etree.fromstring(data, parser)
    except etree.XMLSyntaxError as error:
        raise Unreadable(f"is no proper XML ({error})") from error
    if _name(root) != "svg":
        raise Unreadable(f"its root is <{_name(root)}>, not <svg>")
    width, height, to_mm = _frame(root)
    ids = {key: node for node in root.iter() if (key := node.get("id"))}
    found = Found()
    for child in root:
        _walk(child, _Place("", to_mm, 16.0), ids, found)
    return found.facts(file, 1, (width, height))


def _name(node: Element) -> str:
    tag = node.tag
    return tag.rsplit("}", 1)[-1] if isinstance(tag, str) else ""


def _frame(root: Element) -> tuple[float, float, Transform]:
    width, height = _physical(root, "width"), _physical(root, "height")
    box = [float(part) for part in re.split(r"[\s,]+", (root.get("viewBox") or "").strip()) if part]
    if not box:
        px = _MM["px"]
        return width, height, Transform(px, 0.0, 0.0, -px, 0.0, height)
    if len(box) != 4 or box[2] <= 0 or box[3] <= 0:
        raise Unreadable(f"its viewBox {root.get('viewBox')!r} is no box")
    across, up = width / box[2], height / box[3]
    if (root.get("preserveAspectRatio") or "").strip().split(" ")[0] != "none":
        across = up = min(across, up)
    left = (width - across * box[2]) / 2 - across * box[0]
    top = (height - up * box[3]) / 2 - up * box[1]
    return width, height, Transform(across, 0.0, 0.0, -up, left, height - top)


def _physical(root: Element, key: str) -> float:
    match = _LENGTH.fullmatch(root.get(key) or "")
    if not match or match[2].lower() not in _MM or float(match[1]) <= 0:
        raise Unreadable(f"its {key} {root.get(key)!r} is no physical length")
    return float(match[1]) * _MM[match[2].lower()]


def _walk(node: Element, place: _Place, ids: dict[str, Element], found: Found) -> None:
    name = _name(node)
    if (
        not name
        or name in _NEVER_DRAWN
        or "display:none" in _style(node)
        or node.get("display") == "none"
    ):
        return
    place = _placed(node, name, place)
    match name:
        case "g" | "a" | "switch":
            for child in node:
                _walk(child, place, ids, found)
        case "use":
            _use(node, place, ids, found)
        case "circle" | "ellipse":
            _ellipse(node, name, place, found)
        case "path":
            flat = FLAT_MM / max(scale_of(place.to_mm), 1e-12)
            for points, closed, curved in path_points(node.get("d") or "", flat):
                found.add_path(
                    moved(points, place.to_mm), place.layer, closed=closed, curved=curved
                )
        case "line" | "polyline" | "polygon" | "rect":
            _straight(node, name, place, found)
        case "text":
            _text(node, place, found)
        case "svg" | "image" | "foreignObject":
            raise Unreadable(f"holds a <{name}>, which is not read back")
        case _:
            return


def _style(node: Element) -> str:
    return (node.get("style") or "").replace(" ", "")


def _placed(node: Element, name: str, place: _Place) -> _Place:
    layer, font = place.layer, place.font
    if name == "g":
        labels = [value for key, value in node.attrib.items() if _local(key) == "label"]
        layer = next(iter(labels), None) or node.get("id") or layer
    declared = re.search(rf"font-size:({_NUMBER})([a-z]*)", _style(node))
    size = declared or _LENGTH.fullmatch(node.get("font-size") or "")
    if size:
        unit = size[2].lower()
        font = float(size[1]) * (_MM[unit] / _MM["px"] if unit in _MM else 1.0)
    own = _transform(node.get("transform") or "")
    return _Place(str(layer), own.then(place.to_mm), font, place.depth)


def _local(key: str | bytes) -> str:
    return str(key).rsplit("}", 1)[-1]


def _transform(text: str) -> Transform:
    """A transform attribute: its calls apply from the right (SVG 2, section 8.5)."""
    whole = IDENTITY
    for call, inside in _CALL.findall(text):
        numbers = [float(part) for part in re.split(r"[\s,]+", inside.strip()) if part]
        whole = _call(call, numbers).then(whole)
    if _CALL.sub("", text).strip(" ,\t\r\n"):
        raise Unreadable(f"its transform {text!r} is not understood")
    return whole


def _call(name: str, n: list[float]) -> Transform:
    match name, len(n):
        case "matrix", 6:
            return Transform(*n)
        case "translate", 1 | 2:
            return Transform(e=n[0], f=n[1] if len(n) == 2 else 0.0)
        case "scale", 1 | 2:
            return Transform(a=n[0], d=n[-1])
        case "rotate", 1 | 3:
            angle = math.radians(n[0])
            cos, sin = math.cos(angle), math.sin(angle)
            turn = Transform(cos, sin, -sin, cos)
            if len(n) == 1:
                return turn
            return Transform(e=-n[1], f=-n[2]).then(turn).then(Transform(e=n[1], f=n[2]))
        case "skewX", 1:
            return Transform(c=math.tan(math.radians(n[0])))
        case "skewY", 1:
            return Transform(b=math.tan(math.radians(n[0])))
        case _:
            raise Unreadable(f"its transform {name}({n}) is not understood")


def _user(node: Element, key: str) -> float:
    """A length in user units; mm and the like by their value in px."""
    text = node.get(key)
    if text is None:
        return 0.0
    match = _LENGTH.fullmatch(text)
    if not match or match[2].lower() not in _MM:
        raise Unreadable(f"<{_name(node)}> has {key} {text!r}, which is no length")
    return float(match[1]) * _MM[match[2].lower()] / _MM["px"]


def _use(node: Element, place: _Place, ids: dict[str, Element], found: Found) -> None:
    href = next((value for key, value in node.attrib.items() if _local(key) == "href"), "")
    target = ids.get(str(href).removeprefix("#"))
    if target is None or place.depth > _DEEPEST:
        raise Unreadable(f"its <use> of {href!r} leads nowhere")
    shift = Transform(e=_user(node, "x"), f=_user(node, "y"))
    inner = _Place(place.layer, shift.then(place.to_mm), place.font, place.depth + 1)
    for each in target if _name(target) == "symbol" else (target,):
        _walk(each, inner, ids, found)


def _ellipse(node: Element, name: str, place: _Place, found: Found) -> None:
    x, y = _user(node, "cx"), _user(node, "cy")
    across = _user(node, "r" if name == "circle" else "rx")
    up = _user(node, "r" if name == "circle" else "ry")
    if across <= 0 or up <= 0:
        raise Unreadable(f"holds a <{name}> without a radius")
    whole = Transform(a=across, d=up, e=x, f=y).then(place.to_mm)
    if keeps_circles(whole):
        at = whole.apply((0.0, 0.0))
        found.circles.append(CircleFact(*at, 2.0 * math.hypot(whole.a, whole.b), place.layer))
        return
    unit = arc_points(0j, 1.0, 0.0, 2 * math.pi, FLAT_MM / max(scale_of(whole), FLAT_MM))
    found.add_path(moved(unit, whole), place.layer, closed=True, curved=True)


def _straight(node: Element, name: str, place: _Place, found: Found) -> None:
    if name == "line":
        points = [
            complex(_user(node, "x1"), _user(node, "y1")),
            complex(_user(node, "x2"), _user(node, "y2")),
        ]
    elif name == "rect":
        if node.get("rx") or node.get("ry"):
            raise Unreadable("holds a <rect> with rounded corners, which is not read back")
        x, y, w, h = (_user(node, key) for key in ("x", "y", "width", "height"))
        points = [complex(x, y), complex(x + w, y), complex(x + w, y + h), complex(x, y + h)]
    else:
        numbers = [float(each) for each in re.findall(_NUMBER, node.get("points") or "")]
        if len(numbers) % 2:
            raise Unreadable(f"its <{name}> has an odd number of coordinates")
        points = [complex(*numbers[i : i + 2]) for i in range(0, len(numbers), 2)]
    closed = name in {"rect", "polygon"}
    found.add_path(moved(points, place.to_mm), place.layer, closed=closed, curved=False)


def _text(node: Element, place: _Place, found: Found) -> None:
    text = "".join(str(part) for part in node.itertext())
    text = text.translate(_ISOLATES)
    if node.get(_SPACE) == "preserve":
        text = re.sub(r"[\t\n\r]", " ", text)  # SVG 1.1, 10.15: no space is lost
    else:
        text = " ".join(text.split())
    if text.strip():
        at = place.to_mm.apply((_user(node, "x"), _user(node, "y")))
        height = place.font * math.hypot(place.to_mm.c, place.to_mm.d)
        # Going to y up turns the page over once: letters read well where nothing else does.
        found.texts.append(TextFact(text, at, height, place.layer, not place.to_mm.mirrors))
