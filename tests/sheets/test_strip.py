"""The test strip: each size at several clearances round the job's, to be cut before anything else."""

import pytest

from templater.catalogue.sizes import find_size
from templater.job.schema import Job
from templater.model.sheets import Circle, Lettering
from templater.sheets.strip import strip_sheet


def strip(clearance, kerf=0.0, sizes=("ss16", "ss34")):
    stencil = {"clearance": clearance, "kerf": kerf}
    job = Job(drawing="a.svg", name="Kelp", templates={"stencil": stencil})
    sheet = strip_sheet({name: find_size(name) for name in sizes}, job)
    holes = next(layer for layer in sheet.layers if layer.name == "holes").items
    words = next(layer for layer in sheet.layers if layer.name == "text").items
    rows = {}
    for hole in holes:
        assert isinstance(hole, Circle)
        rows.setdefault(hole.y_mm, []).append(hole.diameter_mm)
    said = [item.text for item in words if isinstance(item, Lettering)]
    return [row for _, row in sorted(rows.items(), reverse=True)], said


def test_each_size_has_its_own_clearance_in_the_middle():
    # Largest by the catalogue: ss34 7.27 mm, ss16 4.00 mm.
    rows, said = strip({"ss34": 0.6, "other": 0.3})
    assert rows == [
        pytest.approx([7.67, 7.77, 7.87, 7.97, 8.07]),
        pytest.approx([4.1, 4.2, 4.3, 4.4, 4.5]),
    ]
    assert {"ss34 + 0.6 mm", "ss16 + 0.3 mm", "its own", "its own − 0.1 mm"} <= set(said)


def test_no_hole_is_smaller_than_its_largest_stone_but_for_the_kerf():
    rows, said = strip(0.1, kerf=0.05)
    assert rows == [
        pytest.approx([7.22, 7.32, 7.42, 7.52]),
        pytest.approx([3.95, 4.05, 4.15, 4.25]),
    ]
    assert {"+ 0 mm", "+ 0.1 mm", "+ 0.3 mm"} <= set(said)
    rows, _ = strip({"ss34": 0.3, "ss16": 0.0})
    assert [len(row) for row in rows] == [5, 3]
