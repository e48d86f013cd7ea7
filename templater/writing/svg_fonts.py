"""What an SVG says of a text's font and direction.

Text stays text there: outlines of letters would be cut. Viewers set it in the fonts they have.
"""

from __future__ import annotations

from templater.lettering.font import FONT_NAME
from templater.lettering.shaping import shape

LEFTWARDS = {"direction": "rtl", "unicode-bidi": "embed"}
"""Of the span that holds a text whose main direction is to the left. The span's, not the text's:
there it would also turn round what it is anchored by.
"""


def font_family(text: str) -> str:
    """The families the text was measured in, first choice first."""
    families = [face.family.replace("'", "") for face in shape(text).faces]
    listed = dict.fromkeys([FONT_NAME, *families])
    return ", ".join([*(f"'{family}'" for family in listed), "sans-serif"])
