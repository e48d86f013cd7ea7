"""Stone sizes and papers against the published charts named beside each value."""

from itertools import pairwise

import pytest

from templater.catalogue.papers import find_paper
from templater.catalogue.sizes import all_sizes, find_size


@pytest.mark.parametrize(
    ("name", "smallest", "largest", "source"),
    [
        # A merchant's note on stone counts, 2012, blog.qrhinestones.com
        ("ss10", 2.7, 2.9, "B"),
        ("ss12", 3.0, 3.2, "B"),
        ("ss16", 3.8, 4.0, "B"),
        ("ss20", 4.6, 4.8, "B"),
        # Trade size chart, taylorcrystal.hu (tabella di formato)
        ("ss6", 1.9, 2.1, "A"),
        ("ss30", 6.32, 6.50, "A"),
        ("ss34", 7.07, 7.27, "A"),
        ("pp17", 2.30, 2.40, "A"),
        ("pp18", 2.40, 2.50, "A"),
    ],
)
def test_round_sizes_are_those_of_the_charts(name, smallest, largest, source):
    size = find_size(name)
    assert (size.smallest_mm, size.largest_width_mm) == (smallest, largest)
    assert size.length_mm == pytest.approx((smallest + largest) / 2)
    assert size.source.startswith(source)


def test_the_planned_ss16_is_the_middle_of_its_range():
    assert find_size("ss16").length_mm == 3.9


@pytest.mark.parametrize(
    ("name", "per_inch"), [("ss6", 12), ("ss10", 9), ("ss16", 6), ("ss20", 5), ("ss34", 3.5)]
)
def test_touching_stones_per_inch(name, per_inch):
    # rhinestonestore.com, article 254: stones that fit whole (one half) in an inch, so rounded down.
    assert per_inch <= 25.4 / find_size(name).length_mm < per_inch + 1


def test_larger_numbers_are_larger_stones_and_ranges_do_not_overlap():
    for prefix in ("ss", "pp"):
        sizes = sorted(
            (s for s in all_sizes() if s.name.startswith(prefix)), key=lambda s: int(s.name[2:])
        )
        assert len(sizes) >= 20
        for lower, upper in pairwise(sizes):
            assert lower.largest_width_mm <= upper.smallest_mm


@pytest.mark.parametrize(
    ("name", "size_mm"),
    # ISO 216: A4 210 × 297, A3 297 × 420, A0 841 × 1189; ANSI/ASME Y14.1 size A: 8.5 × 11 in
    [
        ("a4", (210, 297)),
        ("A3", (297, 420)),
        ("a0", (841, 1189)),
        ("letter", (8.5 * 25.4, 11 * 25.4)),
    ],
)
def test_papers(name, size_mm):
    assert find_paper(name) == pytest.approx(size_mm)
