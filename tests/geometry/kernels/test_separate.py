"""Shapes of cells slid past each other and pushed apart, against plain counting of cells."""

import numpy as np
import pytest

from templater.geometry.kernels.compiled import counters, whole_column, wide_counters
from templater.geometry.kernels.separate import UNIT, Crowd, Desk, Lines, separate, slide
from templater.geometry.rng import Rng, rng_state


def _lines(masks):
    first, at, begin, end = [], [0], [], []
    for mask in masks:
        first.append(len(at) - 1)
        for line in mask:
            edges = np.flatnonzero(np.diff([0, *line.astype(int), 0]))
            begin += edges[::2].tolist()
            end += edges[1::2].tolist()
            at.append(len(begin))
    return Lines(*(whole_column(numbers) for numbers in (first, at, begin, end)))


def _crowd(masks, places):
    """Shapes of one form each, at (column, row)."""
    count = len(masks)
    crowd = Crowd(
        begins=whole_column(range(count)),
        turns=whole_column([1] * count),
        wide=whole_column([mask.shape[1] for mask in masks]),
        tall=whole_column([mask.shape[0] for mask in masks]),
        rows=_lines(masks),
        columns=_lines([mask.T for mask in masks]),
        form=whole_column(range(count)),
        x=whole_column([x for x, _ in places]),
        y=whole_column([y for _, y in places]),
        weight=wide_counters(count * count, UNIT),
        overlap=counters(count * count),
    )
    desk = Desk(
        wide_counters(400), counters(count), counters(3), wide_counters(2), wide_counters(1, 10**8)
    )
    desk.state[0], desk.state[1] = rng_state("separate")
    return crowd, desk


def _blob(rng):
    """Cells at random, some rows of several runs, some empty."""
    rows, columns = 3 + rng.below(9), 3 + rng.below(9)
    mask = np.array([[rng.below(3) > 0 for _ in range(columns)] for _ in range(rows)])
    mask[rng.below(rows)] = False
    return mask


def _on(mask, x, y, shape):
    board = np.zeros(shape, dtype=int)
    board[y : y + mask.shape[0], x : x + mask.shape[1]] = mask
    return board


@pytest.mark.parametrize("seed", range(12))
def test_a_slide_finds_the_least_overlap_of_all_places_in_its_row_and_column(seed):
    rng = Rng("slide", seed)
    masks = [_blob(rng) for _ in range(5)]
    # Two sheets of 20 rows, one on the other.
    places = [
        (rng.below(31 - mask.shape[1]), 20 * rng.below(2) + rng.below(21 - mask.shape[0]))
        for mask in masks
    ]
    crowd, desk = _crowd(masks, places)
    heavy = [1 + rng.below(5) for _ in masks]
    for j, times in enumerate(heavy):
        crowd.weight[j] = times * UNIT
    board = sum(
        times * _on(mask, x, y, (40, 30))
        for times, mask, (x, y) in list(zip(heavy, masks, places, strict=True))[1:]
    )
    mask, (x, y) = masks[0], places[0]
    tall, wide = mask.shape

    def overlap(column, row):
        return UNIT * int((board[row : row + tall, column : column + wide] * mask).sum())

    rows = [overlap(column, y) for column in range(31 - wide)]
    least = slide(crowd, crowd.rows, desk, crowd.x, crowd.y, crowd.wide, crowd.tall, 0, 0, y, 1, 30)
    assert least == min(rows)
    assert desk.answer[0] == rows.index(least)
    starts = [row for sheet in (0, 20) for row in range(sheet, sheet + 21 - tall)]
    columns = [overlap(x, row) for row in starts]
    least = slide(
        crowd, crowd.columns, desk, crowd.y, crowd.x, crowd.tall, crowd.wide, 0, 0, x, 2, 20
    )
    assert least == min(columns)
    assert desk.answer[0] == starts[columns.index(least)]


def test_squares_in_a_heap_are_pushed_apart_where_there_is_just_room_for_them():
    masks = [np.ones((10, 10), dtype=bool)] * 8
    crowd, desk = _crowd(masks, [(3, 4)] * 8)
    # On two sheets of 20 by 20 cells eight squares of ten leave nothing over.
    assert separate(crowd, desk, 20, 2, 20) == 0
    board = sum(
        _on(mask, int(x), int(y), (40, 20))
        for mask, x, y in zip(masks, crowd.x, crowd.y, strict=True)
    )
    assert board.min() == board.max() == 1


def test_what_cannot_be_is_given_up():
    crowd, desk = _crowd([np.ones((10, 10), dtype=bool)] * 5, [(0, 0)] * 5)
    assert separate(crowd, desk, 20, 1, 20) >= 100
    crowd, desk = _crowd([np.ones((10, 10), dtype=bool)] * 4, [(0, 0)] * 4)
    desk.effort[0] = 0
    assert separate(crowd, desk, 20, 1, 20) > 0
