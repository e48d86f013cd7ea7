"""Names beside a drawing, stacked so that none lies over another, each with a line to its thing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from templater.lettering import text_width_mm
from templater.lettering.stacking import stacked
from templater.model.curves import Box, Point, Transform
from templater.model.sheets import Anchor, Drawable, Lettering, Pen
from templater.sheets.marks import line

_LEAD_MM = 1.5


@dataclass(frozen=True, slots=True)
class Callout:
    """Words, and the point on the garment that they speak of."""

    text: str
    at: Point
    height_mm: float

    @property
    def pitch_mm(self) -> float:
        return self.height_mm * 2.0


def callouts(
    labels: Sequence[Callout],
    to_sheet: Transform,
    middle_mm: float,
    heights_mm: tuple[float, float],
    box: Box,
    room_mm: float,
) -> tuple[Drawable, ...]:
    """Words to the left of the drawing for things left of `middle_mm`, else to its right.

    `box` is the drawing's on the garment; words keep within `room_mm` of it and `heights_mm`.
    """
    items: list[Drawable] = []
    placed = [(to_sheet.apply(label.at), label) for label in labels]
    left_x, right_x = box[0] + to_sheet.e - 8.0, box[2] + to_sheet.e + 8.0
    for is_left in (True, False):
        own = [(at, label) for at, label in placed if (at[0] < middle_mm) is is_left]
        own.sort(key=lambda entry: (entry[0][1], entry[0][0], entry[1].text))
        pitches = [label.pitch_mm for _, label in own[1:]]
        baselines = stacked([at[1] for at, _ in own], pitches, heights_mm)
        edge = left_x if is_left else right_x
        anchor = Anchor.END if is_left else Anchor.START
        for (at, label), baseline in zip(own, baselines, strict=True):
            assert text_width_mm(label.text, label.height_mm) <= room_mm
            items.append(Lettering(label.text, (edge, baseline), label.height_mm, anchor=anchor))
            lead = edge + _LEAD_MM if is_left else edge - _LEAD_MM
            items.append(line((lead, baseline + label.height_mm / 2.0), at, Pen.NOTE))
    return tuple(items)
