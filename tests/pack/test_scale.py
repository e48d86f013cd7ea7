"""True size, measured by someone else's eyes: pypdfium2, resvg and ezdxf look at what was written."""

import csv
import io
import json
import math
import re

import ezdxf
import numpy as np
import pypdfium2
import pytest
import resvg_py
from PIL import Image

PX_PER_MM = 12.0
SAMPLES = 40


@pytest.fixture(scope="module")
def plan(demo_pack):
    return json.loads((demo_pack / "plan.json").read_text("utf-8"))


@pytest.fixture(scope="module")
def holes(demo_pack):
    with (demo_pack / "holes.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def template(holes):
    """The sheet with the most round stencil holes."""
    counts = {}
    for hole in holes:
        if hole["kind"] == "stencil":
            counts[hole["template"]] = counts.get(hole["template"], 0) + 1
    return max(sorted(counts), key=counts.get)


class Picture:
    """A rendered page: darkness by pixel, 0 to 1, addressed in mm from the lower left corner."""

    def __init__(self, image: Image.Image, size_mm) -> None:
        self.dark = 1.0 - np.asarray(image.convert("L"), dtype=float) / 255.0
        self.scale_x = self.dark.shape[1] / size_mm[0]
        self.scale_y = self.dark.shape[0] / size_mm[1]
        self.height_mm = size_mm[1]

    def window(self, x0, y0, x1, y1):
        """Darkness and the mm coordinates of the pixels' middles."""
        c0, c1 = int(x0 * self.scale_x), int(x1 * self.scale_x)
        r0, r1 = (
            int((self.height_mm - y1) * self.scale_y),
            int((self.height_mm - y0) * self.scale_y),
        )
        rows, columns = np.mgrid[r0:r1, c0:c1]
        xs = (columns + 0.5) / self.scale_x
        ys = self.height_mm - (rows + 0.5) / self.scale_y
        return self.dark[r0:r1, c0:c1], xs, ys


def svg_picture(path, size_mm):
    """The page declares its size in mm; it is rendered at a whole number of pixels to the mm."""
    text = path.read_text("utf-8")
    root = re.search(r"<svg[^>]*>", text)[0]
    for name, mm in zip(("width", "height"), size_mm, strict=True):
        declared = re.search(rf'\b{name}="([\d.]+)mm"', root)
        assert float(declared[1]) == pytest.approx(mm, abs=1e-4)
        root_px = root.replace(declared[0], f'{name}="{round(mm * PX_PER_MM)}"')
        text, root = text.replace(root, root_px), root_px
    data = bytes(resvg_py.svg_to_bytes(svg_string=text, dpi=96, background="white"))
    return Picture(Image.open(io.BytesIO(data)), size_mm)


def pdf_picture(path, size_mm):
    page = pypdfium2.PdfDocument(path)[0]
    assert page.get_size() == pytest.approx([mm * 72 / 25.4 for mm in size_mm], abs=0.01)
    return Picture(page.render(scale=PX_PER_MM * 25.4 / 72.0).to_pil(), size_mm)


def hole_centre(picture, x, y, diameter):
    """The centroid of the ring's ink."""
    reach = diameter / 2 + 0.4
    dark, xs, ys = picture.window(x - reach, y - reach, x + reach, y + reach)
    ring = np.abs(np.hypot(xs - x, ys - y) - diameter / 2) < 0.3
    weight = dark * ring
    assert weight.sum() > 0, "there is no ring"
    return (xs * weight).sum() / weight.sum(), (ys * weight).sum() / weight.sum()


def bar_length(picture, bar):
    """Between the middles of the two end ticks, just beside the bar's own line."""
    x0, y0, x1, y1, _ = bar
    level = abs(y1 - y0) < 1e-6
    side = 0.8
    if level:
        dark, along, _ = picture.window(
            min(x0, x1) - 3, y0 + side - 0.2, max(x0, x1) + 3, y0 + side + 0.2
        )
    else:
        dark, _, along = picture.window(
            x0 + side - 0.2, min(y0, y1) - 3, x0 + side + 0.2, max(y0, y1) + 3
        )
    places, weight = along[dark > 0.4], dark[dark > 0.4]
    middle = (places.min() + places.max()) / 2
    ends = [
        (places[part] * weight[part]).sum() / weight[part].sum()
        for part in (places < middle, places >= middle)
    ]
    return abs(ends[1] - ends[0])


def long_bars(plan, name):
    sheet = next(sheet for sheet in plan["sheets"] if sheet["name"] == name)
    bars = [bar for bar in sheet["bars"] if bar[4] == 150]
    assert len(bars) == 2
    return sheet["size_mm"], bars


@pytest.mark.parametrize("kind", ["svg", "pdf"])
def test_bars_and_holes_as_others_render_them(demo_pack, plan, holes, template, kind):
    name = template.rpartition(".")[0]
    size_mm, bars = long_bars(plan, name)
    path = demo_pack / f"{name}.{kind}"
    picture = svg_picture(path, size_mm) if kind == "svg" else pdf_picture(path, size_mm)
    for bar in bars:
        assert bar_length(picture, bar) == pytest.approx(150, abs=0.1)
    mine = [hole for hole in holes if hole["template"] == template]
    assert len(mine) > SAMPLES
    worst = 0.0
    for hole in mine[:: len(mine) // SAMPLES]:
        x, y, diameter = (float(hole[key]) for key in ("x_mm", "y_mm", "diameter_mm"))
        worst = max(worst, math.dist((x, y), hole_centre(picture, x, y, diameter)))
    assert worst <= 0.02


def test_bars_and_holes_as_ezdxf_reads_them(demo_pack, plan, holes, template):
    name = template.rpartition(".")[0]
    _, bars = long_bars(plan, name)
    document = ezdxf.readfile(demo_pack / f"{name}.dxf")
    assert document.header["$INSUNITS"] == 4
    assert document.audit().errors == []
    circles = {
        (round(e.dxf.center.x, 2), round(e.dxf.center.y, 2)): e.dxf.radius * 2
        for e in document.modelspace().query("CIRCLE")
    }
    for hole in (hole for hole in holes if hole["template"] == template):
        at = (round(float(hole["x_mm"]), 2), round(float(hole["y_mm"]), 2))
        assert circles[at] == pytest.approx(float(hole["diameter_mm"]), abs=1e-4)
    lengths = [
        math.dist(a, b)
        for line in document.modelspace().query("LWPOLYLINE LINE")
        for a, b in [ends_of(line)]
    ]
    assert sum(abs(length - 150) <= 0.001 for length in lengths) >= len(bars)


def ends_of(entity):
    if entity.dxftype() == "LINE":
        return entity.dxf.start.vec2, entity.dxf.end.vec2
    points = list(entity.vertices())
    return points[0], points[-1]


def test_every_printed_sheet_begins_with_true_bars(demo_pack):
    """The first page of a tiled print carries 150 mm bars in both directions, in true size."""
    page = pypdfium2.PdfDocument(demo_pack / "print" / "front-centre-placement.pdf")[0]
    width, height = (side * 25.4 / 72 for side in page.get_size())
    assert (width, height) == pytest.approx((210, 297), abs=0.01)
    dark = (
        1.0
        - np.asarray(page.render(scale=PX_PER_MM * 25.4 / 72).to_pil().convert("L"), float) / 255
    )
    for lines in (dark, dark.T[::-1, ::-1]):
        # Along a bar, just beside its line, only the ticks at its ends are dark.
        assert any(
            abs(length - 150) <= 0.1 for length in between_ticks(lines, round(0.6 * PX_PER_MM))
        )


def between_ticks(dark, beside):
    """For each long level line of the picture, the length between the outermost ticks beside it."""
    ink = dark > 0.4
    for row in range(beside, len(dark) - beside):
        edges = np.flatnonzero(np.diff(np.concatenate(([0], ink[row].astype(int), [0]))))
        for start, end in zip(edges[::2], edges[1::2], strict=True):
            if 140 * PX_PER_MM < end - start < 160 * PX_PER_MM:
                for side in (row - beside, row + beside):
                    ticks = np.flatnonzero(ink[side, start:end])
                    if len(ticks) > 1:
                        parts = np.split(ticks, np.flatnonzero(np.diff(ticks) > 1) + 1)
                        yield (parts[-1].mean() - parts[0].mean()) / PX_PER_MM


def test_print_scaling_is_off(demo_pack):
    import pikepdf

    for path in sorted(demo_pack.rglob("*.pdf")):
        if path.name == "book.pdf":
            continue
        with pikepdf.open(path) as document:
            assert document.Root.ViewerPreferences.PrintScaling == "/None", path.name
