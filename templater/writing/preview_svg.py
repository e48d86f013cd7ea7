"""The preview as SVG: each kind of stone defined once and used where it lies."""

from __future__ import annotations

from xml.sax.saxutils import escape, quoteattr

from templater.lettering.font import font_size_mm
from templater.model.curves import Ring
from templater.model.plan import Plan
from templater.writing.numbers import plain, xml_text
from templater.writing.preview_layout import Layout, lay_out
from templater.writing.preview_marks import Kind, StoneKinds
from templater.writing.svg_fonts import embedded_fonts, font_family, svg_words


def preview_svg(plan: Plan) -> bytes:
    """The finished piece at true size in mm."""
    kinds = StoneKinds(plan)
    layout = lay_out(plan)
    width, height = (plain(length) for length in layout.size_mm)
    title = xml_text(plan.name)
    lines = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"',
        f' version="1.1" width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}">',
        f" <title>{escape(title)}</title>",
        f' <rect width="{width}" height="{height}" fill="{layout.ground}"/>',
    ]
    if fonts := embedded_fonts(text.text for text in layout.texts):
        lines.append(f" <style>{fonts}</style>")
    names: dict[Kind, str] = {}
    uses: list[str] = []
    for stone in layout.stones:
        kind = kinds.kind(stone)
        if kind not in names:
            names[kind] = f"k{len(names) + 1}"
        x, y = plain(stone.x_mm, 3), plain(layout.size_mm[1] - stone.y_mm, 3)
        uses.append(f'  <use xlink:href="#{names[kind]}" x="{x}" y="{y}"/>')
    lines += _definitions(layout, kinds, names)
    for patch in layout.patches:
        data = " ".join(_ring(ring, layout.size_mm[1]) for ring in patch.rings)
        lines.append(
            f' <path d="{data}" fill="{patch.colour}" fill-rule="evenodd" '
            'stroke="#8a8a8a" stroke-width="0.25"/>'
        )
    lines += [" <g>", *uses, " </g>"]
    for text in layout.texts:
        size = plain(font_size_mm(text.height_mm))
        x, y = plain(text.at[0]), plain(layout.size_mm[1] - text.at[1])
        lines.append(
            f" <text x={quoteattr(x)} y={quoteattr(y)} font-size={quoteattr(size)} "
            f'font-family={quoteattr(font_family(text.text))} fill="#222222" '
            f'text-anchor="{text.anchor.value}">{escape(svg_words(xml_text(text.text)))}</text>'
        )
    lines.append("</svg>")
    return ("\n".join(lines) + "\n").encode()


def _definitions(layout: Layout, kinds: StoneKinds, names: dict[Kind, str]) -> list[str]:
    lines = [" <defs>"]
    done: set[Kind] = set()
    for stone in layout.stones:
        kind = kinds.kind(stone)
        if kind in done:
            continue
        done.add(kind)
        lines.append(f'  <g id="{names[kind]}">')
        for ring, colour in kinds.facets(stone):
            points = " ".join(f"{plain(x, 3)},{plain(-y, 3)}" for x, y in ring)
            lines.append(f'   <polygon points="{points}" fill="{colour}"/>')
        lines.append("  </g>")
    lines.append(" </defs>")
    return lines


def _ring(ring: Ring, height_mm: float) -> str:
    points = " L ".join(f"{plain(x, 3)} {plain(height_mm - y, 3)}" for x, y in ring)
    return f"M {points} Z"
