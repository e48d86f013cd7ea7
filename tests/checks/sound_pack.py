"""A small pack in which every rule holds, built from its reference stones by the plainest means.

`build()` derives everything from the settings and the ground, so that a test may break one thing at
its root and have the rest follow; `swap()` breaks one thing in the finished values alone.
"""

from __future__ import annotations

import cmath
import math
from collections import Counter

from sound_ground import (
    FOLD,
    NAVETTE,
    PITCH,
    RULES,
    SOURCE,
    SS16,
    box,
    disc,
    grid,
    ground,
    rigid,
    setting,
    settings,
    stone,
    swap,
    without,
    zone,
)

from templater.model.curves import Arc, Area, shift
from templater.model.facts import (
    CircleFact,
    HoleRow,
    PackFacts,
    PathFact,
    SheetFacts,
    ShoppingRow,
    StoneRow,
    TextFact,
)
from templater.model.ground import (
    Edge,
    EdgeKind,
    Make,
    Region,
    Side,
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
from templater.model.plan import PLAN_VERSION, Counts, Plan, ShoppingLine, ZoneCount
from templater.model.sheets import Bar, Sheet
from templater.model.stones import (
    PlacedStone,
    StoneKind,
    StoneShape,
)


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


def points_of(path):
    """Corners, and half circles in steps of a degree."""
    points = []
    for s in path.segments:
        if not isinstance(s, Arc):
            points.append(s.start)
            continue
        (x0, y0), (x1, y1) = s.start, s.end
        centre, out = complex(x0 + x1, y0 + y1) / 2, complex(x0 - x1, y0 - y1) / 2
        turned = [centre + out * cmath.exp(1j * math.radians(d)) for d in range(180)]
        points += [(p.real, p.imag) for p in turned]
    return points


def drawn(sheet, holes, ending, *, page=1, move=(0.0, 0.0), size=None, members=()) -> SheetFacts:
    dx, dy = move
    circles = [CircleFact(x + dx, y + dy, 4.0, "register") for x, y in sheet.register]
    circles += [
        CircleFact(h.x_mm + dx, h.y_mm + dy, h.diameter_mm, "holes")
        for h in holes
        if h.shape == "round"
    ]
    paths = [navette(h) for h in holes if h.shape != "round"]
    texts = []
    for placed, part in members:
        corners = tuple(map(placed.transform.apply, points_of(part.cut.outline)))
        paths.append(PathFact(corners, closed=True, layer="cut"))
        for hole_path in part.cut.holes:
            corners = tuple(map(placed.transform.apply, points_of(hole_path)))
            paths.append(PathFact(corners, closed=True, layer="cut"))
        texts += [TextFact(line, corners[0], 4.0, "labels", False) for line in part.label.lines]
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
        tuple(texts),
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
    by_id = {part.id: part for part in plan.parts}
    members = {
        sheet.name: [
            (p, by_id[p.part]) for p in plan.placed if p.sheet == sheet.name and p.part in by_id
        ]
        for sheet in plan.sheets
    }
    files = tuple(
        drawn(sheet, by_name.get(sheet.name, ()), ending, members=members[sheet.name])
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


__all__ = [  # what the tests use of both modules
    "NAVETTE",
    "PITCH",
    "RULES",
    "SOURCE",
    "Area",
    "Edge",
    "EdgeKind",
    "Region",
    "StoneKind",
    "bar",
    "box",
    "build",
    "disc",
    "drawn",
    "folded",
    "ground",
    "rigid",
    "setting",
    "settings",
    "sheets",
    "shift",
    "stone",
    "swap",
    "without",
    "write",
    "zone",
]
