"""A small pack in which every rule holds, built from its reference stones by the plainest means.

`build()` derives everything from the settings and the ground, so that a test may break one thing at
its root and have the rest follow; `swap()` breaks one thing in the finished values alone.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace

from templater.model.curves import IDENTITY, Arc, Area, Line, Path, Transform, shift
from templater.model.facts import (
    CircleFact,
    HoleRow,
    PackFacts,
    PathFact,
    SheetFacts,
    ShoppingRow,
    StoneRow,
)
from templater.model.ground import (
    Edge,
    EdgeKind,
    Fold,
    Ground,
    KeepClear,
    Low,
    Make,
    Piece,
    Region,
    Row,
    Side,
    SidePlacement,
    Surface,
    Zone,
)
from templater.model.parts import (
    CutPart,
    Hole,
    HoleKind,
    Label,
    Mark,
    MarkKind,
    PartKind,
    Pass,
    Placed,
)
from templater.model.plan import PLAN_VERSION, Counts, Plan, Rules, ShoppingLine, ZoneCount
from templater.model.problems import Source
from templater.model.sheets import Bar, Sheet
from templater.model.stones import (
    Figures,
    PlacedStone,
    Setting,
    Size,
    Stone,
    StoneKind,
    StoneShape,
)

SOURCE = Source("drawing.svg", "layer")
SS16 = Size("ss16", StoneShape.ROUND, 3.9, 3.9, 3.8, 4.0, 4.0, 1.7, "made up for tests")
NAVETTE = Size("navette 10x5", StoneShape.NAVETTE, 10.0, 5.0, 4.9, 10.1, 5.1, 3.0, "made up")
RULES = Rules(0.02, 1.0, 0.3, 0.2, 0.0, ("svg", "dxf", "pdf"), "mm")
PITCH = 4.205  # 5 µm more than the stones and their gap: a missing one leaves room for one
FOLD = Fold((100.0, 0.0), (100.0, 80.0))


def box(x0, y0, x1, y1) -> Path:
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    ends = corners[1:] + corners[:1]
    return Path(tuple(Line(a, b) for a, b in zip(corners, ends, strict=True)), closed=True)


def disc(x, y, r) -> Area:
    east, west = (x + r, y), (x - r, y)
    return Area(Path((Arc(east, west, 1.0), Arc(west, east, 1.0)), closed=True))


def zone(name, x0, x1, *, right=EdgeKind.FREE, left=EdgeKind.FREE, register=None) -> Zone:
    outline = box(x0, 10.0, x1, 50.0)
    kinds = [EdgeKind.FREE, right, EdgeKind.FREE, left]
    edges = tuple(
        Edge(kind, Path((segment,), closed=False))
        for kind, segment in zip(kinds, outline.segments, strict=True)
    )
    register = register or ((x0 - 3.0, 7.0), (x1 + 3.0, 7.0), (x0 - 3.0, 47.0))
    return Zone(name, "front", (Region(Area(outline), (edges,)),), 0, register, SOURCE)


def stone(x, y, size=SS16, turn=0.0, kind=StoneKind.FILL, gap=0.3, **more) -> Stone:
    values = {"colour": "navy", "finish": "plain", **more}
    return Stone(
        round(x, 4), round(y, 4), turn, size.name, size.length_mm, size.width_mm,
        values["colour"], values["finish"], kind, gap,
    )  # fmt: skip


def grid(x0, columns) -> tuple[Stone, ...]:
    """Stones 0.305 mm apart in a square grid, 0.2 mm from the left and lower edge of a zone."""
    return tuple(
        stone(x0 + 2.15 + PITCH * i, 12.15 + PITCH * j) for i in range(columns) for j in range(9)
    )


def setting(name, stones, *, maximal: str | None = "ss16") -> Setting:
    counts = tuple(sorted(Counter(s.size for s in stones).items()))
    figures = Figures(1600.0, 0.5, counts, 0.3, None)
    return Setting(name, "front", tuple(stones), figures, maximal, 0.2, 0.3)


def spine() -> Setting:
    row = [stone(x, 62.0, NAVETTE, 0.0, StoneKind.ROW, 0.5) for x in (20.0, 32.0, 44.0)]
    return setting("spine", row, maximal=None)


def settings() -> tuple[Setting, ...]:
    return (setting("leaf", grid(10.0, 9)), setting("tip", grid(50.0, 7)), spine())


def ground(make=Make.PAIR, **more) -> Ground:
    if make is Make.FOLD:
        zones = (zone("leaf", 60.0, 100.0, right=EdgeKind.FOLD),)
    else:
        zones = (
            zone("leaf", 10.0, 50.0, right=EdgeKind.NEIGHBOUR),
            zone("tip", 50.0, 80.0, left=EdgeKind.NEIGHBOUR),
        )
    piece = Piece(
        "front", Area(box(0.0, 0.0, 100.0, 80.0)), make, Side.LEFT, "seam", 10.0, (), FOLD,
        None, (), (), (), (), (), SOURCE,
    )  # fmt: skip
    sides = (SidePlacement(Side.LEFT, IDENTITY), SidePlacement(Side.RIGHT, FOLD.mirror))
    if make is Make.SINGLE:
        sides = (SidePlacement(Side.SINGLE, IDENTITY),)
    seam = Path((Line((95.0, 0.0), (95.0, 80.0)),), closed=False)
    keep_clear = (
        KeepClear("clear", "front", disc(90.0, 70.0, 3.0), 3.0, SOURCE),
        KeepClear("seam", "front", seam, 8.0, SOURCE),
    )
    lows = (Low("front", Area(box(10.0, 70.0, 20.0, 78.0)), 1.6, SOURCE),)
    values = {
        "zones": zones,
        "rows": (
            Row("spine", "front", Path((Line((15.0, 62.0), (60.0, 62.0)),), closed=False), SOURCE),
        ),
        "keep_clear": () if make is Make.FOLD else keep_clear,
        "lows": lows,
        **more,
    }
    return Ground(
        (200.0, 80.0), (piece,), values["zones"], values["rows"],
        (Surface("front", sides, make is Make.FOLD),), values["keep_clear"], values["lows"], (),
    )  # fmt: skip


def place(settings_, ground_) -> tuple[PlacedStone, ...]:
    surface = ground_.surfaces[0]
    found = []
    for each in settings_:
        for placement in surface.sides:
            for number, s in enumerate(each.stones):
                side = placement.side
                if surface.joined_at_fold and abs(s.x_mm - 100.0) < 1e-6:
                    if side is Side.RIGHT:
                        continue
                    side = Side.CENTRE
                x, y = placement.transform.apply(s.at)
                turn = 0.0 if s.size == "ss16" else placement.transform.turned(s.turn_deg)
                found.append(
                    PlacedStone(
                        f"{each.zone}-{side}-{number}",
                        each.zone,
                        each.piece,
                        side,
                        round(x, 4),
                        round(y, 4),
                        turn,
                        s.size,
                        s.length_mm,
                        s.width_mm,
                        s.colour,
                        s.finish,
                        s.kind,
                        s.gap_mm,
                    )
                )
    return tuple(found)


def hole(order, s, to_sheet, kind, size, turn) -> Hole:
    x, y = to_sheet.apply((s.x_mm, s.y_mm))
    wide = 0.8 if kind is HoleKind.PRICK else size.largest_width_mm + 0.3
    long = wide if kind is HoleKind.PRICK else size.largest_length_mm + 0.3
    shape = StoneShape.ROUND if kind is HoleKind.PRICK else size.shape
    punch = 4.5 if kind is HoleKind.PUNCH else None
    return Hole(
        order, round(x, 4), round(y, 4), round(wide, 4), round(long, 4), turn, str(shape), punch,
        kind, s.id,
    )  # fmt: skip


def passes(placed, ground_, method="hand") -> tuple[Pass, ...]:
    """Each zone and side: its stones in a checkerboard of two stencils, and one prick sheet."""
    found = []
    registers = {z.name: z.register for z in ground_.zones}
    registers["spine"] = ((16.0, 54.0), (48.0, 54.0), (16.0, 73.0))
    names = sorted({(s.zone, str(s.side)) for s in placed if s.side is not Side.CENTRE})
    for name, side in names:
        own = [s for s in placed if s.zone == name and str(s.side) == side]
        if side == Side.LEFT:
            own += [s for s in placed if s.zone == name and s.side is Side.CENTRE]
        mirrored = side == Side.RIGHT
        marks = [
            FOLD.mirror.apply(p) if mirrored else p for p in registers.get(name, registers["spine"])
        ]
        left = min([p[0] for p in marks] + [s.x_mm for s in own]) - 9.0
        low = min([p[1] for p in marks] + [s.y_mm for s in own]) - 9.0
        to_sheet = shift(-left, -low)
        size_mm = (
            max([s.x_mm for s in own] + [p[0] for p in marks]) - left + 9.0,
            max([s.y_mm for s in own] + [p[1] for p in marks]) - low + 9.0,
        )
        size = SS16 if own[0].size == "ss16" else NAVETTE
        odd = [s for s in own if round((s.x_mm + s.y_mm) / PITCH) % 2]
        even = [s for s in own if not round((s.x_mm + s.y_mm) / PITCH) % 2]
        stencils = [own] if size is NAVETTE else [odd, even]
        sheets = [
            (HoleKind.STENCIL, group, n, len(stencils)) for n, group in enumerate(stencils, 1)
        ]
        sheets.append((HoleKind.PRICK, own, 1, 1))
        for kind, group, number, of in sheets:
            found.append(
                Pass(
                    f"{'stencils' if kind is HoleKind.STENCIL else 'punch'}/{name}-{side}-{kind}-{number}",
                    kind,
                    name,
                    "front",
                    Side(side),
                    (size.name,),
                    number,
                    of,
                    method,
                    1.0,
                    0.3,
                    size_mm,
                    to_sheet,
                    False,
                    tuple(to_sheet.apply(p) for p in marks),
                    tuple(
                        hole(n, s, to_sheet, kind, size, s.turn_deg) for n, s in enumerate(group, 1)
                    ),
                )
            )
    return tuple(found)


def parts(ground_) -> tuple[CutPart, ...]:
    found = []
    for z in ground_.zones:
        for placement in ground_.surfaces[0].sides:
            area = z.regions[0].area
            marks = (Mark(MarkKind.MATCH, (50.0, 30.0), 1),) if len(ground_.zones) > 1 else ()
            found.append(
                CutPart(
                    f"{z.name}-{placement.side}",
                    PartKind.APPLIQUE,
                    "front",
                    z.name,
                    0,
                    placement.side,
                    placement.transform,
                    area,
                    area,
                    marks,
                    Label((z.name,), (30.0, 30.0), 4.0),
                    "cotton",
                    1,
                    False,
                    90.0,
                )
            )
    return tuple(found)


def place_parts(parts_) -> tuple[Placed, ...]:
    """In a row on one sheet, 5 mm apart, mirrored where the part's side is."""
    found, x = [], 5.0
    for part in parts_:
        xs = [part.to_side.apply(s.start)[0] for s in part.cut.outline.segments]
        move = part.to_side.then(shift(x - min(xs), 0.0))
        x += max(xs) - min(xs) + 5.0
        found.append(Placed(part.id, "appliques/front-1", move))
    return tuple(found)


def bar(y=1.0) -> Bar:
    return Bar(5.0, y, 45.0, y, 40.0)


def sheets(passes_) -> tuple[Sheet, ...]:
    marks = ((3.0, 55.0), (180.0, 55.0), (3.0, 75.0))
    found = [Sheet("appliques/front-1", "front", (200.0, 80.0), "applique", marks, (bar(),), 1, 1)]
    found += [
        Sheet(p.template, p.template, p.size_mm, str(p.kind), p.register, (bar(),), 1, 1)
        for p in passes_
    ]
    return tuple(found)


def navette(h: Hole) -> PathFact:
    """Any outline as long and as wide as the hole will do for a drawing: a rhombus with tips cut."""
    half, side, turn = h.length_mm / 2, h.diameter_mm / 2, math.radians(h.turn_deg)
    corners = [(half, 0.0), (0.0, side), (-half, 0.0), (0.0, -side)]
    cos, sin = math.cos(turn), math.sin(turn)
    points = tuple((h.x_mm + x * cos - y * sin, h.y_mm + x * sin + y * cos) for x, y in corners)
    return PathFact(points, closed=True, layer="holes")


def drawn(sheet, holes, ending, *, page=1, move=(0.0, 0.0), size=None) -> SheetFacts:
    dx, dy = move
    circles = [CircleFact(x + dx, y + dy, 4.0, "register") for x, y in sheet.register]
    circles += [
        CircleFact(h.x_mm + dx, h.y_mm + dy, h.diameter_mm, "holes")
        for h in holes
        if h.shape == "round"
    ]
    paths = [navette(h) for h in holes if h.shape != "round"]
    paths += [
        PathFact(((b.x0 + dx, b.y0 + dy), (b.x1 + dx, b.y1 + dy)), closed=False, layer="bars")
        for b in sheet.bars
    ]
    scaling_off = True if ending == ".pdf" else None
    return SheetFacts(
        sheet.name + ending,
        page,
        size or sheet.size_mm,
        tuple(circles),
        tuple(paths),
        (),
        scaling_off,
    )


def write(plan: Plan) -> PackFacts:
    stones = tuple(
        StoneRow(
            s.zone,
            str(s.side),
            s.x_mm,
            s.y_mm,
            s.turn_deg,
            s.size,
            s.length_mm,
            s.width_mm,
            s.colour,
            s.finish,
            s.piece,
            str(s.kind),
            s.id,
        )
        for s in plan.stones
    )
    holes = tuple(
        HoleRow(
            p.template + ".svg",
            p.number,
            h.order,
            h.x_mm,
            h.y_mm,
            h.diameter_mm,
            h.punch_mm,
            str(h.kind),
            h.stone_id,
        )
        for p in plan.passes
        for h in p.holes
    )
    shopping = tuple(
        ShoppingRow(s.size, s.colour, s.finish, s.count, s.spare, s.gross)
        for s in plan.counts.shopping
    )
    by_name = {p.template: p.holes for p in plan.passes}
    files = tuple(
        drawn(sheet, by_name.get(sheet.name, ()), ending)
        for sheet in plan.sheets
        for ending in (".svg", ".dxf", ".pdf")
    )
    names = ("holes.csv", "plan.json", "shopping.csv", "stones.csv", *sorted(f.file for f in files))
    return PackFacts(stones, holes, shopping, files, names)


def count(placed) -> Counts:
    found = Counter((s.size, s.colour, s.finish) for s in placed)
    lines = tuple(
        ShoppingLine(*key, n, 10, math.ceil((n + 10) / 144)) for key, n in sorted(found.items())
    )
    zones = tuple(
        ZoneCount(name, n, 1.0, 1.0) for name, n in sorted(Counter(s.zone for s in placed).items())
    )
    return Counts(lines, zones, 1.0, 1.0, None, "EUR")


def build(settings_=None, ground_=None, rules=RULES, method="hand") -> tuple[Plan, PackFacts]:
    settings_ = settings() if settings_ is None else settings_
    ground_ = ground() if ground_ is None else ground_
    placed = place(settings_, ground_)
    passes_ = passes(placed, ground_, method)
    parts_ = parts(ground_)
    plan = Plan(
        PLAN_VERSION, "hash", "test", 1, rules, (SS16, NAVETTE), ground_, settings_, placed, parts_,
        passes_, place_parts(parts_), sheets(passes_), count(placed), (),
    )  # fmt: skip
    return plan, write(plan)


def folded() -> tuple[Plan, PackFacts]:
    """One cloth, both sides: a grid on the drawn half, and a column of stones on the fold."""
    centred = tuple(stone(100.0, 12.15 + PITCH * j) for j in range(9))
    own = (setting("leaf", grid(60.0, 9) + centred),)
    return build(own, ground(Make.FOLD, rows=()))


def swap(values: tuple, index: int, **changes) -> tuple:
    """The values with one of them changed."""
    old = values[index]
    new = old._replace(**changes) if hasattr(old, "_replace") else replace(old, **changes)
    index %= len(values)
    return (*values[:index], new, *values[index + 1 :])


def without(values: tuple, index: int) -> tuple:
    return (*values[:index], *values[index + 1 :])


def rigid(turn_deg: float, x: float, y: float) -> Transform:
    turn = math.radians(turn_deg)
    return Transform(math.cos(turn), math.sin(turn), -math.sin(turn), math.cos(turn), x, y)
