"""Printed pages put together by their numbered marks, as a maker does it, give the sheet over a metre.

Pages are rendered by pypdfium2. A mark is found in the picture by its number, which is read from the
page's text, and measured as the middle of the diamond's ink; two marks of a like number on two pages
are laid on each other. Nothing is taken from the plan of the pages but how many there are.
"""

import cmath
import io
import itertools
import re

import numpy as np
import pikepdf
import pypdfium2
import pytest
from scipy.signal import fftconvolve
from writing_samples import centre_mm, ink, sheet

from templater.geometry.polygons import rectangle
from templater.model.sheets import Circle, Pen, SheetLayer, Stroke
from templater.writing import tiled_pdf_bytes

PX = 8.0
MM = 25.4 / 72.0
REACH = 3.0
TARGETS = [(x, y) for x in range(40, 1100, 100) for y in (35, 200, 365)]


def metre():
    """Rings every 100 mm over more than a metre, in a frame."""
    rings = tuple(Circle(float(x), float(y), 6.0, Pen.HOLE) for x, y in TARGETS)
    frame = Stroke(rectangle(10, 10, 1090, 390), Pen.CUT)
    return sheet(SheetLayer("holes", rings), SheetLayer("cut", (frame,)), size_mm=(1100.0, 400.0))


def with_only(data, layers, *, on):
    """The same pages with these layers off, or all others."""
    with pikepdf.open(io.BytesIO(data)) as pdf:
        groups = [g for g in pdf.Root.OCProperties.OCGs if (str(g.Name) in layers) is not on]
        pdf.Root.OCProperties.D.OFF = pikepdf.Array(groups)
        out = io.BytesIO()
        pdf.save(out)
    return pypdfium2.PdfDocument(out.getvalue())


def numbers_on(page):
    """The page's texts that are nothing but a number, with their middles in mm."""
    text = page.get_textpage()
    found = []
    for index in range(text.count_rects()):
        box = text.get_rect(index)
        said = text.get_text_bounded(*box).strip()
        if re.fullmatch(r"\d+", said):
            x0, y0, x1, y1 = (MM * side for side in box)
            found.append((int(said), ((x0 + x1) / 2.0, (y0 + y1) / 2.0)))
    return found


def diamond():
    """A diamond's outline as a picture, its middle in the middle."""
    side = np.arange(-REACH - 0.3, REACH + 0.3 + 0.5 / PX, 1.0 / PX)
    x, y = np.meshgrid(side, side)
    return (np.abs(np.abs(x) + np.abs(y) - REACH) < 0.15).astype(float)


def rendered(page):
    return ink(page.render(scale=PX * MM).to_pil())


def on_paper(page, picture, row, column):
    """A place of the picture in mm from the page's lower left corner; the renderer fills whole pixels."""
    wide, tall = (MM * side for side in page.get_size())
    rows, columns = picture.shape
    return complex((column + 0.5) * wide / columns, tall - (row + 0.5) * tall / rows)


def mark_near(page, picture, at):
    """The middle of the diamond beside a number."""
    row, column, half = int(len(picture) - at[1] * PX), int(at[0] * PX), int(9.0 * PX)
    top, left = max(row - half, 0), max(column - half, 0)
    part = picture[top : row + half, left : column + half]
    score = fftconvolve(part, diamond()[::-1, ::-1], mode="same")
    v, u = np.unravel_index(int(score.argmax()), score.shape)
    row, column = float(top + v), float(left + u)
    for _ in range(3):
        row, column = middle_of_diamond(picture, row, column)
    return on_paper(page, picture, row, column)


def middle_of_diamond(picture, row, column):
    """The middle of the ink along a diamond's sides; its corners, where other lines run, left out."""
    reach = int((REACH + 0.6) * PX)
    rows = np.arange(round(row) - reach, round(row) + reach + 1)
    columns = np.arange(round(column) - reach, round(column) + reach + 1)
    v, u = np.meshgrid((rows - row) / PX, (columns - column) / PX, indexing="ij")
    on_sides = (np.abs(np.abs(u) + np.abs(v) - REACH) < 0.45) & (np.minimum(abs(u), abs(v)) > 0.6)
    weight = picture[np.ix_(rows, columns)] * on_sides
    return row + PX * (weight * v).sum() / weight.sum(), column + PX * (
        weight * u
    ).sum() / weight.sum()


def put_together(marks):
    """For each page the turn and shift that lay its marks best on those of all pages laid before."""
    laid = {0: (1.0 + 0.0j, 0.0j)}
    where = dict(marks[0])
    while len(laid) < len(marks):
        shared, new = max(
            (len(marks[n].keys() & where.keys()), -n) for n in range(len(marks)) if n not in laid
        )
        assert shared >= 2, "two marks hold a page"
        own = marks[-new]
        common = sorted(own.keys() & where.keys())
        here = np.array([own[number] for number in common])
        there = np.array([where[number] for number in common])
        turn = np.vdot(here - here.mean(), there - there.mean())
        turn /= abs(turn)  # paper does not stretch
        laid[-new] = (turn, there.mean() - turn * here.mean())
        where.update({n: turn * at + laid[-new][1] for n, at in own.items() if n not in where})
    return laid


@pytest.fixture(scope="module", params=[((210.0, 297.0), 10.0), ((215.9, 279.4), 12.0)])
def joined(request):
    """What the joined pages show: the places of the rings, and the pages' marks and turns."""
    paper, overlap = request.param
    data = tiled_pdf_bytes([metre()], paper, 8.0, overlap)
    furniture = with_only(data, {"page"}, on=True)
    drawing = with_only(data, {"page"}, on=False)
    marks, rings = [], []
    for page, drawn in list(zip(furniture, drawing, strict=True))[1:]:  # the map comes first
        picture = rendered(page)
        marks.append({number: mark_near(page, picture, at) for number, at in numbers_on(page)})
        rings.append(rings_on(drawn, rendered(drawn)))
    laid = put_together(marks)
    places = [laid[n][0] * ring + laid[n][1] for n, found in enumerate(rings) for ring in found]
    return marks, laid, places


def rings_on(page, picture):
    """The middles of the whole rings in a page's picture."""
    side = np.arange(-4.0, 4.0 + 0.5 / PX, 1.0 / PX)
    radius = np.hypot(*np.meshgrid(side, side))
    ring = (np.abs(radius - 3.0) < 0.2).astype(float)
    score = fftconvolve(picture, ring, mode="same") / ring.sum()
    tall, found = len(picture) / PX, []
    while score.max() > 0.55:
        v, u = np.unravel_index(int(score.argmax()), score.shape)
        x, y = centre_mm(picture, (u + 0.5) / PX, tall - (v + 0.5) / PX, 3.6, PX, tall)
        found.append(on_paper(page, picture, (tall - y) * PX - 0.5, x * PX - 0.5))
        score[max(v - 32, 0) : v + 32, max(u - 32, 0) : u + 32] = 0.0
    return found


def test_every_mark_stands_on_two_pages_under_one_number(joined):
    marks, _, _ = joined
    counts = [sum(number in page for page in marks) for number in sorted(set().union(*marks))]
    assert len(marks) >= 8
    assert set(counts) == {2}
    assert sorted(set().union(*marks)) == list(range(1, len(counts) + 1))


def test_the_joined_pages_give_the_sheet_within_a_tenth_over_a_metre(joined):
    _, laid, places = joined
    # The first page lies where it likes: rings are told by where they lie from the lowest left one.
    truth = [complex(x, y) for x, y in TARGETS]
    assert len(places) >= len(truth)
    start = min(places, key=lambda p: p.real + p.imag)
    turns = [cmath.phase(turn) for turn, _ in laid.values()]
    assert max(turns) - min(turns) < 0.0005
    named = {}
    for place in places:
        offset = place - start + truth[0]
        named.setdefault(min(range(len(truth)), key=lambda i: abs(truth[i] - offset)), place)
    assert len(named) == len(truth)
    worst = max(
        abs(abs(named[i] - named[j]) - abs(truth[i] - truth[j]))
        for i, j in itertools.combinations(range(len(truth)), 2)
    )
    longest = max(abs(a - b) for a, b in itertools.combinations(truth, 2))
    assert longest > 1000.0
    print(f"worst distance off by {worst:.3f} mm over {longest:.0f} mm")
    assert worst <= 0.1
