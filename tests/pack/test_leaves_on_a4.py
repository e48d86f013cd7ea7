"""The demo's leaves laid on A4: at their size, which is longer than the paper, and two fifths as long.

Every lay is looked at again by the checks, which know nothing of how it was found.
"""

from dataclasses import replace
from importlib.resources import files

import pytest
import shapely
from shapely.affinity import affine_transform

from templater.checks import check
from templater.geometry.polygons import to_polygon
from templater.model.curves import shift
from templater.model.parts import PartKind
from templater.readback import load_plan, read_pack
from templater.session import make

A4 = {(210.0, 297.0), (297.0, 210.0)}
SMALL = 0.4
BARE = ("stoning.", "rows.", "stock", "prices")


def job(*, small, lay="quick", folded=False):
    """The demo's job without stones, on A4; `small` by a length measured along the top."""
    text = files("templater.demo").joinpath("kelp-leotard.toml").read_text("utf-8")
    tables = text.split("\n[")
    kept = [tables[0], *("[" + t for t in tables[1:] if not t.startswith((*BARE, "templates")))]
    if small:
        kept[0] += '\nmeasured = { layer = "edge top", length = LENGTH }\n'
    more = f"""
[templates]
sheet = "a4"
kinds = []
lay = "{lay}"
lay_seconds = 4
cloth = {{ width = 700, folded = {str(folded).lower()} }}
formats = ["svg"]
"""
    return "\n".join([*kept, more])


def made(folder, **choices):
    from templater.geometry.measure import path_length
    from templater.ground import build_ground
    from templater.job import load_job
    from templater.reading import read_drawing

    drawing = files("templater.demo").joinpath("kelp-front.svg").read_bytes()
    (folder / "kelp-front.svg").write_bytes(drawing)
    text = job(**choices)
    whole, _ = load_job(job(small=False), "job.toml")
    ground, _ = build_ground(read_drawing(drawing, "kelp-front.svg"), whole)
    top = next(edge for edge in ground.references if edge.name == "top")
    length = path_length(top.path) * SMALL
    (folder / "job.toml").write_text(text.replace("LENGTH", f"{length:.4f}"), "utf-8")
    pack = make(folder / "job.toml").folder
    return load_plan(pack), read_pack(pack)


@pytest.fixture(scope="module")
def at_size(tmp_path_factory):
    return made(tmp_path_factory.mktemp("size"), small=False)


@pytest.fixture(scope="module")
def small_ones(tmp_path_factory):
    return made(tmp_path_factory.mktemp("small"), small=True)


def on_sheets(plan):
    """By sheet the cut shapes of its parts as they lie on it."""
    parts = {part.id: part for part in plan.parts}
    found = {}
    for placed in plan.placed:
        m, part = placed.transform, parts[placed.part]
        shape = affine_transform(to_polygon(part.cut, 0.02), (m.a, m.c, m.b, m.d, m.e, m.f))
        found.setdefault(placed.sheet, []).append((part, shape))
    return found


def test_leaves_longer_than_the_paper_have_sheets_of_their_own_and_say_so(at_size):
    plan, _ = at_size
    sizes = {sheet.name: sheet.size_mm for sheet in plan.sheets if sheet.kind == "applique"}
    lying = on_sheets(plan)
    (told,) = [p for p in plan.problems if p.code == "part-larger-than-sheet"]
    for name, members in lying.items():
        if sizes[name] in A4:
            continue
        ((part, shape),) = members
        x0, y0, x1, y1 = shape.bounds
        assert max(x1 - x0, y1 - y0) > 230.0, f"{part.id} would have gone on A4"
    fronds = [n for n, members in lying.items() if any(p.zone == "frond" for p, _ in members)]
    assert fronds
    assert any(name in told.message or "more" in told.message for name in fronds)


def test_smaller_leaves_lie_on_a4_together(small_ones):
    plan, _ = small_ones
    sizes = {sheet.name: sheet.size_mm for sheet in plan.sheets if sheet.kind == "applique"}
    leaves = {
        name: [(p, s) for p, s in members if p.zone == "frond" and p.kind is PartKind.APPLIQUE]
        for name, members in on_sheets(plan).items()
    }
    leaves = {name: own for name, own in leaves.items() if own}
    assert len(leaves) == 1, "both leaves are cut from one sheet"
    ((name, own),) = leaves.items()
    assert sizes[name] in A4
    assert len(own) == 2
    width, height = sizes[name]
    for part, shape in own:
        x0, y0, x1, y1 = shape.bounds
        assert min(x0, y0, width - x1, height - y1) >= 8.0, part.id
        long = max(x1 - x0, y1 - y0)
        assert 150.0 < long < 239.0
    (_, one), (_, other) = own
    assert one.distance(other) >= 2.97
    assert shapely.intersection(one, other).area == 0.0


@pytest.mark.parametrize(("lay", "folded"), [("quick", True), ("best", False)])
def test_every_lay_passes_the_checks_which_find_what_is_moved(tmp_path, lay, folded):
    if lay == "best":
        pytest.importorskip("spyrrow", reason="the nesting library is not installed")
    plan, facts = made(tmp_path, small=True, lay=lay, folded=folded)
    assert check(plan, facts) == ()
    shared = next(name for name, members in on_sheets(plan).items() if len(members) > 1)
    second = [n for n, placed in enumerate(plan.placed) if placed.sheet == shared][1]
    onto = on_sheets(plan)[shared]
    (ax, ay), (bx, by) = (shape.representative_point().coords[0] for _, shape in onto[:2])
    moved = plan.placed[second].transform.then(shift(ax - bx, ay - by))
    broken = tuple(
        replace(p, transform=moved) if n == second else p for n, p in enumerate(plan.placed)
    )
    assert "parts-overlap" in {p.code for p in check(replace(plan, placed=broken), facts)}
    cloths = tuple(
        replace(
            line, spots=tuple(s._replace(move=s.move.then(shift(-50.0, 0.0))) for s in line.spots)
        )
        for line in plan.counts.cloths
    )
    off = replace(plan, counts=replace(plan.counts, cloths=cloths))
    assert "part-off-its-cloth" in {p.code for p in check(off, facts)}
