"""Sheets and a plan made by hand, and pictures of what was written, by other people's renderers."""

import io
from dataclasses import replace
from importlib.resources import as_file, files

import numpy as np
from PIL import Image

from templater.catalogue.sizes import find_size
from templater.geometry.polygons import circle, polyline, rectangle
from templater.model.curves import IDENTITY, Arc, Area, Cubic, Line, Path
from templater.model.ground import (
    Fold,
    Ground,
    Make,
    Piece,
    Region,
    Side,
    SidePlacement,
    Surface,
    Zone,
)
from templater.model.parts import CutPart, Hole, HoleKind, Label, PartKind, Pass
from templater.model.plan import PLAN_VERSION, Counts, Patch, Plan, Rules, ShoppingLine
from templater.model.problems import Source
from templater.model.sheets import (
    Anchor,
    Bar,
    Circle,
    Fill,
    Lettering,
    Pen,
    Sheet,
    SheetLayer,
    Stroke,
)
from templater.model.stones import PlacedStone, StoneKind

LEAF = Path(
    (
        Cubic((20.0, 20.0), (60.0, 30.0), (60.0, 80.0), (30.0, 100.0)),
        Line((30.0, 100.0), (20.0, 90.0)),
        Arc((20.0, 90.0), (20.0, 20.0), 0.25),
    ),
    closed=True,
)


def line(*points):
    return polyline(points, closed=False)


def sheet(*layers, size_mm=(180.0, 120.0), name="stencils/frond-left-ss16-1", **more):
    values = {
        "title": "Frond, wearer’s left",
        "kind": "stencil",
        "register": (),
        "bars": (),
        "number": 1,
        "of": 1,
        **more,
    }
    return Sheet(name, size_mm=size_mm, layers=tuple(layers), **values)


def small_sheet():
    """One of everything, small enough to read."""
    return sheet(
        SheetLayer("holes ss16", (Circle(10.0, 12.5, 4.3, Pen.HOLE, "frond-left-1"),)),
        SheetLayer(
            "cut",
            (
                Fill(Area(rectangle(1.0, 1.0, 5.0, 4.0), (circle((3.0, 2.5), 1.0),)), "#d0e8d8"),
                Stroke(Path((Arc((20.0, 5.0), (30.0, 5.0), -1.0),), closed=False), Pen.FOLD),
                Stroke(
                    Path((Cubic((2.0, 8.0), (4.0, 9.0), (6.0, 9.0), (8.0, 8.0)),), closed=False),
                    Pen.SEAM,
                ),
                Stroke(rectangle(0.5, 0.5, 39.5, 19.5), Pen.CUT),
            ),
        ),
        SheetLayer("note", (Lettering("Größe", (20.0, 15.0), 2.5, 90.0, Anchor.MIDDLE),)),
        size_mm=(40.0, 20.0),
    )


def bar_sheet(size_mm=(180.0, 180.0)):
    """Bars of 150 mm along and up, and circles with known centres."""
    return sheet(
        SheetLayer(
            "bars",
            (
                Stroke(line((15.0, 10.0), (165.0, 10.0)), Pen.BAR),
                Stroke(line((10.0, 15.0), (10.0, 165.0)), Pen.BAR),
            ),
        ),
        SheetLayer("holes", tuple(Circle(x, y, d, Pen.HOLE) for x, y, d in CENTRES)),
        size_mm=size_mm,
        bars=(Bar(15.0, 10.0, 165.0, 10.0, 150.0), Bar(10.0, 15.0, 10.0, 165.0, 150.0)),
    )


CENTRES = ((40.0, 40.0, 4.3), (100.1234, 33.3333, 3.5), (160.0, 150.5, 5.1), (41.7, 120.05, 2.3))


def large_sheet():
    """Needs several pages: a leaf over most of them, stones, words, and bare corners."""
    leaf = Path(
        (
            Cubic((60.0, 40.0), (300.0, 80.0), (300.0, 480.0), (90.0, 560.0)),
            Cubic((90.0, 560.0), (20.0, 350.0), (30.0, 200.0), (60.0, 40.0)),
        ),
        closed=True,
    )
    stones = tuple(
        Circle(120.0 + i % 20 * 4.5, 120.0 + i // 20 * 4.5, 3.9, Pen.STONE) for i in range(1200)
    )
    return sheet(
        SheetLayer("cut", (Stroke(leaf, Pen.CUT),)),
        SheetLayer("stones", stones),
        SheetLayer("note", (Lettering("frond, wearer’s left", (150.0, 450.0), 7.0),)),
        SheetLayer("frame", (Stroke(rectangle(0.0, 0.0, 420.0, 600.0), Pen.FRAME),)),
        size_mm=(420.0, 600.0),
        name="appliques/frond",
        kind="applique",
    )


def small_plan(make=Make.FOLD, formats=("svg", "dxf", "pdf")):
    """Two sides, a few stones and holes, sheets of each kind."""
    source = Source("kelp.svg")
    fold = Fold((70.0, 0.0), (70.0, 120.0))
    area = Area(rectangle(5.0, 5.0, 70.0, 115.0))
    piece = Piece(
        "front",
        area,
        make,
        Side.LEFT,
        "seam",
        10.0,
        (),
        fold,
        None,
        (),
        (),
        (),
        (),
        (),
        None,
    )
    zone = Zone("frond", "front", (Region(Area(LEAF), ()),), 0, (), source)
    sides = (SidePlacement(Side.LEFT, IDENTITY), SidePlacement(Side.RIGHT, fold.mirror))
    ground = Ground(
        (140.0, 120.0),
        (piece,),
        (zone,),
        (),
        (Surface("front", sides, joined_at_fold=make is Make.FOLD),),
        (),
        (),
        (),
    )
    sizes = tuple(find_size(name) for name in ("ss16", "navette 10x5"))
    stones = []
    for number, (x, y, name, finish) in enumerate(
        (
            (30.0, 40.0, "ss16", "plain"),
            (36.0, 40.0, "ss16", "ab"),
            (30.0, 60.0, "navette 10x5", "plain"),
        )
    ):
        size = next(size for size in sizes if size.name == name)
        for side in sides:
            at = side.transform.apply((x, y))
            stones.append(
                PlacedStone(
                    f"frond-{side.side}-{number}",
                    "frond",
                    "front",
                    side.side,
                    *at,
                    0.0 if size.is_round else side.transform.turned(30.0),
                    name,
                    size.length_mm,
                    size.width_mm,
                    "sea green",
                    finish,
                    StoneKind.FILL,
                    0.3,
                )
            )
    part = CutPart(
        "frond-left",
        PartKind.APPLIQUE,
        "front",
        "frond",
        0,
        Side.LEFT,
        IDENTITY,
        Area(LEAF),
        Area(LEAF),
        (),
        Label(("frond",), (30.0, 60.0), 3.5),
        "dark kelp cotton",
        1,
        reversed=False,
        grain_deg=None,
    )
    holes = (
        Hole(1, 10.0, 12.5, 4.3, 4.3, 0.0, "round", 4.5, HoleKind.STENCIL, "frond-left-0"),
        Hole(2, 16.0, 12.5, 4.3, 4.3, 0.0, "round", None, HoleKind.STENCIL, "frond-left-1"),
    )
    one_pass = Pass(
        "stencils/frond-left-ss16-1",
        HoleKind.STENCIL,
        "frond",
        "front",
        Side.LEFT,
        ("ss16",),
        1,
        1,
        "hand",
        1.0,
        0.3,
        (40.0, 20.0),
        IDENTITY,
        reversed=False,
        register=(),
        holes=holes,
    )
    sheets = (
        small_sheet(),
        replace(bar_sheet(), name="appliques/frond-left", kind="applique"),
        replace(large_sheet(), name="print/front-placement", kind="placement"),
    )
    return Plan(
        PLAN_VERSION,
        "0" * 64,
        "Kelp leotard, front",
        7,
        Rules(0.02, 1.0, 0.3, 0.2, 0.0, formats, "mm"),
        sizes,
        ground,
        (),
        tuple(stones),
        (part,),
        (one_pass,),
        (),
        sheets,
        Counts((ShoppingLine("ss16", "sea green", "ab", 2, 1, 1),), (), 0.0, 0.0, None, "EUR"),
        (),
    )


CSS_PX_PER_MM = 96 / 25.4
"""CSS 2.1, 4.3.2: a px is 1/96 in. Renderers scale by whole multiples of it without rounding."""


def grid_of_patches(plan, patches_abreast, gap_mm=4.2):
    """The plan with square patches of 6 by 6 stones instead, as many abreast as up, in a row's
    zone, which has no cloth of its own.
    """
    size = find_size("ss16")
    stones, patches = [], []
    for number in range(patches_abreast**2):
        row, column = divmod(number, patches_abreast)
        own = [
            PlacedStone(
                f"grid-{number}-{k}", "grid", "front", Side.LEFT,
                gap_mm * (6 * column + k % 6), gap_mm * (6 * row + k // 6), 0.0,
                size.name, size.length_mm, size.width_mm, "mint", "plain", StoneKind.FILL, 0.3,
            )
            for k in range(36)
        ]  # fmt: skip
        stones += own
        names, middle = tuple(s.id for s in own), (own[0].x_mm, own[0].y_mm)
        patches.append(
            Patch(f"grid-{number}", "grid", "front", Side.LEFT, number, names, (), 1.0, middle)
        )
    return replace(plan, stones=tuple(stones), counts=replace(plan.counts, patches=tuple(patches)))


def svg_ink(data, px_per_mm):
    """Darkness 0 to 1 by resvg, rows from the top."""
    import resvg_py

    with as_file(files("templater.lettering") / "DejaVuSans.ttf") as font:
        png = resvg_py.svg_to_bytes(
            svg_string=data.decode(),
            background="#ffffff",
            dpi=96,
            zoom=px_per_mm / CSS_PX_PER_MM,
            font_files=[str(font)],
            skip_system_fonts=True,
        )
    return ink(Image.open(io.BytesIO(bytes(png))))


def pdf_ink(data, page, px_per_mm):
    """Darkness 0 to 1 by pypdfium2, rows from the top."""
    import pypdfium2

    document = pypdfium2.PdfDocument(data)
    return ink(document[page].render(scale=px_per_mm * 25.4 / 72).to_pil())


def ink(picture):
    return 1.0 - np.asarray(picture.convert("L"), dtype=float) / 255.0


def extent_mm(darkness, axis, px_per_mm):
    """From where to where there is ink along an axis (0: from the top, 1: from the left), the
    pixels at the ends counted by how dark they are.
    """
    profile = darkness.max(axis=1 - axis)
    inked = np.flatnonzero(profile > 0.02)
    first, last = inked[0], inked[-1]
    full = profile.max()
    return (
        (first + 1.0 - profile[first] / full) / px_per_mm,
        (last + profile[last] / full) / px_per_mm,
    )


def centre_mm(darkness, x_mm, y_mm, reach_mm, px_per_mm, height_mm):
    """The middle of the ink within reach of a place, in the sheet's frame."""
    top = height_mm - y_mm
    rows = slice(int((top - reach_mm) * px_per_mm), int((top + reach_mm) * px_per_mm) + 1)
    columns = slice(int((x_mm - reach_mm) * px_per_mm), int((x_mm + reach_mm) * px_per_mm) + 1)
    part = darkness[rows, columns]
    v, u = np.mgrid[
        rows.start : rows.start + part.shape[0], columns.start : columns.start + part.shape[1]
    ]
    total = part.sum()
    return (
        ((u + 0.5) * part).sum() / total / px_per_mm,
        height_mm - ((v + 0.5) * part).sum() / total / px_per_mm,
    )
