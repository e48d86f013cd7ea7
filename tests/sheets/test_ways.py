"""Arrows to neck and fold on every template, in words and in the strip that is cut out with it."""

import math

import pytest
from shapely import LineString
from shapely import Point as ShapelyPoint

from templater.geometry.flatten import flatten
from templater.model.sheets import Lettering, Stroke


def arrows(sheet):
    """By name the vectors of the arrows with that name to their right."""
    items = next(each.items for each in sheet.layers if each.name == "text")
    words = [i for i in items if isinstance(i, Lettering)]
    lines = [
        i.path
        for i in items
        if isinstance(i, Stroke) and i.pen == "mark" and len(i.path.segments) == 1
    ]
    found = {}
    for path in lines:
        (ax, ay), (bx, by) = path.start, path.end
        right = max(ax, bx)
        middle = ((ax + bx) / 2.0, (ay + by) / 2.0)
        near = [
            w
            for w in words
            if right - 3.0 < w.at[0] < right + 5.0 and abs(w.at[1] + 0.9 - middle[1]) < 0.1
        ]
        found[min(near, key=lambda w: abs(w.at[0] - middle[0] - 3.5)).text] = (bx - ax, by - ay)
    return found


def truth(made, one, name):
    """From the middle of the sheet's holes to the fold or the nearest edge of that name."""
    x = sum(h.x_mm for h in one.holes) / len(one.holes)
    y = sum(h.y_mm for h in one.holes) / len(one.holes)
    if name == "fold":
        fold = made.ground.piece(one.piece).fold
        a, b = (one.to_sheet.apply(p) for p in (fold.start, fold.end))
        far = 1e4 / math.dist(a, b)
        a, b = (
            (a[0] - far * (b[0] - a[0]), a[1] - far * (b[1] - a[1])),
            (b[0] + far * (b[0] - a[0]), b[1] + far * (b[1] - a[1])),
        )
        lines = [LineString([a, b])]
    else:
        lines = [
            LineString([p.transform.then(one.to_sheet).apply(q) for q in flatten(edge.path, 0.05)])
            for edge in made.ground.references
            if f"edge {edge.name}" == name
            for p in made.ground.surface(one.piece).sides
        ]
    near = min(lines, key=lambda line: line.distance(ShapelyPoint(x, y)))
    foot = near.interpolate(near.project(ShapelyPoint(x, y)))
    return foot.x - x, foot.y - y


def test_arrows_point_to_fold_and_neck(made):
    by_name = {sheet.name: sheet for sheet in made.sheets}
    seen = 0
    for one in made.passes:
        for name, (dx, dy) in arrows(by_name[one.template]).items():
            assert name in {"fold", "edge top"}
            assert math.hypot(dx, dy) == pytest.approx(5.0, abs=0.001)
            tx, ty = truth(made, one, name)
            assert (dx * tx + dy * ty) / (5.0 * math.hypot(tx, ty)) > 0.999
            seen += 1
    assert seen >= len(made.passes)


def test_seen_from_behind_the_arrows_are_mirrored(made):
    by_name = {sheet.name: sheet for sheet in made.sheets}
    compared = 0
    for name, sheet in by_name.items():
        if name.endswith("-reversed"):
            front, behind = arrows(by_name[name.removesuffix("-reversed")]), arrows(sheet)
            for word in front.keys() & behind.keys():
                assert behind[word][0] == pytest.approx(-front[word][0], abs=0.001)
                assert behind[word][1] == pytest.approx(front[word][1], abs=0.001)
                compared += 1
    assert compared >= 3


def test_the_words_say_the_same(fold_made):
    by_name = {sheet.name: sheet for sheet in fold_made.sheets}
    for one in fold_made.passes:
        sheet = by_name[one.template]
        said = " ".join(
            i.text for each in sheet.layers for i in each.items if isinstance(i, Lettering)
        )
        for name, (dx, dy) in arrows(sheet).items():
            way = (
                ("to the right" if dx > 0 else "to the left")
                if abs(dx) >= abs(dy)
                else ("above" if dy > 0 else "below")
            )
            assert f"{name}: {way}" in said
