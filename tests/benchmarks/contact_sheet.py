"""Draws every fill in every benchmark zone, each behind its outline row, into docs/contact-sheet.png.

python tests/benchmarks/contact_sheet.py [FILE]
"""

from __future__ import annotations

import sys
from pathlib import Path

from packing_zones import FLAT_MM, SS12, SS16, SS20, STRAIGHT, ZONES, outline_row, zone_field
from PIL import Image, ImageDraw

import templater
from templater.geometry.rng import Rng
from templater.stoning.styles import STYLES, fill

SHEET = Path(templater.__file__).parents[1] / "docs" / "contact-sheet.png"
PX_PER_MM = 3
FINER = 3
BETWEEN_MM = 14.0
GAP_MM = 0.2
COLOURS = {SS20: (20, 83, 94), SS16: (47, 133, 125), SS12: (139, 193, 164)}
ROW = (28, 45, 72)
CLOTH, PAPER = (226, 230, 226), (255, 255, 255)
STONE = {size.width_mm: colour for size, colour in COLOURS.items()}


THIRDS, MOSTLY_MIDDLE, ALONE = (
    ((SS20, 1.0), (SS16, 1.0), (SS12, 1.0)),
    ((SS20, 0.2), (SS16, 0.6), (SS12, 0.2)),
    ((SS16, 1.0),),
)


def cell(name: str, style: str, sizes: tuple):
    """The zone's rings, and its stones: x, y, diameter, whether of the row."""
    rings = ZONES[name]
    row = outline_row(rings, GAP_MM, flat=0.0 if name in STRAIGHT else FLAT_MM)
    field = zone_field(name, row)
    result = fill(field, style, None, sizes, GAP_MM, Rng(1, "contact sheet", name))
    assert not result.problems or style == "packed", result.problems
    stones = [(*o.corners[0], 2.0 * o.radius_mm, True) for o in row]
    stones += [
        (x, y, sizes[k][0].width_mm, False)
        for x, y, k in zip(result.x_mm, result.y_mm, result.size_index, strict=True)
    ]
    return rings, stones


def box_of(rings):
    xs, ys = [x for ring in rings for x, _ in ring], [y for ring in rings for _, y in ring]
    return min(xs), min(ys), max(xs), max(ys)


def sheet() -> Image.Image:
    styles = [("packed", THIRDS), ("packed", MOSTLY_MIDDLE)]
    styles += [(name, ALONE) for name in STYLES if name not in ("packed", "none")]
    boxes = {name: box_of(rings) for name, rings in ZONES.items()}
    tall = max(y1 - y0 for _, y0, _, y1 in boxes.values()) + BETWEEN_MM
    wide = sum(x1 - x0 + BETWEEN_MM for x0, _, x1, _ in boxes.values())
    picture = Image.new(
        "RGB", (round(wide * PX_PER_MM), round(len(styles) * tall * PX_PER_MM)), PAPER
    )
    for line, (style, sizes) in enumerate(styles):
        left = 0.0
        for name, (x0, y0, x1, y1) in boxes.items():
            across, up = x1 - x0 + BETWEEN_MM, tall
            shift = (BETWEEN_MM / 2.0 - x0, (tall + y0 + y1) / 2.0)
            drawn = draw(*cell(name, style, sizes), (across, up), shift)
            picture.paste(drawn, (round(left * PX_PER_MM), round(line * tall * PX_PER_MM)))
            left += across
    return picture.quantize(32, dither=Image.Dither.NONE)


def draw(rings, stones, size_mm, shift) -> Image.Image:
    scale = PX_PER_MM * FINER
    size = tuple(round(mm * PX_PER_MM) for mm in size_mm)
    cloth = Image.new("RGB", (size[0] * FINER, size[1] * FINER), PAPER)
    pen = ImageDraw.Draw(cloth)

    def to_px(x, y):
        return (x + shift[0]) * scale, (shift[1] - y) * scale

    for number, ring in enumerate(rings):
        pen.polygon([to_px(*point) for point in ring], fill=PAPER if number else CLOTH)
    for x, y, diameter, in_row in stones:
        cx, cy = to_px(x, y)
        r = diameter * scale / 2.0
        colour = ROW if in_row else STONE[diameter]
        pen.ellipse((cx - r, cy - r, cx + r, cy + r), fill=colour)
    return cloth.resize(size, Image.Resampling.BOX)


if __name__ == "__main__":
    target = Path(sys.argv[1]) if len(sys.argv) > 1 else SHEET
    sheet().save(target, optimize=True)
