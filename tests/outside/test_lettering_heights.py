"""Lettering against ISO 3098, measured on a rendered page."""

import math
from itertools import pairwise

import numpy as np
import pypdfium2
import pytest

from templater.lettering import ISO_HEIGHTS_MM
from templater.model.sheets import Lettering, Sheet, SheetLayer
from templater.writing import pdf_bytes


def test_heights_step_by_the_root_of_two():
    """ISO 3098-1: nominal sizes 1.8 2.5 3.5 5 7 10 14 20 mm, in the ratio √2 as paper sizes are."""
    assert ISO_HEIGHTS_MM == (1.8, 2.5, 3.5, 5.0, 7.0, 10.0, 14.0, 20.0)
    for low, high in pairwise(ISO_HEIGHTS_MM):
        assert high / low == pytest.approx(math.sqrt(2.0), rel=0.03)


@pytest.mark.parametrize("height_mm", ISO_HEIGHTS_MM)
def test_a_printed_capital_is_as_high_as_its_nominal_size(height_mm):
    """ISO 3098-1: the nominal size is the height of the capitals. Rendered by pypdfium2."""
    text = Lettering("HE", (5.0, 5.0), height_mm)
    page = Sheet("x", "x", (80.0, 40.0), "note", (), (), 1, 1, (SheetLayer("x", (text,)),))
    px = 20.0
    picture = pypdfium2.PdfDocument(pdf_bytes([page], "x"))[0].render(scale=px * 25.4 / 72)
    darkness = 1.0 - np.asarray(picture.to_pil().convert("L"), dtype=float) / 255.0
    rows = darkness.max(axis=1)
    inked = np.flatnonzero(rows > 0.02)
    measured = (rows[inked].sum()) / px
    assert measured == pytest.approx(height_mm, abs=0.05)
