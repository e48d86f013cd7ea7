"""Small makers of SVG files for the reading tests, and a way to look at what was read."""

from __future__ import annotations

from templater.geometry.measure import area_mm2, path_box
from templater.model.drawing import AreaShape, Drawing, LineShape
from templater.model.problems import Severity
from templater.reading import read_drawing

NS = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'


def svg(body: str, *, size: str = 'width="100mm" height="80mm" viewBox="0 0 100 80"') -> bytes:
    """A file whose user unit is a millimetre, unless `size` says otherwise."""
    return f'<svg {NS} xmlns:ed="urn:some-editor" {size}>\n{body}\n</svg>'.encode()


def read(body: str | bytes, *, unit: str | None = None, **kwargs) -> Drawing:
    data = body if isinstance(body, bytes) else svg(body, **kwargs)
    return read_drawing(data, "test.svg", unit=unit)


def shapes(drawing: Drawing, layer: str | None = None) -> list:
    return [s for one in drawing.layers if layer in {None, one.name} for s in one.shapes]


def areas(drawing: Drawing, layer: str | None = None) -> list[float]:
    """Areas in mm², in order."""
    return [area_mm2(s.area) for s in shapes(drawing, layer) if isinstance(s, AreaShape)]


def box(shape) -> tuple[float, ...]:
    path = shape.path if isinstance(shape, LineShape) else shape.area.outline
    return tuple(round(v, 4) + 0.0 for v in path_box(path))


def boxes(drawing: Drawing, layer: str | None = None) -> list[tuple[float, ...]]:
    return [box(s) for s in shapes(drawing, layer)]


def codes(drawing: Drawing) -> list[str]:
    return [problem.code for problem in drawing.problems]


def errors(drawing: Drawing) -> list:
    return [p for p in drawing.problems if p.severity is Severity.ERROR]


def problem(drawing: Drawing, code: str):
    found = [p for p in drawing.problems if p.code == code]
    assert len(found) == 1, (code, codes(drawing))
    return found[0]
