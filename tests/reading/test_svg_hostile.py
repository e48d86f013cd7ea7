"""Files that are broken, cut off, or meant to do harm: a message, never an exception."""

from __future__ import annotations

import gzip
import random
import time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from svg_making import NS, codes, errors, read, shapes, svg

from templater.reading import read_drawing

HEAD = b'<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm">'
LINE = b'<g id="zone a"><rect width="5" height="5"/></g>'


def bomb() -> bytes:
    entities = b'<!ENTITY a "aaaaaaaaaa">' + b"".join(
        b'<!ENTITY %c "%s">' % (98 + i, (b"&%c;" % (97 + i)) * 10) for i in range(9)
    )
    return b"<!DOCTYPE svg [" + entities + b"]>" + HEAD + b"<text>&j;</text></svg>"


@pytest.mark.parametrize(
    "data",
    [
        bomb(),
        bomb().replace(b"<text>&j;</text>", b'<path d="&j;"/>'),
        b'<!DOCTYPE svg [<!ENTITY a "'
        + b"a" * 100_000
        + b'">]>'
        + HEAD
        + b"&a;" * 3000
        + b"</svg>",
        b'<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/hostname">]>'
        + HEAD
        + b"<text>&a;</text></svg>",
        b'<!DOCTYPE svg [<!ENTITY % p SYSTEM "http://localhost/x.dtd"> %p;]>' + HEAD + b"&q;</svg>",
        HEAD + b"<g>" * 10_000 + b"</g>" * 10_000 + b"</svg>",
        HEAD + b"<g>" * 10_000,
        b"",
        b"   \n",
        b"<svg",
        HEAD + LINE,
        b"<html><body/></html>",
        b"\x00\x01\x02\x03",
        b"<?xml version='1.0' encoding='martian'?>" + HEAD + b"</svg>",
        HEAD + b"<text>\xe4\xff</text></svg>",
        b'<svg width="9mm" height="9mm"><g ed:label="x"/></svg>',
        b"\x1f\x8b" + b"rubbish",
        gzip.compress(HEAD + LINE + b"</svg>")[:-9],
    ],
    ids=lambda data: repr(data[:24]) + str(len(data)),
)
def test_refused_with_a_reason_and_a_mend(data):
    start = time.perf_counter()
    drawing = read_drawing(data, "hostile.svg")
    assert time.perf_counter() - start < 5.0
    found = errors(drawing)
    assert found
    assert drawing.layers == ()
    for problem in found:
        assert "hostile.svg" in problem.message
        assert problem.mend


def test_nothing_is_fetched_from_a_named_definition():
    data = (
        b'<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://localhost:1/svg11.dtd">'
        + HEAD
        + LINE
        + b"</svg>"
    )
    assert not errors(read_drawing(data, "a.svg"))


def test_entities_for_namespaces_are_understood():
    data = (
        b'<!DOCTYPE svg [<!ENTITY ns_svg "http://www.w3.org/2000/svg">'
        b'<!ENTITY ns_ed "urn:some-editor"><!ENTITY w "5">]>'
        b'<svg xmlns="&ns_svg;" xmlns:e="&ns_ed;" width="9mm" height="9mm" viewBox="0 0 9 9">'
        b'<g e:label="zone a"><rect width="&w;" height="5"/></g></svg>'
    )
    drawing = read_drawing(data, "a.svg")
    assert not errors(drawing)
    assert [layer.name for layer in drawing.layers] == ["zone a"]


def test_two_hundred_groups_deep_is_still_read():
    data = svg("<g>" * 200 + LINE.decode() + "</g>" * 200)
    assert shapes(read(data), "zone a")


def test_an_outline_longer_than_ten_megabytes_is_read():
    data = svg('<g id="zone a"><path d="M0 0h9v9' + " " * 10_500_000 + 'h-9z"/></g>')
    drawing = read(data)
    assert not errors(drawing)
    assert len(shapes(drawing)) == 1


def test_a_bomb_does_not_hide_behind_a_long_attribute():
    """The allowance for long outlines must not let entities unfold, in no encoding."""
    long_ = bomb().replace(b"<text>", b'<path d="' + b" " * 10_500_000 + b'"/><text>')
    for data in (
        long_,
        ('<?xml version="1.0" encoding="utf-16"?>' + long_.decode()).encode("utf-16"),
    ):
        start = time.perf_counter()
        drawing = read_drawing(data, "hostile.svg")
        assert time.perf_counter() - start < 20.0
        assert errors(drawing)
        assert drawing.layers == ()


def test_a_long_outline_may_have_a_document_type():
    data = svg('<g id="zone a"><path d="M0 0h9v9' + " " * 10_500_000 + 'h-9z"/></g>')
    data = (
        b'<?xml version="1.0" encoding="UTF-8"?><!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "x">'
        + data
    )
    assert not errors(read(data))


def test_a_sheet_with_endless_selectors_is_bounded():
    sheet = "".join(f"* * * * * * * * * .c{i % 3} > *{{fill-rule:evenodd}}" for i in range(400))
    nest = '<g class="c0 c1">' * 100 + '<rect width="5" height="5"/>' * 200 + "</g>" * 100
    start = time.perf_counter()
    drawing = read(f"<style>{sheet.replace('>', '&gt;')}</style>{nest}")
    assert time.perf_counter() - start < 60.0
    assert shapes(drawing) or "too-much" in codes(drawing)


def test_an_outline_crossing_itself_thousands_of_times_is_bounded():
    numbers = random.Random(7)
    data = "M" + " ".join(f"{numbers.uniform(0, 99):.3f}" for _ in range(600)) + "z"
    start = time.perf_counter()
    drawing = read(f'<g id="zone a"><path d="{data}"/></g>')
    assert time.perf_counter() - start < 60.0
    assert shapes(drawing) or "too-tangled" in codes(drawing)


@pytest.mark.parametrize("points", [3_000, 60_000])
def test_a_scribble_of_many_long_lines_is_refused_in_time(points):
    numbers = random.Random(9)
    data = "M" + " ".join(f"{numbers.uniform(0, 99):.3f}" for _ in range(2 * points)) + "z"
    start = time.perf_counter()
    drawing = read(f'<g id="zone a"><path d="{data}"/></g>')
    assert time.perf_counter() - start < 60.0
    assert "too-tangled" in codes(drawing)


def test_thousands_of_rings_in_rings_are_bounded(monkeypatch):
    # The real bound of four million pairs takes some seconds; the mechanism is the same.
    monkeypatch.setattr("templater.reading.areas._MOST_PAIRS", 100_000)
    data = "".join(
        f"M{i / 20} {i / 20}h{80 - i / 10}v{70 - i / 10}h-{80 - i / 10}z" for i in range(600)
    )
    drawing = read(f'<g id="zone a"><path fill-rule="evenodd" d="{data}"/></g>')
    assert "too-tangled" in codes(drawing)


def test_scales_upon_scales_are_refused():
    drawing = read('<g transform="scale(1e8)">' * 40 + '<circle r="5"/>' + "</g>" * 40)
    assert {e.code for e in errors(drawing)} == {"transform-broken"}
    nested = (
        '<svg width="1e8" height="1e8" viewBox="0 0 1 1">' * 40 + '<circle r="5"/>' + "</svg>" * 40
    )
    assert errors(read(nested))


def test_far_away_shapes_are_refused_by_name():
    drawing = read('<g id="zone a"><path id="lost" d="M0 0h9e8v5h-5z"/></g>')
    assert "out-of-range" in codes(drawing)
    assert any("lost" in e.message for e in errors(drawing))


EMPTY = [
    '<rect width="{n}" height="{n}"/>',
    '<path d="M0 0 L{n} 5 A{n} 3 {n} 0 1 9 {n}z"/>',
    '<path d="{t}"/>',
    '<use href="#{t}" x="{n}"/>',
    '<use href="#a" x="{n}"/>',
    "<style>{t}{{display:none}}</style>",
    '<text x="{n}" font-size="{n}">{t}</text>',
    '<polygon points="{n},{n} {n} 5 7 7"/>',
    '<circle r="{n}" cx="{t}"/>',
    '<line x2="{n}" stroke="{t}" stroke-width="{n}"/>',
]
AROUND = [
    '<g transform="{t}">',
    '<g transform="scale({n})" style="{t}" id="a">',
    '<g id="zone {t}" clip-path="url(#a)">',
    '<svg viewBox="0 0 {n} {n}" width="{n}">',
    '<symbol id="a" viewBox="{t}">',
    '<switch systemLanguage="{t}">',
]
ODD_NUMBERS = ["0", "-1", "1e400", "nan", "5mm", "1e9", "0.0001", "50%", "7", "1e-320", "1_0"]


@settings(deadline=None, max_examples=150)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(EMPTY + AROUND),
            st.sampled_from(ODD_NUMBERS),
            st.text(alphabet="Mm0 1.,zaAxe-()#;{}*é:%!@[]", max_size=12),
        ),
        max_size=12,
    ),
    st.sampled_from(["", 'width="10mm"', 'viewBox="0 0 10 10"', 'width="3%" height="1in"']),
)
def test_no_mixture_of_odd_things_raises(pieces, size):
    body, open_ = "", []
    for piece, number, text in pieces:
        body += piece.format(n=number, t=text)
        if piece in AROUND:
            open_.append(piece.split()[0][1:])
    body += "".join(f"</{name}>" for name in reversed(open_))
    drawing = read_drawing(f"<svg {NS} {size}>{body}</svg>".encode(), "odd.svg")
    assert "svg-broken" not in codes(drawing)  # the mixture is well-formed, so it was really read
    assert drawing.layers or drawing.problems


@settings(deadline=None, max_examples=100)
@given(st.binary(max_size=200), st.integers(0, 400), st.integers(0, 40))
def test_no_damage_to_a_good_file_raises(noise, at, cut):
    good = svg('<g id="zone a" transform="scale(2)"><path d="M0 0C1 1 2 2 3 0s2-2 3 0z"/></g>')
    read_drawing(good[:at] + noise + good[at + cut :], "damaged.svg")
