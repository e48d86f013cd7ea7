"""What a job's kinds of templates cost in sheets that its way of setting does not need."""

from __future__ import annotations

from templater.model.parts import HoleKind
from templater.model.plan import Plan

_WORTH_TELLING = 10
"""Up to so many sheets are not worth a word."""
_NEEDLESS = (
    ("all stones are set by hand", HoleKind.STENCIL, ("stencil", "strip")),
    ("no stone is set by hand", HoleKind.PRICK, ("prick",)),
)


def sheets_to_spare(plan: Plan) -> str | None:
    """The line of `make`'s summary that says how to do without some ten sheets or more, if one can.

    Stencils serve glue and tape, prick sheets the hand; a job that leaves `kinds` alone gets both.
    """
    methods = {one.method for one in plan.passes}
    if not methods or (len(methods) > 1 and "hand" in methods):
        return None
    why, kind, made = _NEEDLESS[0 if methods == {"hand"} else 1]
    count = sum(sheet.kind in made for sheet in plan.sheets)
    rest = [other for other in plan.rules.kinds if other != kind.value]
    if count <= _WORTH_TELLING or not rest:
        return None
    kinds = ", ".join(f'"{other}"' for other in rest)
    return f"{why}: kinds = [{kinds}] under [templates] would leave out {count} {kind.value} sheets"
