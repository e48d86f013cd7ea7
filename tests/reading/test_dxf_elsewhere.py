"""DXF files written by other programs.

One library writes some here (package dxfwrite, MIT, in the test extra). And where a general CAD
program's symbol library or a solid modeller's examples are installed (Debian packages
librecad-data, openscad), each of their files is compared with ezdxf's own flattening; any other
folder can be named in TEMPLATER_DXF_FOLDER.
"""

import io
import math
import os
import pathlib

import ezdxf
import pytest
from dxf_making import areas, codes, lines, points, texts
from shapely import MultiLineString, hausdorff_distance
from test_dxf_against_ezdxf import FINE_MM, exploded, theirs

from templater.geometry.flatten import flatten
from templater.geometry.measure import area_mm2, path_length
from templater.model.drawing import AreaShape, LineShape
from templater.model.problems import Severity
from templater.reading.dxf import read_dxf

FOLDERS = [
    pathlib.Path(name)
    for name in (
        os.environ.get("TEMPLATER_DXF_FOLDER", ""),
        "/usr/share/librecad/library",
        "/usr/share/openscad/examples",
    )
    if name and pathlib.Path(name).is_dir()
]
FILES = sorted(file for folder in FOLDERS for file in folder.rglob("*.dxf"))
if "TEMPLATER_DXF_FOLDER" not in os.environ:
    FILES = FILES[:: max(1, len(FILES) // 100)]  # all of them take minutes
NO_LINES = (
    "TEXT",
    "MTEXT",
    "DIMENSION",
    "POINT",
    "ATTRIB",
    "ATTDEF",
    "LEADER",
    "VIEWPORT",
    "IMAGE",
)
# our joining moves two ends at most half its tolerance each
AGREE_MM = 0.05 / 2 + 0.0015


def write(*entities, blocks=()):
    from dxfwrite import DXFEngine

    drawing = DXFEngine.drawing("other.dxf")
    for block in blocks:
        drawing.blocks.add(block)
    for entity in entities:
        drawing.add(entity)
    stream = io.StringIO()
    drawing.save_to_fileobj(stream)
    return stream.getvalue().encode()


def test_a_drawing_by_another_writer():
    engine = pytest.importorskip("dxfwrite", reason="the test extra's dxfwrite").DXFEngine
    leaf = engine.block("leaf")
    leaf.add(engine.circle(5, (0, 0), layer="0"))
    polyline = engine.polyline([(0, 0), (40, 0), (40, 30)], layer="zone tip")
    polyline.close()
    data = write(
        engine.line((1, 2), (3.5, 4), layer="seam side"),
        engine.arc(10, (20, 20), 30, 120, layer="edge hem"),
        polyline,
        engine.point((7, 8), layer="drill"),
        engine.text("front", (1, 1), height=3, layer="note"),
        engine.insert("leaf", (100, 50), xscale=2, yscale=2, rotation=20, layer="zone frond"),
        blocks=[leaf],
    )
    drawing = read_dxf(data, "other.dxf", unit="mm")
    assert not codes(drawing, Severity.ERROR)
    [line] = lines(drawing, "seam side")
    assert (line.path.start, line.path.end) == ((1, 2), (3.5, 4))
    [arc] = lines(drawing, "edge hem")
    assert path_length(arc.path) == pytest.approx(10 * math.pi / 2)
    [triangle] = areas(drawing, "zone tip")
    assert area_mm2(triangle.area) == pytest.approx(600)
    [circle] = areas(drawing, "zone frond")
    assert area_mm2(circle.area) == pytest.approx(math.pi * 100)
    assert [p.at for p in points(drawing, "drill")] == [(7, 8)]
    assert [t.text for t in texts(drawing, "note")] == ["front"]


@pytest.mark.skipif(not FILES, reason="no DXF files of other programs are installed here")
def test_files_of_other_programs_agree_with_ezdxf():
    compared, off = 0, []
    for file in FILES:
        document = loaded(file)
        if document is None:
            continue
        drawing = read_dxf(file.read_bytes(), file.name, unit="mm")
        got, want = ours(drawing), flattened(document)
        if not got or not want:
            assert bool(got) == bool(want), file.name
            continue
        one, other = MultiLineString(got), MultiLineString(want)
        far = max(hausdorff_distance(one, other), hausdorff_distance(other, one))
        compared += 1
        if far > AGREE_MM:
            off.append((file.name, far))
    assert off == []
    assert compared >= min(len(FILES), 2)


def loaded(file):
    """ezdxf's strict reading: files that only its recovery reads are compared elsewhere."""
    try:
        return ezdxf.readfile(file)
    except ezdxf.DXFStructureError:
        return None


def flattened(document):
    found = []
    for entity in exploded(document.modelspace()):
        if entity.dxftype() in NO_LINES:
            continue
        if (
            entity.dxftype() == "ELLIPSE"
            and abs(entity.dxf.end_param - entity.dxf.start_param) < 1e-9
        ):
            entity.dxf.start_param, entity.dxf.end_param = 0.0, math.tau  # ezdxf fails on these
        found.extend(path for path in theirs(entity) if len(path) > 1)
    return found


def ours(drawing):
    found = []
    for layer in drawing.layers:
        for shape in layer.shapes:
            if isinstance(shape, LineShape):
                paths = [shape.path]
            elif isinstance(shape, AreaShape):
                paths = [shape.area.outline, *shape.area.holes]
            else:
                continue
            for path in paths:
                ring = flatten(path, FINE_MM)
                found.append([*ring, ring[0]] if path.closed else ring)
    return found
