"""Path data: every command, the compact forms, what is refused, and another reader's word for it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from svg_making import areas, errors, read, shapes

from templater.geometry.flatten import flatten
from templater.model.curves import IDENTITY, Arc, Cubic, Line, Path, Transform
from templater.reading.pen import ARC_TOLERANCE_MM, CLOSING_GAP_MM, Pen
from templater.reading.svg_paths import BadData, draw_path, points_of


def drawn(data: str, transform: Transform = IDENTITY) -> list[Path]:
    pen = Pen(transform)
    draw_path(data, pen)
    return [s.path() for s in pen.lift() if s.segments]


def ends(data: str) -> list[tuple[float, float]]:
    (path,) = drawn(data)
    return [path.start, *(s.end for s in path.segments)]


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        ("M1 2L3 4", [(1, 2), (3, 4)]),
        ("m1,2 3,4", [(1, 2), (4, 6)]),
        ("M1 2 3 4 5 6", [(1, 2), (3, 4), (5, 6)]),
        ("M1 2l1 1 1 1", [(1, 2), (2, 3), (3, 4)]),
        ("M0 .5.5-1", [(0, 0.5), (0.5, -1)]),
        ("M0 0L.5.5-1-1", [(0, 0), (0.5, 0.5), (-1, -1)]),
        ("M1e1 1E-1l+1.-.5e+1", [(10, 0.1), (11, -4.9)]),
        ("M0 0H10 20h-5V7v1 1", [(0, 0), (10, 0), (20, 0), (15, 0), (15, 7), (15, 8), (15, 9)]),
        (" \n\tM 0 , 0\r\nL 1\t,\n1 ", [(0, 0), (1, 1)]),
        ("M0 0C1 1 2 2 3 0s2-2 3 0", [(0, 0), (3, 0), (6, 0)]),
        ("M0 0Q1 1 2 0t2 0 2 0", [(0, 0), (2, 0), (4, 0), (6, 0)]),
        ("M0 0a5 5 0 0110 0", [(0, 0), (10, 0)]),
        ("M0 0a5 5 0 01.5.5", [(0, 0), (0.5, 0.5)]),
        ("M0 0A5,5,0,0,1,10,0", [(0, 0), (10, 0)]),
        ("M0 0a5 5 0 0110 0 5 5 0 0010 0", [(0, 0), (10, 0), (20, 0)]),
        ("M0 0A0 5 0 0 1 10 0", [(0, 0), (10, 0)]),
    ],
)
def test_compact_forms(data, expected):
    got = ends(data)
    assert len(got) == len(expected)
    for point, wanted in zip(got, expected, strict=True):
        assert point == pytest.approx(wanted, abs=1e-12)


def test_after_closing_the_next_subpath_begins_where_the_closed_one_did():
    one, two = drawn("m10 10h10v10z l5 5 0 5 z")
    assert one.closed
    assert two.closed
    assert two.start == (10, 10)
    assert two.segments[0].end == (15, 15)


def test_smooth_commands_mirror_only_a_control_of_their_own_family():
    (path,) = drawn("M0 0C0 1 2 3 4 0S8-3 8 0T9 9")
    mirrored, plain = path.segments[1], path.segments[2]
    assert isinstance(mirrored, Cubic)
    assert mirrored.control1 == pytest.approx((6, -3))
    assert isinstance(plain, Cubic)  # T after S has no control to mirror: a straight quadratic
    assert plain.control1 == pytest.approx((8, 0))


@pytest.mark.parametrize(
    ("data", "says"),
    [
        ("L0 0", "begin with M"),
        ("10 10", "begin with M"),
        ("M0", "1 numbers"),
        ("M0 0L5", "takes a multiple of 2"),
        ("M0 0Lfoo 5", "“foo” at character 6"),
        ("M0 0 L1 2 $ 4", "“$” at character 11"),
        ("M0 0L1,,2", "at character 8"),
        ("M0 0L1,2,", "comma"),
        ("M,0 0L1,2", "at character 2"),
        ("M0 0z5", "no numbers"),
        ("M0 0L1e400 0", "out of range"),
        ("M0 0LNaN 0", "is not a number"),
        ("M0 0Linf 0", "is not a number"),
        ("M0 0a5 5 0 2 1 10 0", "flag"),
        ("M0 0a5 5 0 0 1 10", "takes a multiple of 7"),
        ("M0 0 x", "“x”"),
        ("M0 0L1٣ 5", "not a number"),
    ],
)
def test_broken_data_is_refused_with_the_place(data, says):
    with pytest.raises(BadData) as caught:
        draw_path(data, Pen(Transform()))
    assert says in str(caught.value)
    drawing = read(f'<g id="zone a">\n<path id="leaf" d="{data}"/></g>')
    (found,) = errors(drawing)[:1]
    assert found.code == "path-broken"
    assert found.source.line == 3
    assert "leaf" in found.message


def test_an_empty_path_draws_nothing_and_is_no_error():
    drawing = read('<g id="zone a"><path d=""/><path/><rect width="4" height="4"/></g>')
    assert areas(drawing) == pytest.approx([16])
    assert not errors(drawing)


@pytest.mark.parametrize("points", ["1", "1,2 3", "1,2,,3,4", "1 2 x 4", "1,2,"])
def test_broken_point_lists_are_refused(points):
    with pytest.raises(BadData):
        points_of(points)


numbers = st.floats(-500, 500).map(lambda v: round(v, 3))


@st.composite
def path_data(draw):
    """Path data with every command, absolute and relative."""
    words = [f"M{draw(numbers)} {draw(numbers)}"]
    for _ in range(draw(st.integers(1, 8))):
        letter = draw(st.sampled_from("LlHhVvCcSsQqTtAa"))
        if letter in "Aa":
            rx, ry = draw(st.floats(0.5, 300)), draw(st.floats(0.5, 300))
            turn, flags = (
                draw(st.integers(-180, 180)),
                draw(st.sampled_from(["00", "01", "10", "11"])),
            )
            # far enough from the start for another reader's numbers to be sound
            x, y = draw(st.floats(10, 400)), draw(st.floats(10, 400))
            words.append(f"{letter}{rx:.3f} {ry:.3f} {turn} {flags}{x:.3f} {y:.3f}")
        else:
            count = {"L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2}[letter.upper()]
            words.append(letter + " ".join(str(draw(numbers)) for _ in range(count)))
    return "".join(words)


@settings(deadline=None, max_examples=60)
@given(path_data())
def test_another_reader_says_the_same(data):
    """Ends and middles of all segments against svgpathtools, which parses by code of its own."""
    from svgpathtools import parse_path

    theirs = [
        (segment.start, segment.point(0.37), segment.end)
        for segment in parse_path(data)
        if abs(segment.start - segment.end) > 1e-3
    ]
    pen = Pen(Transform())
    draw_path(data, pen)
    import shapely

    lines = []
    reach = 0.01
    for subpath in pen.lift():
        if subpath.segments:
            points = flatten(subpath.path(), 0.001)
            lines.append([*points, points[0]] if subpath.closed else points)
            reach = max(reach, 0.01 + CLOSING_GAP_MM * subpath.by_a_hair)  # its end was moved
    if not lines:
        assert not theirs
        return
    line = shapely.multilinestrings([shapely.linestrings(points) for points in lines])
    for places in theirs:
        for place in places:
            assert shapely.distance(line, shapely.Point(place.real, place.imag)) < reach


def ellipse_point(rx, ry, turn_deg, t):
    phi = math.radians(turn_deg)
    x, y = rx * math.cos(t), ry * math.sin(t)
    return (x * math.cos(phi) - y * math.sin(phi), x * math.sin(phi) + y * math.cos(phi))


@settings(deadline=None, max_examples=60)
@given(
    st.floats(0.5, 400),
    st.floats(0.5, 400),
    st.floats(-180, 180),
    st.floats(-3, 3),
    st.floats(0.3, 5.9),
    st.booleans(),
    st.tuples(*[st.floats(-3, 3)] * 4).filter(lambda m: abs(m[0] * m[3] - m[1] * m[2]) > 0.2),
)
def test_transformed_arcs_lie_on_the_true_curve(rx, ry, turn, first, sweep, clockwise, matrix):
    """Points of the true transformed ellipse lie within the stated tolerance of what was drawn."""
    span = -sweep if clockwise else sweep
    start, end = ellipse_point(rx, ry, turn, first), ellipse_point(rx, ry, turn, first + span)
    transform = Transform(*matrix, 7.0, -3.0)
    large, flag = int(sweep > math.pi), int(span > 0)
    data = f"M{start[0]!r} {start[1]!r}A{rx!r} {ry!r} {turn!r} {large} {flag} {end[0]!r} {end[1]!r}"
    (path,) = drawn(data, transform)
    import shapely

    line = shapely.linestrings(flatten(path, 1e-6))
    # Near a half turn the centre is ill-conditioned: the file's ends decide, not our numbers.
    slack = 1e-6 if abs(sweep - math.pi) > 1e-2 else 1e-3
    for i in range(21):
        point = transform.apply(ellipse_point(rx, ry, turn, first + span * i / 20))
        assert shapely.distance(line, shapely.Point(point)) < ARC_TOLERANCE_MM + slack


@pytest.mark.parametrize(
    ("matrix", "kind"),
    [
        (Transform(), Arc),
        (Transform(0, 1, -1, 0), Arc),
        (Transform(-2, 0, 0, 2, 5, 5), Arc),
        (Transform(2, 0, 0, 1), Cubic),
        (Transform(1, 0, 0.5, 1), Cubic),
    ],
)
def test_circles_stay_circular_where_the_transform_lets_them(matrix, kind):
    (path,) = drawn("M5 0A5 5 0 0 1-5 0A5 5 0 0 1 5 0z", matrix)
    assert {type(s) for s in path.segments} == {kind}


def test_an_ellipse_that_its_transform_makes_round_becomes_arcs():
    drawing = read(
        '<g id="zone a"><ellipse transform="scale(1 2)" cx="50" cy="20" rx="8" ry="4"/></g>'
    )
    (shape,) = shapes(drawing)
    assert {type(s) for s in shape.area.outline.segments} == {Arc}
    assert areas(drawing) == pytest.approx([64 * math.pi])


def test_mirrored_arcs_bulge_to_the_other_side():
    """A quarter disc, whichever way its plane is turned over, keeps its area (a known trap)."""
    quarter = '<path d="M0 0L10 0A10 10 0 0 1 0 10z"/>'
    for matrix in ("1 0 0 1 20 20", "-1 0 0 1 20 20", "1 0 0 -1 20 20", "0 1 1 0 20 20"):
        drawing = read(f'<g id="zone a" transform="matrix({matrix})">{quarter}</g>')
        assert areas(drawing) == pytest.approx([25 * math.pi])


def test_lines_stay_lines():
    (path,) = drawn("M0 0L1 1H5V9")
    assert {type(s) for s in path.segments} == {Line}
