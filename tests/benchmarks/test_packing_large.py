"""A fill of some 200,000 stones: what a stone costs beside one of 10,000, and how much memory."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent
MEASURE = """
import json, math, resource, sys, time
sys.path.insert(0, {here!r})
from packing_zones import MIX, field_of, rectangle
from templater.geometry.rng import Rng
from templater.stoning.styles import fill

unit = 1 if sys.platform == "darwin" else 1024
def most():
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit

fill(field_of(rectangle(100.0, 60.0), flat=0.0), "packed", None, MIX, 0.2, Rng(1, "warm"))
told = []
for count in (10_000, 200_000):
    side = math.sqrt(count * 17.0)
    field = field_of(rectangle(side, side), flat=0.0)
    before, start = most(), time.process_time()
    stones = len(fill(field, "packed", None, MIX, 0.2, Rng(1, "large")).x_mm)
    seconds = time.process_time() - start
    told.append((stones, seconds / stones, (most() - before) / stones))
print(json.dumps(told))
"""


def test_cost_and_memory_of_a_stone_in_a_large_fill():
    pytest.importorskip("resource", reason="peaks of memory are told where there is `resource`")
    from templater.geometry.kernels.compiled import COMPILED

    if not COMPILED:
        pytest.skip("numba is not installed: plain Python is some hundred times slower")
    done = subprocess.run(
        [sys.executable, "-c", MEASURE.format(here=str(HERE))],
        capture_output=True,
        text=True,
        check=True,
    )
    small, large = json.loads(done.stdout)
    for stones, seconds, memory in (small, large):
        print(f"{stones} stones, {1.0 / seconds:,.0f} a second, {memory:.0f} bytes a stone")
    assert large[0] > 150_000
    assert large[1] <= 1.3 * small[1]
    assert large[2] <= 1024.0
