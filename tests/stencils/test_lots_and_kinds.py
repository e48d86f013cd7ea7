"""What the job chooses of templates: finishes poured mixed or apart, which kinds, clearance by size."""

from collections import Counter

import pytest

from templater.job import load_job
from templater.model.ground import Side
from templater.model.parts import HoleKind
from templater.model.problems import Severity
from templater.stencils import make_passes


def stencils(passes, side=Side.LEFT):
    return [p for p in passes if p.kind is HoleKind.STENCIL and p.side is side]


def mixed(stones):
    """Every third stone is ab, every second column mint; alike on both sides."""
    found = []
    for stone in stones:
        _, i, j = stone.id.split("-")
        finish = "ab" if (int(i) + int(j)) % 3 == 0 else "plain"
        colour = "mint" if int(i) % 2 else "green"
        found.append(stone._replace(finish=finish, colour=colour))
    return tuple(found)


@pytest.mark.parametrize("method", ["hand", "film", "tape"])
def test_finishes_share_a_pass_unless_they_are_kept_apart(
    make_ground, make_job, lattice, sizes, method
):
    stones = mixed(lattice(7.0, across=9, down=9))
    passes, _ = make_passes(make_ground(), stones, sizes, make_job(method))
    (poured,) = stencils(passes)
    assert {s.finish for s in stones} == {"plain", "ab"}
    assert len(poured.holes) == 81
    assert poured.lot == ()


@pytest.mark.parametrize(
    ("apart", "lots"),
    [
        (["finish"], [("plain",), ("ab",)]),
        (["colour"], [("green",), ("mint",)]),
        (
            ["finish", "colour"],
            [("green", "plain"), ("mint", "plain"), ("green", "ab"), ("mint", "ab")],
        ),
    ],
)
@pytest.mark.parametrize("method", ["film", "tape"])
def test_kept_apart_each_has_passes_of_its_own_numbered_through(
    make_ground, make_job, lattice, sizes, apart, lots, method
):
    stones = mixed(lattice(7.0, across=9, down=9))
    job = make_job(method, stencil={"apart": apart})
    passes, problems = make_passes(make_ground(), stones, sizes, job)
    assert not [p for p in problems if p.severity is Severity.ERROR]
    left = stencils(passes)
    assert [p.lot for p in left] == lots, "the largest lot first"
    assert [(p.number, p.of) for p in left] == [(n + 1, len(lots)) for n in range(len(lots))]
    by_id = {s.id: s for s in stones}
    for one in left:
        held = {(by_id[h.stone_id].colour, by_id[h.stone_id].finish) for h in one.holes}
        assert all(set(one.lot) <= set(lot) for lot in held)
    assert Counter(h.stone_id for p in left for h in p.holes) == Counter(
        s.id for s in stones if s.side is Side.LEFT
    )
    word = "tape" if method == "tape" else "ss16"
    assert left[0].template == f"stencils/frond-e-left-{word}-{'-'.join(lots[0])}-1"
    assert len({p.template for p in passes}) == len(passes)


def test_lots_too_near_for_one_bridge_each_take_their_fewest_passes(
    make_ground, make_job, lattice, sizes
):
    # Pitch 5 leaves 0.7 between holes of 4.3: the lattice takes three passes, an even half of its
    # columns only two (rows apart by √3·5), so that both halves take four.
    stones = mixed(lattice(5.0, across=12, down=12))
    together, _ = make_passes(make_ground(), stones, sizes, make_job())
    apart, _ = make_passes(make_ground(), stones, sizes, make_job(stencil={"apart": ["colour"]}))
    assert len(stencils(together)) == stencils(together)[0].least == 3
    kept = stencils(apart)
    assert [p.lot for p in kept] == [("green",)] * (len(kept) // 2) + [("mint",)] * (len(kept) // 2)
    assert len(kept) == kept[0].least == 4


def test_prick_and_punch_take_all_lots_at_once(make_ground, make_job, lattice, sizes):
    stones = mixed(lattice(9.0, across=6, down=6))
    job = make_job(stencil={"apart": ["colour", "finish"]})
    passes, _ = make_passes(make_ground(), stones, sizes, job)
    others = [p for p in passes if p.kind is not HoleKind.STENCIL]
    assert {len(p.holes) for p in others} == {36}


@pytest.mark.parametrize("kinds", [["stencil"], ["prick"], ["punch"], ["prick", "stencil"], []])
def test_kinds_that_are_left_out_are_not_made(make_ground, make_job, lattice, sizes, kinds):
    job = make_job(kinds=kinds, punches=[2.0])
    passes, problems = make_passes(make_ground(), lattice(6.0, across=4), sizes, job)
    assert {str(p.kind) for p in passes} == set(kinds)
    assert ("no-punch" in {p.code for p in problems}) == ("punch" in kinds)


@pytest.mark.parametrize("method", ["film", "tape"])
@pytest.mark.parametrize("kinds", [["prick"], []])
def test_what_is_set_through_stencils_needs_them(
    make_ground, make_job, lattice, sizes, method, kinds
):
    stones = lattice(6.0, across=4)
    passes, problems = make_passes(make_ground(), stones, sizes, make_job(method, kinds=kinds))
    (told,) = [p for p in problems if p.severity is Severity.ERROR]
    assert passes == ()
    assert told.code == "method-needs-stencils"
    assert 'add "stencil" to kinds' in told.mend


def test_a_clearance_may_hang_on_the_size(make_ground, make_job, lattice, sizes):
    job = make_job(stencil={"clearance": {"SS 20": 0.5, "other": 0.25}}, punches=[3.5, 5.1, 5.3])
    stones = lattice(8.0, across=6, down=6, size=("ss20", "ss12"))
    passes, _ = make_passes(make_ground(), stones, sizes, job)
    # Largest diameters by the catalogue: ss20 4.80, ss12 3.20.
    widths = {p.sizes: {h.diameter_mm for h in p.holes} for p in stencils(passes)}
    assert widths == {("ss20",): {5.3}, ("ss12",): {3.45}}
    assert {p.sizes: p.clearance_mm for p in stencils(passes)} == {("ss20",): 0.5, ("ss12",): 0.25}
    punched = {h.punch_mm for p in passes if p.kind is HoleKind.PUNCH for h in p.holes}
    # ss20 is planned at 4.70: with 0.5 it asks for 5.2; ss12 at 3.10: 3.35.
    assert punched == {5.3, 3.5}


def test_between_sizes_of_unlike_clearance_the_mean_must_be_left(
    make_ground, make_job, lattice, sizes
):
    # ss20 4.80 and ss12 3.20 at most: at pitch 4.6 they leave 0.6 between them.
    stones = lattice(4.6, across=6, down=1, size=("ss20", "ss12"))
    for clearance, faults in (({"ss20": 0.5, "ss12": 0.29}, 0), ({"ss20": 0.5, "ss12": 0.31}, 1)):
        job = make_job("film", stencil={"clearance": clearance})
        _, problems = make_passes(make_ground(), stones, sizes, job)
        assert len([p for p in problems if p.code == "pass-too-tight"]) == faults


def test_an_unknown_size_among_the_clearances_is_told_with_its_line():
    text = 'drawing = "a.svg"\n[templates.stencil.clearance]\nss16 = 0.3\nss61 = 0.4\n'
    job, problems = load_job(text, "job.toml")
    assert job is None
    assert [p.code for p in problems] == ["bad-value"]
    assert "ss61" in problems[0].message
