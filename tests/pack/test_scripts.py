"""The whole way with names in other scripts: from the job to the labels on the cloth."""

import csv
import math

import pypdfium2
import pytest
from letter_fonts import font_bytes
from shapely import MultiPoint, Polygon
from shapely.ops import unary_union

from templater.geometry.flatten import flatten
from templater.geometry.moves import moved_path
from templater.lettering import text_outlines, text_width_mm, using_font
from templater.model.curves import Transform
from templater.model.problems import Refused, Severity
from templater.model.sheets import Anchor, Lettering
from templater.session import check_pack, make

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="160mm" height="120mm" viewBox="0 0 160 120">
<g data-name="piece {piece}"><path d="M10 10H150V110H10Z"/></g>
<g data-name="zone {zone}"><path d="M30 25C70 15 120 30 100 70C80 90 40 80 30 50Z"/></g>
<g data-name="edge {edge}"><path d="M10 10V110"/></g>
</svg>"""
JOB = """name = "{name}"
drawing = "d.svg"
[pieces."{piece}"]
make = "pair"
[zones."{zone}"]
fabric = "{fabric}"
web = false
[stoning."{zone}"]
colour = "{colour}"
outline = false
fill = {{ style = "sprinkled", sizes = {{ ss20 = 1 }}, coverage = 0.2 }}
[templates]
formats = ["pdf", "svg", "dxf"]
kinds = ["punch"]
{font}
"""
JAPANESE = {
    "name": "海藻のレオタード",
    "piece": "前身頃",
    "zone": "海藻",
    "edge": "脇",
    "fabric": "綿サテン",
    "colour": "海緑",
}
ARABIC = {
    "name": "ثوب عشب البحر",
    "piece": "الأمام",
    "zone": "ورقة",
    "edge": "جانب",
    "fabric": "قطن لامع",
    "colour": "أخضر بحري",
}
NAMED = 'font = "letters.ttf"'


def write(folder, words, font=""):
    (folder / "d.svg").write_text(DRAWING.format(**words), "utf-8")
    (folder / "d.toml").write_text(JOB.format(**words, font=font), "utf-8")
    (folder / "letters.ttf").write_bytes(font_bytes(sorted(set("".join(JAPANESE.values())))))
    return folder / "d.toml"


@pytest.fixture(scope="module", params=[JAPANESE, ARABIC], ids=["Japanese", "Arabic"])
def made(request, tmp_path_factory):
    folder = tmp_path_factory.mktemp("pack")
    font = NAMED if request.param is JAPANESE else ""
    return make(write(folder, request.param, font)), request.param


def test_nothing_is_to_be_said_of_the_names(made):
    pack, _ = made
    told = [p for p in pack.plan.problems if p.severity is not Severity.NOTE]
    assert told == []
    assert [p for p in check_pack(pack.folder)[1] if p.severity is not Severity.NOTE] == []


def test_every_part_is_labelled_in_its_own_words(made):
    pack, words = made
    (printed,) = pack.folder.glob("appliques/3-*.pdf")
    text = pypdfium2.PdfDocument(printed)[0].get_textpage().get_text_range().split("\r\n")
    fields = [field for line in text for field in line.split(" · ")]
    for key in ("name", "piece", "zone", "fabric"):
        assert words[key] in fields, key
    with (pack.folder / "stones.csv").open(encoding="utf-8", newline="") as file:
        row = next(csv.DictReader(file))
    assert (row["zone"], row["piece"], row["colour"]) == (
        words["zone"], words["piece"], words["colour"],
    )  # fmt: skip


def test_every_stroke_of_a_label_lies_within_its_part(made):
    """The letters' own outlines: accents and signs of other scripts reach higher than capitals."""
    pack, _ = made
    letters = 0
    with using_font(pack.folder.parent / "letters.ttf"):
        for sheet in pack.plan.sheets:
            if not sheet.name.startswith("appliques/"):
                continue
            layers = {layer.name: layer.items for layer in sheet.layers}
            cut = unary_union([Polygon(flatten(item.path, 0.02)) for item in layers["cut"]])
            for label in layers["text"]:
                if not isinstance(label, Lettering) or label.anchor is not Anchor.MIDDLE:
                    continue  # the title block
                outlines = placed_outlines(label)
                ink = MultiPoint([p for path in outlines for p in flatten(path, 0.05)])
                assert cut.covers(ink), (sheet.name, label)
                letters += len(outlines)
    assert letters > 200


def placed_outlines(label):
    turn = math.radians(label.turn_deg)
    cos, sin = math.cos(turn), math.sin(turn)
    back = Transform(e=-text_width_mm(label.text, label.height_mm) / 2.0)
    move = back.then(Transform(cos, sin, -sin, cos, *label.at))
    return [moved_path(path, move) for path in text_outlines(label.text, label.height_mm)]


def test_files_have_names_that_every_system_can_keep(made):
    """Those for machines in plain letters; none with what Windows forbids, or over 255 bytes."""
    pack, words = made
    plain = {name for name in pack.files if name.isascii() and name.isprintable()}
    swatches = {f"swatches/{words['zone']}.{ending}" for ending in ("pdf", "svg")}
    assert set(pack.files) == plain | swatches
    assert all(not set('<>:"\\|?*') & set(name) for name in pack.files)
    assert all(len(part.encode()) < 255 for name in pack.files for part in name.split("/"))
    assert len({name.casefold() for name in pack.files}) == len(pack.files)


@pytest.mark.usefixtures("no_fonts")
def test_letters_that_no_font_has_are_told_of_once_and_drawn_as_boxes(tmp_path):
    pack = make(write(tmp_path, JAPANESE))
    (told,) = (p for p in pack.plan.problems if p.code == "letter-missing")
    assert set("海藻前身頃") <= set(told.message)
    assert 'font = "letters.ttf"' in told.mend


def test_a_font_that_is_not_there_is_refused_with_the_name_it_may_mean(tmp_path):
    with pytest.raises(Refused) as refused:
        make(write(tmp_path, JAPANESE, 'font = "leters.ttf"'))
    (problem,) = refused.value.problems
    assert problem.code == "no-font"
    assert "letters.ttf" in problem.mend
