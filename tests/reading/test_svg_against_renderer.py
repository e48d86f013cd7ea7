"""Hand-made hard cases: what we read fills what an independent renderer (resvg) fills."""

from __future__ import annotations

import numpy as np
import pytest
from renderer import AREA_LIMIT, EDGE_LIMIT_MM, filled, raster
from svg_making import NS, errors, read

PX = 1000  # a tenth of a millimetre at 100 mm
PAGE = 'width="100mm" height="100mm" viewBox="0 0 100 100"'
STAR = "M50 5L76 90L8 35H92L24 90z"
RING = "M10 50a40 40 0 1 0 80 0a40 40 0 1 0-80 0zM30 50a20 20 0 1 0 40 0a20 20 0 1 0-40 0z"

CASES = {
    "star, nonzero": f'<path d="{STAR}"/>',
    "star, evenodd": f'<path fill-rule="evenodd" d="{STAR}"/>',
    "ring, nonzero": f'<path d="{RING}"/>',
    "ring, evenodd": f'<path style="fill-rule:evenodd" d="{RING}"/>',
    "overlapping parts": '<path d="M10 10h50v50h-50zM40 40h50v50h-50z"/>',
    "overlapping parts, evenodd": '<path fill-rule="evenodd" d="M10 10h50v50h-50zM40 40h50v50h-50z"/>',
    "figure of eight": '<path d="M20 20C120 120-20 120 80 20z"/>',
    "loop in a curve": '<path d="M10 80C130 0-30 0 90 80z"/>',
    "arc, skewed": '<path transform="skewX(30) scale(.7 1)" d="M10 50A30 20 40 1 1 60 60z"/>',
    "arc, mirrored": '<path transform="matrix(-1 0 0 1 100 0)" d="M10 50A30 20 40 1 1 60 60z"/>',
    "arc, other flags": '<path d="M20 50A40 25 30 0 0 80 60A20 35 0 0180 20z"/>',
    "arc, radii too small": '<path d="M10 50A5 3 20 0 1 90 50z"/>',
    "arc, negative radii": '<path d="M10 50A-40-30 0 0 1 90 50z"/>',
    "arc, zero radius": '<path d="M10 10A0 9 0 0 1 90 20L50 90z"/>',
    "smooth curves": '<path d="M10 50C10 10 40 10 50 50S90 90 90 50 60 5 50 20 20 95 10 50z"/>',
    "smooth quadratics": '<path d="M10 50Q30 0 50 50T90 50V90H10z"/>',
    "turned ellipse": '<ellipse transform="rotate(30 50 50)" cx="50" cy="50" rx="40" ry="15"/>',
    "uneven corners": '<rect x="10" y="20" width="80" height="50" rx="30" ry="10"/>',
    "corners too large": '<rect x="10" y="20" width="80" height="50" rx="70"/>',
    "one corner radius by height": '<rect x="10" y="20" width="80" height="50" ry="12%"/>',
    "percent sizes": '<svg x="10%" y="20%" width="50%" height="50%"><rect width="50%" height="80%"/></svg>',
    "units inside": '<rect x="2pc" y=".1in" width="15pt" height="4mm"/><circle cx="3em" cy="60" r="1ex"/>',
    "nested viewBox": '<svg x="10" y="10" width="80" height="40" viewBox="0 0 10 10"><path d="M1 1h8v8z"/></svg>',
    "nested, to the left": '<svg width="80" height="40" viewBox="0 0 10 10" preserveAspectRatio="xMinYMin">'
    '<circle cx="5" cy="5" r="4"/></svg>',
    "nested, stretched": '<svg width="80" height="40" viewBox="0 0 10 10" preserveAspectRatio="none">'
    '<circle cx="5" cy="5" r="4"/></svg>',
    "symbol": '<symbol id="s" viewBox="0 0 10 20"><path d="M0 0h10L5 20z"/></symbol>'
    '<use href="#s" x="5" y="5" width="40" height="40"/>'
    '<use xlink:href="#s" x="5" y="5" width="20" height="40" transform="translate(50 50) rotate(-20)"/>',
    "copies of copies": '<defs><g id="a" transform="scale(2)"><rect width="5" height="5"/></g>'
    '<g id="b"><use href="#a"/><use href="#a" x="20" y="5"/></g></defs>'
    '<use href="#b" x="10"/><use href="#b" transform="rotate(20)" x="30" y="30"/>',
    "style sheet": "<style>.a{fill:none}.b .c{fill-rule:evenodd}#d{display:none}rect{visibility:hidden}</style>"
    f'<path class="a" d="M0 0h100v100z"/><g class="b"><path class="c" d="{RING}"/></g>'
    '<path id="d" d="M0 0h9v9z"/><rect width="20" height="20"/>',
    "inherited and overridden": f'<g fill="none" fill-rule="evenodd"><path fill="red" d="{STAR}"/>'
    '<path d="M0 0h20v20z"/></g>',
    "transforms in a row": '<g transform="translate(50,50)rotate(30)"><g transform="scale(1.5 .5) skewY(10)">'
    '<rect x="-20" y="-20" width="40" height="40"/></g></g>',
    "turned page of its own": '<g transform="rotate(15 50 50)"><svg x="30" y="30" width="40" height="40"'
    ' viewBox="-5 -5 10 10" overflow="visible"><path d="M-5-5L5 0-5 5z"/></svg></g>',
    "switch": '<switch><g systemLanguage="xx"><rect width="90" height="90"/></g>'
    '<g><circle cx="50" cy="50" r="30"/></g></switch>',
    "no closing command": '<path d="M10 10L90 20 50 90"/><polyline points="5,60 30,60 5,95"/>',
    "many subpaths from one start": '<path d="m10 10h30v30h-30z m40 0h20v20h-20z l40 40v30z"/>',
    "self-touching": '<path d="M10 10h40v40h40v40h-40v-40h-40z"/>',
    "hole touching its outline": '<path fill-rule="evenodd" d="M10 10h80v80h-80zM10 30h30v30h-30z"/>',
    "spikes": '<path d="M10 50L50 50L50 10L50 90L50 50L90 50L70 80L30 80z"/>',
    "important": "<style>path{fill:none!important}</style>"
    '<path style="fill:red" d="M0 0h50v50z"/><circle cx="60" cy="60" r="20"/>',
}


def check(text: str, size_mm: tuple[float, float]) -> None:
    drawing = read(text.encode())
    assert not errors(drawing), drawing.problems
    assert drawing.size_mm == pytest.approx(size_mm, abs=1e-6)
    ours = filled(drawing)
    width, height = size_mm
    k = PX / max(size_mm)
    shown = raster(text, round(width * k), round(height * k))
    assert shown.any(), "the renderer shows nothing: the case is worth nothing"
    assert ours.area / (width * height) == pytest.approx(float(shown.mean()), abs=AREA_LIMIT)
    rows, columns = np.nonzero(shown.max(axis=1))[0], np.nonzero(shown.max(axis=0))[0]
    theirs = (
        columns[0] / k,
        height - (rows[-1] + 1) / k,
        (columns[-1] + 1) / k,
        height - rows[0] / k,
    )
    # The renderer's edge itself is known to half a pixel.
    limit = EDGE_LIMIT_MM * max(size_mm) / 100.0 + 0.5 / k
    assert ours.bounds == pytest.approx(theirs, abs=limit)


@pytest.mark.parametrize("name", CASES)
def test_hard_cases(name):
    check(f"<svg {NS} {PAGE}>{CASES[name]}</svg>", (100.0, 100.0))


@pytest.mark.parametrize(
    ("page", "size_mm"),
    [
        ('width="100mm" height="50mm" viewBox="0 0 100 100"', (100, 50)),
        (
            'width="100mm" height="50mm" viewBox="0 0 100 100" preserveAspectRatio="xMinYMid"',
            (100, 50),
        ),
        (
            'width="100mm" height="50mm" viewBox="0 0 100 100" preserveAspectRatio="xMaxYMin slice"',
            (100, 50),
        ),
        ('width="100mm" height="50mm" viewBox="0 0 100 100" preserveAspectRatio="none"', (100, 50)),
        ('width="4in" height="3in" viewBox="10 10 80 60"', (101.6, 76.2)),
        ('width="12pc" height="144pt" viewBox="0 0 100 100"', (50.8, 50.8)),
        ('width="378" height="378" viewBox="0 0 100 100"', (100.0125, 100.0125)),
        ('viewBox="0 0 200 100"', (52.916667, 26.458333)),
        ('width="8cm" viewBox="0 0 100 100"', (80, 80)),
    ],
)
def test_pages(page, size_mm):
    body = '<path fill-rule="evenodd" d="M12 12h70v52h-70zM20 20v20h30z"/><circle cx="75" cy="70" r="9"/>'
    check(f"<svg {NS} {page}>{body}</svg>", size_mm)
