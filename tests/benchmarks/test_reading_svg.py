"""What reading costs: the same for each point from ten thousand to a million, and its memory."""

from __future__ import annotations

import json
import subprocess
import sys

MEASURE = """
import gc, json, math, resource, sys, time
from templater.reading import read_drawing

points, warm = int(sys.argv[1]), 2_000

def file(count):
    # A wavy outline of straight lines and, every tenth, a curve: as a tracing program writes it.
    words, i = [], 0
    def at(i):
        a = 2 * math.pi * i / count
        r = 400 + 20 * math.sin(97 * a)
        return f"{500 + r * math.cos(a):.4f},{500 + r * math.sin(a):.4f}"
    while i < count:
        if i % 10 == 0 and i + 3 < count:
            words.append(f"C{at(i)} {at(i + 1)} {at(i + 2)}")
            i += 3
        else:
            words.append("L" + at(i))
            i += 1
    body = f'<g id="zone a"><path d="M{at(-1)}{"".join(words)}z"/></g>'
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="1000mm" height="1000mm"'
        f' viewBox="0 0 1000 1000">{body}</svg>'
    ).encode()

read_drawing(file(warm), "warm.svg")
data = file(points)
times = []
for _ in range(3 if points < 100_000 else 1):
    gc.collect()
    start = time.process_time()
    drawing = read_drawing(data, "big.svg")
    times.append(time.process_time() - start)
(shape,) = drawing.layers[0].shapes
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
print(json.dumps([min(times), peak, len(shape.area.outline.segments), len(data)]))
"""


def measured(points: int) -> tuple[float, float, int, int]:
    done = subprocess.run(
        [sys.executable, "-c", MEASURE, str(points)], capture_output=True, text=True, check=True
    )
    return tuple(json.loads(done.stdout))


def test_the_cost_of_a_point_stays_flat_to_a_million():
    small, large = measured(10_000), measured(1_000_000)
    each = (small[0] / 10_000 * 1e6, large[0] / 1_000_000 * 1e6)
    print(f"10,000 points: {each[0]:.1f} µs each, peak {small[1]:.0f} MB")
    print(f"1,000,000 points ({large[3] >> 20} MB): {each[1]:.1f} µs each, peak {large[1]:.0f} MB")
    assert small[2] >= 8_000
    assert large[2] >= 800_000  # nothing was lost on the way
    assert each[1] / each[0] < 3.0
    assert large[1] < 2_000
