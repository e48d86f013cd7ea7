"""What layers without a role word may be, how sure that is, and why. Never acted on unasked."""

from __future__ import annotations

import json
import math
import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import TYPE_CHECKING

from templater.catalogue.role_words import WordFound, roles_named
from templater.geometry.measure import path_length
from templater.ground.colour_parts import by_colour, colour_word, told_apart
from templater.ground.layer_forms import (
    ALONG_MM,
    Forms,
    LayerForm,
    along,
    forms_of,
    line_of,
    mirrors,
    straight,
)
from templater.ground.roles import nearest_role, read_layer_name
from templater.ground.shapes import UNUSED
from templater.model.drawing import Drawing
from templater.model.names import plain_name
from templater.model.problems import Problem, Problems
from templater.model.roles import AREA_ROLES, Role
from templater.model.words import counted

if TYPE_CHECKING:
    from shapely import Polygon

_SHORT_MM = 15.0
_DRILL_MM = 3.5
_FASTENER_MM = 25.0
_MOST_HINTS = 4
_NAMELESS = frozenset({Role.FOLD, Role.GRAIN, Role.NOTE})


class Surety(StrEnum):
    """Name and shapes agree; one of them speaks plainly; or it is a mere guess."""

    VERY_LIKELY = "very likely"
    LIKELY = "likely"
    PERHAPS = "perhaps"


@dataclass(frozen=True, slots=True)
class Proposal:
    """A layer, the role and name it may have, how sure that is, and the reasons in words.

    `layer` may be one colour of a layer, "0 #ff0000"; `drawn_on` is the layer in the file.
    """

    layer: str
    role: Role
    name: str
    surety: Surety
    reasons: tuple[str, ...]
    drawn_on: str = ""

    @property
    def target(self) -> str:
        return f"{self.role} {self.name}".rstrip()

    @property
    def setting(self) -> str:
        """The line of the job's `[layers]` that accepts it."""
        return f"{_quoted(self.layer)} = {_quoted(self.target)}"

    @property
    def why(self) -> str:
        return f"{self.surety}: {', '.join(self.reasons)}"


@dataclass(frozen=True, slots=True)
class _Guess:
    role: Role
    surety: Surety
    reasons: tuple[str, ...]


def propose(drawing: Drawing, overrides: Mapping[str, str]) -> tuple[Proposal, ...]:
    """A proposal for each layer without a role that gives a hint, in the drawing's order; for each
    of its colours, where they may tell what is what.

    Layers with a role, by their name or by the job's `overrides`, help to find what the others are.
    """
    parts = {
        part.name: (layer.name, part.shapes[0].source.colour)
        for layer in drawing.layers
        for part in layer.by_colour
    }
    drawing = by_colour(told_apart(drawing, overrides), overrides)
    roles = [read_layer_name(layer.name, overrides).role for layer in drawing.layers]
    if None not in roles:
        return ()
    forms = forms_of(drawing)
    by_shape = _by_shapes(forms, roles)
    proposals = []
    for number, role in enumerate(roles):
        form = forms.layers[number]
        if role is not None or form.empty:
            continue
        drawn_on, colour = parts.get(form.name, (form.name, None))
        named = _by_name(form) if colour is None else ()
        guess = _agreed(form, named, by_shape.get(number))
        if guess is not None:
            word = next((word for word in named if word.role is guess.role), None)
            own = form.name if colour is None else colour_word(colour)
            proposals.append(
                Proposal(
                    form.name,
                    guess.role,
                    _own_name(own, guess.role, word),
                    guess.surety,
                    guess.reasons,
                    drawn_on,
                )
            )
    return _apart(proposals, drawing, overrides)


def hinted(problems: Problems, proposals: Sequence[Proposal]) -> Problems:
    """The problems, those of layers without a role mended by what the layers may be."""

    def with_hint(problem: Problem) -> Problem:
        layer = problem.source.layer if problem.source is not None else ""
        fitting = [p for p in proposals if layer in (p.layer, p.drawn_on)]
        if problem.code != UNUSED or not fitting:
            return problem
        hints = [f"{p.setting} ({p.why})" for p in fitting[:_MOST_HINTS]]
        if more := len(fitting) - len(hints):
            hints.append(f"and {counted(more, 'more colour')}")
        told = "; ".join(hints)
        return replace(problem, mend=f"{problem.mend} It may be {told}.")

    return tuple(with_hint(problem) for problem in problems)


def _by_name(form: LayerForm) -> tuple[WordFound, ...]:
    """What the name says; a misspelt role word counts as part of a word."""
    found = roles_named(form.name)
    if found:
        return found
    near = nearest_role(form.name)
    if near is None:
        return ()
    word, _, rest = plain_name(form.name).partition("-")
    return (WordFound(near, word, "", whole=False, rest=(rest,) if rest else ()),)


def _agreed(form: LayerForm, named: Sequence[WordFound], by_shape: _Guess | None) -> _Guess | None:
    """Name and shapes weighed: a name whose role the shapes can have goes before a mere shape."""
    fitting = [word for word in named if _can_be(form, word.role)]
    if fitting:
        alike = [word for word in fitting if by_shape is not None and word.role is by_shape.role]
        word = alike[0] if alike else fitting[0]
        reasons = (_said(word), *(by_shape.reasons if alike and by_shape else (_looks(form),)))
        if alike and word.whole:
            return _Guess(word.role, Surety.VERY_LIKELY, reasons)
        sure = word.whole or bool(alike)
        return _Guess(word.role, Surety.LIKELY if sure else Surety.PERHAPS, reasons)
    if by_shape is not None:
        return by_shape
    if named:
        return _Guess(named[0].role, Surety.PERHAPS, (_said(named[0]), f"but {_looks(form)}"))
    return None


def _said(word: WordFound) -> str:
    if not word.language:
        return f'"{word.words}" is almost "{word.role}"'
    if word.whole and plain_name(word.words) == word.role.value:
        return f'called "{word.words}"'
    speaks = "speaks" if word.whole else "seems to speak"
    return f'"{word.words}" {speaks} of {word.role} in {word.language}'


def _looks(form: LayerForm) -> str:
    """Its shapes in a few words."""
    parts = []
    if form.closed:
        parts.append("closed" if not (form.open or form.points) else f"{len(form.closed)} closed")
    if form.open:
        many = "open lines" if len(form.open) > 1 else "an open line"
        parts.append(many if form.only_open else f"{len(form.open)} open")
    if form.points:
        parts.append("points" if form.only_points else f"{len(form.points)} points")
    return " and ".join(parts) or "only text"


def _can_be(form: LayerForm, role: Role) -> bool:
    if role in AREA_ROLES:
        return form.only_closed
    match role:
        case Role.FOLD | Role.GRAIN:
            return form.only_open and all(straight(path) for path in form.open)
        case Role.NOTE:
            return not (form.closed or form.open or form.points)
        case Role.NOTCH | Role.DRILL:
            small = all(path_length(path) <= 2.0 * _SHORT_MM for path in form.open)
            return small and all(polygon.length <= 4.0 * _SHORT_MM for polygon in form.closed)
        case Role.CLEAR:
            return bool(form.closed or form.open or form.points)
        case _:
            return bool(form.closed or form.open)


def _by_shapes(forms: Forms, roles: Sequence[Role | None]) -> dict[int, _Guess]:
    """What the shapes of each layer without a role suggest."""
    guesses: dict[int, _Guess] = {}
    pieces = [number for number, role in enumerate(roles) if role is Role.PIECE]
    for number, role in enumerate(roles):
        if role is None and (guess := _as_piece(forms, number)) is not None:
            guesses[number] = guess
            pieces.append(number)
    for number, role in enumerate(roles):
        if role is None and number not in guesses:
            guess = _as_other(forms, number, pieces)
            if guess is not None:
                guesses[number] = guess
    return _one_fold_each(guesses)


def _as_piece(forms: Forms, number: int) -> _Guess | None:
    """A closed outline that holds other layers and lies in none."""
    form = forms.layers[number]
    held = [forms.layers[k] for k in forms.holds(number)]
    if not form.only_closed or form.nested or forms.inside[number] or not held:
        return None
    areas = [other for other in held if other.closed and not _small_circles(other)]
    names = _names(areas or held)
    if len(form.closed) > 1:
        reasons = (
            f"{len(form.closed)} closed outlines around {names}",
            "but each piece needs a layer of its own",
        )
        return _Guess(Role.PIECE, Surety.PERHAPS, reasons)
    surety = Surety.LIKELY if areas else Surety.PERHAPS
    return _Guess(Role.PIECE, surety, (f"a closed outline around {names}",))


def _names(forms: Sequence[LayerForm]) -> str:
    quoted = sorted(f'"{form.name}"' for form in forms)
    if len(quoted) > 3:
        return f"{quoted[0]}, {quoted[1]} and {len(quoted) - 2} more"
    return " and ".join((", ".join(quoted[:-1]), quoted[-1])) if quoted[1:] else quoted[0]


def _small_circles(form: LayerForm) -> bool:
    across = form.circles_mm()
    return across is not None and across[1] <= _FASTENER_MM


def _as_other(forms: Forms, number: int, pieces: Sequence[int]) -> _Guess | None:
    form = forms.layers[number]
    outlines = [polygon for k in pieces if k != number for polygon in forms.layers[k].closed]
    around = [forms.layers[k] for k in forms.inside[number]]
    if form.only_closed:
        return _closed(form, around)
    if form.only_open:
        return _open(form, around, outlines)
    if form.only_points:
        return _points(form, outlines)
    if form.closed or form.open or form.points:
        return None
    return _Guess(Role.NOTE, Surety.LIKELY, ("only text",))


def _closed(form: LayerForm, around: Sequence[LayerForm]) -> _Guess | None:
    across = form.circles_mm()
    if across is not None and across[1] <= _FASTENER_MM:
        small, large = across
        size = f"{large:.1f} mm" if large - small < 0.1 else f"{small:.1f} to {large:.1f} mm"
        many = "circles" if len(form.closed) > 1 else "a circle"
        if large <= _DRILL_MM:
            return _Guess(Role.DRILL, Surety.PERHAPS, (f"{many} of {size}, as for drill holes",))
        return _Guess(Role.CLEAR, Surety.PERHAPS, (f"{many} of {size}, as of fasteners",))
    if form.nested:
        reasons = (
            "closed",
            "but some lie inside others of the same layer: give those layers of their own",
        )
        return _Guess(Role.ZONE, Surety.PERHAPS, reasons)
    if not around:
        return _Guess(Role.ZONE, Surety.PERHAPS, ("closed", "by itself"))
    inner = [other for other in around if any(o is not other for o in around)]
    surety = Surety.PERHAPS if inner else Surety.LIKELY
    return _Guess(Role.ZONE, surety, ("closed", f"inside {_names(around)}"))


def _open(form: LayerForm, around: Sequence[LayerForm], pieces: Sequence[Polygon]) -> _Guess | None:
    lines = [line_of(path) for path in form.open]
    if len(form.open) == 1 and straight(form.open[0]):
        path, line = form.open[0], lines[0]
        mirrored = [p for p in pieces if line.intersects(p) and mirrors(path, p)]
        if mirrored:
            return _Guess(Role.FOLD, Surety.LIKELY, ("straight", "the piece mirrors about it"))
        if any(along(line, [p]) and line.length >= 0.25 * math.sqrt(p.area) for p in pieces):
            return _Guess(Role.FOLD, Surety.LIKELY, ("straight", "along the edge of a piece"))
        if any(line.within(p) for p in pieces) and line.length > _SHORT_MM:
            return _Guess(Role.GRAIN, Surety.PERHAPS, ("straight", "inside a piece"))
    if all(line.length <= _SHORT_MM for line in lines):
        touching = [any(line.distance(p.boundary) <= ALONG_MM for p in pieces) for line in lines]
        if touching and all(touching):
            many = "short strokes" if len(lines) > 1 else "a short stroke"
            return _Guess(Role.NOTCH, Surety.LIKELY, (f"{many} on the outline",))
    if all(_two_legs(form, k, pieces) for k in range(len(lines))):
        return _Guess(Role.DART, Surety.LIKELY, ("two straight legs from the outline",))
    if all(along(line, pieces) for line in lines):
        return _Guess(
            Role.SEAM, Surety.PERHAPS, ("along the outline", "or edge, if finished there")
        )
    if around:
        many = "open lines" if len(lines) > 1 else "an open line"
        return _Guess(Role.ROW, Surety.PERHAPS, (f"{many} inside {_names(around)}",))
    return None


def _two_legs(form: LayerForm, number: int, pieces: Sequence[Polygon]) -> bool:
    from shapely import Point as At

    path = form.open[number]
    if len(path.segments) != 2:
        return False
    tip = path.segments[0].end

    def on_outline(point: tuple[float, float]) -> bool:
        return any(At(point).distance(p.boundary) <= ALONG_MM for p in pieces)

    return on_outline(path.start) and on_outline(path.end) and not on_outline(tip)


def _points(form: LayerForm, pieces: Sequence[Polygon]) -> _Guess | None:
    from shapely import Point as At

    at = [At(point) for point in form.points]
    if not pieces:
        return None
    if all(any(point.distance(p.boundary) <= ALONG_MM for p in pieces) for point in at):
        return _Guess(Role.NOTCH, Surety.LIKELY, ("points on the outline",))
    if all(any(point.within(p) for p in pieces) for point in at):
        return _Guess(Role.DRILL, Surety.PERHAPS, ("points inside a piece",))
    return None


def _one_fold_each(guesses: dict[int, _Guess]) -> dict[int, _Guess]:
    """Several straight lines may run along edges: then none of them is likely."""
    folds = [number for number, guess in guesses.items() if guess.role is Role.FOLD]
    if len(folds) < 2:
        return guesses
    mirrored = [n for n in folds if "the piece mirrors about it" in guesses[n].reasons]
    doubtful = [n for n in folds if n not in mirrored] if mirrored else folds
    lowered = dict(guesses)
    for number in doubtful:
        reasons = (*guesses[number].reasons, "as another layer does")
        lowered[number] = replace(guesses[number], surety=Surety.PERHAPS, reasons=reasons)
    return lowered


def _own_name(layer: str, role: Role, word: WordFound | None) -> str:
    """What the zone or piece is to be called: what its layer's name says besides the role."""
    rest = word is not None and any(len(p) > 1 or not word.language for p in word.rest)
    if word is not None and rest:
        return _clean("-".join(word.rest))
    whole = _clean(layer)
    return "" if role in _NAMELESS or whole == role.value else whole


def _clean(name: str) -> str:
    return plain_name(re.sub(r"[^\w-]+", "-", name))


def _apart(
    proposals: Sequence[Proposal], drawing: Drawing, overrides: Mapping[str, str]
) -> tuple[Proposal, ...]:
    """Two layers are never proposed as one thing: then each keeps its whole name."""
    taken = {
        (read.role, read.name)
        for layer in drawing.layers
        if (read := read_layer_name(layer.name, overrides)).role is not None
    }
    counts = Counter((proposal.role, proposal.name) for proposal in proposals)
    return tuple(
        replace(proposal, name=_clean(proposal.layer))
        if counts[proposal.role, proposal.name] > 1 or (proposal.role, proposal.name) in taken
        else proposal
        for proposal in proposals
    )


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)
