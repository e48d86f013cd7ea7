"""A printer that is off, simulated: its measured bars bring its prints back to true.

Issue of the project: 1.2 % long across and 0.8 % short up. Pages are rendered by pypdfium2 and the
picture is stretched as that printer would; measured is what a ruler finds between the bars' ends.
"""

import itertools
import math

import numpy as np
import pypdfium2
import pytest
from PIL import Image
from writing_samples import CENTRES, bar_sheet, centre_mm, ink

from templater.readback.pdf import read_pdf
from templater.writing import tiled_pdf_bytes

A4 = (210.0, 297.0)
PX_PER_MM = 20.0
OFF = (1.012, 0.992)


def printed(data, page, off=OFF):
    """Darkness of the printed paper, rows from the top, held at its lower left corner."""
    picture = pypdfium2.PdfDocument(data)[page].render(scale=PX_PER_MM * 25.4 / 72).to_pil()
    width, height = picture.size
    size = (round(width * off[0]), round(height * off[1]))
    return ink(picture.convert("L").resize(size, Image.Resampling.BICUBIC))


def stroke_middles_mm(profile):
    """The middles of the runs of ink along a line across the paper."""
    inked = np.flatnonzero(profile > 0.3)
    runs = np.split(inked, np.flatnonzero(np.diff(inked) > 1) + 1)
    return [
        float(np.average(run, weights=profile[run]) + 0.5) / PX_PER_MM for run in runs if len(run)
    ]


def measured_bars(data, off=OFF):
    """What a ruler finds between the end strokes of the first page's bars, across and up."""
    picture = printed(data, 0, off)
    heaviest_row = int(np.argmax((picture[len(picture) // 2 :] > 0.3).sum(axis=1)))
    bar_row = len(picture) // 2 + heaviest_row
    across = stroke_middles_mm(picture[bar_row - round(1.2 * PX_PER_MM)])
    left = round(across[0] * PX_PER_MM)
    # The upright bar's column, a little to its right: only the strokes at its ends cross it.
    column = picture[: bar_row + 3, left + round(1.2 * PX_PER_MM)]
    up = stroke_middles_mm(column)
    wanted = 150.0
    return (
        min((b - a for a, b in itertools.combinations(across, 2)), key=lambda m: abs(m - wanted)),
        min((b - a for a, b in itertools.combinations(up, 2)), key=lambda m: abs(m - wanted)),
    )


def measured_centres(data, off=OFF):
    """The holes' middles on the second page, which holds the whole sheet, in the order of CENTRES."""
    page = read_pdf(data, "print.pdf")[1]
    rings = [path.points for path in page.paths if path.closed and len(path.points) > 12]
    about = [(c.x_mm, c.y_mm) for c in page.circles]
    about += [tuple((min(v) + max(v)) / 2 for v in zip(*ring, strict=True)) for ring in rings]
    picture = printed(data, 1, off)
    tall = len(picture) / PX_PER_MM
    found = [
        centre_mm(picture, x * off[0], y * off[1], 3.2, PX_PER_MM, tall) for x, y in sorted(about)
    ]
    assert len(found) == len(CENTRES)
    order = sorted(range(len(CENTRES)), key=lambda i: CENTRES[i])
    return {order[place]: spot for place, spot in enumerate(found)}


def worst_mm(data, off=OFF):
    """By how much the distance of two holes is off at most."""
    spots = measured_centres(data, off)
    return max(
        abs(math.dist(spots[i], spots[j]) - math.dist(CENTRES[i][:2], CENTRES[j][:2]))
        for i, j in itertools.combinations(range(len(CENTRES)), 2)
    )


def pages(calibrate=(1.0, 1.0)):
    return tiled_pdf_bytes([bar_sheet()], A4, 8.0, 10.0, calibrate=calibrate)


def test_the_ruler_finds_a_true_printers_bars_true():
    assert measured_bars(pages(), (1.0, 1.0)) == pytest.approx((150.0, 150.0), abs=0.05)
    assert worst_mm(pages(), (1.0, 1.0)) < 0.05


def test_its_measured_bars_bring_a_printer_back_to_true():
    across, up = measured_bars(pages())
    assert (across, up) == pytest.approx((151.8, 148.8), abs=0.06)
    assert worst_mm(pages()) > 0.8
    calibrate = (round(150.0 / across, 4), round(150.0 / up, 4))  # drawn ÷ measured
    again = pages(calibrate)
    assert measured_bars(again) == pytest.approx((150.0, 150.0), abs=0.1)
    assert worst_mm(again) < 0.1


def test_measured_over_drawn_would_make_it_worse():
    across, up = measured_bars(pages())
    assert worst_mm(pages((across / 150.0, up / 150.0))) > 1.5
