"""Small drawings built by hand, for tests of the ground."""

from __future__ import annotations

from templater.geometry.polygons import circle, polyline, rectangle
from templater.ground import build_ground
from templater.job import load_job
from templater.model.curves import Area, Path
from templater.model.drawing import AreaShape, Drawing, DrawingLayer, LineShape, PointShape, Shape
from templater.model.ground import Ground
from templater.model.problems import Problems, Source

FILE = "test.svg"


def box(x0, y0, x1, y1) -> Area:
    return Area(rectangle(x0, y0, x1, y1))


def disc(x, y, diameter) -> Area:
    return Area(circle((x, y), diameter))


def line(*points) -> Path:
    return polyline(points, closed=False)


def drawing(layers: dict[str, list], size=(400.0, 600.0)) -> Drawing:
    """Layers of areas, paths and points, by name."""
    return Drawing(
        FILE,
        tuple(
            DrawingLayer(name, tuple(_shape(name, k, item) for k, item in enumerate(items)))
            for name, items in layers.items()
        ),
        size,
        "mm",
    )


def _shape(layer: str, k: int, item: object) -> Shape:
    source = Source(FILE, layer, f"shape {k + 1}")
    if isinstance(item, Area):
        return AreaShape(item, source)
    if isinstance(item, Path):
        return LineShape(item, source)
    return PointShape(item, source)


def ground_of(layers: dict[str, list], job: str = "") -> tuple[Ground, Problems]:
    read, problems = load_job(f'drawing = "{FILE}"\n{job}', "test.toml")
    assert read is not None, problems
    return build_ground(drawing(layers), read)


def codes(problems: Problems) -> list[str]:
    return [problem.code for problem in problems]
