"""A small edit to a drawing sets anew the zones it touches or comes near, and no others."""

import functools
import math

import pytest

import templater.stoning
from templater.geometry.polygons import circle, polyline, rectangle
from templater.job import load_job
from templater.model.curves import Area
from templater.model.ground import Region, Zone
from templater.model.near import zones_near
from templater.model.problems import Source
from templater.pipeline import make_plan
from templater.session import MemoryStore, Session

JOB = """
drawing = "three.svg"
overlap = "top"
[stoning.left]
edge = 0.0
outline = { size = "ss16", gap = 2.0 }
fill = { style = "none" }
[stoning.middle]
edge = 0.0
outline = { size = "ss16", gap = 2.0 }
fill = { style = "none" }
[stoning.far]
edge = 0.0
outline = { size = "ss16", gap = 2.0 }
fill = { style = "none" }
"""


def svg(*, left=40.0, middle=75.0, far=200.0):
    """Three boxes: the second a little to the right of the first, the third far away."""
    return f"""<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="90mm" viewBox="0 0 300 90">
<g data-name="zone left"><rect x="10" y="10" width="{left - 10}" height="30"/></g>
<g data-name="zone middle"><rect x="41.5" y="10" width="{middle - 41.5}" height="30"/></g>
<g data-name="zone far"><rect x="{far}" y="10" width="30" height="30"/></g>
</svg>""".encode()


@pytest.fixture
def run(monkeypatch):
    """Makes a plan and gives it with the zones that were set anew; results are kept between."""
    set_anew = []
    true = templater.stoning.set_zone

    @functools.wraps(true)
    def counting(zone, *rest):
        if zone.source.file == "three.svg":  # and not a swatch's square
            set_anew.append(zone.name)
        return true(zone, *rest)

    monkeypatch.setattr(templater.stoning, "set_zone", counting)
    store = MemoryStore()

    def made(drawing):
        set_anew.clear()
        job, problems = load_job(JOB, "three.toml")
        assert job, problems
        plan = make_plan(Session(store), drawing, "three.svg", job, "")
        return plan, sorted(set_anew)

    return made


def test_only_what_an_edit_touches_or_comes_near_is_set_anew(run):
    before, first = run(svg())
    assert first == ["far", "left", "middle"]
    assert run(svg())[1] == []
    after, again = run(svg(far=201.0))
    assert again == ["far"]
    stones = {
        p: {s.zone: s.stones for s in plan.settings} for p, plan in enumerate((before, after))
    }
    assert stones[0]["left"] == stones[1]["left"]
    assert stones[0]["middle"] == stones[1]["middle"]
    assert run(svg(middle=76.0))[1] == ["left", "middle"]


def test_zones_nearly_touching_keep_half_a_gap_each(run):
    plan, _ = run(svg())
    at = {name: [s for s in plan.stones if s.zone == name] for name in ("left", "middle")}
    nearest = min(
        math.dist((a.x_mm, a.y_mm), (b.x_mm, b.y_mm)) for a in at["left"] for b in at["middle"]
    )
    # 1.5 mm apart with `edge = 0`: without the rule stones would be 1.5 mm apart.
    assert nearest >= 3.9 + 2.0 - 1e-6
    assert max(s.x_mm + 1.95 for s in at["left"]) == pytest.approx(40.0 - 1.0, abs=2e-3)


def zone(name, outline):
    return Zone(name, "front", (Region(Area(outline), ()),), 0, (), Source("test"))


@pytest.mark.parametrize("apart_mm", [0.2, 3.0, 4.9])
def test_no_zone_within_reach_is_missed(apart_mm):
    disc = zone("disc", circle((0.0, 0.0), 80.0))
    c = math.sqrt(0.5)
    tip = ((40.0 + apart_mm) * c, (40.0 + apart_mm) * c)
    sliver = zone("sliver", polyline([tip, (90.0, 80.0), (80.0, 90.0)], closed=True))
    assert zones_near(disc, [sliver]) == (sliver,)
    assert zones_near(sliver, [disc]) == (disc,)


def test_a_zone_in_the_corner_of_a_curved_one_s_box_is_not_near():
    disc = zone("disc", circle((0.0, 0.0), 160.0))
    corner = zone("corner", rectangle(70.0, 70.0, 78.0, 78.0))
    assert zones_near(disc, [corner]) == ()
    assert (
        zones_near(
            zone("slope", polyline([(0, 0), (200, 200), (0, 200)], closed=True)),
            [zone("below", rectangle(150.0, 10.0, 190.0, 50.0))],
        )
        == ()
    )
