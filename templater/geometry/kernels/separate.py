"""Pushing overlapping shapes apart on a grid of cells, by fixed effort. Import late.

Shapes are sets of cells, kept as runs along rows and along columns. Overlap is counted in cells.
One shape at a time is moved to where it overlaps least, along its row or its column: the overlap
with another shape, as one slides past the other, is a sum of trapezia, so second differences give
it for every place at once. Pairs that stay entangled weigh more from round to round.
Sources: Egeblad, Nielsen, Odgaard, Fast neighborhood search for two- and three-dimensional nesting
problems, European Journal of Operational Research 183, 2007 (sliding and weights); Umetani,
Murakami, Coordinate descent heuristics for the irregular strip packing problem of rasterized
shapes, European Journal of Operational Research 303, 2022 (rows and columns by turns).
"""

from __future__ import annotations

from typing import NamedTuple

from templater.geometry.kernels.compiled import Wholes, kernel
from templater.geometry.kernels.room import drawn

UNIT = 1000
"""A pair's weight to begin with."""
HEAVIEST = 1000 * UNIT
STARTS = 1
"""Random rows that a shape is tried from, besides where it lies."""
IDLE = 100
"""Rounds without less overlap before a lay is given up."""


class Lines(NamedTuple):
    """Forms as runs of cells along lines: of form f, line k has the runs at[first[f] + k] up to
    at[first[f] + k + 1], each from `begin` up to, not with, `end`.
    """

    first: Wholes
    at: Wholes
    begin: Wholes
    end: Wholes


class Crowd(NamedTuple):
    """Shapes and where they lie. Shape i has turns[i] forms, the first of them begins[i].

    `form`, `x`, `y` say how and where each lies, by its lowest row and column; `wide`, `tall` are
    the forms' sizes; `weight` and `overlap` hold count × count numbers.
    """

    begins: Wholes
    turns: Wholes
    wide: Wholes
    tall: Wholes
    rows: Lines
    columns: Lines
    form: Wholes
    x: Wholes
    y: Wholes
    weight: Wholes
    overlap: Wholes


class Desk(NamedTuple):
    """Working columns: second differences, the order of moving, what is handed back, the random
    state, the effort left.
    """

    bend: Wholes
    order: Wholes
    answer: Wholes
    state: Wholes
    effort: Wholes


@kernel
def draw(state: Wholes, count: int) -> int:
    """A random whole number from 0 to count - 1."""
    return int(drawn(state) * count)


@kernel
def slide(
    crowd: Crowd,
    lines: Lines,
    desk: Desk,
    along: Wholes,
    across: Wholes,
    long: Wholes,
    broad: Wholes,
    i: int,
    f: int,
    line: int,
    sheets: int,
    pitch: int,
) -> int:
    """The least weighted overlap of shape i in form f, its first line lying on `line`.

    Places begin on each of the sheets, one every `pitch`, and end with it. Leaves the place in
    answer[0].
    """
    count = len(crowd.form)
    bend = desk.bend
    extent = long[f]
    shift = extent
    room = sheets * pitch
    for p in range(room + 2 * shift + 1):
        bend[p] = 0
    work = room + 2 * shift
    for j in range(count):
        g = crowd.form[j]
        low = max(line, across[j])
        high = min(line + broad[f], across[j] + broad[g])
        if j == i or low >= high:
            continue
        w = crowd.weight[i * count + j]
        mine = lines.first[f] + low - line
        theirs = lines.first[g] + low - across[j]
        offset = along[j] + shift
        work += 4 * (high - low)
        for k in range(high - low):
            for a in range(lines.at[mine + k], lines.at[mine + k + 1]):
                for b in range(lines.at[theirs + k], lines.at[theirs + k + 1]):
                    begin = offset + lines.begin[b]
                    end = offset + lines.end[b]
                    bend[begin - lines.end[a]] += w
                    bend[begin - lines.begin[a]] -= w
                    bend[end - lines.end[a]] -= w
                    bend[end - lines.begin[a]] += w
    desk.effort[0] -= work
    value = 0
    slope = 0
    for p in range(shift):
        slope += bend[p]
        value += slope
    least = -1
    place = -1
    for sheet in range(sheets):
        start = sheet * pitch
        for p in range(start, start + pitch):
            if p <= start + pitch - extent and (least < 0 or value < least):
                least = value
                place = p
            slope += bend[shift + p]
            value += slope
    desk.answer[0] = place
    return least


@kernel
def shared(crowd: Crowd, i: int, j: int) -> int:
    """How many cells two shapes share."""
    lines = crowd.rows
    f = crowd.form[i]
    g = crowd.form[j]
    low = max(crowd.y[i], crowd.y[j])
    high = min(crowd.y[i] + crowd.tall[f], crowd.y[j] + crowd.tall[g])
    left = crowd.x[i] - crowd.x[j]
    if low >= high or left >= crowd.wide[g] or -left >= crowd.wide[f]:
        return 0
    mine = lines.first[f] + low - crowd.y[i]
    theirs = lines.first[g] + low - crowd.y[j]
    cells = 0
    for k in range(high - low):
        for a in range(lines.at[mine + k], lines.at[mine + k + 1]):
            for b in range(lines.at[theirs + k], lines.at[theirs + k + 1]):
                begin = max(left + lines.begin[a], lines.begin[b])
                end = min(left + lines.end[a], lines.end[b])
                cells += max(end - begin, 0)
    return cells


@kernel
def count_shared(crowd: Crowd, i: int) -> int:
    """Counts the cells that a shape shares with each other, and gives their number."""
    count = len(crowd.form)
    total = 0
    for j in range(count):
        if j != i:
            cells = shared(crowd, i, j)
            crowd.overlap[i * count + j] = cells
            crowd.overlap[j * count + i] = cells
            total += cells
    return total


@kernel
def descend(
    crowd: Crowd, desk: Desk, i: int, f: int, y: int, width: int, sheets: int, height: int
) -> int:
    """Slides shape i in form f along its row, its column, and so on while it overlaps less and
    less; the weighted overlap it comes to. Leaves the place in answer[1] and [2].
    """
    value = -1
    x = 0
    while True:
        before = value
        value = slide(
            crowd, crowd.rows, desk, crowd.x, crowd.y, crowd.wide, crowd.tall, i, f, y, 1, width
        )
        x = desk.answer[0]
        if value == 0 or value == before:  # noqa: PLR1714 - compiled, `in` makes a tuple
            break
        before = value
        value = slide(
            crowd,
            crowd.columns,
            desk,
            crowd.y,
            crowd.x,
            crowd.tall,
            crowd.wide,
            i,
            f,
            x,
            sheets,
            height,
        )
        y = desk.answer[0]
        if value == 0 or value == before:  # noqa: PLR1714 - compiled, `in` makes a tuple
            break
    desk.answer[1] = x
    desk.answer[2] = y
    return value


@kernel
def move(crowd: Crowd, desk: Desk, i: int, width: int, sheets: int, height: int) -> None:
    """Moves a shape to the least overlap found from where it lies and from random rows."""
    form = crowd.form[i]
    least = descend(crowd, desk, i, form, crowd.y[i], width, sheets, height)
    x = desk.answer[1]
    y = desk.answer[2]
    for _ in range(STARTS):
        if least == 0:
            break
        f = crowd.begins[i] + draw(desk.state, crowd.turns[i])
        if crowd.tall[f] > height:
            continue
        row = draw(desk.state, sheets) * height + draw(desk.state, height - crowd.tall[f] + 1)
        value = descend(crowd, desk, i, f, row, width, sheets, height)
        if value < least:
            least = value
            form = f
            x = desk.answer[1]
            y = desk.answer[2]
    crowd.form[i] = form
    crowd.x[i] = x
    crowd.y[i] = y
    count_shared(crowd, i)


@kernel
def weigh(crowd: Crowd) -> int:
    """Makes pairs that overlap weigh up to twice as much, most the worst; others less again.

    Gives the number of cells shared.
    """
    count = len(crowd.form)
    total = 0
    worst = 1
    for pair in range(count * count):
        total += crowd.overlap[pair]
        worst = max(worst, crowd.overlap[pair])
    for pair in range(count * count):
        w = crowd.weight[pair]
        if crowd.overlap[pair] > 0:
            w += w // 5 + w * 4 // 5 * crowd.overlap[pair] // worst
        else:
            w -= w // 20
        crowd.weight[pair] = min(max(w, UNIT), HEAVIEST)
    return total // 2


@kernel
def separate(crowd: Crowd, desk: Desk, width: int, sheets: int, height: int) -> int:
    """Moves shapes, round by round, until none overlaps another: 0, or the cells still shared.

    Sheets lie one on the other, so many columns wide and so many rows high. Gives up after IDLE
    rounds without less overlap, or when the effort is spent.
    """
    count = len(crowd.form)
    total = 0
    for i in range(count):
        total += count_shared(crowd, i)
        desk.order[i] = i
    total //= 2
    best = total
    idle = 0
    while total > 0 and idle < IDLE and desk.effort[0] > 0:
        for k in range(count - 1, 0, -1):
            other = draw(desk.state, k + 1)
            i = desk.order[k]
            desk.order[k] = desk.order[other]
            desk.order[other] = i
        for k in range(count):
            i = desk.order[k]
            cells = 0
            for j in range(count):
                cells += crowd.overlap[i * count + j]
            if cells > 0:
                move(crowd, desk, i, width, sheets, height)
        total = weigh(crowd)
        idle += 1
        if total < best:
            best = total
            idle = 0
    return total
