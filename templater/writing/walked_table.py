"""walked.csv: edges that will be sewn together, length against length, as they were walked."""

from __future__ import annotations

from templater.model.parts import Walked
from templater.model.plan import Plan
from templater.writing.numbers import snap
from templater.writing.tables import table

WALKED_HEAD = (
    "first,second,kind,length_a_mm,length_b_mm,difference_mm,per_cent,from_mm,to_mm,x_mm,y_mm,note"
)
TRUE_WITHIN_MM = 1.5
"""What fitters accept at the stitch line: 1/16 in (Threads 200, 2018-19)."""


def walked_csv(plan: Plan) -> bytes:
    """A line a pair. Difference and per cent are of a against b; from and to say where along a most
    of it arises, x and y the middle of that stretch on the drawing.
    """
    return table(WALKED_HEAD, (_cells(pair) for pair in plan.walked))


def _cells(pair: Walked) -> tuple[object, ...]:
    difference = pair.first_mm - pair.second_mm
    per_cent = 100.0 * difference / pair.second_mm if pair.second_mm else 0.0
    numbers = (
        pair.first_mm,
        pair.second_mm,
        difference,
        per_cent,
        pair.from_mm,
        pair.to_mm,
        *pair.at,
    )
    return (
        pair.first,
        pair.second,
        pair.kind,
        *(f"{snap(number):.4f}" for number in numbers),
        _note(difference),
    )


def _note(difference_mm: float) -> str:
    if abs(difference_mm) <= TRUE_WITHIN_MM:
        return "true"
    longer = "first" if difference_mm > 0.0 else "second"
    return f"ease in {abs(difference_mm):.1f} mm of the {longer}, or redraw one"
