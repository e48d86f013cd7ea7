"""SVG, DXF and PDF of any sheet say the same, read back by code that knows nothing of the writers."""

import math

from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from shapely import LineString
from writing_samples import sheet

from templater.geometry.flatten import flatten
from templater.lettering import shown_text
from templater.model.curves import Arc, Cubic, Line, Path
from templater.model.sheets import Anchor, Circle, Lettering, Pen, SheetLayer, Stroke
from templater.readback.dxf import read_dxf
from templater.readback.pdf import read_pdf
from templater.readback.svg import read_svg
from templater.writing import dxf_bytes, pdf_bytes, svg_bytes

SIZE = (300.0, 200.0)
QUICK = (Phase.explicit, Phase.reuse, Phase.generate)  # shrinking whole sheets takes minutes
across, up = st.floats(0.0, SIZE[0]), st.floats(0.0, SIZE[1])
points = st.tuples(across, up)
circles = st.builds(
    lambda at, d, pen: Circle(*at, d, pen),
    points,
    st.floats(0.5, 40.0),
    st.sampled_from([Pen.HOLE, Pen.STONE]),
)
letterings = st.builds(
    Lettering,
    st.text("abcHLß Жμ×5-&<>'\"()\\", min_size=1, max_size=12).filter(
        lambda t: t.strip() == t != ""
    ),
    st.tuples(st.floats(130.0, 170.0), st.floats(90.0, 110.0)),  # no text reaches the edge
    st.sampled_from([1.8, 3.5, 10.0]),
    st.sampled_from([0.0, 90.0, 213.7]),
    st.sampled_from(list(Anchor)),
    st.booleans(),
)


@st.composite
def paths(draw):
    """Segments joined end to start, no shorter than 1 mm."""
    corners = draw(st.lists(points, min_size=2, max_size=5))
    corners = [tuple(round(v, 4) for v in corner) for corner in corners]
    closed = draw(st.booleans()) and len(corners) > 2
    ends = [*corners[1:], corners[0]] if closed else corners[1:]
    segments = []
    for start, end in zip(corners, ends, strict=False):
        if math.dist(start, end) < 1.0:
            return Path((Line((0.0, 0.0), (5.0, 5.0)),), closed=False)
        kind = draw(st.sampled_from(["line", "line", "arc", "cubic"]))
        if kind == "line":
            segments.append(Line(start, end))
        elif kind == "arc":
            segments.append(Arc(start, end, draw(st.sampled_from([-2.0, -0.4, 0.1, 1.0]))))
        else:
            segments.append(Cubic(start, draw(points), draw(points), end))
    return Path(tuple(segments), closed)


# Pens that do not cut: those keep their place, cut lines are put in cutting order.
strokes = st.builds(Stroke, paths(), st.sampled_from([Pen.MARK, Pen.SEAM, Pen.FOLD]))


def read_all(one):
    return {
        "svg": read_svg(svg_bytes(one), "x.svg"),
        "dxf": read_dxf(dxf_bytes(one), "x.dxf"),
        "pdf": read_pdf(pdf_bytes([one], "x"), "x.pdf")[0],
    }


@given(st.lists(circles, min_size=1, max_size=20))
@settings(deadline=None, max_examples=6, phases=QUICK)
def test_circles_agree(items):
    one = sheet(SheetLayer("holes", tuple(items)), size_mm=SIZE)
    wanted = sorted((round(c.x_mm, 4), round(c.y_mm, 4), c.diameter_mm) for c in items)
    for kind, facts in read_all(one).items():
        found = sorted((round(f.x_mm, 4), round(f.y_mm, 4), f.diameter_mm) for f in facts.circles)
        assert len(found) == len(wanted), kind
        for a, b in zip(found, wanted, strict=True):
            assert math.dist(a, b) < 0.0005, kind
        assert {fact.layer for fact in facts.circles} == {"holes"}


@given(st.lists(strokes, min_size=4, max_size=8))
@settings(deadline=None, max_examples=8, phases=QUICK)
def test_outlines_agree(items):
    one = sheet(SheetLayer("cut", tuple(items)), size_mm=SIZE)
    for kind, facts in read_all(one).items():
        for fact, item in zip(facts.paths, items, strict=True):
            drawn = [*fact.points, fact.points[0]] if fact.closed else fact.points
            truth = LineString([*flatten(item.path, 0.002), item.path.end])
            ends_where_it_began = item.path.closed or item.path.start == item.path.end
            assert fact.closed == ends_where_it_began, kind
            assert LineString(drawn).hausdorff_distance(truth) < 0.01, kind


@given(st.lists(letterings, min_size=4, max_size=8))
@settings(deadline=None, max_examples=6, phases=QUICK)
def test_texts_agree(items):
    one = sheet(SheetLayer("note", tuple(items)), size_mm=SIZE)
    for kind, facts in read_all(one).items():
        for fact, item in zip(facts.texts, items, strict=True):
            # SVG readers fold runs of spaces into one.
            assert fact.text.split() == shown_text(item.text).split(), kind
            assert fact.mirrored == item.mirrored, kind
            assert abs(fact.height_mm / item.height_mm - 1.0) < 0.45, kind  # an em or a capital
            if item.anchor is Anchor.START:
                assert math.dist(fact.at, item.at) < 0.001, kind
