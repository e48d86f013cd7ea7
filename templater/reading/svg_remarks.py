"""What is said of SVG elements that are not, or not wholly, understood."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from templater.model.problems import Severity, Source
from templater.reading.svg_style import without_variable
from templater.reading.tally import Tally

_EFFECTS = (
    ("clip-path", "clipped", "is clipped", "release the clip, or cut the shape in the editor"),
    ("mask", "masked", "is masked", "release the mask, or cut the shape in the editor"),
    ("filter", "filtered", "has a filter effect", "remove the effect if it changes the shape"),
)
_NO_EFFECT = frozenset({"", "none", "inherit", "unset", "initial"})
_PLAIN_ONLY = ("display", "visibility", "fill-rule", "stroke-width", "font-size")
"""Properties whose value must be plain: var() and calc() would need a browser."""
_USUAL_MEND = "open the file in an editor, mend or delete this element, and save it again"


@dataclass(frozen=True, slots=True)
class Remarks:
    """Puts findings into words and into the tally, each with its line and element."""

    tally: Tally

    def tell(self, code: str, source: Source, what: str, mend: str) -> None:
        """A warning: the rest of the file is read all the same."""
        self._say(Severity.WARNING, code, source, what, mend)

    def fail(self, code: str, source: Source, what: str, mend: str = _USUAL_MEND) -> None:
        """An error: this element cannot be read, so the drawing cannot be trusted."""
        self._say(Severity.ERROR, code, source, what, mend)

    def animated(self, source: Source) -> None:
        self.tell(
            "animated",
            source,
            "the drawing is animated; it was read as it stands",
            "remove the animation if it moves or hides anything",
        )

    def effects(self, declared: Mapping[str, str], source: Source) -> None:
        """What an element's own style does that is not carried out."""
        for name, code, what, mend in _EFFECTS:
            if declared.get(name, "") not in _NO_EFFECT:
                self.tell(code, source, f"it {what}; it was read without that", mend)
        for name in _PLAIN_ONLY:
            if declared.get(name, "").endswith(")"):
                self.tell(
                    "style-not-read",
                    source,
                    f"its {name} is “{declared[name][:40]}”, which is not understood",
                    "give it a plain value in the editor",
                )
        for name in ("fill", "stroke"):
            if not without_variable(declared.get(name, "none")):
                self.tell(
                    "style-not-read",
                    source,
                    f"its {name} is “{declared[name][:40]}”, which nothing in the file settles",
                    "give it a colour, or none, in the editor",
                )
        for name in ("translate", "rotate", "scale", "offset-path"):
            if declared.get(name, "none") not in {"none", "auto", ""}:
                self.fail("transform-broken", source, f"the style “{name}” is not served")

    def _say(self, severity: Severity, code: str, source: Source, what: str, mend: str) -> None:
        where = f"Line {source.line}, {source.element}: " if source.line else f"{source.element}: "
        self.tally.tell(code, severity, f"{where}{what}.", f"{mend[:1].upper()}{mend[1:]}.", source)
