"""The pack's tables: what any CSV writer wrote comes back, what is broken is refused with its line."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from templater.model.facts import HoleRow, ShoppingRow, StoneRow
from templater.model.problems import Refused
from templater.readback.tables import (
    HOLE_COLUMNS,
    STONE_COLUMNS,
    read_holes,
    read_shopping,
    read_stones,
)

# No surrogates (not UTF-8), no NUL (which csv refuses), no bare CR (which its writer does not quote).
WORDS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0\r"), max_size=9)
TENTHS = st.integers(-(10**8), 10**8).map(lambda n: n / 10_000)


def written(columns, rows) -> bytes:
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(rows)
    return stream.getvalue().encode()


def cell(value: object) -> object:
    if value is None:
        return ""
    return f"{value:.4f}" if isinstance(value, float) else value


@settings(deadline=None, max_examples=60)
@given(st.lists(st.tuples(WORDS, WORDS, *[TENTHS] * 3, WORDS, *[TENTHS] * 2, *[WORDS] * 5)))
def test_stones_come_back(rows) -> None:
    cells = [[cell(c) for c in row] for row in rows]
    assert read_stones(written(STONE_COLUMNS, cells)) == tuple(StoneRow(*row) for row in rows)


HOLES = st.tuples(
    WORDS, st.integers(0, 99), st.integers(0, 9999), *[TENTHS] * 3, TENTHS | st.none(), WORDS, WORDS
)


@settings(deadline=None, max_examples=40)
@given(st.lists(HOLES))
def test_holes_come_back_an_empty_cell_is_no_punch(rows) -> None:
    cells = [[cell(c) for c in row] for row in rows]
    assert read_holes(written(HOLE_COLUMNS, cells)) == tuple(HoleRow(*row) for row in rows)


def test_shopping_comes_back() -> None:
    data = b'size,colour,finish,count,spare,gross\nss16,"sea, ""green""",ab,130,7,1\n'
    assert read_shopping(data) == (ShoppingRow("ss16", 'sea, "green"', "ab", 130, 7, 1),)


@pytest.mark.parametrize(
    ("data", "line", "says"),
    [
        (b"", 1, "columns"),
        (b"size,colour,count\n", 1, "columns"),
        (b"\xef\xbb\xbfsize,colour,finish,count,spare,gross\n", 1, "columns"),
        (b"size,colour,finish,count,spare,gross\na,b,c,1,2\n", 2, "5 cells"),
        (b"size,colour,finish,count,spare,gross\na,b,c,1,2,3\na,b,c,one,2,3\n", 3, "number"),
        (b"size,colour,finish,count,spare,gross\na,b,c,-1,2,3\n", 2, "number"),
        (b'size,colour,finish,count,spare,gross\n"a"x,b,c,1,2,3\n', 2, "CSV"),
        (b'size,colour,finish,count,spare,gross\n"a,b,c,1,2,3\n', 2, "CSV"),
    ],
)
def test_a_broken_table_is_refused_with_its_line(data: bytes, line: int, says: str) -> None:
    with pytest.raises(Refused) as caught:
        read_shopping(data)
    problem = caught.value.problems[0]
    assert problem.source.line == line
    assert says in problem.message
    assert problem.mend


@pytest.mark.parametrize("number", ["nan", "inf", "", "1,5", "1e999"])
def test_a_place_that_is_no_number_is_refused(number: str) -> None:
    row = [
        "frond",
        "left",
        number,
        "0",
        "0",
        "ss16",
        "3.9",
        "3.9",
        "navy",
        "plain",
        "f",
        "fill",
        "1",
    ]
    with pytest.raises(Refused, match="number"):
        read_stones(written(STONE_COLUMNS, [row]))


def test_bytes_that_are_no_utf8_are_refused() -> None:
    with pytest.raises(Refused, match="UTF-8"):
        read_stones(b"zone,\xff\n")
