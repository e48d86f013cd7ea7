"""Text measured and as outlines, in the one font that templater ships (DejaVu Sans 2.37).

Heights are cap heights in mm, as ISO 3098 counts lettering: the height of an H. The font's terms
stand beside it in DejaVuSans-licence.txt.
"""

from templater.lettering.measure import (
    ISO_HEIGHTS_MM,
    fits,
    fitted,
    fitting_height_mm,
    missing_letters,
    right_to_left_letters,
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
    "right_to_left_letters",
    "shown_text",
    "text_outlines",
    "text_width_mm",
]
