"""Text measured and as outlines: in the font that templater ships (DejaVu Sans 2.37), and what that
lacks in one that the maker names or the system has.

Heights are cap heights in mm, as ISO 3098 counts lettering: the height of an H. The font's terms
stand beside it in DejaVuSans-licence.txt.
"""

from templater.lettering.fallback import using_font
from templater.lettering.measure import (
    ISO_HEIGHTS_MM,
    fits,
    fitted,
    fitting_height_mm,
    missing_letters,
    shown_text,
    text_width_mm,
)
from templater.lettering.outlines import text_outlines

__all__ = [
    "ISO_HEIGHTS_MM",
    "fits",
    "fitted",
    "fitting_height_mm",
    "missing_letters",
    "shown_text",
    "text_outlines",
    "text_width_mm",
    "using_font",
]
