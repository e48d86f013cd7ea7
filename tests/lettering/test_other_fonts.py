"""Letters the shipped font lacks: looked for in a named font, then in the system's."""

import sys
from pathlib import Path

import pytest
from letter_fonts import CONJUNCT, KANJI, collection_bytes, font_bytes

from templater.geometry.measure import join_boxes, path_box, signed_path_area
from templater.lettering import (
    fallback,
    missing_letters,
    shown_text,
    text_outlines,
    text_width_mm,
    using_font,
)
from templater.lettering.faces import faces_of
from templater.lettering.font import bundled, font_size_mm
from templater.lettering.shaping import shape
from templater.lettering.system_fonts import font_files, font_folders, liking, system_faces

pytestmark = pytest.mark.usefixtures("no_fonts")


@pytest.fixture
def font(tmp_path):
    """Writes a font and gives its path."""

    def write(letters, name="letters.ttf", **how):
        path = tmp_path / name
        path.write_bytes(font_bytes(letters, **how))
        return path

    return write


@pytest.mark.parametrize("cff", [False, True], ids=["TrueType", "PostScript"])
def test_a_named_font_gives_the_letters_ours_lacks(font, cff):
    assert missing_letters("海藻 a") == ("海", "藻")
    with using_font(font(KANJI, cff=cff)) as problems:
        assert problems == ()
        assert missing_letters("海藻 a") == ()
        assert shown_text("海藻 a") == "海藻 a"
        first, second = text_outlines("海藻", 3.5)
        em = font_size_mm(3.5)
        assert path_box(first) == pytest.approx((0.05 * em, 0.0, 0.45 * em, 0.71 * em))
        assert path_box(second) == pytest.approx((0.56 * em, 0.0, 0.96 * em, 0.72 * em))
        assert signed_path_area(first) == pytest.approx(0.4 * 0.71 * em * em)
        assert text_width_mm("海藻", 3.5) == pytest.approx((0.51 + 0.52) * em)
    assert missing_letters("海藻 a") == ("海", "藻")


def test_ours_comes_first_and_words_are_set_in_one_font(font):
    with using_font(font(KANJI + "aé2")):
        families = [[f.family for f in shape(t).faces] for t in ("a é 2", "a 海 2", "海a é")]
    assert families == [["DejaVu Sans"], ["DejaVu Sans", "Test Sans"], ["DejaVu Sans", "Test Sans"]]
    with using_font(font(KANJI + "aé2")):
        assert [g.face.family for g in shape("2海 2").glyphs] == [
            "Test Sans", "Test Sans", "DejaVu Sans", "DejaVu Sans",
        ]  # fmt: skip


def test_every_face_of_a_collection_is_asked(tmp_path):
    path = tmp_path / "both.ttc"
    path.write_bytes(collection_bytes(font_bytes("海"), font_bytes("藻", family="Other")))
    with using_font(path) as problems:
        assert problems == ()
        assert missing_letters("海藻漢") == ("漢",)
        assert [face.family for face in shape("海藻").faces] == ["Test Sans", "Other"]


def test_a_letter_without_an_outline_is_not_there(font):
    with using_font(font(KANJI, blank="藻")):
        assert missing_letters("海藻") == ("藻",)


def test_pictures_of_letters_are_no_letters(tmp_path):
    from fontTools.ttLib import TTFont

    path = tmp_path / "colour.ttf"
    path.write_bytes(font_bytes("\U0001faa1"))
    bare = TTFont(path)
    for table in ("glyf", "loca"):  # as fonts of coloured bitmaps have it
        del bare[table]
    bare.save(path)
    assert faces_of(path) == ()
    assert missing_letters("\U0001f600 \U0001faa1") == ("\U0001faa1",)  # ours has a smiling face


@pytest.mark.parametrize(
    ("embed", "usable"), [(0, True), (4, True), (8, True), (2, False), (0x104, False)]
)
def test_fonts_that_no_document_may_carry_are_refused(font, embed, usable):
    """OpenType, OS/2 fsType: bit 1 alone forbids embedding, bit 8 embedding of single letters."""
    with using_font(font("海", embed=embed)) as problems:
        assert (missing_letters("海") == ()) is usable
        assert [p.code for p in problems] == ([] if usable else ["font-unusable"])
        assert all("no document may carry" in p.message for p in problems)


def test_files_that_are_no_fonts_are_told_by_name(tmp_path):
    for name, data in (("notes.ttf", b"no font at all"), ("empty.otf", b"")):
        (tmp_path / name).write_bytes(data)
        with using_font(tmp_path / name) as (problem,):
            assert problem.code == "font-unusable"
            assert name in problem.message
            assert ".ttf, .otf or .ttc" in problem.mend
    with using_font(tmp_path / "gone.ttf") as (problem,):
        assert "cannot be read" in problem.message


def test_devanagari_joins_consonants_and_moves_the_sign_for_i(font):
    """क्ष is one sign; in कि the vowel is written second and drawn first (Unicode Standard, 12.1)."""
    path = font("\u0915\u0937\u094d\u093f", rules=CONJUNCT, more=["ksha"])
    with using_font(path):
        assert len(shape("क्ष").glyphs) == 1
        assert text_width_mm("क्ष", 1.0) < text_width_mm("क", 1.0) + text_width_mm("ष", 1.0)
        (vowel, consonant) = shape("कि").glyphs
        assert vowel.number == vowel.face.glyph("\u093f")
        assert consonant.number == consonant.face.glyph("\u0915")


def test_thai_marks_stand_on_their_consonant(font):
    """น้ำ: the mark of am is set before the tone, both on the consonant (Unicode Standard, 16.1)."""
    with using_font(font("\u0e19\u0e49\u0e33\u0e4d\u0e32")):
        glyphs = shape("น้ำ").glyphs
        letters = [chr(c) for g in glyphs for c in (0xE19, 0xE49, 0xE4D, 0xE32)
                   if g.face.glyph(chr(c)) == g.number]  # fmt: skip
        assert letters == ["\u0e19", "\u0e4d", "\u0e49", "\u0e32"]
        assert text_width_mm("น้ำ", 1.0) == pytest.approx(text_width_mm("นา", 1.0))


def test_the_environment_may_name_fonts(font, monkeypatch):
    path = font("海")
    monkeypatch.undo()
    monkeypatch.setenv(fallback.FONT_VARIABLE, str(path))
    fallback._everywhere.cache_clear()
    try:
        assert missing_letters("海") == ()
        assert shape("海").faces[0].family == "Test Sans"
    finally:
        fallback._everywhere.cache_clear()


def test_fonts_of_the_system_are_asked_sans_serif_upright_and_regular_first(tmp_path):
    for family, name in (("B Serif", "1"), ("A Plain", "2"), ("C Sans", "3"), ("A Mono", "4")):
        (tmp_path / f"{name}.ttf").write_bytes(font_bytes("海", family=family))
    found = [(face, path) for path in font_files((tmp_path,)) for face in faces_of(path)]
    found.sort(key=lambda entry: liking(*entry))
    assert [face.family for face, _ in found] == ["C Sans", "A Plain", "A Mono", "B Serif"]


def test_font_files_are_found_in_folders_below_each_once_and_in_order(tmp_path):
    for name in ("b/z.otf", "b/a.TTF", "a/c/x.ttc", "readme.txt"):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"")
    found = list(font_files((tmp_path / "b", tmp_path, tmp_path / "none")))
    names = [path.relative_to(tmp_path).as_posix() for path in found]
    assert names == ["b/a.TTF", "b/z.otf", "a/c/x.ttc"]


@pytest.mark.parametrize(
    ("platform", "wanted"),
    [
        ("linux", {"/usr/share/fonts", "/usr/local/share/fonts"}),
        ("darwin", {"/Library/Fonts", "/System/Library/Fonts"}),
        ("win32", {"Z:\\Windows/Fonts"}),
    ],
)
def test_each_system_keeps_its_fonts_where_its_makers_say(monkeypatch, platform, wanted):
    """XDG base directories, the XDG default of fontconfig, and the two vendors' own folders."""
    monkeypatch.setattr(sys, "platform", platform)
    monkeypatch.setenv("WINDIR", "Z:\\Windows")
    monkeypatch.delenv("XDG_DATA_DIRS", raising=False)
    folders = {str(folder) for folder in font_folders()}
    assert wanted <= folders
    assert any(str(Path.home()) in folder for folder in folders)


def test_a_real_font_of_this_system_serves_where_there_is_one():
    faces = [face for face in system_faces() if face.has("あ") or face.has("अ") or face.has("ก")]
    if not faces:
        pytest.skip("no font for Japanese, Devanagari or Thai is installed here")
    letter = next(c for c in "あअก" if faces[0].has(c))
    boxes = [path_box(path) for path in faces[0].outlines(faces[0].glyph(letter))]
    low, high = join_boxes(boxes)[1], join_boxes(boxes)[3]
    assert 0.2 < (high - low) / faces[0].units_per_em < 1.4
    assert not bundled().has(letter)


def test_what_cannot_be_seen_takes_no_room():
    assert text_width_mm("\u00ad", 5.0) == 0.0
    assert text_width_mm("kelp\u00ad", 5.0) == text_width_mm("kelp", 5.0)
