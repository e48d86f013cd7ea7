"""DXF files made for the tests, and ways to look at what was read."""

import io

import ezdxf

from templater.model.drawing import AreaShape, LineShape, PointShape, TextShape
from templater.reading.dxf import read_dxf


def new(version="R2010", unit=4):
    document = ezdxf.new(version, units=unit) if version != "R12" else ezdxf.new("R12")
    return document, document.modelspace()


def as_bytes(document, *, binary=False):
    if binary:
        stream = io.BytesIO()
        document.write(stream, fmt="bin")
        return stream.getvalue()
    stream = io.StringIO()
    document.write(stream)
    return document.encode(stream.getvalue())


def read(document, **how):
    return read_dxf(as_bytes(document), "made.dxf", **how)


def shapes(drawing, layer, kind=None):
    found = [s for one in drawing.layers if one.name == layer for s in one.shapes]
    return [s for s in found if kind is None or isinstance(s, kind)]


def areas(drawing, layer="0"):
    return shapes(drawing, layer, AreaShape)


def lines(drawing, layer="0"):
    return shapes(drawing, layer, LineShape)


def points(drawing, layer="0"):
    return shapes(drawing, layer, PointShape)


def texts(drawing, layer="0"):
    return shapes(drawing, layer, TextShape)


def codes(drawing, severity=None):
    return [p.code for p in drawing.problems if severity is None or p.severity == severity]
