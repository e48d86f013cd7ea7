"""A written PDF back to circles, paths and texts in mm, page by page. Imported only when one is read.

A content stream's operators are followed as ISO 32000-1 tells, as far as they say where a line
lies: paths, clips, forms placed by a matrix, optional content (as layers) and texts.
"""

from __future__ import annotations

import io
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from templater.model.curves import Transform
from templater.model.facts import SheetFacts
from templater.readback.faults import Unreadable
from templater.readback.marks import FLAT_MM, Found, cubic_points
from templater.readback.pdf_state import (
    EVERYWHERE,
    Letters,
    State,
    TextState,
    letters_of,
    overlap,
    place_form,
    touches,
)

if TYPE_CHECKING:
    import pikepdf

POINT_MM = 25.4 / 72
_DEEPEST = 16
_PAINTS = frozenset({"S", "s", "f", "F", "f*", "B", "B*", "b", "b*"})
_CLOSES = frozenset({"s", "b", "b*"})


def read_pdf(data: bytes, file: str) -> tuple[SheetFacts, ...]:
    """Every page. Raises Unreadable for what is no PDF or names a form that is not there."""
    import pikepdf

    try:
        with pikepdf.open(io.BytesIO(data)) as pdf:
            wish = pdf.Root.get("/ViewerPreferences", pikepdf.Dictionary())
            scaling_off = wish.get("/PrintScaling") == pikepdf.Name("/None")
            forms: _Forms = {}
            return tuple(
                replace(_page(page, file, number, forms), scaling_off=scaling_off)
                for number, page in enumerate(pdf.pages, start=1)
            )
    except (pikepdf.PdfError, ValueError, KeyError, AttributeError, TypeError, IndexError) as error:
        raise Unreadable(f"is no PDF that can be followed ({error})") from error


_Linear = tuple[float, float, float, float]
_Forms = dict[tuple[tuple[int, int], _Linear], Found]


def _page(page: pikepdf.Page, file: str, number: int, forms: _Forms) -> SheetFacts:
    left, low, right, high = (float(each) for each in page.mediabox)
    unit = POINT_MM * float(page.obj.get("/UserUnit", 1))
    width, height = (right - left) * unit, (high - low) * unit
    to_mm = Transform(unit, 0.0, 0.0, unit, -left * unit, -low * unit)
    for _ in range(int(page.obj.get("/Rotate", 0)) % 360 // 90):  # each turns the page clockwise
        to_mm = to_mm.then(Transform(0.0, -1.0, 1.0, 0.0, 0.0, width))
        width, height = height, width
    reader = _Reader(page.obj.get("/Resources", None), forms, 0)
    reader.run(page, State(to_mm, (0.0, 0.0, width, height)), "")
    return reader.found.facts(file, number, (width, height))


@dataclass(frozen=True, slots=True)
class _Form:
    """A form as it is named in a page's or form's resources; `number` is its object's."""

    stream: Any
    number: tuple[int, int]
    matrix: Transform | None
    layer: str


class _Reader:
    """Follows one content stream and lays down what it paints."""

    def __init__(self, resources: Any, forms: _Forms, depth: int) -> None:
        self.found = Found()
        self.resources = resources
        self.forms = forms
        self.depth = depth
        self.fonts: dict[str, Letters] = {}
        self.named: dict[str, _Form | None] = {}
        self.layers: list[str] = []
        self.instead: list[str | None] = []
        self.text = TextState()
        self.subpaths: list[tuple[list[complex], bool, bool]] = []
        self.points: list[complex] = []
        self.curved = False

    def run(self, stream: Any, state: State, layer: str) -> None:
        import pikepdf

        self.layers, self.instead = [layer], []
        stack: list[State] = []
        clips = False
        for instruction in pikepdf.parse_content_stream(stream):
            name, given = str(instruction.operator), instruction.operands
            if name == "q":
                stack.append(state)
            elif name == "Q":
                state = stack.pop() if stack else state
            elif name == "cm":
                to_mm = _matrix(given).then(state.to_mm)
                state = State(to_mm, state.clip, state.font, state.font_size)
            elif name in {"m", "l", "c", "v", "y", "h", "re"}:
                self._draw(name, [float(each) for each in given], state.to_mm)
            elif name in {"W", "W*"}:
                clips = True
            elif name in _PAINTS or name == "n":
                state = self._end_path(name, state, clips=clips)
                clips = False
            elif name == "Do":
                self._form(str(given[0]), state)
            elif name in {"BDC", "BMC", "EMC"}:
                self._mark(name, given)
            else:
                state = self._text(name, given, state)

    def _draw(self, name: str, n: list[float], to_mm: Transform) -> None:
        spots = [complex(*to_mm.apply((n[i], n[i + 1]))) for i in range(0, len(n) - len(n) % 2, 2)]
        match name:
            case "m":
                self._end_subpath(closed=False)
                self.points = [spots[0]]
            case "l":
                self.points.append(spots[0])
            case "c" | "v" | "y":
                first = self.points[-1]
                if name == "v":
                    spots = [first, *spots]
                elif name == "y":
                    spots = [*spots, spots[-1]]
                self.points.extend(cubic_points(first, spots[0], spots[1], spots[2], FLAT_MM))
                self.curved = True
            case "h":
                start = self.points[:1]
                self._end_subpath(closed=True)
                self.points = start
            case _:
                self._end_subpath(closed=False)
                x, y, w, h = n
                corners = ((x, y), (x + w, y), (x + w, y + h), (x, y + h))
                self.points = [complex(*to_mm.apply(corner)) for corner in corners]
                self._end_subpath(closed=True)

    def _end_subpath(self, *, closed: bool) -> None:
        if len(self.points) > 1:
            self.subpaths.append((self.points, closed, self.curved))
        self.points, self.curved = [], False

    def _end_path(self, name: str, state: State, *, clips: bool) -> State:
        self._end_subpath(closed=name in _CLOSES)
        subpaths, self.subpaths = self.subpaths, []
        if name != "n":
            for spots, closed, curved in subpaths:
                points = [(spot.real, spot.imag) for spot in spots]
                if touches(tuple(points), state.clip):
                    self.found.add_path(points, self.layers[-1], closed=closed, curved=curved)
        if not clips:
            return state
        xs = [spot.real for spots, _, _ in subpaths for spot in spots]
        ys = [spot.imag for spots, _, _ in subpaths for spot in spots]
        if not xs:
            return state
        return replace(state, clip=overlap(state.clip, (min(xs), min(ys), max(xs), max(ys))))

    def _resource(self, kind: str, name: str) -> Any:
        entries = self.resources.get(kind, None) if self.resources is not None else None
        return entries.get(name, None) if entries is not None else None

    def _mark(self, name: str, given: Any) -> None:
        if name == "EMC":
            if len(self.layers) > 1:
                self.layers.pop()
                self.instead.pop()
            return
        layer, instead = self.layers[-1], None
        if name == "BDC" and str(given[0]) == "/OC":
            layer = _layer(self._resource("/Properties", str(given[1]))) or layer
        elif name == "BDC" and str(given[0]) == "/Span":
            said = given[1].get("/ActualText", given[1].get("/Alt", None))
            instead = None if said is None else str(said)
        self.layers.append(layer)
        self.instead.append(instead)

    def _form(self, name: str, state: State) -> None:
        if name not in self.named:
            self.named[name] = self._named(name)
        form = self.named[name]
        if form is None:
            return
        placed = form.matrix.then(state.to_mm) if form.matrix else state.to_mm
        linear = (placed.a, placed.b, placed.c, placed.d)
        key = (form.number, linear)
        if key not in self.forms or form.number == (0, 0):
            self.forms[key] = self._follow(form.stream, linear)
        layer = form.layer or self.layers[-1]
        place_form(self.forms[key], self.found, placed.e, placed.f, state.clip, layer)

    def _named(self, name: str) -> _Form | None:
        """The form of a name, or None for an image."""
        form = self._resource("/XObject", name)
        if form is None:
            raise Unreadable(f"names a form {name} that it does not hold")
        if form.get("/Subtype") != "/Form":
            return None
        if self.depth >= _DEEPEST:
            raise Unreadable("its forms hold one another without end")
        matrix = form.get("/Matrix", None)
        return _Form(
            form,
            form.objgen,
            _matrix(matrix) if matrix is not None else None,
            _layer(form.get("/OC", None)),
        )

    def _follow(self, form: Any, linear: _Linear) -> Found:
        """A form's facts as shown about the origin; kept, since one form may be shown often."""
        about = Transform(*linear)
        x0, y0, x1, y1 = (float(each) for each in form["/BBox"])
        corners = [about.apply(corner) for corner in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))]
        box = (
            min(x for x, _ in corners), min(y for _, y in corners),
            max(x for x, _ in corners), max(y for _, y in corners),
        )  # fmt: skip
        inner = _Reader(form.get("/Resources", self.resources), self.forms, self.depth + 1)
        inner.run(form, State(about, overlap(EVERYWHERE, box)), "")
        return inner.found

    def _text(self, name: str, given: Any, state: State) -> State:
        match name:
            case "BT":
                self.text.start(Transform())
            case "Tf":
                font = self._letters(str(given[0]))
                return replace(state, font=font, font_size=float(given[1]))
            case "Tm":
                self.text.start(_matrix(given))
            case "Td" | "TD":
                if name == "TD":
                    self.text.leading = -float(given[1])
                self.text.next_line(float(given[0]), float(given[1]))
            case "TL":
                self.text.leading = float(given[0])
            case "T*":
                self.text.next_line(0.0, -self.text.leading)
            case "Tj" | "'" | '"' | "TJ":
                if name in {"'", '"'}:
                    self.text.next_line(0.0, -self.text.leading)
                self._show(given[-1], state)
            case _:
                pass
        return state

    def _show(self, shown: Any, state: State) -> None:
        import pikepdf

        parts = shown if isinstance(shown, pikepdf.Array) else [shown]
        raw = b"".join(bytes(part) for part in parts if isinstance(part, pikepdf.String))
        text = self._said_instead()
        if text is None:
            text = (state.font or Letters()).text(raw)
        fact = self.text.fact(text, state, self.layers[-1])
        if text.strip() and touches((fact.at,), state.clip):
            self.found.texts.append(fact)

    def _said_instead(self) -> str | None:
        """What the glyphs of a marked content stand for, told once (ISO 32000-1, 14.9.3, 14.9.4)."""
        for at, said in enumerate(self.instead):
            if said is not None:
                self.instead[at] = ""
                return said
        return None

    def _letters(self, name: str) -> Letters:
        if name not in self.fonts:
            font = self._resource("/Font", name)
            unicode_map = font.get("/ToUnicode", None) if font is not None else None
            self.fonts[name] = (
                Letters() if unicode_map is None else letters_of(unicode_map.read_bytes())
            )
        return self.fonts[name]


def _matrix(given: Any) -> Transform:
    return Transform(*map(float, given))


def _layer(group: Any) -> str:
    """An optional content group's name; of a membership, its first group's."""
    if group is None:
        return ""
    if group.get("/Type") == "/OCMD":
        groups = group.get("/OCGs", None)
        return _layer(groups if groups is None or hasattr(groups, "keys") else groups[0])
    return str(group.get("/Name", ""))
