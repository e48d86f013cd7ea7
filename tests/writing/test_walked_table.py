"""walked.csv against lengths worked out by hand."""

import csv
import io
from dataclasses import replace

import pytest
from writing_samples import small_plan

from templater.model.parts import Walked
from templater.writing.walked_table import WALKED_HEAD, walked_csv

SIDE = Walked(
    'seam "side", front', 'seam "side", back', 300.0, 304.0, 150.0, 300.0, (0, 225), "seam"
)
LEGS = Walked("left leg", "right leg", 100.5, 100.0, 0.0, 100.5, (145.0, 150.0), "dart legs")


def rows(sample_plan, *pairs):
    text = walked_csv(replace(sample_plan, walked=pairs)).decode()
    assert text.splitlines()[0] == WALKED_HEAD
    return list(csv.DictReader(io.StringIO(text)))


@pytest.fixture
def sample_plan():
    return small_plan()


def test_differences_are_in_millimetres_and_per_cent_with_their_place(sample_plan):
    side, legs = rows(sample_plan, SIDE, LEGS)
    assert side["kind"] == "seam"
    assert float(side["difference_mm"]) == -4.0
    assert float(side["per_cent"]) == pytest.approx(-100 * 4 / 304, abs=1e-4)
    assert [float(side[k]) for k in ("from_mm", "to_mm", "x_mm", "y_mm")] == [150, 300, 0, 225]
    assert side["note"] == "ease in 4.0 mm of the second, or redraw one"
    assert float(legs["per_cent"]) == 0.5
    assert legs["note"] == "true"
