"""The colour a shape is drawn in, by every way a file may say it; layers told apart by colour."""

import pytest
from dxf_making import as_bytes, new
from dxf_making import read as read_dxf
from ezdxf.colors import aci2rgb
from hypothesis import given, settings
from hypothesis import strategies as st
from pdf_making import pdf
from pdf_making import read as read_pdf
from pikepdf import Array, Dictionary, Name
from svg_making import read, svg

from templater.geometry.measure import area_mm2
from templater.model.drawing import AreaShape
from templater.reading import read_drawing

RED, BLUE, GREEN, BLACK = "#ff0000", "#0000ff", "#00ff00", "#000000"


def colours(drawing):
    return [shape.source.colour for layer in drawing.layers for shape in layer.shapes]


def parts(drawing):
    """What each colour of the layers holds: kinds, and areas in whole mm²."""
    return {
        part.name: [
            round(area_mm2(s.area)) if isinstance(s, AreaShape) else type(s).__name__
            for s in part.shapes
        ]
        for layer in drawing.layers
        for part in layer.by_colour
    }


# --- SVG ---------------------------------------------------------------------------------------

SQUARE = '<path d="M10 10h20v20h-20z" {}/>'


@pytest.mark.parametrize(
    ("how", "wanted"),
    [
        ("", BLACK),  # SVG 2, 13.2: fill is black at first
        ('fill="red"', RED),
        ('fill="#f00"', RED),
        ('fill="#F00 icc-color(a, 1, 0)"', RED),
        ('fill="rgb(100%, 0%, 0%)"', RED),
        ('fill="rgb(255 0 0 / 50%)"', RED),
        ('fill="hsl(0, 100%, 50%)"', RED),
        ('fill="#ff000080"', RED),
        ('style="fill:none;stroke:blue"', BLUE),
        ('style="fill:red;stroke:blue"', RED),
        ('style="fill:#fff;stroke:blue"', BLUE),  # white paper within a line
        ('style="fill:white"', "#ffffff"),
        ('style="fill:red;fill-opacity:0;stroke:blue"', BLUE),
        ('color="red" fill="currentColor"', RED),
        ('fill="url(#fade)" stroke="blue"', BLUE),
        ('fill="url(#fade)"', ""),
        ('fill="no-such-colour"', ""),
        ('fill="lab(50% 20 20)"', ""),
    ],
)
def test_a_closed_shape_has_the_colour_of_its_fill_else_of_its_line(how, wanted):
    fade = '<linearGradient id="fade"><stop stop-color="red"/><stop/></linearGradient>'
    assert colours(read(fade + SQUARE.format(how))) == [wanted]


def test_named_swatches_are_colours_and_true_gradients_are_none():
    body = """<linearGradient id="Kelp"><stop style="stop-color:#0a8;stop-opacity:1" offset="0"/>
    </linearGradient><linearGradient id="g1" xlink:href="#Kelp" x1="3"/>
    <radialGradient id="fade"><stop stop-color="red"/><stop stop-color="blue"/></radialGradient>
    <g fill="url('#Kelp')"><path d="M10 10h5v5h-5z"/></g>
    <path style="fill:url(#g1)" d="M20 10h5v5h-5z"/><path fill="url(#fade)" d="M30 10h5v5h-5z"/>
    <path fill="none" stroke="url(#g1)" d="M40 10h5v5h-5z"/><path fill="url(#g2)" d="M50 10h5v5h-5z"/>
    <linearGradient id="g2" href="#g3"/><linearGradient id="g3" href="#g2"/>"""
    assert colours(read(body)) == ["#00aa88", "#00aa88", "", "#00aa88", ""]


def test_colours_are_inherited_and_set_by_classes_and_copies():
    body = """<style>.tip { fill: blue } g.own { color: #00ff00 }</style>
    <defs><path id="leaf" d="M0 0h10v10h-10z"/></defs>
    <g fill="red"><path d="M10 10h5v5h-5z"/><path class="tip" d="M20 10h5v5h-5z"/></g>
    <use href="#leaf" x="40" y="40" fill="red"/>
    <g class="own"><path d="M60 10h5v5h-5z" fill="currentColor"/></g>"""
    assert colours(read(body)) == [RED, BLUE, RED, GREEN]


def test_a_line_has_the_colour_of_its_stroke_though_black_is_every_fill_at_first():
    assert colours(read('<line x1="10" y1="10" x2="50" y2="10" stroke="red"/>')) == [RED]
    assert colours(read('<path d="M10 10h30" stroke="red"/>')) == [RED]
    assert colours(read('<text x="10" y="10" fill="blue">top</text>')) == [BLUE]


def test_a_layer_of_several_colours_is_held_once_more_by_colour():
    body = f"""<g id="Ebene_x20_A">{SQUARE.format('fill="red"')}
    <path d="M50 10h20v30h-20z" fill="blue"/><path d="M50 60h10v10h-10z" fill="red"/></g>"""
    drawing = read(body)
    assert [len(layer.shapes) for layer in drawing.layers] == [3]
    assert parts(drawing) == {"Ebene A #ff0000": [400, 100], "Ebene A #0000ff": [600]}


def test_one_colour_tells_nothing_apart_and_two_dozen_are_a_picture():
    assert parts(read(SQUARE.format("") * 2)) == {}
    many = "".join(
        f'<rect x="{k}" y="0" width="1" height="1" fill="rgb({9 * k},0,0)"/>' for k in range(25)
    )
    assert parts(read(many)) == {}


def test_outlines_of_loose_lines_are_joined_within_their_colour_and_counted_once():
    def frame(x, colour):
        sides = (f"M{x} 10h20", f"M{x + 20} 10v20", f"M{x + 20} 30h-20", f"M{x} 30v-20")
        return "".join(f'<path d="{d}" stroke="{colour}" fill="none"/>' for d in sides)

    drawing = read(f'<g id="zone leaf">{frame(10, "red")}{frame(50, "blue")}</g>')
    assert parts(drawing) == {"zone leaf #ff0000": [400], "zone leaf #0000ff": [400]}
    [joined] = [p for p in drawing.problems if p.code == "joined"]
    assert joined.message.startswith("2 outlines")


# --- DXF ---------------------------------------------------------------------------------------


def square(space, x, **attributes):
    points = [(x, 0), (x + 10, 0), (x + 10, 10), (x, 10)]
    space.add_lwpolyline(points, close=True, dxfattribs=attributes)


def test_numbered_true_and_layer_colours():
    document, space = new()
    document.layers.add("cut", color=5)
    document.layers.add("sewn", true_color=0x12AB34)
    document.layers.add("off", color=3).off()
    square(space, 0, color=1)
    square(space, 20, true_color=0xFF8000, color=1)  # the true colour goes before
    square(space, 40, layer="cut")
    square(space, 60, layer="sewn")
    square(space, 80, color=7)
    square(space, 100)  # layer 0 is number 7
    square(space, 120, color=0)  # by a block, but in none
    wanted = {0: RED, 20: "#ff8000", 40: BLUE, 60: "#12ab34", 80: BLACK, 100: BLACK, 120: BLACK}
    got = {
        round(min(p.start[0] for p in s.area.outline.segments)): s.source.colour
        for layer in read_dxf(document).layers
        for s in layer.shapes
    }
    assert got == wanted


@settings(deadline=None, max_examples=40)
@given(st.integers(1, 255).filter(lambda number: number != 7))
def test_every_numbered_colour_is_that_of_the_table(number):
    document, space = new()
    square(space, 0, color=number)
    assert colours(read_dxf(document)) == ["#{:02x}{:02x}{:02x}".format(*aci2rgb(number))]


@pytest.mark.parametrize("version", ["R12", "R2000", "R2018"])
def test_colours_by_block_come_from_the_reference_however_deep(version):
    document, space = new(version)
    document.layers.add("cut", color=3)
    inner, outer = document.blocks.new("inner"), document.blocks.new("outer")
    for x, colour in ((0, 0), (20, 256), (40, 1)):
        inner.add_line((x, 0), (x + 10, 0), dxfattribs={"color": colour})
    outer.add_blockref("inner", (0, 0), dxfattribs={"color": 0})
    space.add_blockref("outer", (0, 0), dxfattribs={"color": 5, "layer": "cut"})
    # by block: the outermost's 5; by layer: on layer 0, so the reference's layer; its own
    assert colours(read_dxf(document)) == [BLUE, GREEN, RED]


def test_a_block_in_itself_is_told_though_it_has_an_attribute():
    document, space = new()
    block = document.blocks.new("loop")
    block.add_circle((0, 0), 5)
    block.add_blockref("loop", (20, 0)).add_attrib("NAME", "x", (0, 0))
    space.add_blockref("loop", (0, 0)).add_attrib("NAME", "outer", (0, 0))
    drawing = read_dxf(document)
    [found] = [p for p in drawing.problems if p.code == "block-in-itself"]
    assert "“loop”" in found.message
    assert len([s for s in drawing.layers[0].shapes if isinstance(s, AreaShape)]) == 1


def test_outlines_within_outlines_are_holes_only_of_their_colour():
    document, space = new()
    space.add_lwpolyline([(-50, -50), (150, -50), (150, 150), (-50, 150)], close=True)
    square(space, 0, color=1)
    square(space, 40, color=1)
    for start, end in (((0, 60), (20, 60)), ((20, 60), (20, 80)), ((20, 80), (0, 60))):
        space.add_line(start, end, dxfattribs={"color": 5})
    space.add_text("M", height=5, dxfattribs={"color": 7}).set_placement((90, 90))
    drawing = read_dxf(document)
    assert sum(len(s.area.holes) for s in drawing.layers[0].shapes if isinstance(s, AreaShape)) == 3
    assert parts(drawing) == {
        "0 #000000": [40_000, "TextShape"],
        "0 #ff0000": [100, 100],
        "0 #0000ff": [200],
    }


def test_binary_files_keep_their_colours():
    document, space = new()
    square(space, 0, color=1)
    assert colours(read_drawing(as_bytes(document, binary=True), "made.dxf")) == [RED]


# --- PDF ---------------------------------------------------------------------------------------

BOX = "20 20 100 100 re"


@pytest.mark.parametrize(
    ("content", "wanted"),
    [
        (f"{BOX} f", BLACK),
        (f"1 0 0 rg {BOX} f", RED),
        (f"1 0 0 RG {BOX} S", RED),
        (f"1 0 0 RG 0 0 1 rg {BOX} B", BLUE),
        (f"1 0 0 RG 1 g {BOX} B", RED),  # white paper within a line
        (f"0 1 1 0 k {BOX} f", RED),
        (f"0 0 0 1 k {BOX} f", BLACK),
        (f"0.5 g {BOX} f", "#808080"),
        (f"q 1 0 0 rg Q {BOX} f", BLACK),
        (f"/DeviceRGB cs 0 0 1 sc {BOX} f", BLUE),
        (f"/DeviceCMYK CS 1 0 1 0 SCN {BOX} S", GREEN),
        (f"/Spot cs 1 scn {BOX} f", RED),
        (f"/Spot cs {BOX} f", RED),  # 8.6.6.4: all its ink at first
        (f"/Spot cs 0.5 scn {BOX} f", "#ff8080"),
        (f"/Profile cs 0 0 1 scn {BOX} f", BLUE),
        (f"/Pattern cs /P1 scn {BOX} f", ""),
        (f"/Pattern cs /P1 scn 1 0 0 RG {BOX} B", RED),
    ],
)
def test_the_colour_a_page_paints_in(content, wanted):
    def resources(document):
        tint = Dictionary(
            FunctionType=2, Domain=Array([0, 1]), N=1, C0=Array([1, 1, 1]), C1=Array([1, 0, 0])
        )
        profile = document.make_stream(b"", N=3)
        spot = Array([Name.Separation, Name("/Berry"), Name.DeviceRGB, tint])
        spaces = Dictionary(Spot=spot, Profile=Array([Name.ICCBased, profile]))
        return Dictionary(ColorSpace=spaces)

    assert colours(read_pdf(pdf(content, resources=resources))) == [wanted]


def test_a_page_of_several_colours_is_told_apart():
    leaf = "1 0 0 rg 20 20 m 120 20 l 120 120 l h f"
    sides = "0 0 1 RG 150 150 m 250 150 l S 250 150 m 250 250 l S 250 250 m 150 150 l S"
    drawing = read_pdf(pdf(f"{leaf} {sides}"))
    mm2 = round(5000 * (25.4 / 72) ** 2)
    assert parts(drawing) == {"page 1 #ff0000": [mm2], "page 1 #0000ff": [mm2]}


def test_the_colour_is_the_same_by_every_door():
    document, space = new(unit=4)
    square(space, 0, true_color=0x1E90FF)
    made = pdf(f"{0x1E / 255:.6f} {0x90 / 255:.6f} 1 rg {BOX} f")
    found = {
        *colours(read(svg(SQUARE.format('fill="dodgerblue"')))),
        *colours(read_dxf(document)),
        *colours(read_pdf(made)),
    }
    assert found == {"#1e90ff"}
