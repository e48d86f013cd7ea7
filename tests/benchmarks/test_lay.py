"""Quick and best lays side by side beside the best published densities. Figures: pytest -s.

Best lays take their time: one instance for 30 s, or with TEMPLATER_ALL_LAYS=1 all three for 60 s.
"""

import json
import os
import time
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from shapely import Polygon, get_coordinates
from shapely.affinity import affine_transform, rotate

from templater.checks.parts import shared_point
from templater.sheets.best_lay import best_lay
from templater.sheets.lay import quick_lay
from templater.sheets.lay_shapes import TURNS, LayShape

# ESICUP garment instances (Oliveira, Gomes, Ferreira 2000; Marques et al. 1991); best published
# strip densities from arXiv 2509.13329. How many points below them a lay may lie is our own aim.
BEST = {"swim": 79.83, "shirts": 90.92, "marques": 92.01}
QUICK_BELOW = 12.0
BEST_BELOW = 6.0
ALL = os.environ.get("TEMPLATER_ALL_LAYS") == "1"
FOLDER = Path(__file__).parents[3] / "shared" / "nesting"


def _instance(name):
    """The shapes of an instance and the strip's width; the strip runs upwards here."""
    file = FOLDER / f"{name}.json"
    if not file.exists():
        pytest.skip(f"{name}.json is not there: the instances are not ours to keep in the project")
    data = json.loads(file.read_text())
    shapes = []
    for item in data["items"]:
        outline = rotate(Polygon(item["shape"]["data"]), 90.0, origin=(0.0, 0.0))
        turns = tuple(int(turn) for turn in item["allowed_orientations"])
        shapes += [LayShape(outline, turns)] * item["demand"]
    return shapes, data["strip_height"]


def _density(shapes, across, lay):
    """What a lay on a strip comes to in per cent, looked at again, and the seconds it took."""
    area = sum(shape.geometry.area for shape in shapes)
    start = time.perf_counter()
    spots = lay(shapes, across, area / across * 1.8, 0.0)
    seconds = time.perf_counter() - start
    laid = []
    for shape, spot in zip(shapes, spots, strict=True):
        t = spot.move
        assert spot.sheet == 0
        assert (t.a, t.b) in {(TURNS[turn].a, TURNS[turn].b) for turn in shape.turns_deg}
        laid.append(affine_transform(shape.geometry, (t.a, t.c, t.b, t.d, t.e, t.f)))
        x0, y0, x1, _ = laid[-1].bounds
        assert min(x0, y0, across - x1) >= -1e-3
    # As the checks look for parts that overlap on a sheet, on a strip a metre wide.
    cuts = [get_coordinates(geometry) * (1000.0 / across) for geometry in laid]
    segments = [np.hstack([cut[:-1], cut[1:]]) for cut in cuts]
    for one, other in combinations(segments, 2):
        assert shared_point(one, other) is None
    return 100.0 * area / (across * max(geometry.bounds[3] for geometry in laid)), seconds


@pytest.fixture(scope="module")
def quick():
    """The quick lay of an instance: density and seconds, laid once."""
    found = {}

    def laid(name):
        if name not in found:
            found[name] = _density(*_instance(name), quick_lay)
        return found[name]

    return laid


@pytest.mark.parametrize("name", BEST)
def test_garments_on_a_strip(name, quick):
    density, seconds = quick(name)
    print(f"{name}: quick {density:.2f} % beside {BEST[name]} % in {seconds:.2f} s")
    assert density >= BEST[name] - QUICK_BELOW


@pytest.mark.parametrize("name", BEST if ALL else ["marques"])
def test_the_best_lay_side_by_side(name, quick):
    pytest.importorskip("spyrrow")
    asked = 60 if ALL else 30
    density, seconds = _density(*_instance(name), lambda *task: best_lay(*task, asked))
    plain, plain_seconds = quick(name)
    print(
        f"{name}: best {density:.2f} % in {seconds:.1f} s, quick {plain:.2f} % in "
        f"{plain_seconds:.1f} s, beside {BEST[name]} %"
    )
    assert density >= BEST[name] - BEST_BELOW
    assert density >= plain - 0.01
