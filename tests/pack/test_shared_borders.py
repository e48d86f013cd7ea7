"""A pack whose zones share borders, made by the command: read from its written files alone."""

import csv
import itertools
import math
import re
import shutil
from collections import Counter

import pytest
import shapely

D, GAP = 3.9, 0.3
DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="140mm" viewBox="0 0 200 140">
<g data-name="piece front"><path d="M5 5H160V135H5Z"/></g>
<g data-name="fold"><path d="M160 5V135" fill="none" stroke="#000"/></g>
<g data-name="zone frond"><path d="M20 20H90L80 65L95 110H20Z"/></g>
<g data-name="zone tip"><path d="M90 20H160V65H80Z"/></g>
<g data-name="zone berry"><path d="M80 65H160V110H95Z"/></g>
<g data-name="zone eye"><path d="M40 50A12 12 0 0 1 64 50A12 12 0 0 1 40 50Z"/></g>
</svg>"""
JOB = """
drawing = "kelp.svg"
overlap = "top"
[pieces.front]
make = "fold"
[stoning.frond]
outline = { border = "shared" }
fill = { style = "staggered", sizes = { ss12 = 1 } }
[stoning.tip]
colour = "navy"
outline = { border = "shared" }
fill = { style = "sprinkled", sizes = { ss16 = 1 } }
[stoning.berry]
outline = { border = "shared" }
fill = { style = "none" }
[stoning.eye]
outline = { border = "shared" }
fill = { style = "square", sizes = { ss12 = 1 } }
"""
# In the canonical frame y runs up: 140 less the y of the file.
ZONES = {
    "frond": shapely.Polygon([(20, 120), (90, 120), (80, 75), (95, 30), (20, 30)]),
    "tip": shapely.Polygon([(90, 120), (160, 120), (160, 75), (80, 75)]),
    "berry": shapely.Polygon([(80, 75), (160, 75), (160, 30), (95, 30)]),
}
BORDERS = {
    "border-frond-tip": [(90, 120), (80, 75)],
    "border-frond-berry": [(80, 75), (95, 30)],
    "border-tip-berry": [(80, 75), (160, 75)],
}


def rows(pack, name="stones.csv"):
    with (pack / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def places(stones, zone):
    return [(float(s["x_mm"]), float(s["y_mm"])) for s in stones if s["zone"] == zone]


@pytest.fixture(scope="module")
def folder(tmp_path_factory, templater):
    folder = tmp_path_factory.mktemp("borders")
    (folder / "kelp.svg").write_text(DRAWING, "utf-8")
    (folder / "kelp.toml").write_text(JOB, "utf-8")
    told = templater("make", folder / "kelp.toml")
    assert told.returncode == 0, told.stderr
    return folder


@pytest.fixture(scope="module")
def stones(folder):
    return [s for s in rows(folder / "kelp-pack") if s["side"] != "right"]


def test_a_border_is_one_row_of_its_own_centred_on_the_line(stones):
    kinds = {(s["zone"], s["kind"]) for s in stones if s["zone"].startswith("border-")}
    assert kinds == {(name, "row") for name in (*BORDERS, "border-frond-eye")}
    for name, ends in BORDERS.items():
        line, at = shapely.LineString(ends), places(stones, name)
        assert max(line.distance(shapely.Point(p)) for p in at) <= 2e-4
        steps = [math.dist(a, b) for a, b in itertools.pairwise(at)]
        assert min(steps) >= D + GAP - 1e-6
        assert max(steps) - min(steps) <= 1e-3
        # Stones all along: a pitch more at either end would leave the zones or meet another border.
        assert max(steps) <= (D + GAP) * (1.0 + 1.0 / len(steps))


def test_the_borders_meet_in_one_stone(stones):
    corner = [p for name in BORDERS for p in places(stones, name) if math.dist(p, (80, 75)) < D]
    assert corner == [(80.0, 75.0)]


def test_where_a_border_ends_the_outline_rows_go_on_in_line(stones):
    top = sorted(
        p for name in ("frond", "tip", "border-frond-tip") for p in places(stones, name)
        if abs(p[1] - (120.0 - (D + GAP) / 2.0)) < 0.02
    )  # fmt: skip
    steps = [math.dist(a, b) for a, b in itertools.pairwise(top)]
    assert min(steps) >= D + GAP - 1e-6
    assert max(steps) <= 1.1 * (D + GAP)


def test_a_border_that_runs_to_the_fold_goes_on_beyond_it(stones):
    at = places(stones, "border-tip-berry")
    last = max(x for x, _ in at)
    step = math.dist(*at[:2])
    assert last == pytest.approx(160.0, abs=1e-3) or 2.0 * (160.0 - last) == pytest.approx(
        step, rel=0.25
    )


def test_no_two_stones_of_the_pack_are_nearer_than_their_gap(folder):
    every = rows(folder / "kelp-pack")
    at = [(float(s["x_mm"]), float(s["y_mm"]), float(s["width_mm"]) / 2.0) for s in every]
    tree = shapely.STRtree(shapely.points([p[:2] for p in at]))
    pairs = tree.query(tree.geometries, predicate="dwithin", distance=D + GAP + 0.1)
    gaps = [math.dist(at[i][:2], at[j][:2]) - at[i][2] - at[j][2] for i, j in pairs.T if i < j]
    assert min(gaps) >= GAP - 1e-3


def test_no_zone_has_an_outline_row_along_a_border_and_none_lies_outside(stones):
    for name, shape in ZONES.items():
        own = [s for s in stones if s["zone"] == name]
        for stone in own:
            at = shapely.Point(float(stone["x_mm"]), float(stone["y_mm"]))
            assert shape.contains(at) or stone["side"] == "centre"
            if stone["kind"] == "outline":
                others = [ends for border, ends in BORDERS.items() if name in border]
                # The first of an outline row is a pitch from the border's last; none stands beside it.
                near = min(
                    math.dist(p, (at.x, at.y))
                    for b in BORDERS
                    if name in b
                    for p in places(stones, b)
                )
                assert near >= D + GAP - 1e-6
                free = shape.boundary.difference(
                    shapely.union_all([shapely.LineString(ends).buffer(0.01) for ends in others])
                )
                assert free.distance(at) <= (D + GAP) / 2.0 + 0.01
    whole = shapely.union_all(list(ZONES.values())).union(shapely.box(150, 30, 170, 120))
    for name in BORDERS:
        for x, y in places(stones, name):
            assert whole.contains(shapely.Point(x, y).buffer(D / 2.0 + GAP / 2.0 - 0.002))


def test_border_stones_are_bought_held_and_checked(folder, templater):
    pack = folder / "kelp-pack"
    every = rows(pack)
    bought = {
        (r["size"], r["colour"], r["finish"]): int(r["count"]) for r in rows(pack, "shopping.csv")
    }
    assert bought == dict(Counter((s["size"], s["colour"], s["finish"]) for s in every))
    held = Counter(h["stone_id"] for h in rows(pack, "holes.csv") if h["kind"] == "stencil")
    assert {s["id"] for s in every} == set(held)
    assert templater("check", pack).returncode == 0


def test_a_border_stone_moved_out_of_the_zones_is_found(folder, tmp_path, templater):
    """The first stone of a border, pushed beyond the upper edge in the setting's own file."""
    pack = tmp_path / "pack"
    shutil.copytree(folder / "kelp-pack", pack)
    text = (pack / "setting.svg").read_text("utf-8")
    start = text.index("border-frond-tip")
    circle = re.compile(r'cy="([\d.]+)"')
    found = min(circle.finditer(text, start, start + 4000), key=lambda m: float(m[1]))
    text = text[: found.start(1)] + f"{float(found[1]) - 1.0:.4f}" + text[found.end(1) :]
    (pack / "setting.svg").write_text(text, "utf-8")
    told = templater("check", pack)
    assert told.returncode == 1
    assert "border" in told.stderr
    assert "common line" in told.stderr


def test_zones_and_border_are_locked_each_for_itself(folder, tmp_path, templater):
    """With one zone and the border locked, another fill beside them leaves both as they are."""
    shutil.copytree(folder, tmp_path / "job")
    job = JOB.replace('"sprinkled"', '"contour"').replace('colour = "navy"', 'colour = "teal"')
    locked = '[setting]\nlocked = ["frond", "border-frond-tip"]\n'
    (tmp_path / "job" / "kelp.toml").write_text(job + locked, "utf-8")
    told = templater("make", tmp_path / "job" / "kelp.toml")
    assert told.returncode == 0, told.stderr
    before, after = rows(folder / "kelp-pack"), rows(tmp_path / "job" / "kelp-pack")

    def of(stones, *zones):
        return sorted(
            tuple(s[k] for k in ("zone", "side", "x_mm", "y_mm", "size", "colour"))
            for s in stones
            if s["zone"] in zones
        )

    assert of(before, "frond", "border-frond-tip") == of(after, "frond", "border-frond-tip")
    assert of(before, "tip") != of(after, "tip")
    assert {s["colour"] for s in after if s["zone"] == "border-tip-berry"} == {"crystal"}
