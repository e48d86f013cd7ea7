"""What layers without role words may be: by name, by shape, by place; sure or not; never acted on."""

import tomllib

import pytest
from drawings import box, codes, disc, drawing, ground_of, line
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.catalogue.role_words import LANGUAGES, roles_named
from templater.catalogue.tables import table
from templater.geometry.moves import moved_area, moved_path
from templater.ground.proposals import Surety, propose
from templater.ground.start import start_text
from templater.ground.survey import survey
from templater.model.curves import Area, Path, Transform
from templater.model.roles import Role

PIECE = box(10, 10, 110, 210)
LEAF = box(30, 30, 90, 100)
TIP = box(30, 120, 90, 180)
UNNAMED = {
    "Ebene 1": [PIECE],
    "Ebene 2": [LEAF],
    "Ebene 3": [TIP],
    "Ebene 4": [line((10, 10), (10, 210))],
    "Ebene 5": [line((110, 100), (105, 100)), line((110, 120), (105, 120))],
    "Ebene 6": [line((40, 40), (60, 70), (50, 95), (70, 98))],
    "Ebene 7": [disc(50, 50, 2), disc(60, 50, 2)],
    "Ebene 8": [disc(50, 130, 10)],
    "Ebene 9": [line((110, 150), (80, 160), (110, 170))],
    "Ebene 10": [line((100, 60), (100, 140))],
    "Ebene 11": [(110.0, 30.0)],
    "Ebene 12": [(20.0, 20.0), (25.0, 200.0)],
    "Ebene 13": [line((110, 10), (60, 10), (30, 10), (10, 10), (10, 60))],
}
WANTED = {
    "Ebene 1": "piece ebene-1",
    "Ebene 2": "zone ebene-2",
    "Ebene 3": "zone ebene-3",
    "Ebene 4": "fold",
    "Ebene 5": "notch ebene-5",
    "Ebene 6": "row ebene-6",
    "Ebene 7": "drill ebene-7",
    "Ebene 8": "clear ebene-8",
    "Ebene 9": "dart ebene-9",
    "Ebene 10": "grain",
    "Ebene 11": "notch ebene-11",
    "Ebene 12": "drill ebene-12",
    "Ebene 13": "seam ebene-13",
}


def proposed(layers, overrides=None):
    return {p.layer: p for p in propose(drawing(layers), overrides or {})}


def test_shapes_and_places_alone_give_the_roles():
    assert {layer: p.target for layer, p in proposed(UNNAMED).items()} == WANTED


def test_each_says_how_sure_it_is_and_why():
    found = proposed(UNNAMED)
    assert found["Ebene 1"].surety is Surety.LIKELY
    assert found["Ebene 2"].why == 'likely: closed, inside "Ebene 1"'
    assert found["Ebene 8"].surety is Surety.PERHAPS
    assert "10.0 mm" in found["Ebene 8"].why
    assert found["Ebene 13"].surety is Surety.PERHAPS
    assert all(p.reasons for p in found.values())


@pytest.mark.parametrize(
    ("name", "items", "target"),
    [
        ("Fläche Blatt", [LEAF], "zone blatt"),
        ("Flaeche_Blatt", [LEAF], "zone blatt"),
        ("Area leaf", [LEAF], "zone leaf"),
        ("zone-feuille", [LEAF], None),  # a role word needs no proposal
        ("Surface feuille", [LEAF], "zone feuille"),
        ("Relleno hoja", [LEAF], "zone hoja"),
        ("Motivo foglia", [LEAF], "zone foglia"),
        ("Vlak blad", [LEAF], "zone blad"),
        ("Obszar liść", [LEAF], "zone liść"),
        ("Umriss", [PIECE], "piece umriss"),
        ("Contour devant", [PIECE], "piece devant"),
        ("Obrys przód", [PIECE], "piece przód"),
        ("Stoffbruch", [line((10, 10), (10, 210))], "fold"),
        ("Pliure", [line((10, 10), (10, 210))], "fold"),
        ("Doblez", [line((10, 10), (10, 210))], "fold"),
        ("Środek przodu", [line((10, 10), (10, 210))], "fold"),
        ("Seitennaht", [line((110, 10), (110, 210))], "seam seitennaht"),
        ("Couture côté", [line((110, 10), (110, 210))], "seam côté"),
        ("Naad", [line((110, 10), (110, 210))], "seam naad"),
        ("Costura lateral", [line((110, 10), (110, 210))], "seam lateral"),
        ("Fadenlauf", [line((50, 20), (50, 100))], "grain"),
        ("droit-fil", [line((50, 20), (50, 100))], "grain"),
        ("Drittofilo", [line((50, 20), (50, 100))], "grain"),
        ("Saum", [line((10, 10), (110, 10))], "edge saum"),
        ("Encolure", [line((10, 210), (110, 210))], "edge encolure"),
        ("Abnäher", [line((110, 50), (80, 60), (110, 70))], "dart abnäher"),
        ("Pinces", [line((110, 50), (80, 60), (110, 70))], "dart pinces"),
        ("Zatrzask", [disc(50, 50, 9)], "clear zatrzask"),
        ("Druckknöpfe", [disc(50, 50, 9)], "clear druckknöpfe"),
        ("Knipse", [line((110, 100), (105, 100))], "notch knipse"),
        ("Steinreihe Mitte", [line((20, 20), (40, 90), (50, 200))], "row mitte"),
        ("zoen tip", [LEAF], "zone tip"),
    ],
)
def test_names_in_several_languages(name, items, target):
    layers = {"piece front": [PIECE]} if items != [PIECE] else {"zone leaf": [LEAF]}
    found = proposed({**layers, name: items})
    assert (found[name].target if name in found else None) == target


def test_a_word_and_shapes_that_agree_are_surer_than_either():
    found = proposed({"Umriss": [PIECE], "Fläche Blatt": [LEAF], "Ebene 3": [TIP]})
    assert found["Umriss"].surety is Surety.VERY_LIKELY
    assert found["Fläche Blatt"].surety is Surety.VERY_LIKELY
    assert found["Ebene 3"].surety is Surety.LIKELY


def test_a_word_whose_role_the_shapes_cannot_have_gives_way():
    found = proposed({"piece front": [PIECE], "Fläche": [line((110, 100), (105, 100))]})
    assert found["Fläche"].role is Role.NOTCH
    lone = proposed({"Fläche": [line((0, 0), (30, 50), (60, 0))]})["Fläche"]
    assert (lone.role, lone.surety) == (Role.ZONE, Surety.PERHAPS)
    assert "but an open line" in lone.why


def test_short_words_are_not_found_inside_others():
    assert [word.role for word in roles_named("Grosszügig")] == []
    assert [word.role for word in roles_named("Schnittteile")] == [Role.PIECE]


def test_two_straight_edges_make_neither_a_likely_fold():
    sides = {"a": [line((10, 10), (10, 210))], "b": [line((110, 10), (110, 210))]}
    found = proposed({"piece front": [PIECE], **sides})
    assert {found[layer].surety for layer in sides} == {Surety.PERHAPS}


def test_a_line_about_which_the_piece_mirrors_is_the_fold():
    found = proposed({"piece front": [PIECE], "m": [line((60, 0), (60, 220))]})
    assert (found["m"].role, found["m"].surety) == (Role.FOLD, Surety.LIKELY)


def test_a_layer_that_holds_outlines_within_one_another_is_no_sure_thing():
    found = proposed({"Layer 1": [PIECE, LEAF, TIP]})
    assert found["Layer 1"].surety is Surety.PERHAPS
    assert "layers of their own" in found["Layer 1"].why


def test_two_pieces_on_one_layer_are_no_sure_thing():
    found = proposed({"a": [PIECE, box(200, 10, 300, 210)], "b": [LEAF]})
    assert (found["a"].role, found["a"].surety) == (Role.PIECE, Surety.PERHAPS)


def test_two_layers_are_never_proposed_as_one_zone():
    found = proposed({"piece p": [PIECE], "Fläche Blatt": [LEAF], "Area Blatt": [TIP]})
    assert len({p.target for p in found.values()}) == 2
    taken = proposed({"piece p": [PIECE], "zone blatt": [LEAF], "Fläche Blatt": [TIP]})
    assert taken["Fläche Blatt"].target != "zone blatt"


def test_what_the_job_has_said_already_is_not_proposed_again():
    said = {layer: WANTED[layer] for layer in UNNAMED if layer != "Ebene 2"}
    assert {k: p.target for k, p in proposed(UNNAMED, said).items()} == {"Ebene 2": "zone ebene-2"}


MOVES = st.builds(
    lambda turn, mirrored, x, y: _similar(turn, mirrored=mirrored, x=x, y=y),
    st.floats(0.0, 6.283),
    st.booleans(),
    st.floats(-500, 500),
    st.floats(-500, 500),
)


def _similar(turn: float, *, mirrored: bool, x: float, y: float) -> Transform:
    import math

    c, s = math.cos(turn), math.sin(turn)
    turned = Transform(c, s, -s, c, x, y)
    return Transform(a=-1.0).then(turned) if mirrored else turned


def _moved(item, move):
    if isinstance(item, Area):
        return moved_area(item, move)
    return moved_path(item, move) if isinstance(item, Path) else move.apply(item)


@given(move=MOVES, order=st.permutations(list(UNNAMED)))
@settings(max_examples=25, deadline=None)
def test_neither_place_nor_turn_nor_mirror_nor_order_matters(move, order):
    layers = {name: [_moved(item, move) for item in UNNAMED[name]] for name in order}
    found = proposed(layers)
    assert {layer: p.target for layer, p in found.items()} == WANTED
    assert list(found) == order
    plain = proposed(UNNAMED)
    assert {layer: p.why for layer, p in found.items()} == {k: p.why for k, p in plain.items()}


def test_nothing_is_acted_on_unasked():
    ground, problems = ground_of(UNNAMED)
    assert ground.zones == ()
    assert "no-zones" in codes(problems)
    no_zones = next(problem for problem in problems if problem.code == "no-zones")
    assert '"Ebene 2" = "zone ebene-2"' in no_zones.mend
    unused = next(p for p in problems if p.source is not None and p.source.layer == "Ebene 3")
    assert '"Ebene 3" = "zone ebene-3"' in unused.mend


def test_the_job_that_start_writes_holds_every_proposal_as_a_comment():
    ground, problems = ground_of(UNNAMED)
    text = start_text(survey(drawing(UNNAMED), ground, problems), "front.svg", ("packed",))
    job = tomllib.loads(text)
    assert job["layers"] == {}
    assert "stoning" not in job
    for layer, target in WANTED.items():
        (row,) = [row for row in text.splitlines() if row.startswith(f'# "{layer}" ')]
        accepted = tomllib.loads(f"[layers]\n{row.removeprefix('# ')}")
        assert accepted["layers"] == {layer: target}
        assert "   # " in row


def test_every_word_of_the_table_is_found_in_its_language_and_role():
    seen = 0
    for role, languages in table("role_words").items():
        for language, words in languages.items():
            assert language in LANGUAGES
            for word in words:
                found = {w.role: w for w in roles_named(word.upper())}
                assert found[Role(role)].whole, word
                seen += 1
    assert seen > 300
