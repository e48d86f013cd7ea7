"""Style sheets and style attributes: which declarations hold for an element.

Source of the order: CSS Cascading and Inheritance 4, 6 (importance, specificity, order); SVG 2,
6.6: presentation attributes come before every rule of a sheet. Imports tinycss2 and lxml; imported
late.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

import tinycss2
from lxml import etree

from templater.model.problems import Problem, Severity, Source
from templater.reading.svg_selectors import Budget, NotServed, Selector, parse_selectors
from templater.reading.svg_xml import in_svg, local

INHERITED = frozenset(
    {
        "color",
        "fill",
        "fill-rule",
        "fill-opacity",
        "stroke",
        "stroke-width",
        "stroke-opacity",
        "visibility",
        "font-size",
        "marker-start",
        "marker-mid",
        "marker-end",
    }
)
_PAINT = frozenset(
    {
        "display",
        "transform",
        "transform-origin",
        "transform-box",
        "translate",
        "rotate",
        "scale",
        "clip-path",
        "stop-color",
        "opacity",
        "mask",
        "filter",
        "overflow",
        "vector-effect",
        "marker",
        "font",
        "offset-path",
    }
)
GEOMETRY = frozenset({"x", "y", "width", "height", "cx", "cy", "r", "rx", "ry", "d"})
"""Attributes that CSS may give as well (SVG 2, 7 and 9)."""
# These are no presentation attributes of every element, so only style sheets give them.
_CSS_ONLY = frozenset({"translate", "rotate", "scale", "offset-path", "marker", "font"})
KEPT = INHERITED | _PAINT | GEOMETRY
_ATTRIBUTES = tuple(sorted((INHERITED | _PAINT) - _CSS_ONLY))

Declaration = tuple[str, str, bool]


@dataclass(slots=True)
class _Rule:
    selector: Selector
    order: int
    declarations: tuple[Declaration, ...]


@dataclass(slots=True)
class StyleSheets:
    """All rules of a file, indexed by what the element itself must have."""

    rules: dict[str, list[_Rule]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)
    count: int = 0
    budget: Budget = field(default_factory=Budget)

    def declared(self, element: etree._Element) -> dict[str, str]:
        """What the file declares for one element, before inheritance."""
        values: dict[str, str] = {}
        for name in _ATTRIBUTES:
            value = element.get(name)
            if value is not None:
                values[name] = value.strip()
        important: dict[str, str] = {}
        for rule in self._matching(element):
            for name, value, is_important in rule.declarations:
                (important if is_important else values)[name] = value
        style = element.get("style")
        if style:
            for name, value, is_important in style_declarations(style):
                (important if is_important else values)[name] = value
        values.update(important)
        return values

    def _matching(self, element: etree._Element) -> list[_Rule]:
        if not self.rules:
            return []
        keys = ["*", local(element)]
        keys.extend("." + name for name in (element.get("class") or "").split())
        own = element.get("id")
        if own:
            keys.append("#" + own)
        found = [
            rule
            for key in dict.fromkeys(keys)
            for rule in self.rules.get(key, ())
            if rule.selector.matches(element, self.budget)
        ]
        found.sort(key=lambda rule: (rule.selector.specificity, rule.order))
        return found


@lru_cache(maxsize=4096)
def style_declarations(text: str) -> tuple[Declaration, ...]:
    """The declarations of a style attribute that matter to us."""
    return _declarations(
        tinycss2.parse_blocks_contents(text, skip_comments=True, skip_whitespace=True)
    )


def _declarations(nodes: list[Any]) -> tuple[Declaration, ...]:
    found = []
    for node in nodes:
        if node.type == "declaration" and node.lower_name in KEPT:
            value = tinycss2.serialize(node.value).strip()
            if node.lower_name == "d":
                value = _path_string(node.value)
            found.append((node.lower_name, value, node.important))
    return tuple(found)


def _path_string(tokens: list[Any]) -> str:
    """The data inside `d: path("…")`; "" for none."""
    for token in tokens:
        if token.type == "function" and token.lower_name == "path":
            for inner in token.arguments:
                if inner.type == "string":
                    return str(inner.value)
    return ""


def read_sheets(root: etree._Element, file: str) -> StyleSheets:
    """Every `style` element's rules, and what in them is not served."""
    sheets = StyleSheets()
    for element in root.iter():
        if local(element) != "style" or not in_svg(element):
            continue
        kind = (element.get("type") or "text/css").strip().lower()
        media = (element.get("media") or "all").lower()
        source = Source(file, "", "style", element.sourceline)
        if kind not in {"text/css", ""}:
            _say(sheets, source, f"a style sheet of type “{kind}”")
            continue
        if not _for_screen(media):
            continue
        text = "".join(element.itertext())
        _add(
            sheets,
            tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True),
            source,
            0,
        )
    return sheets


def _for_screen(media: str) -> bool:
    words = [part.strip() for part in media.split(",")]
    return any(word in {"all", "screen", ""} for word in words)


def _add(sheets: StyleSheets, nodes: list[Any], source: Source, depth: int) -> None:
    for node in nodes:
        if node.type == "qualified-rule":
            try:
                selectors = parse_selectors(node.prelude)
            except NotServed as part:
                _say(sheets, source, f"the style rule with the selector part “{part}”")
                continue
            declared = _declarations(
                tinycss2.parse_blocks_contents(
                    node.content, skip_comments=True, skip_whitespace=True
                )
            )
            if declared:
                for selector in selectors:
                    sheets.count += 1
                    rule = _Rule(selector, sheets.count, declared)
                    sheets.rules.setdefault(selector.key, []).append(rule)
        elif node.type == "at-rule":
            name = node.lower_at_keyword
            head = tinycss2.serialize(node.prelude).strip().lower()
            if name == "media" and node.content is not None and depth < 8:
                if _for_screen(head):
                    inner = tinycss2.parse_rule_list(
                        node.content, skip_comments=True, skip_whitespace=True
                    )
                    _add(sheets, inner, source, depth + 1)
                elif "(" in head:
                    _say(sheets, source, f"the style rules under “@media {head}”")
            elif name not in {"font-face", "charset", "namespace", "page", "keyframes", "media"}:
                _say(sheets, source, f"“@{name} {head[:40]}”")
        elif node.type == "error":
            _say(sheets, source, f"a part of a style sheet ({node.message})")


def _say(sheets: StyleSheets, source: Source, what: str) -> None:
    sheets.problems.append(
        Problem(
            "style-not-read",
            Severity.WARNING,
            f"Line {source.line}: {what} is not understood and was left out.",
            "If it hides or shapes anything, save the drawing with plain attributes"
            " (“presentation attributes” in most editors).",
            source,
        )
    )
