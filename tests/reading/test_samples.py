"""The sample drawing as DXF reads to the same ground as the demo's SVG."""

from pathlib import Path

import pytest

import templater
from templater.geometry.measure import area_mm2, path_box
from templater.ground import build_ground
from templater.job import load_job
from templater.reading import read_drawing

ROOT = Path(templater.__file__).parents[1]


def ground(drawing: Path):
    read = read_drawing(drawing.read_bytes(), drawing.name)
    assert not [problem for problem in read.problems if problem.severity == "error"]
    text = (ROOT / "templater" / "demo" / "kelp-leotard.toml").read_text("utf-8")
    job, problems = load_job(text, "kelp-leotard.toml")
    assert job is not None, problems
    found, problems = build_ground(read, job)
    assert not [problem for problem in problems if problem.severity == "error"]
    return found


def test_the_dxf_front_is_the_svg_front():
    svg = ground(ROOT / "templater" / "demo" / "kelp-front.svg")
    dxf = ground(ROOT / "samples" / "kelp-front.dxf")
    assert [zone.name for zone in dxf.zones] == [zone.name for zone in svg.zones]
    for one, other in zip(svg.zones, dxf.zones, strict=True):
        assert area_mm2(other.regions[0].area) == pytest.approx(
            area_mm2(one.regions[0].area), abs=0.01
        )
        assert path_box(other.regions[0].area.outline) == pytest.approx(
            path_box(one.regions[0].area.outline), abs=0.001
        )
        kinds = [
            sorted((edge.kind, edge.name) for edge in zone.regions[0].rings[0])
            for zone in (one, other)
        ]
        assert kinds[0] == kinds[1]
    assert len(dxf.keep_clear) == len(svg.keep_clear)
    assert dxf.piece("front").fold is not None
