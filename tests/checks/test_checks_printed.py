"""Pages grouped once are the pages that a walk over all of them finds."""

import re
from itertools import product

import pytest

from templater.checks.printed import Printed
from templater.model.facts import SheetFacts, TextFact
from templater.model.sheets import Sheet


def page(file, *said):
    texts = tuple(TextFact(each, (9.0, 9.0), 3.0, "", mirrored=False) for each in said)
    return SheetFacts(file, 1, (210.0, 297.0), (), (), texts)


def sheet(title, number, of):
    return Sheet("stencils/one", title, (100.0, 100.0), "stencil", (), (), number, of)


def names(one, each):
    """By the plainest means: the title or the beginning of it, then the number."""
    ends = re.escape(f", sheet {one.number} of {one.of}") + r"\b.*"
    begun = [one.title[:long] for long in range(1, len(one.title) + 1)]
    return any(
        re.fullmatch(re.escape(begin) + "…?" + ends, text.text)
        for begin in begun
        for text in each.texts
    )


TITLES = ("Leaf", "Leaf left", "Leaf (left), ss16", "Tip")
FILES = ("print/stencils.pdf", "stencils.pdf", "print/other.pdf")
PAGES = tuple(
    page(file, "a note", f"{title[:cut]}{dots}, sheet {number} of {of}{end}")
    for file, title, cut, dots, number, of, end in product(
        FILES, TITLES, (0, 3, 6, 99), ("", "…"), (1, 11), (1, 12), ("", " · tile A2", "0")
    )
)


@pytest.mark.parametrize("title", TITLES)
@pytest.mark.parametrize(("number", "of"), [(1, 12), (11, 12), (1, 1), (2, 12)])
def test_pages_that_name_a_sheet(title, number, of) -> None:
    one = sheet(title, number, of)
    printed = Printed(PAGES)
    found = printed.pages(printed.naming(one, ("stencils", "print/stencils")))
    wanted = tuple(each for each in PAGES if "other" not in each.file and names(one, each))
    assert found == wanted
    assert bool(found) is (number != 2)


def test_pages_of_a_file_come_in_order_and_once() -> None:
    pages = (page("b.pdf", "1"), page("a.pdf", "2"), page("b.pdf", "3"), page("c.pdf", "4"))
    printed = Printed(pages)
    both = printed.in_files(("a", "b", "b", "nobody's"))
    assert [each.texts[0].text for each in printed.pages(both)] == ["1", "2", "3"]
