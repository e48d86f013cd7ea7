"""Plans and sheets to files: small writers behind one protocol, the pack, and its safe swap.

Everything heavy is imported inside the functions that need it.
"""

from templater.writing.dxf import dxf_bytes
from templater.writing.lost_letters import lettering_problems
from templater.writing.pack import write_pack
from templater.writing.pdf import pdf_bytes
from templater.writing.picture import sheet_png
from templater.writing.svg import svg_bytes
from templater.writing.tiled_pdf import tiled_pdf_bytes

__all__ = [
    "dxf_bytes",
    "lettering_problems",
    "pdf_bytes",
    "sheet_png",
    "svg_bytes",
    "tiled_pdf_bytes",
    "write_pack",
]
