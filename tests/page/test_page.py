"""The bench book's page as its user has it: opened from disk in a real browser."""

from __future__ import annotations

import json
import re

import pytest
from pages import data_of, facts_of, left, read_cautions, told, trays_of


@pytest.fixture
def book(demo_pack):
    return demo_pack / "book.html"


def test_cautions_come_first_and_can_be_called_back(opened, book):
    page = opened(book)
    cautions = page.locator("#cautions")
    words = cautions.inner_text()
    for said in ("Solvent glue", "Open the windows", "flames", "Hot iron", "Blades", "local fire authority", "licensed person"):  # fmt: skip
        assert said in words
    assert cautions.bounding_box()["y"] < page.locator("#work").bounding_box()["y"]
    read_cautions(page)
    assert not cautions.is_visible()
    page.reload()
    assert not cautions.is_visible()
    page.get_by_role("button", name="Cautions").click()
    assert cautions.is_visible()


def on_canvas(page, x, y):
    """Where a place of the scene lies on the screen just after everything is shown."""
    data = data_of(page)
    box = page.locator("#canvas").bounding_box()
    wide, high = data["size"]
    scale = min(box["width"] / (wide + 30), box["height"] / (high + 40))
    return (
        box["x"] + box["width"] / 2 + (x - wide / 2) * scale,
        box["y"] + box["height"] / 2 - (y - high / 2) * scale,
    )


def test_a_click_shows_patch_zone_and_stone(opened, book):
    page = opened(book)
    read_cautions(page)
    data = data_of(page)
    at = next(i for i, p in enumerate(data["patches"]) if data["zones"][p["zone"]]["name"] == "pod")
    patch = data["patches"][at]
    stone = next(i for i in range(len(data["ids"])) if data["of"][6 * i + 1] == at
                 and data["at"][2 * i : 2 * i + 2] == pytest.approx(patch["at"], abs=0.01))  # fmt: skip
    x, y = on_canvas(page, *patch["at"])
    page.mouse.click(x, y)
    assert facts_of(page)["Stones"] == str(patch["stones"])
    assert trays_of(page) == [(data["kinds"][k]["letter"], n) for k, n in patch["tray"]]
    page.locator("#pick").select_option("zone")
    page.mouse.click(x, y)
    assert page.locator("#chosen .next-name").inner_text() == "pod"
    assert facts_of(page)["Mass"] == f"{data['zones'][patch['zone']]['mass']} g"
    page.locator("#pick").select_option("stone")
    page.mouse.click(x, y)
    facts = facts_of(page)
    assert facts["Stone"] == data["ids"][stone]
    assert facts["Patch"] == str(patch["number"])


def test_a_stone_lies_where_the_plan_has_it(opened, book, demo_pack):
    page = opened(book)
    read_cautions(page)
    plan = json.loads((demo_pack / "plan.json").read_text("utf-8"))
    places = {row[0]: row for row in plan["stones"]}
    page.locator("#canvas").focus()
    page.keyboard.press("n")
    for _ in range(3):
        page.keyboard.press("s")
        facts = facts_of(page)
        row = places[facts["Stone"]]
        x, y = (float(n) for n in facts["Place, x and y"].removesuffix(" mm").split(","))
        assert (x, y) == pytest.approx((row[4], row[5]), abs=1e-6)
        assert (facts["Size"], facts["Colour"], facts["Finish"]) == (row[7], row[10], row[11])


def test_everything_by_keyboard(opened, book):
    page = opened(book)
    read_cautions(page)
    data = data_of(page)
    page.locator("#canvas").focus()
    page.keyboard.press("n")
    first = page.locator("#chosen .next-name").inner_text()
    page.keyboard.press("n")
    assert page.locator("#chosen .next-name").inner_text() != first
    page.keyboard.press("p")
    assert page.locator("#chosen .next-name").inner_text() == first
    page.keyboard.press("Enter")
    assert left(page)[0] == data["stones"] - data["patches"][0]["stones"]
    page.keyboard.press("Enter")
    assert left(page)[0] == data["stones"]
    page.keyboard.press("z")
    assert page.locator("#chosen .next-name").inner_text() == data["zones"][0]["name"]
    page.keyboard.press("s")
    page.keyboard.press("m")
    page.keyboard.press("ArrowRight")
    page.keyboard.press("m")
    assert page.locator("#told").inner_text().startswith("Measured: ")
    page.keyboard.press("Escape")
    assert "Click a stone" in page.locator("#chosen").inner_text()
    for key in ("+", "-", "0", "ArrowUp", "ArrowLeft", "ArrowDown"):
        page.keyboard.press(key)


def test_measure_between_two_points(opened, book):
    page = opened(book)
    read_cautions(page)
    page.get_by_role("button", name="Measure").click()
    page.mouse.click(*on_canvas(page, 100.0, 100.0))
    page.mouse.click(*on_canvas(page, 160.0, 180.0))
    mm = float(page.locator("#told").inner_text().split()[1])
    assert mm == pytest.approx(100.0, abs=1.0)  # to the pixel


def test_ticks_survive_a_reload(opened, book):
    page = opened(book)
    read_cautions(page)
    data = data_of(page)
    for _ in range(3):
        page.locator("#next-card").get_by_role("button", name="Tick off").click()
    expected = data["stones"] - sum(p["stones"] for p in data["patches"][:3])
    assert left(page) == (expected, data["stones"], 3)
    page.reload()
    assert left(page) == (expected, data["stones"], 3)
    assert "3 of" in page.locator("#list summary").first.inner_text()
    assert str(data["patches"][3]["stones"]) == facts_of(page, "#next-card")["Stones"]


def test_ticks_go_out_to_a_file_and_into_another_browser(opened, book, tmp_path):
    page = opened(book)
    read_cautions(page)
    page.locator(".patch input").nth(1).check()
    page.locator(".patch input").nth(4).check()
    before = left(page)
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Export ticks").click()
    file = tmp_path / waiting.value.suggested_filename
    waiting.value.save_as(file)
    assert file.name == "kelp-leotard-front-ticks.json"
    other = opened(book)
    assert left(other)[2] == 0
    other.locator("#import").set_input_files(file)
    told(other, "ticks read")
    assert left(other) == before
    assert other.locator(".patch input").nth(4).is_checked()


def test_a_file_of_something_else_is_refused_and_loses_nothing(opened, book, tmp_path):
    page = opened(book)
    read_cautions(page)
    page.locator("#next-card").get_by_role("button", name="Tick off").click()
    before = left(page)
    for text in ("not json", '{"ticks": {}}', "[]", "null"):
        file = tmp_path / "x.json"
        file.write_text(text)
        page.locator("#import").set_input_files(file)
        told(page, "no ticks")
        assert left(page) == before
    file.write_text(json.dumps({"format": "templater-ticks 1", "ticks": {"gone-1": "2026-01-01"}}))
    page.locator("#import").set_input_files(file)
    told(page, "does not have")
    assert left(page) == before


def test_your_own_pace_is_learned_from_the_ticks(opened, book, tmp_path):
    """Three patches, each in half the planned time: twice the planned pace."""
    page = opened(book)
    data = data_of(page)
    when, ticks = 1_780_000_000.0, {}
    for patch in data["patches"][:3]:
        when += 60.0 * patch["minutes"] / 2.0
        ticks[patch["name"]] = page.evaluate(f"new Date({when * 1000}).toISOString()")
    file = tmp_path / "ticks.json"
    file.write_text(json.dumps({"format": "templater-ticks 1", "ticks": ticks}))
    page.locator("#import").set_input_files(file)
    told(page, "ticks read")
    words = page.locator("#pace").inner_text()
    assert "multiply each rate by 2.0" in words
    own = sum(p["stones"] for p in data["patches"][1:3]) / (
        sum(p["minutes"] for p in data["patches"][1:3]) / 120.0
    )
    assert f"{own:.0f} stones an hour over 2 patches" in words


def picture_of(page):
    """The canvas's own pixels, once it has come to rest."""
    page.wait_for_timeout(200)
    return page.evaluate("document.getElementById('canvas').toDataURL()")


def test_layers_go_off_and_on(opened, book):
    page = opened(book)
    read_cautions(page)
    page.locator("summary", has_text="Layers").click()
    shown = picture_of(page)
    for name in ("Stones ss16", "Patches", "Cloth and appliqué lines", "Fold, seams", "Clear"):
        box = page.locator("#layers label", has_text=name).first.locator("input")
        box.uncheck()
        assert picture_of(page) != shown, name
        box.check()
        assert picture_of(page) == shown, name


def test_wheel_drag_and_pinch(opened, book):
    page = opened(book, has_touch=True)
    read_cautions(page)
    canvas = page.locator("#canvas")
    box = canvas.bounding_box()
    middle = (box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    pictures = [canvas.screenshot()]

    def changed():
        page.wait_for_timeout(250)
        pictures.append(canvas.screenshot())
        assert pictures[-1] != pictures[-2]

    page.mouse.move(*middle)
    page.mouse.wheel(0, -400)
    changed()
    page.mouse.down()
    page.mouse.move(middle[0] + 90, middle[1] + 30, steps=4)
    page.mouse.up()
    changed()
    assert page.locator("#chosen dl").count() == 0, "a drag picks nothing"
    session = page.context.new_cdp_session(page)
    x, y = middle
    for kind, reach in (("touchStart", 30), ("touchMove", 60), ("touchMove", 110)):
        points = [{"x": x - reach, "y": y, "id": 1}, {"x": x + reach, "y": y, "id": 2}]
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    session.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})
    changed()


def test_every_word_comes_from_the_table(opened, book):
    """No text stands in the page's skeleton, and no placeholder is left unfilled."""
    page = opened(book)
    data = data_of(page)
    assert not page.locator("[data-say]:empty").count()
    assert "undefined" not in page.locator("body").inner_text()
    assert "{" not in page.locator("main").inner_text()
    assert page.locator("h1").inner_text() == data["name"]


@pytest.mark.parametrize("size", [(360, 740), (390, 844), (820, 1180), (1440, 900)])
def test_nothing_wider_than_the_screen(opened, book, size):
    page = opened(book, size=size)
    assert page.evaluate("document.documentElement.scrollWidth") <= size[0]
    small = page.evaluate(
        "[...document.querySelectorAll('header button, .lens button, .strip button, .row button')]"
        ".filter(b => b.offsetParent && (b.offsetHeight < 38 || b.offsetWidth < 38)).length"
    )
    assert small == 0, "buttons are large enough for a finger"


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", [(390, 844), (1440, 900)])
def test_no_serious_fault_of_accessibility(opened, book, scheme, size):
    sync = pytest.importorskip("axe_playwright_python.sync_playwright", reason="no axe-core here")
    page = opened(book, size=size, color_scheme=scheme, bypass_csp=True)
    serious = []
    for _ in range(2):
        found = sync.Axe().run(page).response["violations"]
        serious += [
            (one["id"], one["nodes"][0]["html"])
            for one in found
            if one["impact"] in ("serious", "critical")
        ]
        if page.locator("#cautions").is_visible():
            read_cautions(page)
            page.locator("#canvas").focus()
            page.keyboard.press("n")
    assert serious == []


def test_it_prints_with_everything_unfolded(opened, book, tmp_path):
    pypdfium2 = pytest.importorskip("pypdfium2")
    page = opened(book)
    read_cautions(page)
    data = data_of(page)
    page.pdf(path=tmp_path / "printed.pdf", format="A4")
    printed = pypdfium2.PdfDocument(tmp_path / "printed.pdf")
    # Without blanks: where a viewer sees them depends on how the letters are spaced.
    words = re.sub(r"\s", "", "".join(p.get_textpage().get_text_range() for p in printed))
    assert "Solventglue" in words, "cautions are printed even when they were read"
    assert len(re.findall(r"Patch\d+:\d+stones", words)) == len(data["patches"])
