"""Text as outlines: the font's own curves, in mm. Quadratic curves are raised to cubic exactly."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from templater.geometry.moves import moved_path, reversed_path
from templater.lettering.font import face, font
from templater.lettering.measure import shown_text
from templater.model.curves import Cubic, Line, Path, Point, Segment, Transform


def text_outlines(text: str, height_mm: float) -> tuple[Path, ...]:
    """The outlines of one line of text: baseline on y = 0, starting at x = 0, y up, mm.

    `height_mm` is the cap height (ISO 3098). Closed paths, letters' outsides anticlockwise and
    their counters clockwise. Raises ValueError if the height is not above 0.
    """
    if not height_mm > 0.0:
        raise ValueError("a lettering height must be above 0 mm")
    metrics = face()
    scale = height_mm / metrics.cap_height
    paths: list[Path] = []
    across = 0
    for letter in shown_text(text):
        name = metrics.glyphs[ord(letter)]
        move = Transform(a=scale, d=scale, e=across * scale)
        paths.extend(moved_path(path, move) for path in _glyph_paths(name))
        across += metrics.advances[name]
    return tuple(paths)


@lru_cache(maxsize=1024)
def _glyph_paths(name: str) -> tuple[Path, ...]:
    """A glyph's closed contours in font units. TrueType runs outsides clockwise: turned round here."""
    from fontTools.pens.basePen import BasePen

    contours: list[Path] = []

    class ContourPen(BasePen):  # type: ignore[misc]  # fontTools' pens carry no types
        """Collects contours; BasePen raises quadratic curves and resolves components."""

        def __init__(self, glyphs: Any) -> None:
            super().__init__(glyphs)
            self._segments: list[Segment] = []
            self._start: Point = (0.0, 0.0)
            self._here: Point = (0.0, 0.0)

        def _moveTo(self, pt: Point) -> None:  # noqa: N802  (BasePen's name)
            self._segments, self._start, self._here = [], pt, pt

        def _lineTo(self, pt: Point) -> None:  # noqa: N802  (BasePen's name)
            if pt != self._here:
                self._segments.append(Line(self._here, pt))
                self._here = pt

        def _curveToOne(self, pt1: Point, pt2: Point, pt3: Point) -> None:  # noqa: N802  (likewise)
            self._segments.append(Cubic(self._here, pt1, pt2, pt3))
            self._here = pt3

        def _closePath(self) -> None:  # noqa: N802  (BasePen's name)
            self._lineTo(self._start)
            if self._segments:
                contours.append(reversed_path(Path(tuple(self._segments), closed=True)))

    glyphs = font().getGlyphSet()
    glyphs[name].draw(ContourPen(glyphs))
    return tuple(contours)
