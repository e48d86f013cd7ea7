"""Tours beside published optima and constants. Figures are printed: pytest -s."""

import math
import time
from pathlib import Path

import pytest

from templater.geometry.rng import Rng
from templater.geometry.tour import tour, tour_length

# TSPLIB95, G. Reinelt 1991: drilling instances and their optimal lengths (EUC_2D, each distance
# rounded to a whole number).
OPTIMA = {"pcb442": 50778, "d657": 48912, "pcb1173": 56892, "d1291": 50801, "u2152": 64253}
FOLDER = Path(__file__).parents[3] / "shared" / "tsplib"


def _points(name):
    file = FOLDER / f"{name}.tsp"
    if not file.exists():
        pytest.skip(f"{name}.tsp is not there: the instances are not ours to keep in the project")
    lines = file.read_text().splitlines()
    first = next(i for i, line in enumerate(lines) if line.startswith("NODE_COORD_SECTION")) + 1
    rows = [line.split() for line in lines[first:] if not line.startswith("EOF") and line.strip()]
    return [(float(row[1]), float(row[2])) for row in rows]


def _whole_length(points, order):
    return sum(
        int(math.dist(points[a], points[b]) + 0.5)
        for a, b in zip(order, [*order[1:], order[0]], strict=True)
    )


@pytest.mark.parametrize("name", OPTIMA)
def test_drilling_instances_are_within_three_per_cent_and_the_same_every_run(name):
    points = _points(name)
    start = time.perf_counter()
    order = tour(points)
    seconds = time.perf_counter() - start
    assert sorted(order) == list(range(len(points)))
    above = _whole_length(points, order) / OPTIMA[name] - 1.0
    print(f"{name}: {above:.2%} above the optimum in {seconds:.2f} s")
    assert above <= 0.03
    assert tour(points) == order


def test_random_holes_beside_the_constant_for_random_points():
    # L / √(N·A) tends to 0.7124 (Beardwood, Halton, Hammersley 1959; Johnson, McGeoch, Rothberg
    # 1996); a near-optimal tour of 5,000 was measured at 0.725, the edge counting in.
    rng = Rng("random holes")
    points = [(rng.uniform() * 300.0, rng.uniform() * 300.0) for _ in range(5000)]
    start = time.perf_counter()
    order = tour(points)
    seconds = time.perf_counter() - start
    constant = tour_length(points, order) / math.sqrt(5000 * 300.0 * 300.0)
    print(f"5,000 random holes: {constant:.4f} √(N·A) in {seconds:.2f} s")
    assert 0.7124 < constant < 0.725 * 1.04


def test_a_stencils_cut_order_is_near_what_much_more_effort_finds():
    # A hexagonal lattice with a tenth of its holes missing, as passes leave it; the stage's own
    # effort (no kicks) beside sixty times as much.
    rng = Rng("stencil")
    points = [
        ((i + 0.5 * (j % 2)) * 7.3, j * 6.3)
        for j in range(18)
        for i in range(18)
        if rng.uniform() > 0.1
    ]
    quick = tour_length(points, tour(points, (0.0, 0.0), 0), (0.0, 0.0))
    best = tour_length(points, tour(points, (0.0, 0.0), 20), (0.0, 0.0))
    print(f"cut order of {len(points)} holes: {quick / best - 1.0:.2%} above much more effort")
    assert quick <= best * 1.05
