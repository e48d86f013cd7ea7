"""Optional-content groups of a PDF as layers: their names, and whether they are shown.

Source: ISO 32000-1, 8.11 "Optional content". Imported late: what it handles are pikepdf's objects.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Any

import pikepdf

_NAME = 200  # characters of a layer's name that are kept


@dataclass(slots=True)
class PdfLayers:
    """The document's groups by object number, off or on as it opens."""

    off: frozenset[tuple[int, int]]
    hidden: dict[str, int] = field(default_factory=dict)
    """Layers that were met and are off, with how many shapes each hid."""

    @classmethod
    def of(cls, root: Any) -> PdfLayers:
        """From the document's catalogue."""
        properties = root.get("/OCProperties")
        if properties is None:
            return cls(frozenset())
        default = properties.get("/D", {})
        off = _numbers(default.get("/OFF", ()))
        if str(default.get("/BaseState", "/ON")) == "/OFF":
            off = _numbers(properties.get("/OCGs", ())) - _numbers(default.get("/ON", ()))
        for usage in default.get("/AS", ()):
            if str(usage.get("/Event", "")) == "/View":
                off |= _numbers(group for group in usage.get("/OCGs", ()) if _off_by_use(group))
        return cls(frozenset(off))

    def layer_of(self, content: Any) -> tuple[str, bool] | None:
        """Name and visibility of a group or membership dictionary; None for other things."""
        kind = str(content.get("/Type", ""))
        if kind == "/OCG":
            return str(content.get("/Name", ""))[:_NAME], content.objgen not in self.off
        if kind == "/OCMD":
            groups = content.get("/OCGs")
            if groups is None:
                return None
            members = list(groups) if isinstance(groups, pikepdf.Array) else [groups]
            if not members:
                return None
            shown = [member.objgen not in self.off for member in members]
            policy = str(content.get("/P", "/AnyOn"))
            visible = {
                "/AllOn": all(shown),
                "/AnyOff": not all(shown),
                "/AllOff": not any(shown),
            }.get(policy, any(shown))
            return str(members[0].get("/Name", ""))[:_NAME], visible
        return None


def _off_by_use(group: Any) -> bool:
    """Whether a group is off whenever the file is viewed."""
    view = group.get("/Usage", {}).get("/View", {})
    return str(view.get("/ViewState", "")) == "/OFF"


def _numbers(groups: Iterable[Any]) -> set[tuple[int, int]]:
    return {group.objgen for group in groups}
