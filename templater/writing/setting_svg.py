"""setting.svg: the stones of the drawn side in a file for any vector editor, to be changed by hand.

The maker moves, deletes, adds and exchanges stones; `[setting] use` in the job reads them back.
"""

from __future__ import annotations

from templater.geometry.measure import join_boxes, path_box
from templater.geometry.moves import moved_path
from templater.geometry.polygons import rectangle
from templater.geometry.stone_shapes import placed_stone_path
from templater.model.curves import Path, Transform, shift
from templater.model.plan import Plan
from templater.model.setting_layers import StoneLayer, origin_layer
from templater.model.sheets import Circle, Drawable, Pen, Sheet, SheetLayer, Stroke
from templater.model.stones import Size, Stone
from templater.writing.svg import svg_bytes

_MARGIN_MM = 10.0


def setting_svg(plan: Plan) -> bytes:
    """The settings of the plan on the drawn reference, at true size."""
    return svg_bytes(setting_sheet(plan))


def setting_sheet(plan: Plan) -> Sheet:
    """One sheet: outlines to look at, and a layer for each zone, kind, size, colour and finish."""
    outlines = _outlines(plan)
    x0, y0, x1, y1 = join_boxes(path_box(path) for path in outlines)
    x0, y0 = round(x0 - _MARGIN_MM, 4), round(y0 - _MARGIN_MM, 4)
    size_mm = (round(x1 + _MARGIN_MM - x0, 4), round(y1 + _MARGIN_MM - y0, 4))
    to_sheet = shift(-x0, -y0)
    sizes = {size.name: size for size in plan.sizes}
    stones: dict[StoneLayer, list[Drawable]] = {}
    for setting in plan.settings:
        for stone in setting.stones:
            layer = StoneLayer(setting.zone, stone.kind, stone.size, stone.colour, stone.finish)
            stones.setdefault(layer, []).append(_drawn(stone, sizes[stone.size], to_sheet))
    layers = [
        # A frame of the sheet, so that the layer is not empty: its name tells where the sheet lies.
        SheetLayer(origin_layer(x0, y0), (Stroke(rectangle(0.0, 0.0, *size_mm), Pen.FRAME),)),
        SheetLayer(
            "outlines, not read back",
            tuple(Stroke(moved_path(path, to_sheet), Pen.NOTE) for path in outlines),
        ),
        *(SheetLayer(layer.name, tuple(drawn)) for layer, drawn in stones.items()),
    ]
    return Sheet(
        name="setting",
        title=f"{plan.name}: the setting, to be edited by hand",
        size_mm=size_mm,
        kind="setting",
        register=(),
        bars=(),
        number=1,
        of=1,
        layers=tuple(layers),
    )


def _outlines(plan: Plan) -> list[Path]:
    pieces = [piece.area.outline for piece in plan.ground.pieces if piece.area is not None]
    zones = [region.area.outline for zone in plan.ground.zones for region in zone.regions]
    rows = [row.path for row in plan.ground.rows]
    return [*pieces, *zones, *rows]


def _drawn(stone: Stone, size: Size, to_sheet: Transform) -> Drawable:
    if size.is_round:
        x, y = to_sheet.apply(stone.at)
        return Circle(round(x, 4), round(y, 4), size.width_mm, Pen.STONE)
    path = placed_stone_path(size.shape, size.length_mm, size.width_mm, stone.at, stone.turn_deg)
    return Stroke(moved_path(path, to_sheet), Pen.STONE)
