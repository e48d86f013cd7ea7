"""Parts as their written files have them, laid where they are worn: for tests that put them together."""

import shapely

from templater.geometry.polygons import to_polygon
from templater.model.curves import Transform


def inverse(move):
    det = move.determinant
    a, b, c, d = move.d / det, -move.b / det, -move.c / det, move.a / det
    return Transform(a, b, c, d, -(a * move.e + c * move.f), -(b * move.e + d * move.f))


class LaidPart:
    """One part's lines as its file has them, moved from the sheet to where it is worn."""

    def __init__(self, part, facts, move):
        self.part = part
        back = inverse(move).then(part.to_side)
        shapes = [(fact, [back.apply(p) for p in fact.points]) for fact in facts.paths]
        lines = [
            shapely.LineString([*points, points[0]] if fact.closed else points)
            for fact, points in shapes
            if fact.layer in {"cut", "seam"} and len(points) > 1
        ]
        self.strokes = [
            points for fact, points in shapes if fact.layer == "marks" and len(points) == 2
        ]
        self.lines = shapely.union_all(lines)
        cells = _cells(lines)
        self.finished = self._within(cells, part.finished)
        self.cut = self._within(cells, part.cut)
        self.texts = facts.texts

    def _within(self, cells, area):
        """The part of the sheet inside one of the part's outlines, as the file's lines bound it."""
        wanted = shapely.transform(
            to_polygon(area, 0.01),
            lambda x, y: self.part.to_side.apply((x, y)),
            interleaved=False,
        )
        return shapely.union_all([c for c in cells if wanted.contains(c.representative_point())])


def _cells(lines):
    """The sheet cut up along all lines; an end within 0.01 mm of another line touches it."""
    crosses = []
    for one in lines:
        if not one.is_closed:
            for x, y in (one.coords[0], one.coords[-1]):
                crosses += [
                    shapely.LineString([(x - dx, y - dy), (x, y), (x + dx, y + dy)])
                    for dx, dy in ((0.01, 0.0), (0.0, 0.01))
                ]
    return list(shapely.get_parts(shapely.polygonize([shapely.union_all([*lines, *crosses])])))


def away(stroke, at):
    """From a place to a stroke run on by 10 mm at either end: the stroke may stop in the allowance."""
    (x0, y0), (x1, y1) = stroke
    run = shapely.LineString([(x0 - 2 * (x1 - x0), y0 - 2 * (y1 - y0)), (x1, y1)])
    return min(
        run.distance(at),
        shapely.LineString([(x0, y0), (x1 + 2 * (x1 - x0), y1 + 2 * (y1 - y0))]).distance(at),
    )
