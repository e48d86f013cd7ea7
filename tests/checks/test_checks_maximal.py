"""A fill said to be maximal is: room for one more stone is found, and only where there is some."""

from __future__ import annotations

from dataclasses import replace

import pytest
import sound_pack as sp

from templater.checks import check
from templater.model.curves import Area
from templater.model.ground import KeepClear, Low, Make
from templater.model.problems import Severity

LEAF, TIP, SPINE = sp.settings()


def codes(pack) -> set[str]:
    found = check(*pack)
    assert all(p.message and p.mend for p in found)
    return {p.code for p in found}


@pytest.mark.parametrize("index", [0, 8, 40, 80])
def test_a_missing_stone_is_room_for_one(index) -> None:
    leaf = sp.setting("leaf", sp.without(LEAF.stones, index))
    pack = sp.build((leaf, TIP, SPINE))
    found = [p for p in check(*pack) if p.code == "fill-not-maximal"]
    assert found
    x, y = LEAF.stones[index].at
    assert min(abs(p.at_mm[0] - x) + abs(p.at_mm[1] - y) for p in found) < 4.0
    assert codes(sp.build((replace(leaf, maximal_size=None), TIP, SPINE))) == set()


@pytest.mark.parametrize(("wider", "found"), [(0.002, False), (0.006, True)])
def test_room_is_found_to_the_micrometre(wider, found) -> None:
    """A strip as wide as one stone and twice its edge has no room to spare, 6 µm more have."""
    zone = sp.zone("leaf", 10.0, 10.0 + 3.9 + 0.4 + wider)
    pack = sp.build((sp.setting("leaf", ()),), sp.ground(zones=(zone,), rows=()))
    assert ("fill-not-maximal" in codes(pack)) is found


def test_what_is_kept_clear_is_no_room() -> None:
    leaf = sp.setting("leaf", sp.without(LEAF.stones, 40))
    x, y = LEAF.stones[40].at
    point = KeepClear("clear", "front", sp.disc(x, y, 0.2), 1.8, sp.SOURCE)
    assert codes(sp.build((leaf, TIP, SPINE), sp.ground(keep_clear=(point,)))) == set()


def test_a_low_area_is_no_room_for_a_high_stone() -> None:
    leaf = sp.setting("leaf", sp.without(LEAF.stones, 40))
    x, y = LEAF.stones[40].at
    low = Low("front", Area(sp.box(x - 0.2, y - 0.2, x + 0.2, y + 0.2)), 1.6, sp.SOURCE)
    assert codes(sp.build((leaf, TIP, SPINE), sp.ground(lows=(low,)))) == set()
    low = replace(low, height_mm=1.8)
    assert codes(sp.build((leaf, TIP, SPINE), sp.ground(lows=(low,)))) == {"fill-not-maximal"}


def test_room_on_the_fold_is_found() -> None:
    plan, _ = sp.folded()
    stones = plan.settings[0].stones
    centre = next(i for i, s in enumerate(stones) if s.x_mm == 100.0 and s.y_mm > 25.0)
    own = sp.setting("leaf", sp.without(stones, centre))
    assert codes(sp.build((own,), sp.ground(Make.FOLD, rows=()))) == {"fill-not-maximal"}


def test_a_maximal_size_nobody_knows() -> None:
    pack = sp.build((replace(LEAF, maximal_size="ss99"), TIP, SPINE))
    assert codes(pack) == {"maximal-size-wrong"}


def test_a_proof_that_would_take_too_long_says_so(monkeypatch) -> None:
    monkeypatch.setattr("templater.checks.maximal.EFFORT", 10)
    found = check(*sp.build())
    assert {(p.code, p.severity) for p in found} == {("maximal-not-proved", Severity.WARNING)}
