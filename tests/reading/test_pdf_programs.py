"""PDF as drawing programs, printer drivers and viewers write it (from memory of their habits, no
source): each page reads in true size as an independent renderer shows it, or it is told.
"""

import io

import numpy as np
import pikepdf
import pypdfium2
import pytest
from dxf_making import codes
from pdf_making import as_bytes, group, pdf
from pikepdf import Array, Dictionary, Name
from renderer import filled

from templater.model.drawing import LineShape, PointShape
from templater.model.problems import has_errors
from templater.reading.pdf import read_pdf

BOX = "20 20 100 60 re"


def resources(document):
    form = document.make_stream(b"0 0 50 30 re f")
    matrix = Array([0, 1, -1, 0, 60, 0])
    form.update(
        Dictionary(Type=Name.XObject, Subtype=Name.Form, BBox=Array([0, 0, 50, 50]), Matrix=matrix)
    )
    outer = document.make_stream(b"2 0 0 2 0 0 cm /F Do")
    own = Dictionary(XObject=Dictionary(F=document.make_indirect(form)))
    outer.update(
        Dictionary(
            Type=Name.XObject, Subtype=Name.Form, BBox=Array([0, 0, 500, 500]), Resources=own
        )
    )
    ramp = Dictionary(
        FunctionType=2, Domain=Array([0, 1]), N=1, C0=Array([1, 0, 0]), C1=Array([0, 0, 1])
    )
    shading = Dictionary(
        ShadingType=2,
        ColorSpace=Name.DeviceRGB,
        Coords=Array([0, 0, 200, 0]),
        Function=ramp,
        Extend=Array([True, True]),
    )
    tile = document.make_stream(b"0 0 9 9 re f")
    tile.update(
        Dictionary(
            Type=Name.Pattern,
            PatternType=1,
            PaintType=1,
            TilingType=1,
            BBox=Array([0, 0, 9, 9]),
            XStep=9,
            YStep=9,
            Resources=Dictionary(),
        )
    )
    return Dictionary(
        XObject=Dictionary(F=form, G=document.make_indirect(outer)),
        Shading=Dictionary(Sh=shading),
        Pattern=Dictionary(P=tile),
        ExtGState=Dictionary(Clear=Dictionary(ca=0, CA=0), Solid=Dictionary(ca=1, CA=1)),
    )


SEEN = {
    "a turned page": (f"{BOX} f", {"Rotate": 90}),
    "turned back": (f"{BOX} f", {"Rotate": -90}),
    "turned more than once": (f"{BOX} f", {"Rotate": 540}),
    "a larger unit": (f"{BOX} f", {"UserUnit": 2}),
    "cropped": (f"{BOX} f", {"CropBox": Array([10, 10, 200, 150])}),
    "cropped and turned": (f"{BOX} f", {"CropBox": Array([10, 10, 200, 150]), "Rotate": 270}),
    "a crop beyond the page": (f"{BOX} f", {"CropBox": Array([-50, -50, 900, 900])}),
    "a page from its upper right corner": (f"{BOX} f", {"MediaBox": Array([250, 180, 0, 0])}),
    "a page about its origin": (f"{BOX} f", {"MediaBox": Array([-90, -90, 200, 150])}),
    "forms in forms": ("q /F Do Q q 1 0 0 1 100 100 cm /G Do Q", {}),
    "a box drawn backwards": ("120 120 -100 -60 re f", {}),
    "filled but not closed": ("10 10 m 100 10 l 100 100 l f", {}),
    "short forms of curves": ("10 10 m 50 100 90 10 v 50 -10 10 10 y f", {}),
    "more restored than saved": (f"Q Q {BOX} f q q", {}),
    "flattened to nothing": (f"q 0 0 0 0 9 9 cm {BOX} f Q {BOX} f", {}),
    "numbers without a nought": (".5 .5 +20. 20. re f 60 60 100. 100 re f", {}),
    "unknown operators": (f"BX odd EX {BOX} f", {}),
    "a clip about what is drawn": (f"q 5 5 200 200 re W n {BOX} f Q", {}),
    "a shading within a clip": ("q 10 10 m 150 10 l 150 120 l h W n /Sh sh Q", {}),
    "a shading within two clips": ("q 0 0 250 250 re W n 10 10 m 99 10 l 99 99 l h W* n /Sh sh Q", {}),
    "a shading in a ring": (
        "q 10 10 100 100 re 40 40 30 30 re W* n /Sh sh Q", {}
    ),
    "a tiled fill": (f"/Pattern cs /P scn {BOX} f", {}),
    "see-through ink": (f"q /Clear gs 0 0 9 9 re f Q {BOX} f /Clear gs /Solid gs 200 200 9 9 re f", {}),
    "even-odd": ("10 10 100 100 re 40 40 30 30 re f*", {}),
}  # fmt: skip


@pytest.mark.parametrize("name", SEEN)
def test_what_is_filled_is_what_an_independent_renderer_shows(name):
    content, page = SEEN[name]
    data = as_bytes(pdf(content, resources=resources, **page))
    drawing = read_pdf(data, "made.pdf")
    assert not has_errors(drawing.problems), drawing.problems
    shown = pypdfium2.PdfDocument(data)[0]
    unit = page.get("UserUnit", 1)
    assert [unit * side * 25.4 / 72 for side in shown.get_size()] == pytest.approx(drawing.size_mm)
    dark = np.asarray(shown.render(scale=3, grayscale=True).to_numpy()).squeeze() < 250
    assert dark.any()
    width, height = drawing.size_mm
    shape = filled(drawing)
    assert shape.area / (width * height) == pytest.approx(float(dark.mean()), abs=0.005)
    rows, columns = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
    mm = unit * 25.4 / 72 / 3
    theirs = (
        columns[0] * mm,
        height - (rows[-1] + 1) * mm,
        (columns[-1] + 1) * mm,
        height - rows[0] * mm,
    )
    assert shape.bounds == pytest.approx(theirs, abs=1.5 * mm)


def test_moves_that_draw_nothing_are_no_points_but_dots_are():
    drawing = read_pdf(
        as_bytes(pdf("10 10 m 20 20 m 30 30 m 100 30 l S 50 50 m 50 50 l S")), "a.pdf"
    )
    kinds = [type(shape) for layer in drawing.layers for shape in layer.shapes]
    assert sorted(kinds, key=str) == [LineShape, PointShape]


@pytest.mark.parametrize(
    "how",
    [
        {"encryption": pikepdf.Encryption(owner="held", user="", R=6)},
        {"encryption": pikepdf.Encryption(owner="held", user="", R=4)},
        {"object_stream_mode": pikepdf.ObjectStreamMode.generate},
        {"linearize": True},
        {"compress_streams": False},
        {"qdf": True},
    ],
)
def test_however_the_file_is_packed(how):
    stream = io.BytesIO()
    pdf(f"{BOX} f").save(stream, **how)
    drawing = read_pdf(stream.getvalue(), "made.pdf")
    assert not drawing.problems
    assert filled(drawing).area == pytest.approx(6000 * (25.4 / 72) ** 2)


def test_a_stream_in_parts_and_what_a_page_inherits():
    document = pdf(f"{BOX} f")
    page = document.pages[0].obj
    page.Contents = Array([document.make_stream(b"20 20 100"), document.make_stream(b" 60 re f")])
    document.Root.Pages.MediaBox = page.MediaBox
    document.Root.Pages.Rotate = 90
    document.Root.Pages.Resources = page.Resources
    del page["/MediaBox"]
    del page["/Resources"]
    drawing = read_pdf(as_bytes(document), "made.pdf")
    assert not drawing.problems
    assert filled(drawing).bounds == pytest.approx((7.0556, 57.6667, 28.2222, 92.9444), abs=1e-3)


def test_a_file_cut_off_is_recovered_and_told():
    data = as_bytes(pdf(f"{BOX} f"))
    drawing = read_pdf(data[:-60], "made.pdf")
    assert "pdf-damaged" in codes(drawing, "warning")
    assert filled(drawing).area > 0
    assert codes(read_pdf(data[: len(data) // 2], "made.pdf"), "error")


def test_layers_by_name_off_by_default_and_off_by_use():
    def layered(document):
        leaf, guides, viewed = (
            group(document, name) for name in ("zone Größe", "guides", "print only")
        )
        viewed.Usage = Dictionary(View=Dictionary(ViewState=Name.OFF))
        use = Dictionary(Event=Name.View, Category=Array([Name.View]), OCGs=Array([viewed]))
        document.Root.OCProperties = Dictionary(
            OCGs=Array([leaf, guides, viewed]), D=Dictionary(OFF=Array([guides]), AS=Array([use]))
        )
        return Dictionary(Properties=Dictionary(A=leaf, B=guides, C=viewed))

    content = " ".join(f"/OC /{k} BDC {BOX} f EMC" for k in "ABC")
    drawing = read_pdf(as_bytes(pdf(content, resources=layered)), "made.pdf")
    assert [layer.name for layer in drawing.layers] == ["zone Größe"]
    hidden = [p.source.layer for p in drawing.problems if p.code == "layer-hidden"]
    assert sorted(hidden) == ["guides", "print only"]


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (f"q 50 0 0 50 0 0 cm BI /W 1 /H 1 /CS /G /BPC 8 ID \x00 EI Q {BOX} f", "pdf-images"),
        (f"{BOX} f /Clear gs 0 0 9 9 re f", "pdf-see-through"),
        (f"{BOX} f q 0 0 9 9 re W n 100 100 9 9 re f Q", "pdf-clipped-away"),
        (f"{BOX} f q 0 0 9 9 re W n 5 5 90 90 re f Q", "pdf-clipped-in-part"),
        (f"{BOX} f /Sh sh", "pdf-shadings"),
        (f"{BOX} f /None Do", "pdf-objects-missing"),
        (f"{BOX} f --20 20 re f", "page-unreadable"),
    ],
)
def test_what_is_left_out_is_told(content, code):
    drawing = read_pdf(as_bytes(pdf(content, resources=resources)), "made.pdf")
    [found] = [p for p in drawing.problems if p.code == code]
    assert found.mend
    assert drawing.layers[0].shapes


def test_marks_laid_over_the_page_are_counted_but_links_are_not():
    document = pdf(f"{BOX} f")
    kinds = (Name.Square, Name.Link, Name.Ink)
    document.pages[0].obj.Annots = Array(
        [Dictionary(Type=Name.Annot, Subtype=kind, Rect=Array([0, 0, 9, 9])) for kind in kinds]
    )
    [found] = read_pdf(as_bytes(document), "made.pdf").problems
    assert found.code == "pdf-annotations"
    assert ": 2." in found.message
