"""Whole drawings named in other languages, and in none: what is proposed, and that none is acted on."""

import pytest
from drawings import box, codes, disc, drawing, ground_of, line

from templater.ground.proposals import Surety, propose

PARTS = {
    "piece": box(10, 10, 110, 210),
    "leaf": box(30, 30, 90, 100),
    "tip": box(30, 120, 90, 180),
    "fold": line((10, 10), (10, 210)),
    "grain": line((60, 20), (60, 100)),
    "seam": line((110, 10), (110, 210)),
    "edge": line((10, 10), (110, 10)),
    "notch": line((110, 100), (105, 100)),
    "row": line((40, 40), (60, 70), (50, 95)),
    "dart": line((110, 150), (80, 160), (110, 170)),
    "clear": disc(50, 150, 9),
}
WANTED = ["piece", "zone", "zone", "fold", "grain", "seam", "edge", "notch", "row", "dart", "clear"]
NAMES = {
    "German": [
        "Schnittteil Vorderteil", "Blatt", "Fläche Spitze", "Umbruch", "Fadenlauf", "Seitennaht",
        "Saumkante", "Passzeichen", "Steinlinie", "Abnäher", "Druckknopf",
    ],
    "French": [
        "Patron devant", "Feuille", "Surface pointe", "Milieu devant plié", "Droit fil",
        "Couture côté", "Ourlet", "Crans", "Rang de strass", "Pince", "Bouton pression",
    ],
    "Spanish": [
        "Pieza delantera", "Hoja", "Área punta", "Doblez centro", "Hilo", "Costura lateral",
        "Dobladillo", "Piquetes", "Fila de piedras", "Pinza", "Broche",
    ],
    "Japanese": [
        "前身頃 型紙", "葉", "先 模様", "わ", "地の目", "脇縫い線", "裾線", "合印", "石の列",
        "ダーツ", "スナップ",
    ],
}  # fmt: skip
NOTHING_SAID = ["Layer 1 copy 3", "Untitled", "ttt", "Guides", "x", "_0", "Defpoints", "🌿", "Path 12",
                "", "Text"]  # fmt: skip


def layers(names):
    return {name: [part] for name, part in zip(names, PARTS.values(), strict=True)}


@pytest.mark.parametrize("language", NAMES)
def test_a_drawing_named_in_another_language(language):
    names = NAMES[language]
    found = {p.layer: p for p in propose(drawing(layers(names)), {})}
    assert [str(found[name].role) for name in names] == WANTED
    spoken = [p for p in found.values() if f"in {language}" in p.why]
    assert len(spoken) >= 9
    assert found[names[1]].surety is Surety.LIKELY  # the leaf has a name of its own: shapes speak


@pytest.mark.parametrize("names", [*NAMES.values(), NOTHING_SAID], ids=[*NAMES, "no language"])
def test_none_is_acted_on(names):
    ground, problems = ground_of(layers(names))
    assert ground.zones == ()
    assert all(piece.area is None for piece in ground.pieces)
    assert codes(problems).count("unused-layer") == len(names)
    assert "no-zones" in codes(problems)


def test_names_that_say_nothing_leave_the_word_to_shapes_and_never_sure():
    found = {p.layer: p for p in propose(drawing(layers(NOTHING_SAID)), {})}
    assert Surety.VERY_LIKELY not in {p.surety for p in found.values()}
    assert str(found["Layer 1 copy 3"].role) == "piece"
    assert [str(found[name].role) for name in ("Untitled", "ttt", "")] == ["zone", "zone", "dart"]
