"""Writes docs/fills.md's reference from the registry of fill styles: python tests/stoning/fills_reference.py"""

from __future__ import annotations

from dataclasses import MISSING, fields
from pathlib import Path

import templater
from templater.stoning.styles import STYLES

DOCUMENT = Path(templater.__file__).parents[1] / "docs" / "fills.md"
BEGIN, END = "<!-- reference: begin -->", "<!-- reference: end -->"


def reference() -> str:
    """Every style with its keys, as Markdown."""
    return "\n".join(line for name in STYLES for line in _section(name))


def _section(name: str) -> list[str]:
    style = STYLES[name]
    takes = "Takes one size." if style.one_size else ""
    lines = [
        f"### `{name}`",
        "",
        f"{style.summary[0].upper()}{style.summary[1:]}. {takes}".strip(),
        "",
    ]
    keys = fields(style.parameters)
    if not keys:
        return [*lines, "No keys of its own.", ""]
    lines += ["| key | default | meaning |", "| --- | --- | --- |"]
    lines += [f"| `{key.name}` | {_default(key)} | {key.metadata['doc']} |" for key in keys]
    return [*lines, ""]


def _default(key) -> str:
    value = key.default if key.default is not MISSING else key.default_factory()
    match value:
        case None | () | "":
            return "–"
        case bool():
            return str(value).lower()
        case str():
            return f'"{value}"'
        case float():
            return f"{value:g}"
        case _:
            return str(value)


def renewed(text: str) -> str:
    """The document with its reference as the registry has it."""
    before, _, rest = text.partition(BEGIN)
    _, _, after = rest.partition(END)
    return f"{before}{BEGIN}\n\n{reference()}\n{END}{after}"


if __name__ == "__main__":
    DOCUMENT.write_text(renewed(DOCUMENT.read_text("utf-8")), "utf-8")
