"""The cost of reading DXF stays flat from 5,000 to 100,000 points.

Measured by hand up to 1,000,000 points of one polyline: 12 µs and 0.5 kB a point (peak 480 MB
beyond the file); loose lines cost 84 µs each, most of it ezdxf's own loading.
"""

import math
import time

import pytest

from templater.model.drawing import AreaShape
from templater.reading.dxf import read_dxf

HEAD = "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1015\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n"
TAIL = "0\nENDSEC\n0\nEOF\n"


def ring(count):
    turns = (math.tau * k / count for k in range(count))
    return [((300 + 5 * math.sin(40 * t)) * math.cos(t), 300 * math.sin(t)) for t in turns]


def polyline(count):
    points = "".join(f"10\n{x:.6f}\n20\n{y:.6f}\n" for x, y in ring(count))
    entity = (
        "0\nLWPOLYLINE\n5\nFF\n100\nAcDbEntity\n8\nzone a\n100\nAcDbPolyline\n"
        f"90\n{count}\n70\n1\n{points}"
    )
    return (HEAD + entity + TAIL).encode()


def loose_lines(count):
    points = ring(count)
    ends = [*points[1:], points[0]]
    made = "".join(
        f"0\nLINE\n8\nzone a\n10\n{a[0]:.6f}\n20\n{a[1]:.6f}\n11\n{b[0]:.6f}\n21\n{b[1]:.6f}\n"
        for a, b in zip(points, ends, strict=True)
    )
    return (HEAD + made + TAIL).encode()


def seconds(data):
    best = math.inf
    for _ in range(2):
        start = time.process_time()
        drawing = read_dxf(data, "large.dxf", unit="mm")
        best = min(best, time.process_time() - start)
    [shape] = drawing.layers[0].shapes
    assert isinstance(shape, AreaShape)
    return best


@pytest.mark.parametrize(
    ("make", "few", "many"), [(polyline, 5_000, 100_000), (loose_lines, 1_500, 15_000)]
)
def test_cost_per_point_is_flat(make, few, many):
    read_dxf(make(10), "warm.dxf", unit="mm")  # the libraries' own start
    small, large = make(few), make(many)
    ratio = (seconds(large) / many) / (seconds(small) / few)
    print(f"{make.__name__}: cost a point at {many:,} is {ratio:.2f} of that at {few:,}")
    # Linear work on a shared machine measured 1.3 to 1.7; cost that grows with the square would be 10.
    assert ratio < 2.5
