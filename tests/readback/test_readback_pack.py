"""A folder back to facts: every sheet in its sub-folders, every fault of every file at once."""

from __future__ import annotations

from pathlib import Path

import pytest

from templater.model.problems import Refused
from templater.readback import load_plan, read_pack
from templater.readback.tables import HOLE_COLUMNS, SHOPPING_COLUMNS, STONE_COLUMNS

SVG = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm" viewBox="0 0 9 9">'
    '<circle cx="2" cy="2" r="1"/></svg>'
)


@pytest.fixture
def pack(tmp_path: Path) -> Path:
    (tmp_path / "stencils").mkdir()
    (tmp_path / "stones.csv").write_text(",".join(STONE_COLUMNS) + "\n")
    (tmp_path / "holes.csv").write_text(",".join(HOLE_COLUMNS) + "\n")
    (tmp_path / "shopping.csv").write_text(",".join(SHOPPING_COLUMNS) + "\n")
    (tmp_path / "stencils" / "a.svg").write_text(SVG)
    (tmp_path / "preview.svg").write_text("a picture, no sheet")
    return tmp_path


def test_sheets_are_named_by_their_place_in_the_pack(pack: Path) -> None:
    facts = read_pack(pack)
    assert [sheet.file for sheet in facts.sheets] == ["stencils/a.svg"]
    assert facts.sheets[0].circles[0][:3] == pytest.approx((2.0, 7.0, 2.0))
    assert facts.files == (
        "holes.csv",
        "preview.svg",
        "shopping.csv",
        "stencils/a.svg",
        "stones.csv",
    )


def test_every_fault_is_told_at_once(pack: Path) -> None:
    (pack / "stones.csv").unlink()
    (pack / "holes.csv").write_text("template\n")
    (pack / "stencils" / "a.svg").write_text(SVG[:60])
    (pack / "stencils" / "b.dxf").write_text("no dxf")
    (pack / "stencils" / "c.pdf").write_text("no pdf")
    with pytest.raises(Refused) as caught:
        read_pack(pack)
    assert [p.source.file for p in caught.value.problems] == [
        "stones.csv", "holes.csv", "stencils/a.svg", "stencils/b.dxf", "stencils/c.pdf",
    ]  # fmt: skip
    assert all(p.mend for p in caught.value.problems)


def test_a_missing_plan_is_refused(pack: Path) -> None:
    with pytest.raises(Refused) as caught:
        load_plan(pack)
    assert caught.value.problems[0].code == "pack-file-missing"
