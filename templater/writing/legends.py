"""What pages say about themselves."""

from __future__ import annotations

from templater.model.sheets import Sheet


def sheet_legend(sheet: Sheet) -> str:
    """A sheet's title and number in one line."""
    return f"{sheet.title}, sheet {sheet.number} of {sheet.of}"
