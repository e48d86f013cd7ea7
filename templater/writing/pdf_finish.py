"""What reportlab cannot write: optional-content layers, the fonts, viewer preferences, a fixed ID.

Imported late (pikepdf).
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from templater.writing.pdf_canvas import PdfCanvas, property_name

if TYPE_CHECKING:
    import pikepdf


def finish_pdf(canvas: PdfCanvas) -> bytes:
    """What was drawn as PDF: its layers named, its letters embedded, no scaling when printed, and
    an ID made of its content. No page may be open.
    """
    import pikepdf

    with pikepdf.open(io.BytesIO(canvas.finish())) as pdf:
        fonts = canvas.fonts.embed(pdf)
        for resources in _resources(pdf):
            resources.Font = fonts
        groups = [
            pdf.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name.OCG, Name=pikepdf.String(name)))
            for name in canvas.layer_names
        ]
        if groups:
            _name_layers(pdf, groups)
        pdf.Root.ViewerPreferences = pikepdf.Dictionary(
            PrintScaling=pikepdf.Name("/None"), DisplayDocTitle=True
        )
        out = io.BytesIO()
        pdf.save(
            out,
            deterministic_id=True,
            object_stream_mode=pikepdf.ObjectStreamMode.generate,
            compress_streams=True,
        )
        return out.getvalue()


def _name_layers(pdf: pikepdf.Pdf, groups: Sequence[pikepdf.Object]) -> None:
    """Make the groups known to the document, and to every content stream that might call them."""
    import pikepdf

    properties = pdf.make_indirect(pikepdf.Dictionary())
    for index, group in enumerate(groups):
        properties[f"/{property_name(index)}"] = group
    for resources in _resources(pdf):
        resources.Properties = properties
    pdf.Root.OCProperties = pikepdf.Dictionary(
        OCGs=pikepdf.Array(groups),
        D=pikepdf.Dictionary(
            Order=pikepdf.Array(groups), ON=pikepdf.Array(groups), Name=pikepdf.String("Layers")
        ),
    )


def _resources(pdf: pikepdf.Pdf) -> Iterator[pikepdf.Object]:
    """Of every content stream of the document."""
    import pikepdf

    for page in pdf.pages:
        yield page.obj.Resources
    for thing in pdf.objects:
        if isinstance(thing, pikepdf.Stream) and thing.get("/Subtype") == "/Form":
            yield thing.Resources
