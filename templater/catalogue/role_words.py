"""Which roles the words of a layer's name may mean, in several languages. For proposals only."""

from __future__ import annotations

import re
import unicodedata
from functools import cache
from typing import NamedTuple

from templater.catalogue.tables import table
from templater.model.roles import Role

LANGUAGES = {
    "en": "English",
    "de": "German",
    "fr": "French",
    "es": "Spanish",
    "it": "Italian",
    "nl": "Dutch",
    "pl": "Polish",
    "pt": "Portuguese",
    "sv": "Swedish",
    "cs": "Czech",
    "ja": "Japanese",
}
_SHORTEST_PART = 5
"""Letters of a word that is looked for inside compounds: shorter ones turn up by chance."""
_APART = str.maketrans({"ł": "l", "ø": "o", "æ": "ae", "œ": "oe", "ß": "ss", "đ": "d"})
_SIGNS = re.compile("[\u3040-\u30ff\u4e00-\u9fff]+")
_WORDS = re.compile(r"[^\W\d_]+")
_CAMEL = re.compile(r"(?<=[^\W\d_A-Z])(?=[A-Z])")


class WordFound(NamedTuple):
    """A role that a name speaks of: the words that say so as the maker wrote them, their language,
    whether they are the table's own (not part of a compound), and the words left over.
    """

    role: Role
    words: str
    language: str
    whole: bool
    rest: tuple[str, ...]


def roles_named(name: str) -> tuple[WordFound, ...]:
    """Every role that the name's words may mean, the surest first, each role once."""
    written = tuple(_WORDS.findall(_CAMEL.sub(" ", unicodedata.normalize("NFC", name))))
    words = [_folded(word) for word in written]
    found: list[tuple[tuple[bool, int, int], WordFound]] = []
    for phrase, role, language in _phrases():
        for start in range(len(words)):
            hit = _hit(phrase, words[start : start + len(phrase)])
            if not hit:
                continue
            end = start + len(phrase)
            whole = hit == len("".join(phrase)) and tuple(words[start:end]) == phrase
            rest = (*written[:start], *written[end:])
            said = " ".join(written[start:end])
            rank = (not whole, -hit, list(Role).index(role))
            found.append((rank, WordFound(role, said, LANGUAGES[language], whole, rest)))
    best: dict[Role, WordFound] = {}
    for _, word in sorted(found, key=lambda item: item[0]):
        best.setdefault(word.role, word)
    return tuple(best.values())


def _hit(phrase: tuple[str, ...], words: list[str]) -> int:
    """How many letters agree; 0 if the words are not this phrase, nor a compound of it."""
    if tuple(words) == phrase:
        return len("".join(phrase))
    if len(phrase) > 1 or not words:
        return 0
    if _SIGNS.fullmatch(phrase[0]):  # written without spaces between words
        return len(phrase[0]) if len(phrase[0]) > 1 and phrase[0] in words[0] else 0
    if len(phrase[0]) < _SHORTEST_PART:
        return 0
    return len(phrase[0]) if words[0].startswith(phrase[0]) or words[0].endswith(phrase[0]) else 0


@cache
def _phrases() -> tuple[tuple[tuple[str, ...], Role, str], ...]:
    return tuple(
        (tuple(_folded(word) for word in _WORDS.findall(text)), Role(role), language)
        for role, languages in table("role_words").items()
        for language, texts in languages.items()
        for text in texts
    )


def _folded(word: str) -> str:
    """Small letters without accents; ä, ae and a are one, and so are ö and ü with theirs."""
    plain = unicodedata.normalize("NFKD", word.casefold().translate(_APART))
    plain = "".join(letter for letter in plain if not unicodedata.combining(letter))
    for pair in ("ae", "oe", "ue"):
        plain = plain.replace(pair, pair[0])
    return plain
