"""PDF files made for the tests, content streams written out."""

import io

import pikepdf
from pikepdf import Array, Dictionary, Name

from templater.reading.pdf import read_pdf


def pdf(*contents, box=(0, 0, 283.46456692913387, 283.46456692913387), resources=None, **page):
    """One page for each content; the default box is 100 mm square."""
    document = pikepdf.new()
    for content in contents:
        made = Dictionary(
            Type=Name.Page,
            MediaBox=Array(list(box)),
            Contents=document.make_stream(content.encode("latin-1")),
            Resources=resources(document) if resources else Dictionary(),
        )
        for key, value in page.items():
            made[f"/{key}"] = value
        document.pages.append(pikepdf.Page(document.make_indirect(made)))
    return document


def as_bytes(document):
    stream = io.BytesIO()
    document.save(stream)
    return stream.getvalue()


def read(document, **how):
    return read_pdf(as_bytes(document), "made.pdf", **how)


def group(document, name):
    return document.make_indirect(Dictionary(Type=Name.OCG, Name=name))
