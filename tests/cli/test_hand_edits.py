"""A setting edited by hand: written, changed as an editor would, read back by make and check."""

import csv
import re
import shutil

import pytest

JOB = """
drawing = "leaf.svg"
[stoning.leaf]
colour = { "sea green" = 70, mint = 30 }
outline = { size = "ss16", gap = 0.3 }
fill = { style = "staggered", sizes = { ss16 = 1 }, gap = 0.5 }
[stoning.stem]
outline = false
fill = { style = "staggered", sizes = { ss12 = 1 }, gap = 0.5 }
[rows.vein]
stone = "teardrop 8x5"
turn = "along"
"""
LEAF = """<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="90mm" viewBox="0 0 120 90">
<g data-name="zone leaf"><path d="M 10 40 C 30 5 70 5 90 40 C 70 75 30 75 10 40 Z"/></g>
<g data-name="zone stem"><rect x="95" y="30" width="20" height="20"/></g>
<g data-name="row vein"><path d="M 25 40 L 75 40" fill="none"/></g>
</svg>"""


def stones(pack):
    with (pack / "stones.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def made(tmp_path_factory, templater):
    folder = tmp_path_factory.mktemp("edits")
    (folder / "leaf.toml").write_text(JOB, "utf-8")
    (folder / "leaf.svg").write_text(LEAF, "utf-8")
    told = templater("make", folder / "leaf.toml")
    assert told.returncode == 0, told.stderr
    return folder


@pytest.fixture
def job(made, tmp_path):
    """A copy of the job, its drawing and its pack."""
    shutil.copytree(made, tmp_path / "copy")
    return tmp_path / "copy"


def use(folder, more=""):
    text = JOB + '\n[setting]\nuse = "setting.svg"\n' + more
    (folder / "leaf.toml").write_text(text, "utf-8")


def places(rows, zone=None):
    return sorted(
        (r["zone"], float(r["x_mm"]), float(r["y_mm"]), r["size"], r["colour"], r["finish"])
        for r in rows
        if zone in (None, r["zone"])
    )


def layer_of(svg, words):
    """The group of a layer whose name holds the words, as text."""
    start = re.search(rf'<g [^>]*data-name="[^"]*{words}[^"]*"', svg).start()
    return start, svg.index("</g>\n </g>", start)


def test_an_untouched_setting_gives_the_same_stones(job, templater):
    shutil.copy(job / "leaf-pack" / "setting.svg", job)
    before = places(stones(job / "leaf-pack"))
    use(job)
    told = templater("make", job / "leaf.toml")
    assert told.returncode == 0, told.stderr
    after = places(stones(job / "leaf-pack"))
    assert len(after) == len(before)
    for one, other in zip(before, after, strict=True):
        assert one[0] == other[0]
        assert one[3:] == other[3:]
        assert one[1:3] == pytest.approx(other[1:3], abs=0.0002)


def test_deleted_and_recoloured_stones_are_what_the_maker_made_them(job, templater):
    svg = (job / "leaf-pack" / "setting.svg").read_text("utf-8")
    start, end = layer_of(svg, "fill · ss16 · mint")
    circles = list(re.finditer(r"\s*<circle[^>]*/>", svg[start:end]))
    gone, moved = circles[0], circles[1]
    text = svg[:start] + svg[start:end].replace(gone[0], "").replace(moved[0], "") + svg[end:]
    start, _ = layer_of(text, "fill · ss16 · sea green")
    first = re.search(r"\s*<circle[^>]*/>", text[start:])
    at = start + first.start()
    (job / "setting.svg").write_text(text[:at] + moved[0] + text[at:], "utf-8")
    before = stones(job / "leaf-pack")
    use(job)
    told = templater("make", job / "leaf.toml")
    assert told.returncode == 0, told.stderr
    after = stones(job / "leaf-pack")
    mint = [sum(r["colour"] == "mint" for r in rows) for rows in (before, after)]
    green = [sum(r["colour"] == "sea green" for r in rows) for rows in (before, after)]
    assert (mint[1], green[1]) == (mint[0] - 2, green[0] + 1)


def test_stones_moved_onto_each_other_are_told_with_their_place_by_make_and_check(job, templater):
    pack = job / "leaf-pack"
    svg = (pack / "setting.svg").read_text("utf-8")
    start, end = layer_of(svg, "fill · ss16 · sea green")
    one, other = re.findall(r'cx="([\d.]+)" cy="([\d.]+)"', svg[start:end])[:2]
    text = svg[:start] + svg[start:end].replace(
        f'cx="{one[0]}" cy="{one[1]}"', f'cx="{other[0]}" cy="{float(other[1]) + 1}"', 1
    ) + svg[end:]  # fmt: skip
    (pack / "setting.svg").write_text(text, "utf-8")
    checked = templater("check", pack)
    assert checked.returncode == 1
    assert "apart" in checked.stderr or "overlap" in checked.stderr
    assert re.search(r"at x [\d.]+ mm, y [\d.]+ mm", checked.stderr)
    shutil.copy(pack / "setting.svg", job)
    use(job)
    made = templater("make", job / "leaf.toml")
    assert made.returncode == 1
    assert "Nothing was written" in made.stderr


def test_a_stone_dragged_out_of_its_zone_is_told(job, templater):
    pack = job / "leaf-pack"
    svg = (pack / "setting.svg").read_text("utf-8")
    start, end = layer_of(svg, "fill · ss12")
    text = svg[:start] + re.sub(r'cx="[\d.]+"', 'cx="60.0"', svg[start:end], count=1) + svg[end:]
    (pack / "setting.svg").write_text(text, "utf-8")
    told = templater("check", pack)
    assert told.returncode == 1
    assert "stem" in told.stderr


def test_locked_zones_stay_when_the_others_are_set_anew(job, templater):
    pack = job / "leaf-pack"
    before = stones(pack)
    text = JOB.replace('drawing = "leaf.svg"', 'drawing = "leaf.svg"\nseed = 99')
    text = text.replace("ss12 = 1 }, gap = 0.5", "ss12 = 1 }, gap = 0.9")
    (job / "leaf.toml").write_text(text + '\n[setting]\nlocked = ["Leaf"]\n', "utf-8")
    told = templater("make", job / "leaf.toml")
    assert told.returncode == 0, told.stderr
    after = stones(pack)
    assert places(after, "leaf") == places(before, "leaf")
    assert places(after, "stem") != places(before, "stem")


def test_a_file_that_is_not_ours_is_refused(job, templater):
    (job / "setting.svg").write_text(LEAF, "utf-8")
    use(job)
    told = templater("make", job / "leaf.toml")
    assert told.returncode == 1
    assert "no setting that templater wrote" in told.stderr
    (job / "setting.svg").unlink()
    told = templater("make", job / "leaf.toml")
    assert told.returncode == 1
    assert "there is no setting" in told.stderr
