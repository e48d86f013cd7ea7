"""The bench book says what the plan says: every number is read back from the page and the paper."""

from __future__ import annotations

import json
import re
from collections import Counter
from dataclasses import replace

import pypdfium2
import pytest
from writing_samples import small_plan

from templater.counting import materials, work
from templater.lettering import text_width_mm
from templater.model.ground import Make, Side
from templater.model.plan import SWATCH_MM, Patch, ShoppingLine, TrayLine, ZoneCount
from templater.model.plan_file import load_plan
from templater.model.stones import Figures, Setting
from templater.writing import book_facts
from templater.writing.book_data import book_data, book_json
from templater.writing.book_flow import wrapped
from templater.writing.book_page import book_html
from templater.writing.book_pdf import book_pdf
from templater.writing.book_shapes import patch_outlines
from templater.writing.book_swatches import swatch_sheets
from templater.writing.book_trays import tray_letter, trays_of
from templater.writing.book_words import book_words, hours_words

A4, LETTER = (210.0, 297.0), (215.9, 279.4)


@pytest.fixture(scope="module")
def plan(demo_pack):
    return load_plan((demo_pack / "plan.json").read_bytes())


@pytest.fixture(scope="module")
def page(demo_pack):
    text = (demo_pack / "book.html").read_text("utf-8")
    held = re.search(r'<script type="application/json" id="data">(.*?)</script>', text, re.DOTALL)
    return json.loads(held[1])


@pytest.fixture(scope="module")
def paper(demo_pack):
    """The words of each page, blanks and line ends alike."""
    book = pypdfium2.PdfDocument(demo_pack / "book.pdf")
    return [" ".join(one.get_textpage().get_text_range().split()) for one in book]


def with_patches(plan):
    """A small plan whose stones lie in a patch a side."""
    patches, zone = [], ZoneCount("frond", len(plan.stones), 1.2, 0.3, 9)
    for side in (Side.LEFT, Side.RIGHT):
        own = [s for s in plan.stones if s.side is side]
        tray = Counter((s.size, s.colour, s.finish) for s in own)
        middle = (sum(s.x_mm for s in own) / len(own), sum(s.y_mm for s in own) / len(own))
        patches.append(
            Patch(f"frond-{side}-1", "frond", "front", side, 1, tuple(s.id for s in own),
                  tuple(TrayLine(*key, n) for key, n in tray.items()), 0.6, middle)
        )  # fmt: skip
    return replace(plan, counts=replace(plan.counts, patches=tuple(patches), zones=(zone,)))


# The page


def test_the_page_holds_every_stone_where_the_plan_has_it(plan, page):
    stones = {stone.id: stone for stone in plan.stones}
    assert len(page["ids"]) == len(stones) == len(set(page["ids"]))
    patch_of = {name: p.name for p in plan.counts.patches for name in p.stones}
    for number, name in enumerate(page["ids"]):
        stone = stones[name]
        kind, patch, zone, turn, setting, block = page["of"][6 * number : 6 * number + 6]
        x, y = page["at"][2 * number : 2 * number + 2]
        move = page["blocks"][block]["move"]
        assert (x - move[0], y - move[1]) == pytest.approx((stone.x_mm, stone.y_mm), abs=2e-4)
        look = page["kinds"][kind]
        assert (look["size"], look["colour"], look["finish"]) == (
            stone.size, stone.colour, stone.finish,
        )  # fmt: skip
        assert page["patches"][patch]["name"] == patch_of[name]
        assert page["zones"][zone]["name"] == stone.zone
        assert page["sides"][number] == stone.side.value
        assert turn == pytest.approx(stone.turn_deg, abs=1e-4)
        assert ("outline", "fill", "row")[setting] == stone.kind.value


def test_the_page_says_the_plans_numbers(plan, page):
    counts = plan.counts
    assert (page["stones"], page["minutes"], page["mass"]) == (
        len(plan.stones), counts.minutes, counts.mass_g,
    )  # fmt: skip
    assert [
        (z["name"], z["stones"], z["minutes"], z["mass"], z["most"]) for z in page["zones"]
    ] == [(z.zone, z.stones, z.minutes, z.mass_g, z.patch_stones) for z in counts.zones]
    for told, patch in zip(page["patches"], counts.patches, strict=True):
        assert (told["name"], told["number"], told["side"], told["stones"], told["minutes"]) == (
            patch.name, patch.number, patch.side.value, len(patch.stones), patch.minutes,
        )  # fmt: skip
        tray = [(*(page["kinds"][k][f] for f in ("size", "colour", "finish")), n)
                for k, n in told["tray"]]  # fmt: skip
        assert tray == [tuple(line) for line in patch.tray]
        assert sum(n for _, n in told["tray"]) == len(patch.stones)
    for told, line in zip(page["shopping"], counts.shopping, strict=True):
        cells = dict(zip(page["shopping_head"], told, strict=False))
        assert (cells["size"], cells["colour"], cells["finish"]) == (
            line.size, line.colour, line.finish,
        )  # fmt: skip
        numbers = [int(cells[name] or 0) for name in
                   ("count", "spare", "kit", "stock", "gross", "left_over")]  # fmt: skip
        assert numbers == [line.count, line.spare, line.kit, line.stock, line.gross, line.left]
        assert cells["cost"] == ("" if line.cost is None else f"{line.cost:.2f}")
    said = " ".join(page["facts"])
    for number in (f"{counts.mass_g:g} g", f"{counts.glue_ml:g} ml", f"cut: {counts.stencil_sheets}",
                   f"these {counts.film_sheets}", f"in {counts.open_minutes:g} minutes",
                   f"{counts.cost:.2f} {counts.currency}", "{} h {:02d} min".format(*divmod(round(counts.minutes), 60))):  # fmt: skip
        assert number in said


def test_the_books_constants_are_those_the_numbers_were_counted_with():
    assert book_facts.DENSITY_G_CM3 == work.DENSITY_G_CM3
    assert book_facts.GLUE_MM == materials.GLUE_MM
    assert f"{materials.LAY_SHARE:.0%}".replace("%", " %") in book_words()["facts"]["cloth"]


def test_the_page_needs_nothing_else(demo_pack):
    text = (demo_pack / "book.html").read_text("utf-8")
    skeleton = re.sub(r'<script type="application/json".*?</script>', "", text, flags=re.DOTALL)
    addresses = re.findall(r"https?://[^\s\"']+", skeleton)
    assert addresses == ["http://www.w3.org/2000/svg"]  # a name, never fetched
    assert not re.findall(r"(?:src|href)=\"(?!#|data:)", skeleton)
    assert "default-src 'none'" in skeleton


def test_the_same_plan_gives_the_same_bytes(plan, demo_pack):
    assert book_html(plan) == (demo_pack / "book.html").read_bytes()
    assert book_pdf(plan, A4, 8.0) == (demo_pack / "book.pdf").read_bytes()


def test_hostile_names_stay_text():
    name = "</script><script>alert(1)</script>%%DATA%% & \u2028 <b>"
    plan = replace(with_patches(small_plan()), name=name)
    text = book_html(plan).decode()
    assert text.count("<script") == 2
    assert text.count("</script>") == 2
    assert json.loads(book_json(plan))["name"] == name
    book_pdf(plan, A4, 8.0)


# Swatches


def test_every_stoning_has_a_swatch_whose_counts_the_book_gives(plan, page, paper, demo_pack):
    assert [one.zone for one in plan.swatches] == ["pod", "blade", "frond"]
    words = " ".join(paper)
    for one, told in zip(plan.swatches, page["swatches"], strict=True):
        assert all(0 < s.x_mm < SWATCH_MM and 0 < s.y_mm < SWATCH_MM for s in one.stones)
        counts = Counter(f"{s.size} {s.colour} {s.finish}" for s in one.stones)
        assert told[:2] == [one.zone, len(one.stones)]
        assert sorted(told[2]) == sorted(f"{n} {kind}" for kind, n in counts.items())
        assert f"{one.zone} {len(one.stones)} " in words
        sheet = (demo_pack / "swatches" / f"{one.zone}.svg").read_text("utf-8")
        assert sheet.count("<circle") == len(one.stones)
        for kind, n in counts.items():
            assert f"{n}  {kind}" in sheet
        (only,) = pypdfium2.PdfDocument(demo_pack / "swatches" / f"{one.zone}.pdf")
        assert f"{len(one.stones)} stones on 50 × 50 mm" in only.get_textpage().get_text_range()


def test_swatch_sheets_have_names_that_files_can_have():
    plan = small_plan()
    names = ["a/b", "..", "A b", "a-b", "é"]
    setting = Setting("", "swatch", (), Figures(0.0, 0.0, (), None, None))
    sheets = swatch_sheets(replace(plan, swatches=tuple(replace(setting, zone=n) for n in names)))
    assert [s.name.removeprefix("swatches/") for s in sheets] == ["a-b", "x", "a-b-3", "a-b-4", "é"]


# Patches drawn


def test_patch_outlines_hold_their_stones_and_no_others(plan):
    from shapely import Point, Polygon, unary_union

    stones = {stone.id: stone for stone in plan.stones}
    for zone in ("frond", "blade"):
        patches = [p for p in plan.counts.patches if p.zone == zone]
        rings = patch_outlines(plan)
        shapes = {
            p.name: unary_union(
                [Polygon(r) for r in rings[p.name] if Polygon(r).exterior.is_ccw]
            ).difference(
                unary_union([Polygon(r) for r in rings[p.name] if not Polygon(r).exterior.is_ccw])
            )
            for p in patches
        }
        for patch in patches:
            for name in patch.stones:
                at = Point(stones[name].x_mm, stones[name].y_mm)
                assert shapes[patch.name].distance(at) < 0.2, name
        area = sum(shape.area for shape in shapes.values())
        assert unary_union(list(shapes.values())).area > 0.985 * area, "they do not overlap"


# The paper


def test_the_paper_says_the_plans_numbers(plan, paper):
    counts = plan.counts
    trays = trays_of(plan)
    words = " ".join(paper)
    assert f"{len(plan.stones):,} stones" in paper[0]
    assert hours_words(counts.minutes) in paper[0]
    assert f"{counts.mass_g:g} g" in paper[0]
    shopping = next(text for text in paper if "Left over" in text)
    for line in counts.shopping:
        letter = trays[line.size, line.colour, line.finish].letter
        row = [letter, line.size, line.colour, line.finish, line.count, line.spare, line.kit,
               line.stock or "", line.gross]  # fmt: skip
        row += [] if line.packs is None else [line.packs, "×", line.pack_of, f"{line.cost:.2f}"]
        row.append(line.left)
        assert " ".join(str(cell) for cell in row if cell != "") in shopping
    for zone in counts.zones:
        assert f"{zone.zone} {zone.stones} {zone.minutes:g} {zone.mass_g:g} g" in words
    assert f"{counts.glue_ml:g} ml" in words
    for one in plan.passes:
        if one.kind == "stencil" and one.method != "hand":
            assert f"{one.number} / {one.of} {len(one.holes)} {one.template}" in words
    for part in plan.parts:
        assert part.fabric in words


def test_the_book_of_a_single_piece_speaks_of_no_pair(plan, page, paper):
    ground = plan.ground
    surfaces = tuple(replace(one, sides=one.sides[:1]) for one in ground.surfaces)
    single = replace(plan, ground=replace(ground, surfaces=surfaces))
    told, alone = (dict(book_facts.step_lines(one))["Cut"] for one in (plan, single))
    assert "left and right as a pair" in told
    assert told in " ".join(paper)
    assert ["Cut", told] in page["words"]["steps"]["items"]
    assert "Cut along the lines, marks and notches" in alone
    assert "pair" not in alone


def _words_of(data):
    return " ".join(one.get_textpage().get_text_range() for one in pypdfium2.PdfDocument(data))


def test_only_what_is_poured_through_stencils_is_told_to_dry(plan):
    """Passes have an order where glue or tape goes through them; a hand setter waits for nothing."""
    poured = [one for one in plan.passes if one.kind == "stencil" and one.method != "hand"]
    by_hand = [one for one in plan.passes if one.kind == "stencil" and one.method == "hand"]
    assert poured
    assert by_hand
    words = _words_of(book_pdf(plan, A4, 8.0))
    assert "let each dry" in words
    assert not any(one.template in words for one in by_hand)
    all_by_hand = replace(plan, passes=tuple(replace(one, method="hand") for one in plan.passes))
    assert "let each dry" not in _words_of(book_pdf(all_by_hand, A4, 8.0))


def test_every_patch_has_its_row_on_the_card_of_its_zone(plan, paper):
    trays = trays_of(plan)
    sides = book_words()["page"]
    for patch in plan.counts.patches:
        title = f"Patch card: {patch.zone}, {sides[patch.side.value]}"
        card = " ".join(text for text in paper if title in text)
        cells = [f"{trays[line[:3]].letter} {line.stones}" for line in patch.tray]
        row = f"{patch.number} {len(patch.stones)} {patch.minutes:g} {' '.join(cells)}"
        assert row in card, row


def test_cautions_come_before_the_first_step(paper):
    words = " ".join(paper)
    first = words.index("Order of work")
    for said in ("Solvent glue", "flames", "Hot iron", "Blades, punches", "No claim about",
                 "local fire authority", "licensed person"):  # fmt: skip
        assert 0 <= words.index(said) < first
    order = ["Swatch", "Press", "Fuse", "Cut", "Appliqué", "Seams", "Stones", "Cure", "Line"]
    places = [words.index(f"{n} {name}", first) for n, name in enumerate(order, 1)]
    assert places == sorted(places)
    assert "barrier sheet" in words


def long_names(plan):
    """The longest names a maker is likely to write."""
    colour = "very deep bottle green with a hint of petrol"
    stones = tuple(s._replace(colour=colour) for s in plan.stones)
    lines = (ShoppingLine("ss16", colour, "plain", 123456, 18519, 986, 1000, 12, 12345.67, 12, 1440,
                          143, ("ss16 another very long name of a shade plain",)),)  # fmt: skip
    plan = replace(plan, name="A name that goes on and on " * 6, stones=stones)
    return replace(with_patches(plan), counts=replace(with_patches(plan).counts, shopping=lines))


@pytest.mark.parametrize("size", [A4, LETTER], ids=["A4", "Letter"])
@pytest.mark.parametrize("which", ["demo", "pair", "long names", "bare"])
def test_nothing_is_clipped_and_no_text_lies_over_text(plan, size, which):
    plans = {
        "demo": lambda: plan,
        "pair": lambda: with_patches(small_plan(Make.PAIR)),
        "long names": lambda: long_names(small_plan()),
        "bare": lambda: replace(small_plan(), stones=(), parts=(), passes=()),
    }
    book = pypdfium2.PdfDocument(book_pdf(plans[which](), size, 8.0))
    points = 72 / 25.4
    for number, page in enumerate(book, 1):
        assert page.get_size() == pytest.approx((size[0] * points, size[1] * points), abs=0.1)
        text = page.get_textpage()
        boxes = [text.get_rect(i) for i in range(text.count_rects())]
        for left, bottom, right, top in boxes:
            assert left >= 9.5 * points, f"page {number}"
            assert right <= (size[0] - 9.5) * points, f"page {number}"
            assert bottom >= 9.0 * points, f"page {number}"
            assert top <= (size[1] - 9.0) * points, f"page {number}"
        boxes.sort(key=lambda box: box[0])
        for i, (_, b0, r0, t0) in enumerate(boxes):
            for l1, b1, r1, t1 in boxes[i + 1 :]:
                if l1 >= r0 - 0.4:
                    break
                across = min(r0, r1) - l1
                up = min(t0, t1) - max(b0, b1)
                assert across <= 0.4 or up <= 0.4, f"page {number}: {(l1, b1, r1, t1)}"


@pytest.mark.parametrize("make", [Make.PAIR, Make.FOLD])
def test_small_plans_make_both_books(make):
    plan = with_patches(small_plan(make))
    data = book_data(plan)
    assert len(data["blocks"]) == (2 if make is Make.PAIR else 1)
    assert [p["side"] for p in data["patches"]] == ["left", "right"]
    assert all(patch["rings"] for patch in data["patches"])


def test_tray_letters_go_on_after_z():
    assert [tray_letter(n) for n in (0, 25, 26, 51, 52, 701, 702)] == [
        "A", "Z", "AA", "AZ", "BA", "ZZ", "AAA",
    ]  # fmt: skip


@pytest.mark.parametrize("width", [8.0, 20.0, 60.0])
def test_wrapped_lines_fit_and_lose_nothing(width):
    text = "Put a barrier sheet inside, donaudampfschifffahrtsgesellschaft, for glue bleeds"
    lines = wrapped(text, 2.2, width)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert all(text_width_mm(line, 2.2) <= width for line in lines)
