"""Parts laid and drawn, templates and placement drawn: layers of drawable things, true size."""

from templater.sheets.appliques import best_lays
from templater.sheets.cloth_lay import lay_cloth
from templater.sheets.cloth_map import cloth_maps
from templater.sheets.making import make_sheets

__all__ = ["best_lays", "cloth_maps", "lay_cloth", "make_sheets"]
