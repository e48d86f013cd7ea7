"""Where all lies on one layer, colours tell what is what: proposed, said in the job, acted on."""

import io
import json
import pathlib
import tomllib

import ezdxf
import pytest
from drawings import codes

from templater.geometry.measure import area_mm2, path_length
from templater.ground import build_ground
from templater.ground.colour_parts import colour_word
from templater.ground.proposals import Surety, propose
from templater.ground.start import start_text
from templater.ground.survey import survey
from templater.ground.survey_sheet import survey_sheet
from templater.job import load_job
from templater.model.roles import Role
from templater.model.sheets import Lettering
from templater.reading import read_drawing

SAMPLE = pathlib.Path(__file__).parents[2] / "samples" / "kelp-front.dxf"
HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="300mm" viewBox="0 0 200 300">'
PIECE = '<path d="M10 10h100v200h-100z" fill="none" stroke="#000"/>'
FROND = '<path d="M30 30h50v60h-50z" fill="#0a8"/>'
TIP = '<path d="M30 120h50v60h-50z" fill="red"/>'
SPOT = '<circle cx="50" cy="150" r="5" fill="none" stroke="blue"/>'
SPINE = '<path d="M20 20C30 90 10 150 25 200" fill="none" stroke="#c0c"/>'
ALL = PIECE + FROND + TIP + SPOT + SPINE
WANTED = {
    "Layer 1 #000000": "piece black",
    "Layer 1 #00aa88": "zone turquoise",
    "Layer 1 #ff0000": "zone red",
    "Layer 1 #0000ff": "clear blue",
    "Layer 1 #cc00cc": "row pink",
}


def drawing(body=ALL, layer="Layer_x20_1"):
    return read_drawing(f'{HEAD}<g id="{layer}">{body}</g></svg>'.encode(), "test.svg")


def ground_of(read, layers):
    rows = "\n".join(f"{json.dumps(key)} = {json.dumps(role)}" for key, role in layers.items())
    job, problems = load_job(f'drawing = "test.svg"\n[layers]\n{rows}', "test.toml")
    assert job is not None, problems
    return build_ground(read, job)


def test_each_colour_of_one_layer_is_proposed_for_what_it_may_be():
    found = propose(drawing(), {})
    assert {p.layer: p.target for p in found} == WANTED
    assert {p.drawn_on for p in found} == {"Layer 1"}
    assert {p.layer: p.surety for p in found}["Layer 1 #00aa88"] is Surety.LIKELY


def test_colours_that_the_job_names_are_layers_of_their_own():
    ground, problems = ground_of(drawing(), WANTED)
    assert [piece.name for piece in ground.pieces] == ["black"]
    assert [zone.name for zone in ground.zones] == ["turquoise", "red"]
    assert [row.name for row in ground.rows] == ["pink"]
    assert "unused-layer" not in codes(problems)


def test_nothing_is_acted_on_unasked_and_colours_left_out_are_told():
    ground, problems = ground_of(drawing(), {"Layer 1 #FF0000": "zone tip"})
    assert [zone.name for zone in ground.zones] == ["tip"]
    unused = {p.source.layer for p in problems if p.code == "unused-layer"}
    assert unused == {*WANTED} - {"Layer 1 #ff0000"}
    ground, problems = ground_of(drawing(), {})
    assert ground.zones == ()
    [unused] = [p for p in problems if p.code == "unused-layer"]
    assert unused.source.layer == "Layer 1"
    assert '"Layer 1 #ff0000" = "zone red"' in unused.mend
    assert "1 more colour" in unused.mend


def test_the_rest_keeps_the_role_that_the_layer_has():
    said = {"Layer 1": "piece front", "Layer 1 #00aa88": "zone frond"}
    ground, problems = ground_of(drawing(PIECE + FROND), said)
    assert [piece.name for piece in ground.pieces] == ["front"]
    assert [zone.name for zone in ground.zones] == ["frond"]
    ground, _ = ground_of(drawing(FROND + TIP, "zone leaf"), {"zone leaf #ff0000": "zone tip"})
    assert [zone.name for zone in ground.zones] == ["leaf", "tip"]
    assert not {"unknown-layer", "unused-layer"} & {*codes(problems)}


def test_what_lies_on_no_layer_is_named_by_its_colour_alone():
    read = read_drawing(f"{HEAD}{PIECE}{TIP}</svg>".encode(), "test.svg")
    assert [p.setting for p in propose(read, {})] == [
        '"#000000" = "piece black"',
        '"#ff0000" = "zone red"',
    ]
    ground, _ = ground_of(read, {"#000000": "piece front", "#ff0000": "zone tip"})
    assert [zone.name for zone in ground.zones] == ["tip"]


@pytest.mark.parametrize("body", [PIECE + FROND + TIP, f"{TIP}{FROND}<text>a</text>"])
def test_a_layer_whose_name_speaks_is_not_parted(body):
    read = drawing(f'<g id="Fläche_x20_Blatt">{body}</g>')
    assert [p.layer for p in propose(read, {})] == ["Fläche Blatt"]


def test_neither_colours_of_texts_nor_of_mere_lines_part_a_layer():
    text = '<text x="5" y="5" fill="#00f">front</text>'
    lines = '<path d="M0 0h9" stroke="#f00"/><path d="M0 9h9" stroke="#00f"/>'
    assert [p.layer for p in propose(drawing(TIP + text), {})] == ["Layer 1"]
    assert {p.layer for p in propose(drawing(PIECE, "a"), {})} == {"a"}
    assert not any("#" in p.layer for p in propose(drawing(lines), {}))


def test_two_reds_are_not_proposed_as_one_zone():
    other = '<path d="M30 120h50v60h-50z" fill="#f01010"/>'
    found = [p.target for p in propose(drawing(PIECE + TIP + other), {}) if p.role is Role.ZONE]
    assert found == ["zone layer-1-ff0000", "zone layer-1-f01010"]


def test_a_layer_that_the_drawing_has_not_is_told():
    _, problems = ground_of(drawing(), {**WANTED, "Layer 1 #ff0001": "zone tip", "moss": "low"})
    near, far = (p for p in problems if p.code == "unknown-layer")
    assert near.mend == 'Did you mean "Layer 1 #ff0000"?'
    assert '"Layer 1"' in far.mend


def test_the_length_measured_may_be_that_of_one_colour():
    job, _ = load_job(
        'drawing = "test.svg"\nmeasured = { layer = "Layer 1 #ff0000", length = 440 }\n'
        '[layers]\n"Layer 1 #ff0000" = "zone tip"',
        "test.toml",
    )
    ground, _ = build_ground(drawing(), job)
    outline = ground.zones[0].regions[0].area.outline
    assert {round(s.start[0], 6) for s in outline.segments} == {60.0, 160.0}


def test_start_writes_each_colour_as_a_comment_that_can_be_accepted():
    read = drawing()
    ground, problems = ground_of(read, {})
    text = start_text(survey(read, ground, problems), "test.svg", ("packed",))
    assert tomllib.loads(text)["layers"] == {}
    rows = [row.removeprefix("# ") for row in text.splitlines() if row.startswith('# "Layer 1 #')]
    assert tomllib.loads("[layers]\n" + "\n".join(rows))["layers"] == WANTED
    assert "named as the layer, then the colour" in text


@pytest.mark.parametrize(
    ("colour", "word"),
    [
        ("#ff0000", "red"), ("#ffa0a0", "pink"), ("#ff8000", "orange"), ("#8b4513", "brown"),
        ("#ffff00", "yellow"), ("#008000", "green"), ("#00ffff", "turquoise"),
        ("#0000ff", "blue"), ("#8000ff", "violet"), ("#ff00c0", "pink"), ("#000000", "black"),
        ("#ffffff", "white"), ("#808080", "grey"), ("", "plain"),
    ],
)  # fmt: skip
def test_colours_have_the_names_people_give_them(colour, word):
    assert colour_word(colour) == word


def test_the_picture_tints_each_colour_and_leaves_black_alone():
    read = drawing()
    ground, problems = ground_of(read, {})
    sheet = survey_sheet(read, survey(read, ground, problems))
    fills = [item.colour for x in sheet.layers if x.name == "filled" for item in x.items]
    assert fills == ["#c0eae2", "#ffc0c0", "#c0c0ff"]
    words = {item.text for x in sheet.layers for item in x.items if isinstance(item, Lettering)}
    assert '"Layer 1 #ff0000": likely zone' in words


def test_a_drawing_all_on_one_layer_means_what_it_meant_on_its_own_layers():
    """The sample, its layers made colours of layer 0: pieces, zones, rows and marks are the same."""
    document = ezdxf.readfile(SAMPLE)
    layers = list(dict.fromkeys(entity.dxf.layer for entity in document.modelspace()))
    said = {}
    for entity in document.modelspace():
        number = layers.index(entity.dxf.layer) + 1
        said[f"0 #{number:02x}4080"] = entity.dxf.layer
        entity.dxf.true_color = number * 0x10000 + 0x4080
        entity.dxf.layer = "0"
    stream = io.StringIO()
    document.write(stream)
    one_layer = read_drawing(stream.getvalue().encode(), "one.dxf")
    assert [layer.name for layer in one_layer.layers] == ["0"]
    ground, problems = ground_of(one_layer, said)
    as_drawn, expected = ground_of(read_drawing(SAMPLE.read_bytes(), "one.dxf"), {})
    assert sorted(codes(problems)) == sorted(codes(expected))
    assert meaning(ground) == meaning(as_drawn)
    assert len(ground.zones) == 3


def meaning(ground):
    return {
        "pieces": {p.name: (round(area_mm2(p.area), 3), p.fold is None) for p in ground.pieces},
        "zones": {z.name: round(sum(area_mm2(r.area) for r in z.regions), 3) for z in ground.zones},
        "rows": {row.name: round(path_length(row.path), 3) for row in ground.rows},
        "clear": len(ground.keep_clear),
        "lows": len(ground.lows),
        "references": sorted(r.name for r in ground.references),
    }
