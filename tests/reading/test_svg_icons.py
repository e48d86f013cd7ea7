"""Two thousand drawings by other hands: what we read fills what an independent renderer fills.

The icons are those of the package `django-js-lib-bootstrap-icons` of the test extra (MIT), read
where it is installed; none is copied into this repository.
"""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path

import pytest
from renderer import AREA_LIMIT, EDGE_LIMIT_MM, Comparison

LEAST_FILES = 2000
LEAST_SHARE = 0.95
CLASSES = {
    # Named before anything is compared, by what the file itself says.
    "clip": re.compile(r"clip-path"),
    "mask": re.compile(r"<mask|mask="),
    "filter": re.compile(r"<filter|filter="),
    "text": re.compile(r"<text"),
    "image": re.compile(r"<image"),
    "stroke": re.compile(r"\bstroke\s*="),
    "translucent": re.compile(r"opacity"),
    # A path that stands there twice: its edges are twice as dark in the renderer's picture.
    "painted twice": re.compile(r' d="([^"]+)".* d="\1"', re.DOTALL),
}
KNOWN_OTHERS: set[str] = set()
"""Plain files that do not agree, each to be named here with its reason. There are none."""


def icons() -> list[Path]:
    spec = importlib.util.find_spec("js_lib_bootstrap_icons")
    if spec is None or not spec.submodule_search_locations:
        pytest.skip("the icon package of the test extra is not installed")
    root = Path(next(iter(spec.submodule_search_locations)))
    # One file is a sheet of symbols that draws nothing by itself.
    return sorted(f for f in root.rglob("*.svg") if f.name != "bootstrap-icons.svg")


def class_of(text: str) -> str:
    return next((name for name, sign in CLASSES.items() if sign.search(text)), "plain")


def compared(text: str) -> tuple[float, float]:
    box = re.search(r'viewBox="([^"]+)"', text)
    assert box
    _, _, width, height = (float(v) for v in box.group(1).split())
    comparison = Comparison(text, (width, height))
    return comparison.area_error, comparison.edge_error_mm()


def test_two_thousand_icons_fill_what_the_renderer_fills():
    counts: dict[str, int] = {}
    wrong: dict[str, tuple[float, float]] = {}
    worst_area = worst_edge = 0.0
    for file in icons():
        text = file.read_text()
        kind = class_of(text)
        counts[kind] = counts.get(kind, 0) + 1
        if kind != "plain":
            continue
        area, edge = compared(text)
        if area > AREA_LIMIT or edge > EDGE_LIMIT_MM:
            wrong[file.name] = (area, edge)
        else:
            worst_area, worst_edge = max(worst_area, area), max(worst_edge, edge)
    files = sum(counts.values())
    print(f"{files} files {counts}, others {wrong}")
    print(f"the rest: area within {worst_area:.5f} of the box, edges within {worst_edge:.3f} mm")
    assert files >= LEAST_FILES
    assert (counts["plain"] - len(wrong)) / files >= LEAST_SHARE
    assert set(wrong) == KNOWN_OTHERS
