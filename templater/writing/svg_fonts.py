"""What an SVG says of a text's font and direction.

Text stays text there: outlines of letters would be cut. Letters that the font of templater lacks
are embedded for browsers; other viewers set them in the fonts they have.
"""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Iterable
from unicodedata import normalize

from templater.lettering.directions import directed
from templater.lettering.faces import Face
from templater.lettering.font import FONT_NAME, bundled
from templater.lettering.shaping import shape


def svg_words(text: str) -> str:
    """The text with the characters that tell viewers in which order it is seen.

    A viewer takes a text to run to the right; one that does not is isolated as a whole. (The
    attribute `direction` would also turn round what the text is anchored by, not in every viewer.)
    """
    if shape(text).leftwards:
        return f"\N{RIGHT-TO-LEFT ISOLATE}{text}\N{POP DIRECTIONAL ISOLATE}"
    return directed(text)


def font_family(text: str) -> str:
    """The families the text was measured in. First the one that is embedded, if it needs that:
    browsers ask it only for the letters that ours lacks.
    """
    others = [face.family.translate(_UNQUOTED) for face in _others(text)]
    listed = [*([_EMBEDDED] if others else []), FONT_NAME, *others]
    return ", ".join([*(f"'{family}'" for family in dict.fromkeys(listed)), "sans-serif"])


def embedded_fonts(texts: Iterable[str]) -> str:
    """The style sheet that holds the letters our font lacks, also those of which browsers may put
    them together, "" if there are none.
    """
    letters: dict[Face, set[str]] = {}
    for text in texts:
        for face in _others(text):
            letters.setdefault(face, set()).update(text, normalize("NFKD", text))
    return "\n".join(_font_face(face, sorted(used)) for face, used in letters.items())


def _others(text: str) -> list[Face]:
    return [face for face in shape(text).faces if face is not bundled()]


def _font_face(face: Face, letters: list[str]) -> str:
    lacking = (letter for letter in letters if face.has(letter) and not bundled().has(letter))
    wanted = ", ".join(f"U+{ord(letter):X}" for letter in lacking)
    data = b64encode(face.subset("".join(letters))).decode()
    return (
        f"@font-face {{ font-family: '{_EMBEDDED}'; unicode-range: {wanted}; "
        f"src: url(data:font/sfnt;base64,{data}) }}"
    )


_EMBEDDED = "templater letters"
_UNQUOTED = str.maketrans("", "", "'\"\\<>&")
