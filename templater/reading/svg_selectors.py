"""CSS selectors as drawings use them: matched against lxml elements.

Served: types, `*`, classes, ids, attributes, the four combinators, and the pseudo-classes that
depend on the tree alone. Anything else is said to be not served, so that it can be reported.
Source: Selectors Level 3. Imports tinycss2 and lxml; imported late.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from lxml.etree import _Element

from templater.reading.svg_xml import local

Test = Callable[[_Element], bool]
Specificity = tuple[int, int, int]
_NEVER = frozenset(
    {"hover", "active", "focus", "visited", "link", "target", "focus-visible", "focus-within"}
)
_TREE: dict[str, Test] = {
    "root": lambda e: e.getparent() is None,
    "first-child": lambda e: e.getprevious() is None,
    "last-child": lambda e: e.getnext() is None,
    "only-child": lambda e: e.getprevious() is None and e.getnext() is None,
    "empty": lambda e: len(e) == 0 and not (e.text or "").strip(),
}


class NotServed(ValueError):
    """A selector that goes beyond what is served; the text is the part."""


class TooHeavy(RuntimeError):
    """A style sheet that would take forever to apply."""


@dataclass(slots=True)
class Budget:
    """How many more comparisons a file's style sheets may cost."""

    left: int = 20_000_000

    def spend(self) -> None:
        self.left -= 1
        if self.left < 0:
            raise TooHeavy


@dataclass(frozen=True, slots=True)
class Selector:
    """Compounds from right to left, each with the combinator that leads to its left neighbour."""

    tests: tuple[tuple[tuple[Test, ...], str], ...]
    specificity: Specificity
    key: str  # "#id", ".class", "tag" or "*" of the rightmost compound, for the index

    def matches(self, element: _Element, budget: Budget) -> bool:
        """Whether the element is selected. Raises TooHeavy when the budget is spent."""
        return self._from(0, element, budget, set())

    def _from(
        self, at: int, element: _Element, budget: Budget, failed: set[tuple[int, object]]
    ) -> bool:
        """Whether the compounds from `at` leftwards fit; `failed` keeps this from repeating."""
        budget.spend()
        if (at, element) in failed:
            return False
        here, combinator = self.tests[at]
        if all(test(element) for test in here):
            if at + 1 == len(self.tests):
                return True
            for other in _left_of(combinator, element):
                if self._from(at + 1, other, budget, failed):
                    return True
        failed.add((at, element))
        return False


def _left_of(combinator: str, element: _Element) -> Iterable[_Element]:
    """The elements that the compound to the left may stand for."""
    match combinator:
        case ">":
            parent = element.getparent()
            return () if parent is None else (parent,)
        case "+":
            before = element.getprevious()
            return () if before is None else (before,)
        case "~":
            before_all: Iterable[_Element] = element.itersiblings(preceding=True)
            return before_all
        case _:
            around: Iterable[_Element] = element.iterancestors()
            return around


def parse_selectors(tokens: Sequence[Any]) -> list[Selector]:
    """The selectors of a rule's head. Raises NotServed."""
    groups: list[list[Any]] = [[]]
    for token in tokens:
        if token.type == "literal" and token.value == ",":
            groups.append([])
        elif token.type != "comment":
            groups[-1].append(token)
    return [_one(group) for group in groups]


def _one(tokens: list[Any]) -> Selector:
    compounds: list[tuple[list[Test], str]] = []
    tests: list[Test] = []
    ids = classes = types = 0
    key, combinator = "*", ""
    i = 0
    while i < len(tokens) and tokens[i].type == "whitespace":
        i += 1
    while len(tokens) > i and tokens[-1].type == "whitespace":
        tokens = tokens[:-1]
    while i < len(tokens):
        token = tokens[i]
        kind, value = token.type, getattr(token, "value", "")
        if kind == "whitespace" or (kind == "literal" and value in {">", "+", "~"}):
            found = " "
            while i < len(tokens) and (
                tokens[i].type == "whitespace"
                or (tokens[i].type == "literal" and tokens[i].value in {">", "+", "~"})
            ):
                if tokens[i].type == "literal":
                    found = tokens[i].value
                i += 1
            compounds.append((tests, combinator))
            tests, combinator, key = [], found, "*"
            continue
        if kind == "ident":
            tests.append(_tag(value))
            types += 1
            key = value if key == "*" else key
        elif kind == "literal" and value == "*":
            pass
        elif kind == "hash":
            tests.append(_attribute("id", "=", value))
            ids += 1
            key = "#" + value
        elif kind == "literal" and value == "." and i + 1 < len(tokens):
            i += 1
            name = str(tokens[i].value)
            tests.append(_attribute("class", "~=", name))
            classes += 1
            key = key if key.startswith("#") else "." + name
        elif kind == "[] block":
            tests.append(_block(token.content))
            classes += 1
        elif kind == "literal" and value == ":" and i + 1 < len(tokens):
            i += 1
            tests.append(_pseudo(tokens[i]))
            classes += 1
        else:
            raise NotServed(token.serialize())
        i += 1
    compounds.append((tests, combinator))
    if not any(part for part, _ in compounds) and not any(t.type == "literal" for t in tokens):
        raise NotServed("an empty selector")
    # Each compound carries the combinator on its left: that is what leads from it to the next one.
    return Selector(
        tuple((tuple(part), joint) for part, joint in reversed(compounds)),
        (ids, classes, types),
        key,
    )


def _tag(name: str) -> Test:
    return lambda element: bool(local(element) == name)


def _attribute(name: str, operator: str, value: str) -> Test:
    def test(element: _Element) -> bool:
        has: str | None = element.get(name)
        if has is None:
            return False
        match operator:
            case "":
                return True
            case "=":
                return has == value
            case "~=":
                return value in has.split()
            case "|=":
                return has == value or has.startswith(value + "-")
            case "^=":
                return bool(value) and has.startswith(value)
            case "$=":
                return bool(value) and has.endswith(value)
            case _:
                return bool(value) and value in has

    return test


def _block(content: Sequence[Any]) -> Test:
    parts = [t for t in content if t.type not in {"whitespace", "comment"}]
    if len(parts) == 1 and parts[0].type == "ident":
        return _attribute(parts[0].value, "", "")
    if len(parts) == 3 and parts[0].type == "ident" and parts[1].type == "literal":
        operator = parts[1].value
        if operator in {"=", "~=", "|=", "^=", "$=", "*="} and parts[2].type in {"ident", "string"}:
            return _attribute(parts[0].value, operator, parts[2].value)
    raise NotServed("[" + "".join(t.serialize() for t in content) + "]")


def _pseudo(token: Any) -> Test:
    if token.type == "ident":
        if token.lower_value in _TREE:
            return _TREE[token.lower_value]
        if token.lower_value in _NEVER:
            return lambda _: False
    if token.type == "function" and token.lower_name == "not":
        inner = parse_selectors(token.arguments)
        return lambda element: not any(one.matches(element, Budget()) for one in inner)
    raise NotServed(":" + token.serialize())
