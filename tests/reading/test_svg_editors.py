"""SVG as editors, tracing programs and web tools write it (from memory of their habits, no source):
what an independent renderer fills, and what is said of the rest.
"""

import gzip

import pytest
from renderer import AREA_LIMIT, filled, raster
from svg_making import NS, areas, boxes, codes, errors, problem, read, shapes

from templater.model.drawing import TextShape

PAGE = 'width="100mm" height="100mm" viewBox="0 0 100 100"'
LEAF = '<path d="M50 50h30v30z"/>'
DOT = '<circle cx="60" cy="60" r="20"/>'


def file(body, page=PAGE, before=""):
    return f'{before}<svg {NS} xmlns:ed="urn:editor" {page}>{body}</svg>'


LIKE_THE_RENDERER = {
    "comments within a style sheet": "<style>/* a */ path /* b */ , rect { fill : none ; /* c */ }</style>"
    + LEAF
    + DOT,
    "style sheet in CDATA": '<style type="text/css"><![CDATA[ .st0{fill:none;} .st1{fill:#f00} ]]></style>'
    '<path class="st0" d="M0 0h50v50z"/><circle class="st1 st9" cx="60" cy="60" r="20"/>',
    "style sheet in a comment": "<style><!-- .st0{fill:none} --></style>"
    f'<path class="st0" d="M0 0h50v50z"/>{DOT}',
    "symbol, sliced, turned": '<symbol id="s" viewBox="-5 -5 10 10" overflow="visible"'
    ' preserveAspectRatio="xMaxYMin slice"><circle r="5"/></symbol>'
    '<use xlink:href="#s" x="10" y="20" width="30" height="20" transform="rotate(10)"/>',
    "symbol without a size": '<symbol id="s" viewBox="0 0 10 10"><rect x="2" y="2" width="6" height="6"/>'
    '</symbol><use href="#s"/>',
    "copy placed by percentages": '<rect id="a" width="10" height="10"/><use href="#a" x="50%" y="25%"/>',
    "copy of an inner page": '<defs><svg id="n" viewBox="0 0 10 10"><path d="M1 1h8v8z"/></svg></defs>'
    '<use href="#n" x="10" y="10" width="30" height="30"/>',
    "copy of what is hidden": '<g display="none"><path id="p" d="M50 50h30v30z"/></g>'
    '<use href="#p" transform="translate(-9)"/>',
    "currentColor in any case": f'<g color="red" fill="CurrentColor">{LEAF}</g>',
    "paint order and markers": '<marker id="m"><path d="M0 0h99v99z"/></marker>'
    '<path style="paint-order:stroke fill;marker:url(#m);marker:none" d="M50 50h30v30z"/>',
    "inner page, percentages": '<svg x="10" y="10" width="50" height="80"><circle cx="50%" cy="50%" r="20%"/></svg>',
    "pattern as fill": '<pattern id="p" width="4" height="4" patternUnits="userSpaceOnUse">'
    f'<rect width="4" height="4"/></pattern><g fill="url(#p)">{LEAF}</g>',
    "gradient as fill": '<linearGradient id="g"><stop stop-color="red"/></linearGradient>'
    f'<g fill="url(#g)">{LEAF}</g>',
    "lost gradient with a colour behind": f'<g fill="url(#lost) red">{LEAF}</g>',
    "classes by their capitals": f'<style>.A{{fill:none}}</style><g class="a">{LEAF}</g>'
    '<path class="A" d="M0 0h30v30z"/>',
    "children and neighbours": "<style>g>path{fill:none} g path:first-child{fill:red}"
    f' path+path{{display:none}}</style><g>{LEAF}<path d="M0 0h30v30z"/><rect width="5" height="5"/>'
    '<path d="M0 50h30v30z"/></g>',
    "turned about a place": '<rect x="10" y="10" width="40" height="20" transform="rotate(45)"'
    ' transform-origin="30 20"/>',
    "transform with spare commas": '<rect transform=" translate ( 10 , 20 ) , scale(1.5),rotate(1e1)"'
    ' x="10" y="10" width="20" height="20"/>',
    "numbers run together": '<path d="M10-0A5.5.5 0 0130 40.5a.1.1 0 10-.1.1z"/>'
    '<path d="M1e1,5E+1 L5.e1 6e1 l-.5.5.5.5-1-1 0 30.5.5.5z"/>'
    '<rect transform="matrix(.9-.1.1.9 50-3)" x="10" y="10" width="20" height="20"/>',
    "relative moves after closing": '<path d="M10 10h20v20zm40 40h20v20z m-40 0 h10 v10"/>',
    "corners given one by one": '<rect x="10" y="10" width="40" height="20" rx="auto" ry="5"/>'
    '<ellipse cx="50" cy="60" rx="30"/>',
    "points over several lines": '<polygon points="\n10 10,\n50 10\n50-5e0 10 50\n"/>',
    "shown within the hidden": f'<g visibility="hidden"><g visibility="visible">{LEAF}</g>{DOT}</g>',
    "an editor's own data": '<ed:view ed:zoom="1"><ed:grid type="xy"/><path d="M0 0h99v99z"/></ed:view>'
    '<g ed:label="zone leaf"><path ed:nodes="ccc" ed:original-d="M0 0h99v99z" d="M50 50h30v30z"/></g>',
    "choices by feature": '<switch><path requiredFeatures="http://www.w3.org/TR/SVG11/feature#Shape" d="M50 50h30v30z"/>'
    '<path d="M0 0h10v10z"/></switch>',
    "invisible inks": '<path fill="transparent" d="M0 0h20v20z"/><path fill="rgba(0,0,0,0)" d="M20 0h20v20z"/>'
    f'<path opacity="0" d="M0 20h20v20z"/><g opacity="0"><path d="M0 50h20v20z"/></g>{LEAF}',
    "back to the first style": '<g fill="none"><path fill="inherit" d="M0 0h10v10z"/>'
    '<path style="fill:initial" d="M50 50h30v30z"/></g>',
    "important with a space": f'<style>path{{fill:none ! important}}</style><g style="fill:red">{LEAF}</g>'
    '<rect width="50" height="5"/>',
    "links": f'<a xlink:href="https://example.org">{LEAF}</a>',
    "scripts, views, metadata": f'<metadata><path d="M0 0h9v9z"/></metadata><script>1</script><view id="v"/>{LEAF}',
}


@pytest.mark.parametrize("name", LIKE_THE_RENDERER)
def test_what_is_filled(name):
    text = file(LIKE_THE_RENDERER[name])
    drawing = read(text.encode())
    assert not errors(drawing), drawing.problems
    shown = float(raster(text, 600, 600).mean())
    assert shown > 0.0
    assert filled(drawing).area / 10_000 == pytest.approx(shown, abs=AREA_LIMIT)


@pytest.mark.parametrize("origin", ["0 0", "center", "50% 50%", "10px 20px", "left bottom"])
def test_origins_count_from_the_units_origin_wherever_the_page_begins(origin):
    body = f'<rect x="-9" y="-9" width="20" height="9" transform="rotate(20)" transform-origin="{origin}"/>'
    text = file(body, 'width="100mm" height="100mm" viewBox="-40 -50 100 100"')
    drawing = read(text.encode())
    shown = raster(text, 500, 500)
    assert filled(drawing).area / 10_000 == pytest.approx(float(shown.mean()), abs=AREA_LIMIT)
    columns = shown.max(axis=0).nonzero()[0]
    assert filled(drawing).bounds[0] == pytest.approx(columns[0] / 5, abs=0.3)


# What the renderer does not know, worked out by hand ------------------------------------------


@pytest.mark.parametrize(
    ("body", "wanted"),
    [
        # about its own middle: a square turned by 90° lies as it lay
        (
            (
                '<rect x="10" y="10" width="20" height="20" style="transform:rotate(90deg);'
                'transform-box:fill-box;transform-origin:center"/>'
            ),
            (10, 70, 30, 90),
        ),
        # about its own upper left corner, and half its own width to the right
        (
            '<circle cx="30" cy="30" r="10" style="transform:translateX(50%) scale(2);transform-box:fill-box"/>',
            (30, 40, 70, 80),
        ),
        ("<path style=\"d:path('M50 50h30v30z')\"/>", (50, 20, 80, 50)),
        ('<rect style="x:10px;y:10px;width:40px;height:20px"/>', (10, 70, 50, 90)),
        (
            '<rect width="10" height="10" style="transform:translate3d(20px,10px,3px) translateZ(0)"/>',
            (20, 80, 30, 90),
        ),
        ('<rect x="4Q" y="1PC" width="10PX" height="1Px"/>', (3.7795, 83, 13.7795, 84)),
        (
            '<defs><g id="Ebene 1"><rect width="9" height="9"/></g></defs><use xlink:href="#Ebene%201"/>',
            (0, 91, 9, 100),
        ),
        (r'<style>.\31 2{fill:none}</style><rect class="12" width="5" height="5"/>' + LEAF, None),
        (
            ('<style>path:not(.k){fill:none}</style><path class="k" d="M50 50h30v30z"/>'),
            None,
        ),
        ('<path style="fill:none;;odd;stroke-width:;: ;FILL:red" d="M50 50h30v30z"/>', None),
        ('<path style="fill:var(--fill-0, #eee)" d="M50 50h30v30z"/>', None),
        ('<path style="fill:var(--fill-0, none)" d="M0 0h30v30z"/>' + LEAF, None),
        (
            "<style>@media print{circle{fill:none}} @media screen{path{fill:red}}</style>" + LEAF,
            None,
        ),
        ('<style media="print">path{display:none}</style>' + LEAF, None),
    ],
)
def test_what_newer_files_say(body, wanted):
    drawing = read(file(body).encode())
    assert not errors(drawing), drawing.problems
    assert boxes(drawing) == [pytest.approx(wanted or (50, 20, 80, 50), abs=1e-3)]


def test_a_group_about_its_own_box_is_refused_by_name():
    drawing = read(
        file(f'<g style="transform:scale(2);transform-box:fill-box">{LEAF}</g>').encode()
    )
    assert "group's own box" in problem(drawing, "transform-broken").message


def test_what_is_faded_out_on_a_layer_with_a_role_is_read_and_told():
    drawing = read(file('<g id="zone leaf"><path opacity="0" d="M50 50h30v30z"/></g>').encode())
    assert areas(drawing) == [450.0]
    assert "unpainted-kept" in codes(drawing)


@pytest.mark.parametrize(
    ("page", "size_mm"),
    [
        ('style="width:100mm;height:50mm" viewBox="0 0 100 50"', (100, 50)),
        ('width="9" height="9" style="width:10cm;height:5cm" viewBox="0 0 100 50"', (100, 50)),
        # fitted to a window: no size, so the attribute's counts
        ('width="100mm" height="50mm" style="width:100%;height:auto" viewBox="0 0 1 1"', (100, 50)),
        ('width="100 mm" height="5e1MM" viewBox="0,0 , 100,50"', (100, 50)),
        ('width="100mm" height="100%" viewBox="0 0 100 50"', (100, 50)),
    ],
)
def test_where_the_size_stands(page, size_mm):
    drawing = read(file(LEAF, page).encode())
    assert drawing.size_mm == pytest.approx(size_mm)
    assert "size-assumed" not in codes(drawing)


def test_texts_that_flow_or_run_along_paths_are_kept():
    body = """<flowRoot font-size="4"><flowRegion><rect x="5" y="6" width="50" height="50"/></flowRegion>
    <flowPara>cut two</flowPara><flowPara>of <flowSpan>kelp</flowSpan></flowPara></flowRoot>
    <defs><path id="c" d="M0 50q50-50 100 0"/></defs>
    <text font-size="5"><textPath xlink:href="#c" startOffset="50%">hem <tspan>here</tspan></textPath></text>
    <text x="9" y="90"><tspan x="9" dy="0">one</tspan><tspan x="9" y="95">two</tspan></text>"""
    drawing = read(file(body).encode())
    texts = [shape for shape in shapes(drawing) if isinstance(shape, TextShape)]
    assert [text.text for text in texts] == ["cut two of kelp", "hem here", "one two"]
    assert texts[0].at == pytest.approx((5, 94))
    assert not drawing.problems


ENTITIES = """<?xml version="1.0" encoding="utf-8"?>
<!-- Generator: an editor, SVG Export Plug-In . SVG Version: 6.00 Build 0)  -->
<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://www.w3.org/Graphics/SVG/1.1/DTD/svg11.dtd" [
<!ENTITY ns_svg "http://www.w3.org/2000/svg"> <!ENTITY ns_x "urn:ext"> <!ENTITY st0 "fill:none;">]>
<svg xmlns="&ns_svg;" xmlns:x="&ns_x;" width="100mm" height="100mm" viewBox="0 0 100 100">
<switch><foreignObject requiredExtensions="&ns_x;" width="1" height="1"/>
<g x:extraneous="self"><path style="&st0;" d="M0 0h10v10z"/><path d="M50 50h30v30z"/></g></switch></svg>"""
NAMED = file(f'<g id="zone Größe">{LEAF}</g>')


@pytest.mark.parametrize(
    "data",
    [
        ENTITIES.encode(),
        NAMED.encode("utf-8-sig"),
        NAMED.encode("utf-16"),
        file(LEAF, before='<?xml version="1.0" encoding="UTF-16"?>').encode("utf-16-be"),
        file(LEAF, before='<?xml version="1.0" encoding="iso-8859-1"?>').encode("latin-1"),
        gzip.compress(NAMED.encode()),
        f"\n\n  {NAMED}".encode(),
        f'<s:svg xmlns:s="http://www.w3.org/2000/svg" {PAGE}><s:path d="M50 50h30v30z"/></s:svg>'.encode(),
        f'<svg {PAGE}><path d="M50 50h30v30z"/></svg>'.encode(),
    ],
)
def test_how_the_bytes_are_laid(data):
    drawing = read(data)
    assert not errors(drawing), drawing.problems
    assert areas(drawing) == [450.0]
    if b"zone" in data:
        assert drawing.layers[0].name == "zone Größe"


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (NAMED.encode("latin-1"), "encoding"),
        (b"\n" + file(LEAF, before='<?xml version="1.0"?>').encode(), "before its first line"),
        (file('<g id="a & b"/>').encode(), "not defined"),
        (file('<g sodi:label="a"/>').encode(), "does not declare"),
        (NAMED.encode()[:-9], "not well-formed"),
        (gzip.compress(NAMED.encode())[:-9], "damaged"),
        (f"<html><body>{NAMED}</body></html>".encode(), "its root is <html>"),
    ],
)
def test_bytes_that_are_refused_say_why(data, says):
    (found,) = errors(read(data))
    assert says in found.message
    assert found.mend


@pytest.mark.parametrize(
    ("body", "code"),
    [
        (('<clipPath id="c"><rect width="9" height="9" transform="rotate(9)"/></clipPath>'
         f'<g clip-path="url(#c)" transform="translate(1 1)">{LEAF}</g>'), "clipped"),
        (f'<mask id="m"/><g mask="url(#m)">{LEAF}</g>', "masked"),
        ('<image width="9" height="9" href="data:image/png;base64,iVBORw0KGgo="/>' + LEAF, "not-a-drawing"),
        (f'<use href="other.svg#leaf"/>{LEAF}', "copy-lost"),
        (f'<style>@import url("x.css"); path{{fill:red}}</style>{LEAF}', "style-not-read"),
        (f'<style type="text/less">path{{fill:none}}</style>{LEAF}', "style-not-read"),
        (f"<style>:root{{--c:none}} path{{fill:var(--c)}}</style>{LEAF}", "style-not-read"),
        (f'<rect style="width:calc(10px + 20px);height:9px"/>{LEAF}', "shape-broken"),
        (f'<path d="undefined"/>{LEAF}', "path-broken"),
        (f'<polyline points="1,1 NaN,3"/>{LEAF}', "path-broken"),
        (f'<g style="rotate:45deg">{LEAF}</g>', "transform-broken"),
    ],
)  # fmt: skip
def test_what_is_not_carried_out_is_told_and_the_rest_read(body, code):
    drawing = read(file(body).encode())
    assert code in codes(drawing)
    assert 450.0 in areas(drawing)
