"""One drawing in 200 random guises reads to the same millimetres within 1 µm."""

from __future__ import annotations

import pytest
import shapely
from svg_family import PAGE, SHAPES, sample, write
from svg_making import read

from templater.geometry.flatten import flatten
from templater.model.curves import Arc
from templater.model.drawing import AreaShape, LineShape
from templater.reading.naming import role_of

FAMILY = 200
LIMIT_MM = 0.001
FINE_MM = 2e-4

TRUTH = {shape[0]: shapely.linestrings(sample(shape)) for shape in SHAPES}
ROUND = {shape[0]: sum(s[0] == "A" for s in shape[3]) for shape in SHAPES}


def near(line, other) -> bool:
    """Whether every corner of one line lies within the limit of another."""
    shapely.prepare(other)
    return bool(
        shapely.dwithin(other, shapely.points(shapely.get_coordinates(line)), LIMIT_MM).all()
    )


@pytest.mark.parametrize("first", range(0, FAMILY, 20))
def test_every_guise_reads_the_same(first):
    worst = 0.0
    for seed in range(first, first + 20):
        text, unit = write(seed)
        drawing = read(text.encode(), unit=unit)
        assert not [p for p in drawing.problems if p.severity != "note"], (seed, drawing.problems)
        assert drawing.size_mm == pytest.approx(PAGE, abs=1e-9), seed
        assert len(drawing.layers) == len(SHAPES), (seed, [layer.name for layer in drawing.layers])
        for layer, (name, closed, *_) in zip(drawing.layers, SHAPES, strict=True):
            assert role_of(layer.name) == role_of(name), seed
            (shape,) = layer.shapes
            assert isinstance(shape, AreaShape if closed else LineShape), (seed, name)
            path = shape.area.outline if isinstance(shape, AreaShape) else shape.path
            # Circular in the end, so no arc may have been lost to Béziers on the way.
            assert sum(isinstance(s, Arc) for s in path.segments) == ROUND[name], (seed, name)
            points = flatten(path, FINE_MM)
            line = shapely.linestrings([*points, points[0]] if closed else points)
            assert near(line, TRUTH[name]), (seed, name)
            assert near(TRUTH[name], line), (seed, name)
            if seed == first:
                worst = max(worst, float(shapely.hausdorff_distance(line, TRUTH[name])))
    print(f"largest difference in guise {first}: {worst * 1000:.3f} µm")


def test_the_measure_sees_a_shift_of_two_micrometres():
    """The comparison above is worth something: it refuses a drawing that is off by 2 µm."""
    text, unit = write(3)
    at = text.index(">") + 1
    box = text[text.index('viewBox="') :].split('"')[1].replace(",", " ").split()
    two_um = 0.002 * float(box[2]) / PAGE[0]  # in user units
    moved = f'{text[:at]}<g transform="translate({two_um!r} 0)">{text[at:-6]}</g></svg>'
    drawing = read(moved.encode(), unit=unit)
    shapes = {layer.name: layer.shapes[0] for layer in drawing.layers}
    piece = next(shape for name, shape in shapes.items() if role_of(name) == "piece")
    points = flatten(piece.area.outline, FINE_MM)
    assert not near(shapely.linestrings([*points, points[0]]), TRUTH["piece front"])
