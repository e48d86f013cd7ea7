"""Style sheets, inheritance and fill rules."""

from __future__ import annotations

import pytest
from svg_making import areas, codes, errors, problem, read, shapes

HOLED = "M0 0h20v20h-20z M5 5h5v5h-5z"  # 400 by nonzero, 375 by evenodd


def one(style_sheet: str, attributes: str = "", around: str = "", wrap: str = "{}") -> float:
    """The area read for a holed square on a zone."""
    sheet = f"<style>{style_sheet}</style>" if style_sheet else ""
    element = wrap.format(f'<path d="{HOLED}" {attributes}/>')
    drawing = read(f'{sheet}<g id="zone-a" {around}>{element}</g>')
    assert not errors(drawing), drawing.problems
    assert "style-not-read" not in codes(drawing)
    return sum(areas(drawing))


@pytest.mark.parametrize(
    ("args", "area"),
    [
        ({"style_sheet": ""}, 400),
        ({"style_sheet": "", "attributes": 'fill-rule="evenodd"'}, 375),
        ({"style_sheet": "", "around": 'fill-rule="evenodd"'}, 375),
        ({"style_sheet": "", "around": 'style="fill-rule : evenodd ; color:red"'}, 375),
        (
            {
                "style_sheet": "",
                "around": 'style="fill-rule:evenodd"',
                "attributes": 'fill-rule="nonzero"',
            },
            400,
        ),
        ({"style_sheet": "path{fill-rule:evenodd}"}, 375),
        ({"style_sheet": "path{fill-rule:evenodd}", "attributes": 'fill-rule="nonzero"'}, 375),
        (
            {"style_sheet": "path{fill-rule:evenodd}", "attributes": 'style="fill-rule:nonzero"'},
            400,
        ),
        (
            {
                "style_sheet": "path{fill-rule:evenodd !important}",
                "attributes": 'style="fill-rule:nonzero"',
            },
            375,
        ),
        (
            {
                "style_sheet": ".c{fill-rule:evenodd} path{fill-rule:nonzero}",
                "attributes": 'class="b c"',
            },
            375,
        ),
        (
            {
                "style_sheet": "#p{fill-rule:evenodd} .c{fill-rule:nonzero}",
                "attributes": 'id="p" class="c"',
            },
            375,
        ),
        ({"style_sheet": "path{fill-rule:nonzero} path{fill-rule:evenodd}"}, 375),
        ({"style_sheet": "*{fill-rule:evenodd}"}, 375),
        ({"style_sheet": "g > path{fill-rule:evenodd}"}, 375),
        ({"style_sheet": "svg > path{fill-rule:evenodd}"}, 400),
        ({"style_sheet": "svg path, nothing{fill-rule:evenodd}"}, 375),
        (
            {"style_sheet": "#zone-a>.c:first-child{fill-rule:evenodd}", "attributes": 'class="c"'},
            375,
        ),
        ({"style_sheet": "path[id]{fill-rule:evenodd}"}, 400),
        ({"style_sheet": "path[id^=x]{fill-rule:evenodd}", "attributes": 'id="xyz"'}, 375),
        ({"style_sheet": "desc + path{fill-rule:evenodd}", "wrap": "<desc/>{}"}, 375),
        ({"style_sheet": "desc ~ path{fill-rule:evenodd}", "wrap": "<desc/><title/>{}"}, 375),
        ({"style_sheet": "path:not(.c){fill-rule:evenodd}"}, 375),
        ({"style_sheet": "path:hover{fill-rule:evenodd}"}, 400),
        ({"style_sheet": "@media screen{path{fill-rule:evenodd}}"}, 375),
        ({"style_sheet": "@media print{path{fill-rule:evenodd}}"}, 400),
        ({"style_sheet": "/* c */ <![CDATA[ path{fill-rule:evenodd} ]]>"}, 375),
        (
            {
                "style_sheet": "",
                "around": 'fill-rule="evenodd"',
                "attributes": 'fill-rule="inherit"',
            },
            375,
        ),
        (
            {
                "style_sheet": "",
                "around": 'fill-rule="evenodd"',
                "attributes": 'style="fill-rule:initial"',
            },
            400,
        ),
        (
            {
                "style_sheet": "",
                "around": 'fill-rule="evenodd"',
                "attributes": 'fill-rule="nonsense"',
            },
            375,
        ),
    ],
)
def test_cascade(args, area):
    assert one(**args) == pytest.approx(area)


def test_display_and_visibility_from_a_sheet():
    drawing = read(
        "<style>.off{display:none} .dim{visibility:hidden}</style>"
        '<g id="zone a"><g class="off"><rect width="1" height="1"/></g>'
        '<rect class="dim" width="2" height="2"/><rect width="3" height="3"/></g>'
    )
    assert areas(drawing) == pytest.approx([9])
    assert problem(drawing, "hidden").message.startswith("2 hidden")


def test_geometry_and_transform_from_a_sheet():
    drawing = read(
        "<style>#a{width:10px;height:2mm;transform:translate(10px,20px) rotate(.25turn)}"
        "#b{d:path('M0 0h4v4h-4z')} #c{r:3px;cx:50%}</style>"
        '<g id="zone a"><rect id="a" width="1" height="1"/><path id="b"/><circle id="c"/></g>'
    )
    two_mm = 2 * 96 / 25.4
    assert areas(drawing) == pytest.approx([10 * two_mm, 16, 9 * 3.14159265], rel=1e-6)
    x, y = shapes(drawing)[0].area.outline.start
    assert (x, y) == pytest.approx((10, 60))


@pytest.mark.parametrize(
    ("transform", "at"),
    [
        ("translate(3,4)", (4, 6)),
        ("translate(3)", (4, 2)),
        ("scale(2)translate(3,4)", (8, 12)),
        ("scale(2 3),translate(3 4)", (8, 18)),
        ("rotate(90)", (-2, 1)),
        ("rotate(90 10 10)", (18, 1)),
        ("rotate(90,10,10)", (18, 1)),
        ("rotate(100grad)", (-2, 1)),
        ("rotate(1.5707963267948966rad)", (-2, 1)),
        ("skewX(45)", (3, 2)),
        ("skewY(45)", (1, 3)),
        ("matrix(1 2 3 4 5 6)", (12, 16)),
        ("matrix(1,2,3,4,5,6)", (12, 16)),
        ("matrix(1-2-3 4 5e0-6)", (0, 0)),
        ("translate(.5.5)scale(-1-1)", (-0.5, -1.5)),
        ("translate(25.4mm)", (97, 2)),
        ("translate(1in, 50%)", (97, 42)),
        ("translateX(3px) scaleY(200%)", (4, 4)),
        (" none ", (1, 2)),
    ],
)
def test_transform_forms(transform, at):
    drawing = read(f'<g id="note"><text transform="{transform}" x="1" y="2">t</text></g>')
    assert not errors(drawing), drawing.problems
    x, y = shapes(drawing)[0].at
    assert (x, 80 - y) == pytest.approx(at, abs=1e-9)


@pytest.mark.parametrize(
    "transform",
    [
        "rotate(foo)",
        "translate(1_0)",
        "translate(1,,2)",
        "scale(2mm)",
        "translate(1,2,3)",
        "matrix(1 2 3)",
        "warp(3)",
        "rotate(45",
        "scale(1e300) scale(1e300)",
        "matrix3d(1,0,0,0,0,1,0,0,0,0,1,0,0,0,0,1)",
        "skewX(90)",
        "scale(nan)",
        "rotate(9)' style='transform-box:stroke-box",
        "rotate(9)' style='scale:2",
    ],
)
def test_transforms_that_cannot_be_read_are_refused(transform):
    drawing = read(f"<g id='zone a'><rect width='5' height='5' transform='{transform}'/></g>")
    (found,) = errors(drawing)
    assert found.code == "transform-broken"


@pytest.mark.parametrize(
    ("origin", "at"),
    [("10px 10px", (18, 1)), ("0 0", (-2, 1)), ("50% 50%", (88, -9)), ("left", (38, 41))],
)
def test_transform_origin(origin, at):
    style = f"transform:rotate(90deg);transform-origin:{origin}"
    drawing = read(f'<g id="note"><text style="{style}" x="1" y="2">t</text></g>')
    x, y = shapes(drawing)[0].at
    assert (x, 80 - y) == pytest.approx(at, abs=1e-9)


@pytest.mark.parametrize(
    "sheet",
    [
        "@import url(other.css);",
        "path:nth-child(2n){display:none}",
        "@media (min-width:10px){path{display:none}}",
        "path::before{display:none}",
        "}{",
    ],
)
def test_sheets_beyond_what_is_served_are_told_with_their_line(sheet):
    drawing = read(f'<style>{sheet}</style><g id="zone a"><path d="M0 0h9v9h-9z"/></g>')
    found = problem(drawing, "style-not-read")
    assert found.source.line == 2
    assert areas(drawing) == pytest.approx([81])


@pytest.mark.parametrize(
    ("paint", "read_as"),
    [
        ('fill="none" stroke="none"', []),
        ('fill="transparent"', []),
        ('fill="rgba(0,0,0,0)"', []),
        ('fill="rgb(0,0,0)"', [25]),
        ('fill="rgb(0 0 0 / 0%)"', []),
        ('fill="url(#g)"', [25]),
        ('fill="none" stroke="red" stroke-width="0"', []),
        ('fill="none" stroke="red" stroke-opacity="0"', []),
        ('fill-opacity="0"', []),
        ('style="fill:none;stroke:#000"', [25]),
        ('fill="currentColor"', [25]),
    ],
)
def test_what_counts_as_painted_off_the_role_layers(paint, read_as):
    drawing = read(f'<g id="x"><rect width="5" height="5" {paint}/></g><text>t</text>')
    assert areas(drawing) == pytest.approx(read_as)
    assert ("unpainted" in codes(drawing)) == (read_as == [])


@pytest.mark.parametrize(
    ("data", "nonzero", "evenodd"),
    [
        ("M0 0h20v20h-20z M5 5h5v5h-5z", 400, 375),
        ("M0 0h20v20h-20z M5 5v5h5v-5z", 375, 375),
        ("M0 0h10v10h-10z M5 5h10v10h-10z", 175, 150),  # overlapping
        ("M0 0h10v10h-10z M5 5v10h10v-10z", 150, 150),
        ("M0 0L10 10L10 0L0 10z", 50, 50),  # a bow tie
        ("M0 0h20v20h-20z M0 0h20v20h-20z", 400, 0),  # drawn twice
        ("M0 0h20v20h-20z M30 0h5v5h-5z", 425, 425),
        ("M0 0h30v30h-30zM5 5h20v20h-20zM10 10h10v10h-10z", 900, 600),  # three nested
        ("M0 0h30v30h-30zM5 5v20h20v-20zM10 10h10v10h-10z", 600, 600),
        # a keyhole: the hole is cut in along one line and out along it again
        ("M0 0h20v20h-20v-15h5v5h5v-5h-10z", 375, 375),
        # a pentagram in one stroke in a circle of 10: 112.257, and less its inner pentagon,
        # whose circle is 10·(3 − √5)/2: 112.257 − 34.688 (worked out by hand)
        ("M10 0L15.878 18.09L.489 6.91L19.511 6.91L4.122 18.09z", 112.257, 77.570),
    ],
)
def test_fill_rules_on_hard_outlines(data, nonzero, evenodd):
    for rule, area in (("nonzero", nonzero), ("evenodd", evenodd)):
        drawing = read(f'<g id="zone a"><path fill-rule="{rule}" d="{data}"/></g>')
        assert not errors(drawing)
        assert sum(areas(drawing)) == pytest.approx(area, abs=0.02)


def test_plain_cases_keep_their_curves_under_every_rule():
    from templater.model.curves import Arc

    data = "M0 20a20 20 0 1 0 40 0a20 20 0 1 0-40 0zM10 20a10 10 0 1 0 20 0a10 10 0 1 0-20 0z"
    drawing = read(f'<g id="zone a"><path fill-rule="evenodd" d="{data}"/></g>')
    (shape,) = shapes(drawing)
    for path in (shape.area.outline, *shape.area.holes):
        assert {type(s) for s in path.segments} == {Arc}
