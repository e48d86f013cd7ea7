"""Sewn-product pattern data (ASTM D6673): a file of ours reads to the same pattern as its SVG twin.

The layer numbers are those of templater/reading/sewn_table.py (from general knowledge; the
practice was withdrawn in 2019).
"""

import math

import pytest
from dxf_making import codes, new, read, shapes
from shapely import MultiLineString, hausdorff_distance

from templater.geometry.flatten import flatten
from templater.geometry.measure import area_mm2, path_box
from templater.ground import build_ground
from templater.job import load_job
from templater.model.drawing import AreaShape, LineShape, PointShape, TextShape
from templater.model.ground import Make, Side
from templater.model.problems import Severity
from templater.reading.svg import read_svg

# the half front of our leotard, mirror line at x = 0; each size is grown from S
FRONT = [(0, 0), (60, -5), (110, 30), (125, 140), (90, 300), (70, 310), (0, 260)]
STRAP = [(0, 0), (22, 0), (22, 180), (0, 180)]
NOTCHES = {4: (110, 30), 80: (125, 140), 81: (90, 300), 82: (60, -5), 83: (70, 310)}
GROWTH = {"S": 1.0, "M": 1.08}
LEAF = [(20, 60), (60, 60), (50, 110)]
KEYHOLE = [(20, 200), (50, 200), (50, 230), (20, 230)]


def grown(points, size):
    return [(x * GROWTH[size], y * GROWTH[size]) for x, y in points]


def text(block, words, layer="1", at=(5, 5)):
    block.add_text(words, height=4, dxfattribs={"layer": layer, "insert": at})


def front(document, size, mm=1.0):
    block = document.blocks.new(f"FRONT-{size}")

    def at(points):
        return [(x / mm, y / mm) for x, y in grown(points, size)]

    def ring(points, layer):
        block.add_polyline2d(at(points), close=True, dxfattribs={"layer": layer})

    ring(FRONT, "1")
    for x, y in at(FRONT):
        block.add_point((x, y), dxfattribs={"layer": "2"})
    for layer, place in NOTCHES.items():
        [(x, y)] = at([place])
        block.add_point((x, y, 5.0), dxfattribs={"layer": str(layer)})  # z: the notch's depth
    (x0, y0), (x1, y1) = at([(0, 0), (0, 260)])
    block.add_line((x0, y0), (x1, y1), dxfattribs={"layer": "6"})
    (x0, y0), (x1, y1) = at([(40, 20), (40, 280)])
    block.add_line((x0, y0), (x1, y1), dxfattribs={"layer": "7"})
    ring(LEAF, "8")
    ring(KEYHOLE, "11")
    [(x, y)] = at([(80, 250)])
    block.add_point((x, y), dxfattribs={"layer": "13"})
    (x0, y0), (x1, y1) = at([(100, 30), (115, 140)])
    block.add_line((x0, y0), (x1, y1), dxfattribs={"layer": "14"})
    text(block, "Piece Name: FRONT")
    text(block, f"Size: {size}")
    text(block, "Quantity: 2")
    text(block, "Material: lycra")
    text(block, "top of the crotch", layer="15", at=(7 / mm, 9 / mm))
    return block


def strap(document, size):
    block = document.blocks.new(f"STRAP-{size}")
    block.add_polyline2d(grown(STRAP, size), close=True, dxfattribs={"layer": "1"})
    text(block, "Piece Name: STRAP")
    text(block, f"Size: {size}")
    return block


def pattern(sizes=("S", "M"), *, units="METRIC", sample="M", mm=1.0, straps=False):
    document, space = new("R12")
    text(space, "Style Name: KELP", "1")
    if units:
        text(space, f"Units: {units}", "1")
    if sample:
        text(space, f"Sample Size: {sample}", "1")
    for size in sizes:
        front(document, size, mm)
        space.add_blockref(f"FRONT-{size}", (0, 0), dxfattribs={"layer": "1"})
        if straps:
            strap(document, size)
            space.add_blockref(f"STRAP-{size}", (0, 0), dxfattribs={"layer": "1"})
    return document


def twin(size, width=400.0, height=400.0):
    """The same front drawn in a vector editor, layers by our role words."""

    def flipped(points):
        return " ".join(f"{x:.9f},{height - y:.9f}" for x, y in grown(points, size))

    def group(name, content):
        return f'<g id="{name}">{content}</g>'

    def ring(points):
        return f'<polygon fill="none" stroke="black" points="{flipped(points)}"/>'

    def line(points):
        return f'<polyline fill="none" stroke="black" points="{flipped(points)}"/>'

    def dot(points):
        [(x, y)] = grown(points, size)
        return f'<path d="M{x:.9f},{height - y:.9f}h0" stroke="black"/>'

    hole = "M" + flipped(FRONT) + "z M" + flipped(KEYHOLE) + "z"
    body = [
        group("piece FRONT", f'<path fill="silver" fill-rule="evenodd" d="{hole}"/>'),
        group("notch FRONT", "".join(dot([place]) for place in NOTCHES.values())),
        group("fold FRONT", line([(0, 0), (0, 260)])),
        group("grain FRONT", line([(40, 20), (40, 280)])),
        group("internal FRONT", ring(LEAF)),
        group("clear FRONT", ring(KEYHOLE)),
        group("drill FRONT", dot([(80, 250)])),
        group("seam FRONT", line([(100, 30), (115, 140)])),
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
        f'viewBox="0 0 {width} {height}">{"".join(body)}</svg>'
    ).encode()


def outlines(drawing, layer):
    found = []
    for shape in shapes(drawing, layer):
        if isinstance(shape, AreaShape):
            paths = [shape.area.outline, *shape.area.holes]
        elif isinstance(shape, LineShape):
            paths = [shape.path]
        else:
            continue
        for path in paths:
            ring = flatten(path, 0.001)
            found.append([*ring, ring[0]] if path.closed else ring)
    return MultiLineString(found)


@pytest.mark.parametrize("size", ["S", "M"])
def test_a_pattern_file_reads_as_its_svg_twin(size):
    sewn = read(pattern(), size=size)
    drawn = read_svg(twin(size), "twin.svg")
    ours = {layer.name for layer in sewn.layers if not layer.name.startswith("note")}
    assert ours == {layer.name for layer in drawn.layers}
    for name in ("piece FRONT", "fold FRONT", "grain FRONT", "internal FRONT", "seam FRONT"):
        assert hausdorff_distance(outlines(sewn, name), outlines(drawn, name)) <= 1e-6
    for name in ("notch FRONT", "drill FRONT"):
        mine = [shape.at for shape in shapes(sewn, name, PointShape)]
        other = [shape.at for shape in shapes(drawn, name, PointShape)]
        assert len(mine) == len(other) > 0
        assert all(math.dist(a, b) <= 1e-6 for a, b in zip(mine, other, strict=True))
    [mine], [other] = shapes(sewn, "piece FRONT"), shapes(drawn, "piece FRONT")
    assert len(mine.area.holes) == len(other.area.holes) == 1
    assert area_mm2(mine.area) == pytest.approx(area_mm2(other.area), rel=1e-9)


def test_notches_of_each_kind_keep_their_kind():
    drawing = read(pattern(), size="S")
    kinds = [s.source.element.split(" notch")[0] for s in shapes(drawing, "notch FRONT")]
    assert kinds == ["slit or V", "T", "castle", "check", "U"]


def test_texts_are_kept_and_told():
    drawing = read(pattern(), size="S")
    words = [t.text for t in shapes(drawing, "note FRONT", TextShape)]
    assert "Quantity: 2" in words
    assert "top of the crotch" in words
    assert "Style Name: KELP" in [t.text for t in shapes(drawing, "note", TextShape)]
    [note] = [p for p in drawing.problems if p.code == "sewn-pieces"]
    assert "KELP" in note.message
    assert "FRONT (size S, quantity 2, material lycra)" in note.message


def test_without_a_size_the_sample_size_is_read_and_said():
    drawing = read(pattern())
    [warning] = [p for p in drawing.problems if p.code == "size-not-chosen"]
    assert warning.severity is Severity.WARNING
    assert "S, M" in warning.message
    [shape] = shapes(drawing, "piece FRONT")
    assert path_box(shape.area.outline)[2] == pytest.approx(125 * 1.08)


def test_without_a_sample_size_the_choice_is_asked_for():
    drawing = read(pattern(sample=None))
    [error] = [p for p in drawing.problems if p.code == "size-not-chosen"]
    assert error.severity is Severity.ERROR
    assert 'size = "S"' in error.mend
    assert drawing.layers == ()


def test_a_size_that_is_not_there_lists_those_that_are():
    drawing = read(pattern(), size="L")
    [error] = [p for p in drawing.problems if p.code == "size-unknown"]
    assert error.severity is Severity.ERROR
    assert "it has S, M" in error.message


def test_one_size_alone_needs_no_choice():
    drawing = read(pattern(sizes=("S",)))
    assert "size-not-chosen" not in codes(drawing)
    assert len(shapes(drawing, "piece FRONT")) == 1


def test_english_units_are_inches_and_are_to_be_confirmed():
    drawing = read(pattern(sizes=("S",), units="ENGLISH", mm=25.4))
    [shape] = shapes(drawing, "piece FRONT")
    assert path_box(shape.area.outline)[2] == pytest.approx(125, abs=1e-3)
    [warning] = [p for p in drawing.problems if p.code == "unit-to-confirm"]
    assert "measured" in warning.mend
    told = read(pattern(sizes=("S",), units="METRIC"), unit="cm")
    assert path_box(shapes(told, "piece FRONT")[0].area.outline)[2] == pytest.approx(1250)
    assert "unit-to-confirm" not in codes(told)


def test_no_unit_at_all_is_assumed_and_said():
    drawing = read(pattern(sizes=("S",), units=None))
    assert "unit-assumed" in codes(drawing, Severity.WARNING)


def test_pieces_that_lie_on_each_other_are_moved_apart_unchanged():
    drawing = read(pattern(sizes=("S",), straps=True))
    [one], [other] = shapes(drawing, "piece FRONT"), shapes(drawing, "piece STRAP")
    box, beside = path_box(one.area.outline), path_box(other.area.outline)
    assert box[2] < beside[0]
    assert beside[2] - beside[0] == pytest.approx(22)
    [fold] = shapes(drawing, "fold FRONT")
    assert fold.path.start[0] == pytest.approx(box[0])
    assert "pieces-moved-apart" in codes(drawing, Severity.NOTE)


def test_what_is_not_understood_is_listed():
    document = pattern(sizes=("S",))
    block = document.blocks.get("FRONT-S")
    block.add_line((0, 0), (9, 9), dxfattribs={"layer": "47"})
    text(block, "Shrinkage: 3 %")
    document.modelspace().add_circle((0, 0), 4)
    drawing = read(document)
    messages = {p.code: p.message for p in drawing.problems}
    assert "47" in messages["sewn-layers-unknown"]
    assert "shrinkage" in messages["sewn-texts-unknown"]
    assert "CIRCLE" in messages["outside-pieces"]
    assert len(shapes(drawing, "layer 47 of FRONT")) == 1


def test_blocks_that_are_placed_nowhere_are_read_where_they_are_defined():
    document, _ = new("R12")
    front(document, "S")
    drawing = read(document, unit="mm")
    assert len(shapes(drawing, "piece FRONT")) == 1


def test_an_open_boundary_is_an_error():
    document, space = new("R12")
    block = document.blocks.new("FRONT")
    block.add_polyline2d(FRONT, dxfattribs={"layer": "1"})
    text(block, "Piece Name: FRONT")
    space.add_blockref("FRONT", (0, 0))
    drawing = read(document, unit="mm")
    assert "piece-without-outline" in codes(drawing, Severity.ERROR)


def test_a_boundary_in_loose_lines_is_joined():
    document, space = new("R12")
    block = document.blocks.new("FRONT")
    for a, b in zip(FRONT, [*FRONT[1:], FRONT[0]], strict=True):
        block.add_line(a, b, dxfattribs={"layer": "1"})
    text(block, "Piece Name: FRONT")
    space.add_blockref("FRONT", (0, 0))
    assert len(shapes(read(document, unit="mm"), "piece FRONT", AreaShape)) == 1


def test_a_plain_drawing_with_blocks_is_not_taken_for_a_pattern_file():
    document, space = new()
    block = document.blocks.new("leaf")
    block.add_circle((0, 0), 5, dxfattribs={"layer": "1"})
    block.add_line((0, 0), (5, 5), dxfattribs={"layer": "8"})
    space.add_blockref("leaf", (0, 0))
    drawing = read(document, size="M")
    assert [layer.name for layer in drawing.layers] == ["1", "8"]
    assert "size-not-used" in codes(drawing, Severity.WARNING)


def test_a_half_piece_is_unfolded_unless_the_job_says_otherwise():
    """A piece of zones on it is one cloth, both sides joined at the mirror line; the strap a pair."""
    document = pattern(sizes=("S",), straps=True)
    drawing = read(document)
    assert drawing.halves == ("front",)

    def ground(said=""):
        job, faults = load_job(
            f'drawing = "a.dxf"\n[layers]\n"internal FRONT" = "zone leaf"\n{said}', "a"
        )
        assert job is not None, faults
        return build_ground(drawing, job)

    found, problems = ground()
    makes = {piece.name: piece.make for piece in found.pieces}
    assert makes == {"front": Make.FOLD, "strap": Make.PAIR}
    surface = found.surface("front")
    assert surface.joined_at_fold
    assert [side.side for side in surface.sides] == [Side.LEFT, Side.RIGHT]
    assert "fold-not-used" not in {problem.code for problem in problems}
    told, _ = ground('[pieces.FRONT]\nmake = "pair"\n')
    assert told.piece("front").make is Make.PAIR


def test_zones_drawn_in_a_piece_or_over_it_on_layers_with_a_role_are_what_they_say():
    document = pattern(sizes=("S",))
    square = [(5, 5), (9, 5), (9, 9), (5, 9)]
    document.blocks.get("FRONT-S").add_polyline2d(
        square, dxfattribs={"layer": "ZONE_LEAF"}, close=True
    )
    space = document.modelspace()
    space.add_polyline2d(square[:2], dxfattribs={"layer": "row spine"})
    document.layers.add("zone old").off()
    space.add_polyline2d(square, dxfattribs={"layer": "zone old"}, close=True)
    space.add_circle((0, 0), 4, dxfattribs={"layer": "DOODLE"})
    drawing = read(document)
    [leaf], [spine] = shapes(drawing, "ZONE_LEAF"), shapes(drawing, "row spine")
    box = path_box(leaf.area.outline)
    assert box[2] - box[0] == pytest.approx(box[3] - box[1])
    assert spine.path.start[0] == pytest.approx(box[0])
    assert shapes(drawing, "zone old") == []
    messages = {p.code: p.message for p in drawing.problems}
    assert "DOODLE" in messages["outside-pieces"]
    assert "spine" not in messages["outside-pieces"]
    assert "zone old" in messages["layer-hidden"]


def test_what_is_drawn_over_pieces_that_lie_on_each_other_is_left_out_by_name():
    document = pattern(sizes=("S",), straps=True)
    document.modelspace().add_circle((3, 3), 1, dxfattribs={"layer": "zone dot"})
    messages = {p.code: p.message for p in read(document).problems}
    assert "zone dot" in messages["outside-pieces"]
