"""The Unicode Bidirectional Algorithm within one isolating run sequence: numbers, brackets, marks.

Source: Unicode Standard Annex #9, rules W1 to N2, and BidiBrackets.txt for the brackets.
"""

from __future__ import annotations

_NEUTRAL = {"B", "S", "WS", "ON", "LRI", "RLI", "FSI", "PDI"}
_ISOLATE_MARKS = {"LRI", "RLI", "FSI", "PDI"}
_DEEPEST_PAIRS = 63


def resolve(letters: str, classes: list[str], level: int, before: str, after: str) -> list[str]:
    """Each character's class, only L, R, EN and AN being left. `classes` are as overrides have
    them, `before` and `after` (L or R) are what the sequence stands between.
    """
    found = _weak(classes, before)
    own = "R" if level % 2 else "L"
    _brackets(letters, classes, found, own, before)
    at = 0
    while at < len(found):  # N1, N2
        end = at
        while end < len(found) and found[end] in _NEUTRAL:
            end += 1
        if end > at:
            left = _strong(found[at - 1]) if at else before
            right = _strong(found[end]) if end < len(found) else after
            found[at:end] = [left if left == right else own] * (end - at)
        at = end + 1
    return found


def _weak(classes: list[str], before: str) -> list[str]:
    """W1 to W7."""
    found = list(classes)
    for at, each in enumerate(found):  # W1
        if each == "NSM":
            previous = found[at - 1] if at else before
            found[at] = "ON" if previous in _ISOLATE_MARKS else previous
    strong = before
    for at, each in enumerate(found):  # W2, W3
        if each in {"L", "R", "AL"}:
            strong = each
        if each == "EN" and strong == "AL":
            found[at] = "AN"
        elif each == "AL":
            found[at] = "R"
    for at in range(1, len(found) - 1):  # W4
        sides = {found[at - 1], found[at + 1]}
        if (found[at] in {"ES", "CS"} and sides == {"EN"}) or (
            found[at] == "CS" and sides == {"AN"}
        ):
            found[at] = found[at - 1]
    at = 0
    while at < len(found):  # W5, W6
        end = at
        while end < len(found) and found[end] == "ET":
            end += 1
        if end > at:
            beside = {found[at - 1] if at else "", found[end] if end < len(found) else ""}
            found[at:end] = ["EN" if "EN" in beside else "ON"] * (end - at)
        at = end + 1
    strong = before
    for at, each in enumerate(found):  # W6, W7
        if each in {"ES", "CS"}:
            found[at] = "ON"
        elif each in {"L", "R"}:
            strong = each
        elif each == "EN" and strong == "L":
            found[at] = "L"
    return found


def _brackets(letters: str, classes: list[str], found: list[str], own: str, before: str) -> None:
    """N0: a pair of brackets runs as what it holds does, or as what stands before it."""
    for start, end in _pairs(letters, found):
        inside = {_strong(each) for each in found[start + 1 : end]}
        if own in inside:
            new = own
        elif inside & {"L", "R"}:
            context = next(
                (s for each in reversed(found[:start]) if (s := _strong(each)) in {"L", "R"}),
                before,
            )
            new = context if context != own else own
        else:
            continue
        for at in (start, end):
            found[at] = new
            following = at + 1
            while following < len(found) and classes[following] == "NSM":
                found[following] = new
                following += 1


def _pairs(letters: str, found: list[str]) -> list[tuple[int, int]]:
    """BD16: pairs of brackets, by their first."""
    open_: list[tuple[str, int]] = []
    pairs: list[tuple[int, int]] = []
    for at, letter in enumerate(letters):
        if found[at] != "ON":
            continue
        letter_ = _SAME.get(letter, letter)
        if letter_ in _CLOSING:
            if len(open_) == _DEEPEST_PAIRS:
                return []
            open_.append((_CLOSING[letter_], at))
            continue
        for depth in range(len(open_) - 1, -1, -1):
            if open_[depth][0] == letter_:
                pairs.append((open_[depth][1], at))
                del open_[depth:]
                break
    return sorted(pairs)


def _strong(each: str) -> str:
    """Numbers count as letters that run leftwards."""
    return "R" if each in {"EN", "AN", "R"} else each


_SAME = {"\u2329": "\u3008", "\u232a": "\u3009"}
"""Brackets that are canonically the same."""
_BRACKETS = (
    "()[]{}\u0f3a\u0f3b\u0f3c\u0f3d\u169b\u169c\u2045\u2046\u207d\u207e\u208d\u208e\u2308\u2309\u230a\u230b"
    "\u2329\u232a\u2768\u2769\u276a\u276b\u276c\u276d\u276e\u276f\u2770\u2771\u2772\u2773\u2774\u2775"
    "\u27c5\u27c6\u27e6\u27e7\u27e8\u27e9\u27ea\u27eb\u27ec\u27ed\u27ee\u27ef\u2983\u2984\u2985\u2986"
    "\u2987\u2988\u2989\u298a\u298b\u298c\u298d\u2990\u298f\u298e\u2991\u2992\u2993\u2994\u2995\u2996"
    "\u2997\u2998\u29d8\u29d9\u29da\u29db\u29fc\u29fd\u2e22\u2e23\u2e24\u2e25\u2e26\u2e27\u2e28\u2e29"
    "\u2e55\u2e56\u2e57\u2e58\u2e59\u2e5a\u2e5b\u2e5c\u3008\u3009\u300a\u300b\u300c\u300d\u300e\u300f"
    "\u3010\u3011\u3014\u3015\u3016\u3017\u3018\u3019\u301a\u301b\ufe59\ufe5a\ufe5b\ufe5c\ufe5d\ufe5e"
    "\uff08\uff09\uff3b\uff3d\uff5b\uff5d\uff5f\uff60\uff62\uff63"
)
_CLOSING = dict(zip(_BRACKETS[::2], _BRACKETS[1::2], strict=True))
MIRRORED = {
    one: other
    for pairs in (_BRACKETS, "<>«»‹›≤≥")
    for here, there in zip(pairs[::2], pairs[1::2], strict=True)
    for one, other in ((here, there), (there, here))
}
"""Signs that are drawn as each other where text runs leftwards (BidiMirroring.txt, the usual ones)."""
