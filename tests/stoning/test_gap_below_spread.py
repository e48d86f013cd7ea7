"""A gap too small for the spread of a size is told, with the smallest that does."""

import pytest
from stoning_grounds import ground, zone

from templater.geometry.polygons import rectangle
from templater.job.schema import Job
from templater.stoning import set_all


@pytest.mark.parametrize(("gap", "told"), [(0.0, 2), (0.05, 2), (0.1, 0), (0.2, 0)])
def test_outline_row_and_fill_are_told_the_smallest_gap(gap, told):
    """ss16 is 3.8 to 4.0 mm in the catalogue, planned as 3.9."""
    stoning = {
        "outline": {"size": "ss16", "gap": gap},
        "fill": {"style": "staggered", "sizes": {"ss16": 1}, "gap": gap},
    }
    job = Job.model_validate({"drawing": "x.svg", "seed": 3, "stoning": {"leaf": stoning}})
    _, problems = set_all(ground(zone(rectangle(0, 0, 40, 30))), job)
    found = [problem for problem in problems if problem.code == "gap-below-spread"]
    assert len(found) == told
    assert all("0.10 mm or more" in problem.mend for problem in found)
