"""Copies, symbols, nested pages and choices."""

from __future__ import annotations

import pytest
from svg_making import areas, boxes, codes, errors, problem, read, shapes

LEAF = '<defs><path id="leaf" d="M0 0h10v5h-10z"/></defs>'


def test_copies_move_and_inherit():
    drawing = read(
        LEAF + '<g id="zone a" transform="translate(5 5)"><use href="#leaf" x="10" y="20"/>'
        '<use xlink:href="#leaf" transform="scale(2)" x="1" y="2"/></g>'
    )
    assert boxes(drawing) == [(15, 50, 25, 55), (7, 61, 27, 71)]


def test_what_is_only_defined_is_not_drawn():
    drawing = read(
        LEAF + "<symbol><rect width='3' height='3'/></symbol><clipPath id='c'>"
        "<rect width='4' height='4'/></clipPath><g id='zone a'><rect width='5' height='5'/></g>"
        "<pattern><rect width='3' height='3'/></pattern><marker><rect width='3' height='3'/></marker>"
    )
    assert areas(drawing) == pytest.approx([25])
    assert drawing.problems == ()


def test_a_copy_of_a_copy_of_a_group():
    drawing = read(
        '<defs><g id="pair"><use href="#leaf" y="10"/><use href="#leaf" x="20"/></g>'
        '<path id="leaf" d="M0 0h1v1h-1z"/></defs>'
        '<g id="zone a"><use href="#pair"/><use href="#pair" x="40"/></g>'
    )
    assert [b[:2] for b in boxes(drawing)] == [(0, 69), (20, 79), (40, 69), (60, 79)]


def test_copies_take_the_style_of_their_place_and_rules_of_their_origin():
    drawing = read(
        "<style>defs .deep{fill-rule:evenodd}</style>"
        '<defs><path id="p" class="deep" d="M0 0h20v20h-20zM5 5h5v5h-5z"/>'
        '<path id="q" d="M0 0h20v20h-20zM5 5h5v5h-5z"/></defs>'
        '<g id="zone a"><use href="#p"/><use href="#q" x="40" fill-rule="evenodd"/>'
        '<use href="#q" y="40"/></g>'
    )
    assert areas(drawing) == pytest.approx([375, 375, 400])


@pytest.mark.parametrize(
    ("symbol", "use", "box"),
    [
        ('viewBox="0 0 10 10"', 'x="10" y="10" width="20" height="20"', (12, 54, 20, 66)),
        # 40 wide, 20 high: fitted to 20 and set in the middle
        ('viewBox="0 0 10 10"', 'width="40" height="20"', (12, 64, 20, 76)),
        (
            'viewBox="0 0 10 10" preserveAspectRatio="xMinYMin"',
            'width="40" height="20"',
            (2, 64, 10, 76),
        ),
        (
            'viewBox="0 0 10 10" preserveAspectRatio="none"',
            'width="40" height="20"',
            (4, 64, 20, 76),
        ),
        ('viewBox="0 0 10 10" width="20" height="20"', "", (2, 64, 10, 76)),
        ("", 'x="3"', (4, 72, 8, 78)),
        ('viewBox="1 2 10 10"', 'width="10" height="10"', (0, 74, 4, 80)),
    ],
)
def test_symbols(symbol, use, box):
    drawing = read(
        f'<symbol id="s" {symbol}><rect x="1" y="2" width="4" height="6"/></symbol>'
        f'<g id="zone a"><use href="#s" {use}/></g>'
    )
    assert not errors(drawing), drawing.problems
    assert boxes(drawing) == [box]


def test_nested_pages_move_scale_and_give_percentages_their_meaning():
    drawing = read(
        '<g id="zone a"><svg x="10" y="20" width="40" height="40" viewBox="0 0 20 20">'
        '<rect x="50%" y="1" width="25%" height="2"/></svg>'
        '<svg x="50"><rect width="10%" height="10%"/></svg></g>'
    )
    assert boxes(drawing) == [(30, 54, 40, 58), (50, 72, 60, 80)]


def test_a_copy_of_a_nested_page_takes_the_size_of_the_copy():
    drawing = read(
        '<defs><svg id="s" viewBox="0 0 10 10" width="5" height="5">'
        '<rect width="10" height="10"/></svg></defs>'
        '<g id="zone a"><use href="#s"/><use href="#s" width="20" height="20" x="30"/></g>'
    )
    assert boxes(drawing) == [(0, 75, 5, 80), (30, 60, 50, 80)]


def test_switch_takes_the_first_that_fits():
    r = '<rect width="{0}" height="{0}" {1}/>'.format
    body = (
        '<g id="zone a"><switch><foreignObject requiredExtensions="urn:editor"/>'
        f"{r(2, '')}{r(3, '')}</switch>"
        f"<switch>{r(4, 'systemLanguage=' + chr(34) + 'de' + chr(34))}"
        f"{r(5, 'systemLanguage=' + chr(34) + 'fr, en-GB' + chr(34))}{r(6, '')}</switch></g>"
    )
    drawing = read(body)
    assert areas(drawing) == pytest.approx([4, 25])
    assert "language" in codes(drawing)
    assert not errors(drawing)


def test_editors_private_data_is_passed_over():
    drawing = read(
        '<ed:namedview ed:x="1"><ed:grid/></ed:namedview><metadata><x/></metadata>'
        '<g id="zone a"><ed:path d="broken"/><rect width="5" height="5" ed:d="broken"/></g>'
    )
    assert areas(drawing) == pytest.approx([25])
    assert drawing.problems == ()


@pytest.mark.parametrize(
    "body",
    [
        '<g id="a"><use href="#a"/><rect width="5" height="5"/></g>',
        '<use id="a" href="#a"/><rect width="5" height="5"/>',
        (
            '<defs><g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g></defs>'
            '<use href="#a"/><rect width="5" height="5"/>'
        ),
        '<symbol id="a"><use href="#a"/></symbol><use href="#a"/><rect width="5" height="5"/>',
    ],
)
def test_copies_of_themselves_are_refused(body):
    drawing = read(body)
    assert {e.code for e in errors(drawing)} == {"copy-of-itself"}
    assert problem(drawing, "copy-of-itself").source.line == 2
    assert shapes(drawing)


def test_copies_of_copies_of_copies_stop_at_a_bound(monkeypatch):
    # The real bound of 100,000 takes some seconds to reach; the mechanism is the same.
    monkeypatch.setattr("templater.reading.svg_walk.MOST_COPIES", 5_000)
    levels = "".join(
        f'<g id="l{i}"><use href="#l{i + 1}"/><use href="#l{i + 1}"/></g>' for i in range(40)
    )
    drawing = read(f'<defs>{levels}<rect id="l40" width="1" height="1"/></defs><use href="#l0"/>')
    (found,) = errors(drawing)
    assert found.code == "too-much"
    assert drawing.layers == ()
