"""book.html: the bench book as one page that needs nothing else."""

from __future__ import annotations

from html import escape

from templater.model.plan import Plan
from templater.writing.book_data import book_json
from templater.writing.book_words import book_file
from templater.writing.lost_letters import names_in_book
from templater.writing.numbers import xml_text
from templater.writing.svg_fonts import embedded_fonts

_SCRIPTS = ("view.js", "picture.js", "ticks.js", "tables.js", "page.js")


def book_html(plan: Plan) -> bytes:
    """The page: the plan's numbers, the picture and all that moves them, in one file."""
    script = "\n".join(book_file(name) for name in _SCRIPTS)
    if "</script" in script:
        raise ValueError("the page's script would end early")
    filled = {
        "%%TITLE%%": escape(xml_text(plan.name)),
        "%%STYLE%%": embedded_fonts(names_in_book(plan)) + book_file("page.css"),
        "%%SCRIPT%%": f'"use strict";\n(() => {{\n{script}\n}})();',
        "%%DATA%%": book_json(plan),
    }
    text = book_file("page.html")
    for mark, value in filled.items():
        text = text.replace(mark, value)
    return text.encode()
