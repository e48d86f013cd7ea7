"""Small grounds built by hand, as `ground` would hand them over."""

from dataclasses import replace
from itertools import pairwise

from templater.job.schema import Job
from templater.model.curves import IDENTITY, Area, Cubic, Line, Path
from templater.model.ground import (
    Edge,
    EdgeKind,
    Fold,
    Ground,
    Make,
    Piece,
    Reference,
    Region,
    Side,
    SidePlacement,
    Surface,
    Zone,
)
from templater.model.problems import Source

SOURCE = Source("kelp.svg", "zone frond", "path1")


def line(*points):
    return Path(tuple(Line(a, b) for a, b in pairwise(points)), closed=False)


def ring_area(*rings):
    paths = [
        Path(tuple(s for edge in ring for s in edge.path.segments), closed=True) for ring in rings
    ]
    return Area(paths[0], tuple(paths[1:]))


def region(*rings):
    return Region(ring_area(*rings), rings)


def square_ring(x0, y0, x1, y1, allowance=0.0, kind=EdgeKind.FREE):
    corners = [(x0, y0), (x1, y0), (x1, y1), (x0, y1), (x0, y0)]
    return tuple(Edge(kind, line(a, b), allowance_mm=allowance) for a, b in pairwise(corners))


def leaf_ring(length=200.0, belly=40.0, at=(0.0, 0.0), allowance=0.0):
    x, y = at
    tail, tip = (x, y), (x + length, y)
    under = Cubic(tail, (x + 0.3 * length, y - belly), (x + 0.7 * length, y - belly), tip)
    over = Cubic(tip, (x + 0.7 * length, y + 1.2 * belly), (x + 0.3 * length, y + belly), tail)
    return tuple(
        Edge(EdgeKind.FREE, Path((cubic,), closed=False), allowance_mm=allowance)
        for cubic in (under, over)
    )


def zone(name, *regions, piece="front", level=0, register=()):
    return Zone(name, piece, regions, level, register, SOURCE)


def piece(
    make=Make.PAIR, fold=None, ring=None, name="front", outline_is="seam", allowance=10.0, **rest
):
    ring = ring or square_ring(0, 0, 300, 400, allowance)
    blank = Piece(
        name=name,
        area=ring_area(ring),
        make=make,
        drawn=Side.LEFT,
        outline_is=outline_is,
        allowance_mm=allowance,
        rings=(ring,),
        fold=fold,
        grain=((150.0, 50.0), (150.0, 350.0)),
        seams=(),
        creases=(),
        darts=(),
        notches=(),
        drills=(),
        source=SOURCE,
    )
    return replace(blank, **rest)


MIRROR_LINE = Fold((300.0, 0.0), (300.0, 400.0))


def surface(made):
    if made.make is Make.SINGLE:
        return Surface(made.name, (SidePlacement(Side.SINGLE, IDENTITY),), joined_at_fold=False)
    fold = made.fold or MIRROR_LINE
    return Surface(
        made.name,
        (SidePlacement(Side.LEFT, IDENTITY), SidePlacement(Side.RIGHT, fold.mirror)),
        joined_at_fold=made.make is Make.FOLD,
    )


def ground(made, *zones, references=None):
    if references is None:
        references = (reference("hem", (0, 0), (300, 0)),)
    return Ground(
        (600.0, 400.0), (made,), tuple(zones), (), (surface(made),), (), (), tuple(references)
    )


def reference(name, *points):
    return Reference(name, "front", line(*points), SOURCE)


def job(**tables):
    return Job.model_validate({"drawing": "kelp.svg", "name": "Kelp leotard, front", **tables})
