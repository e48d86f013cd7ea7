"""The independent renderer's word on what an SVG file fills: resvg, which shares no code with us."""

from __future__ import annotations

import io
import re

import numpy as np
import shapely
from svg_making import read

from templater.geometry.polygons import to_polygon
from templater.model.drawing import AreaShape, Drawing

LONGEST_MM = 100.0
AREA_LIMIT = 0.002  # of the box's area
EDGE_LIMIT_MM = 0.1
_BAND_MM, _FINE_MM = 0.3, 0.02
_ALONG_PX = (120, 800)  # a quick look; then fine enough for the renderer to see a sharp tip
_ROOT = re.compile(r"<svg\b[^>]*>", re.DOTALL)
_SIZE = re.compile(r"""\s(?:width|height|x|y)\s*=\s*("[^"]*"|'[^']*')""")


def rooted(text: str, attributes: str) -> str:
    """An SVG text with its root's size replaced, and nothing before the root."""
    found = _ROOT.search(text)
    assert found, "no root"
    root = _SIZE.sub("", found.group())
    return root.replace("<svg", f"<svg {attributes}", 1) + text[found.end() :]


def raster(text: str, width_px: int, height_px: int) -> np.ndarray:
    """Coverage from 0 to 1 of every pixel, top row first."""
    import resvg_py
    from PIL import Image

    png = resvg_py.svg_to_bytes(svg_string=text, dpi=96, width=width_px, height=height_px)
    with Image.open(io.BytesIO(bytes(png))) as picture:
        return np.asarray(picture.convert("RGBA"))[..., 3] / 255.0


def filled(drawing: Drawing) -> shapely.Geometry:
    """Everything that was read as an area, as far as the page shows it."""
    polygons = [
        to_polygon(shape.area, 0.002)
        for layer in drawing.layers
        for shape in layer.shapes
        if isinstance(shape, AreaShape)
    ]
    return shapely.union_all(polygons).intersection(shapely.box(0, 0, *drawing.size_mm))


class Comparison:
    """One file, read by us and filled by the renderer, at 100 mm size."""

    def __init__(self, text: str, box: tuple[float, float], px: int = 200) -> None:
        scale = LONGEST_MM / max(box)
        self.size = (box[0] * scale, box[1] * scale)
        width, height = self.size
        self.text = text
        sized = rooted(text, f'width="{width:.9g}mm" height="{height:.9g}mm"')
        self.drawing = read(sized.encode())
        self.shape = filled(self.drawing)
        self.area_error = self._area_error(sized, px)
        if self.area_error > AREA_LIMIT:  # thin bars need more pixels to be weighed rightly
            self.area_error = self._area_error(sized, 5 * px)

    def _area_error(self, sized: str, px: int) -> float:
        width, height = self.size
        shown = raster(sized, round(px * width / LONGEST_MM), round(px * height / LONGEST_MM))
        return abs(self.shape.area / (width * height) - float(shown.mean()))

    def edge_error_mm(self) -> float:
        """The largest distance between our box's four edges and where the renderer's paint ends."""
        if self.shape.is_empty:
            return 0.0 if self.area_error == 0.0 else float("inf")
        quick, fine = _ALONG_PX
        error = self._edges_mm(quick)
        return error if error <= EDGE_LIMIT_MM else self._edges_mm(fine)

    def _edges_mm(self, along_px: int) -> float:
        x0, y0, x1, y1 = self.shape.bounds
        top, bottom = self.size[1] - y1, self.size[1] - y0
        return max(
            self._edge(x0, along_px, upright=True, after=True),
            self._edge(x1, along_px, upright=True, after=False),
            self._edge(top, along_px, upright=False, after=True),
            self._edge(bottom, along_px, upright=False, after=False),
        )

    def _edge(self, place: float, along_px: int, *, upright: bool, after: bool) -> float:
        """Render a band about one edge, a pixel 0.02 mm across it, and see where paint begins."""
        width, height = self.size
        low = place - _BAND_MM
        fine = round(2 * _BAND_MM / _FINE_MM)
        if upright:
            view, px = f"{low!r} -1 {2 * _BAND_MM} {height + 2}", (fine, along_px)
        else:
            view, px = f"-1 {low!r} {width + 2} {2 * _BAND_MM}", (along_px, fine)
        inner = rooted(self.text, f'width="{width:.9g}" height="{height:.9g}"')
        shown = raster(
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" width="{px[0]}"'
            f' height="{px[1]}" preserveAspectRatio="none">{inner}</svg>',
            *px,
        )
        painted = np.flatnonzero(shown.max(axis=0 if upright else 1) > 0.0)
        if len(painted) == 0:
            return float("inf")
        first = painted[0] if after else painted[-1] + 1
        return abs(float(low + first * _FINE_MM) - place)
