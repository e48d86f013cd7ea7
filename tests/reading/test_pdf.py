"""Vector PDF pages read in true size, their optional content as layers; pictures refused."""

import io
import math

import pikepdf
import pypdfium2
import pytest
from dxf_making import areas, codes, lines, points, texts
from pdf_making import as_bytes, group, pdf, read
from pikepdf import Array, Dictionary, Name

from templater.geometry.measure import area_mm2, join_boxes, path_box, path_length
from templater.model.curves import Line
from templater.model.drawing import AreaShape
from templater.model.problems import Severity, has_errors
from templater.reading.pdf import read_pdf

MM = 72.0 / 25.4
PAGE = "page 1"


def mm(*values):
    return " ".join(f"{value * MM:.9f}" for value in values)


def only(drawing, code, severity):
    [problem] = [p for p in drawing.problems if p.code == code]
    assert problem.severity is severity
    assert problem.mend
    return problem


def test_a_square_of_50_mm_measures_50_mm():
    drawing = read(pdf(f"{mm(10, 20, 50, 50)} re S"))
    assert drawing.size_mm == pytest.approx((100, 100))
    [square] = areas(drawing, PAGE)
    assert path_box(square.area.outline) == pytest.approx((10, 20, 60, 70))
    assert all(isinstance(s, Line) for s in square.area.outline.segments)
    assert not has_errors(drawing.problems)


def test_transforms_forms_and_user_units_multiply():
    def resources(document):
        form = document.make_stream(f"{mm(0, 0, 10, 10)} re f".encode())
        form.update(
            Dictionary(
                Type=Name.XObject,
                Subtype=Name.Form,
                BBox=Array([0, 0, 100, 100]),
                Matrix=Array([2, 0, 0, 2, 0, 0]),
            )
        )
        return Dictionary(XObject=Dictionary(Fm=form))

    drawing = read(pdf(f"q 0 1 -1 0 {mm(40, 5)} cm /Fm Do Q", resources=resources))
    [square] = areas(drawing, PAGE)
    assert path_box(square.area.outline) == pytest.approx((20, 5, 40, 25))
    large = read(pdf(f"{mm(10, 20, 30, 30)} re f", UserUnit=2))
    [square] = areas(large, PAGE)
    assert path_box(square.area.outline) == pytest.approx((20, 40, 80, 100))
    assert large.size_mm == pytest.approx((200, 200))


def test_curves_stay_beziers_and_all_their_forms_agree():
    c = f"{mm(10, 10)} m {mm(10, 10, 30, 40, 50, 10)} c S {mm(10, 50)} m {mm(30, 80, 50, 50, 50, 50)} c S"
    v = f"{mm(10, 10)} m {mm(30, 40, 50, 10)} v S {mm(10, 50)} m {mm(30, 80, 50, 50)} y S"
    first, second = read(pdf(c)), read(pdf(v))
    for one, other in zip(lines(first, PAGE), lines(second, PAGE), strict=True):
        [a], [b] = one.path.segments, other.path.segments
        for p, q in ((a.start, b.start), (a.control1, b.control1), (a.control2, b.control2)):
            assert math.dist(p, q) < 1e-9


def ink(data, scale=20.0):
    """What pypdfium2 shows at so many pixels a mm: the ink's box, the page's size, the ink's area."""
    page = pypdfium2.PdfDocument(data)[0]
    image = page.render(scale=scale * 25.4 / 72.0).to_pil().convert("L")
    left, top, right, bottom = image.point(lambda v: 255 if v < 128 else 0).getbbox()
    height = image.height / scale
    box = (left / scale, height - bottom / scale, right / scale, height - top / scale)
    dark = sum(count * (255 - value) for value, count in enumerate(image.histogram())) / 255.0
    return box, (image.width / scale, height), dark / scale**2


@pytest.mark.parametrize("rotate", [0, 90, 180, 270])
def test_turned_pages_and_crop_boxes_look_as_an_independent_renderer_shows_them(rotate):
    """Against pypdfium2: the ink's box on the rendered page, to a tenth of a millimetre."""
    content = f"0 0 0 rg {mm(30, 20, 40, 15)} re f {mm(30, 35)} m {mm(40, 60)} l {mm(30, 60)} l f"
    document = pdf(content, Rotate=rotate, CropBox=Array([20 * MM, 10 * MM, 90 * MM, 95 * MM]))
    data = as_bytes(document)
    drawing = read_pdf(data, "turned.pdf")
    seen, size, _ = ink(data)
    found = join_boxes(path_box(s.area.outline) for s in areas(drawing, PAGE))
    assert found == pytest.approx(seen, abs=0.1)
    assert drawing.size_mm == pytest.approx(size, abs=0.1)


def test_fill_rules_make_holes():
    two = f"{mm(10, 10, 60, 60)} re {mm(20, 20, 20, 20)} re"
    [even] = areas(read(pdf(f"{two} f*")), PAGE)
    assert area_mm2(even.area) == pytest.approx(3600 - 400)
    drawing = read(pdf(f"{two} f"))
    [filled] = areas(drawing, PAGE)
    assert area_mm2(filled.area) == pytest.approx(3600)
    assert "pdf-covered" in codes(drawing)
    [stroked] = areas(read(pdf(f"{two} S")), PAGE)
    assert area_mm2(stroked.area) == pytest.approx(3200)


def test_optional_content_groups_are_the_layers():
    names = ["zone frond", "zone водоросль", "toile"]

    def resources(document):
        groups = [group(document, name) for name in names]
        document.Root.OCProperties = Dictionary(
            OCGs=Array(groups), D=Dictionary(OFF=Array([groups[2]]))
        )
        return Dictionary(Properties=Dictionary({f"/L{i}": one for i, one in enumerate(groups)}))

    content = "".join(f"/OC /L{i} BDC {mm(10 + 20 * i, 10, 10, 10)} re S EMC " for i in range(3))
    drawing = read(pdf(content + f"{mm(5, 90)} m {mm(95, 90)} l S", resources=resources))
    assert [layer.name for layer in drawing.layers] == [*names[:2], PAGE]
    assert "toile" in only(drawing, "layer-hidden", Severity.NOTE).message


def test_a_layer_round_a_form_and_a_layer_within_a_layer():
    def resources(document):
        outer, inner = group(document, "piece front"), group(document, "zone tip")
        document.Root.OCProperties = Dictionary(OCGs=Array([outer, inner]), D=Dictionary())
        form = document.make_stream(f"{mm(1, 1, 5, 5)} re S".encode())
        form.update(Dictionary(Subtype=Name.Form, BBox=Array([0, 0, 300, 300]), OC=inner))
        return Dictionary(XObject=Dictionary(Fm=form), Properties=Dictionary(A=outer, B=inner))

    content = f"/OC /A BDC {mm(0, 0, 90, 90)} re S /Span <</X 1>> BDC /Fm Do EMC EMC"
    drawing = read(pdf(content, resources=resources))
    assert {layer.name: len(layer.shapes) for layer in drawing.layers} == {
        "piece front": 1,
        "zone tip": 1,
    }


def test_loose_lines_become_one_outline_and_widths_are_kept():
    corners = [(10, 10), (60, 10), (60, 50), (10, 50.02)]
    content = " ".join(
        f"{mm(*a)} m {mm(*b)} l S" for a, b in zip(corners, [*corners[1:], (10, 10)], strict=True)
    )
    drawing = read(pdf(f"{content} 2 w {mm(70, 70)} m {mm(80, 90)} l S"))
    assert len(areas(drawing, PAGE)) == 1
    [line] = lines(drawing, PAGE)
    assert line.width_mm == pytest.approx(2 * 25.4 / 72)
    assert path_length(line.path) == pytest.approx(math.hypot(10, 20))


def test_an_outline_painted_twice_is_one_shape():
    path = f"{mm(10, 10, 50, 40)} re"
    drawing = read(pdf(f"{path} f {path} S"))
    assert len(areas(drawing, PAGE)) == 1
    only(drawing, "repeats-dropped", Severity.NOTE)


def test_white_paper_and_what_lies_off_the_page_are_left_out():
    content = f"1 1 1 rg {mm(0, 0, 100, 100)} re f 0 g {mm(200, 10, 20, 20)} re f {mm(10, 10, 20, 20)} re f"
    drawing = read(pdf(content))
    assert len(areas(drawing, PAGE)) == 1
    only(drawing, "pdf-white-fills", Severity.NOTE)
    only(drawing, "pdf-clipped-away", Severity.NOTE)


def test_a_clip_that_cuts_a_shape_is_said_and_one_round_it_is_not():
    round_it = f"q {mm(0, 0, 100, 100)} re W n {mm(10, 10, 20, 20)} re S Q"
    assert "pdf-clipped-in-part" not in codes(read(pdf(round_it)))
    cutting = f"q {mm(15, 0, 100, 100)} re W n {mm(10, 10, 20, 20)} re S Q {mm(1, 1, 5, 5)} re S"
    only(read(pdf(cutting)), "pdf-clipped-in-part", Severity.WARNING)


def test_a_point_of_ink_is_a_point():
    assert [p.at for p in points(read(pdf(f"{mm(10, 20)} m {mm(10, 20)} l S")), PAGE)] == [
        pytest.approx((10, 20))
    ]


def picture(document):
    image = document.make_stream(bytes(3 * 4))
    image.update(
        Dictionary(
            Type=Name.XObject,
            Subtype=Name.Image,
            Width=2,
            Height=2,
            BitsPerComponent=8,
            ColorSpace=Name.DeviceRGB,
        )
    )
    return Dictionary(XObject=Dictionary(Im=image))


def test_a_page_that_is_only_a_picture_is_refused():
    drawing = read(pdf("q 200 0 0 200 10 10 cm /Im Do Q", resources=picture))
    assert "trace" in only(drawing, "pdf-picture-only", Severity.ERROR).mend.lower()
    both = read(pdf(f"q 9 0 0 9 1 1 cm /Im Do Q {mm(1, 1, 5, 5)} re S", resources=picture))
    only(both, "pdf-images", Severity.NOTE)
    assert not has_errors(both.problems)


def test_several_pages_lie_side_by_side():
    content = f"{mm(10, 10, 20, 20)} re S"
    drawing = read(pdf(content, content))
    [one], [other] = areas(drawing, "page 1"), areas(drawing, "page 2")
    assert path_box(other.area.outline)[0] - path_box(one.area.outline)[0] == pytest.approx(120)
    only(drawing, "pages-side-by-side", Severity.WARNING)


def test_words_are_kept_as_notes():
    from reportlab.pdfgen import canvas

    stream = io.BytesIO()
    page = canvas.Canvas(stream, pagesize=(100 * MM, 100 * MM), invariant=1)
    page.setFont("Helvetica", 12)
    page.drawString(10 * MM, 20 * MM, "cut two, ärmel")
    page.rect(5 * MM, 5 * MM, 50 * MM, 50 * MM)
    page.save()
    drawing = read_pdf(stream.getvalue(), "words.pdf")
    [text] = texts(drawing, PAGE)
    assert text.text == "cut two, ärmel"
    assert text.at == pytest.approx((10, 20), abs=1e-3)
    assert text.height_mm == pytest.approx(12 / MM)


def test_a_drawing_of_another_library_fills_what_an_independent_renderer_fills():
    """Paths drawn by reportlab; box and area of the ink as pypdfium2 renders it."""
    from reportlab.pdfgen import canvas

    stream = io.BytesIO()
    page = canvas.Canvas(stream, pagesize=(100 * MM, 100 * MM), invariant=1)
    page.translate(30 * MM, 10 * MM)
    page.rotate(30)
    page.circle(30 * MM, 20 * MM, 11 * MM, stroke=0, fill=1)
    page.roundRect(5 * MM, 40 * MM, 20 * MM, 12 * MM, 3 * MM, stroke=0, fill=1)
    page.skew(10, 5)
    page.ellipse(45 * MM, 5 * MM, 65 * MM, 18 * MM, stroke=0, fill=1)
    page.save()
    drawing = read_pdf(stream.getvalue(), "made.pdf")
    found = areas(drawing, PAGE)
    assert len(found) == 3
    box, _, area = ink(stream.getvalue())
    assert join_boxes(path_box(shape.area.outline) for shape in found) == pytest.approx(
        box, abs=0.1
    )
    assert sum(area_mm2(shape.area) for shape in found) == pytest.approx(area, rel=0.002)
    # a PDF has no circles, only Béziers that err by 0.027 % of the radius
    assert area_mm2(found[0].area) == pytest.approx(math.pi * 121, rel=6e-4)


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "pdf-empty"),
        (b"%PDF-1.7 and nothing else", "pdf-unreadable"),
        (b"not a pdf at all", "pdf-unreadable"),
    ],
)
def test_what_is_no_pdf_is_refused(data, code):
    only(read_pdf(data, "odd.pdf"), code, Severity.ERROR)


def test_a_locked_file_is_refused():
    stream = io.BytesIO()
    pdf("0 0 5 5 re S").save(stream, encryption=pikepdf.Encryption(owner="a", user="b"))
    only(read_pdf(stream.getvalue(), "locked.pdf"), "pdf-locked", Severity.ERROR)


def test_a_form_that_draws_itself_is_refused():
    document = pdf("/Fm Do 0 0 50 50 re S")
    form = document.make_stream(b"/Fm Do")
    form.update(Dictionary(Subtype=Name.Form, BBox=Array([0, 0, 300, 300])))
    form.Resources = Dictionary(XObject=Dictionary(Fm=form))
    document.pages[0].obj.Resources = Dictionary(XObject=Dictionary(Fm=form))
    only(read(document), "pdf-forms-in-themselves", Severity.ERROR)


@pytest.mark.parametrize(
    "content",
    ["1 2 m l S", "nan 0 m 5 5 l S", "(a) Tj 5 re f", "/X /Y scn Q Q EMC h S", "1 0 0 cm"],
)
def test_a_broken_content_stream_never_raises(content):
    drawing = read(pdf(content))
    assert has_errors(drawing.problems)


def test_units_and_sizes_are_not_for_pdf():
    drawing = read(pdf(f"{mm(1, 1, 5, 5)} re S"), unit="cm", size="M")
    assert {"unit-not-used", "size-not-used"} <= set(codes(drawing, Severity.WARNING))


def test_every_area_runs_anticlockwise():
    from templater.geometry.measure import signed_path_area

    drawing = read(pdf(f"-1 0 0 1 {mm(100, 0)} cm {mm(10, 10, 20, 20)} re f"))
    assert all(
        signed_path_area(s.area.outline) > 0
        for s in areas(drawing, PAGE)
        if isinstance(s, AreaShape)
    )


def test_rows_within_rows_are_rows():
    def resources(document):
        return Dictionary(Properties=Dictionary(A=group(document, "row rosette")))

    content = f"/OC /A BDC {mm(10, 10, 60, 60)} re {mm(20, 20, 20, 20)} re S EMC"
    found = areas(read(pdf(content, resources=resources)), "row rosette")
    assert [len(shape.area.holes) for shape in found] == [0, 0]


def test_a_stroke_out_and_back_is_a_line_and_a_fill_of_it_is_nothing():
    path = f"{mm(10, 10)} m {mm(60, 10)} l h"
    assert len(lines(read(pdf(f"{path} S")), PAGE)) == 1
    drawing = read(pdf(f"{path} f"))
    assert drawing.layers == ()
    only(drawing, "pdf-without-width", Severity.NOTE)
