"""The colours of DXF entities: their own, their layer's, or that of the block they stand in.

Sources: DXF reference, "Common group codes for entities" (62, 420) and "LAYER"; the numbered
colours are those of ezdxf's table. Number 7, black on white and white on black, is black: a
pattern is drawn on paper.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from templater.reading.colours import BLACK, rgb_colour
from templater.reading.dxf_words import decoded

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document
    from ezdxf.entities import DXFEntity

_BY_BLOCK, _BY_LAYER, _BLACK_OR_WHITE = 0, 256, 7


@dataclass(slots=True)
class Colours:
    """The colours of one document; layers' are looked up once."""

    document: Document
    _of_layers: dict[str, str] = field(default_factory=dict)

    def of(self, entity: DXFEntity, layer: str, by_block: str) -> str:
        """An entity's colour as seen; `layer` is the one it is seen on, `by_block` what the
        reference around it hands down.
        """
        from ezdxf.lldxf.const import DXFError

        try:
            true = entity.dxf.get("true_color")
            number = int(entity.dxf.get("color", _BY_LAYER))
        except DXFError:  # a kind that ezdxf does not know
            return ""
        if true is None and number == _BY_BLOCK:
            return by_block
        if true is None and number == _BY_LAYER:
            return self._of_layer(layer)
        return _colour(true, number)

    def _of_layer(self, name: str) -> str:
        if not self._of_layers:
            self._of_layers = {
                decoded(entry.dxf.name).casefold(): _colour(
                    entry.dxf.get("true_color"), abs(int(entry.dxf.get("color", _BLACK_OR_WHITE)))
                )
                for entry in self.document.layers
            }
        return self._of_layers.setdefault(name.casefold(), BLACK)


def _colour(true: int | None, number: int) -> str:
    from ezdxf.colors import aci2rgb, int2rgb

    if true is not None:
        parts = int2rgb(true)
    elif number == _BLACK_OR_WHITE or not 0 < number < _BY_LAYER:
        return BLACK
    else:
        parts = aci2rgb(number)
    return rgb_colour(*(part / 255.0 for part in parts))
