"""What sheets say, in one place."""

from __future__ import annotations

from templater.model.ground import Side
from templater.model.parts import HoleKind, PartKind, Pass

_INCH_MM = 25.4

CAUTION_CUT = (
    "Cut in polyester film or card. Never PVC or vinyl in a laser: its fumes are poisonous. "
    "Blades and punches: cut away from your hands, on a mat."
)
CAUTION_PRICK = "Needles and knives: work on a mat. The side you prick from lies to the fabric."
CAUTION_PUNCH = "Punches: strike on a mat, hand away; wear eye protection."
CAUTION_TAPE = "Hot iron or press: touch nothing that was under it until it has cooled."
USE_WEB = (
    "Trace on the web's paper side. Blades: cut away from your hands. A hot iron burns at a touch."
)
USE_STRIP = (
    "Take the smallest clearance at which the largest stones of a packet drop in freely, and write "
    "it into the job: [templates] stencil clearance, one for all or by size."
)
USE_TAPE = (
    "Board as worn, stones face up, largest size swept in first. Lifted on the tape and turned "
    "over it shows mirrored; laid stones down it is right again."
)
CAUTION_FILM = "Glue: follow its label and air the room."


def side_words(side: Side) -> str:
    """The wearer's side in capitals; empty for a single piece."""
    words = {
        Side.LEFT: "WEARER’S LEFT",
        Side.RIGHT: "WEARER’S RIGHT",
        Side.CENTRE: "BOTH SIDES, ACROSS THE FOLD",
    }
    return words.get(side, "")


def face_words(*, is_reversed: bool) -> str:
    return "REVERSED: SEEN FROM BEHIND" if is_reversed else "RIGHT SIDE UP"


def length_words(length_mm: float, display: str) -> str:
    """A length for people, in mm or decimal inches."""
    if display == "in":
        return f"{_plain(length_mm / _INCH_MM, 3)} in"
    return f"{_plain(length_mm, 2)} mm"


def _plain(value: float, places: int) -> str:
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".")


def joined(*words: str) -> str:
    """The words that are not empty, with dots between."""
    return " · ".join(word for word in words if word)


def pass_kind_words(one: Pass) -> str:
    """What a template is, and which of how many."""
    panel = f"panel {one.panel.upper()}" if one.panel else ""
    if one.kind is HoleKind.PRICK:
        return joined("Prick sheet", panel)
    name = {"tape": "Tape board", "film": "Film stencil"}.get(one.method, "Stencil")
    if one.kind is HoleKind.PUNCH:
        name = "Punch layout"
    return joined(f"{name}, pass {one.number} of {one.of}", panel)


def pass_use_words(one: Pass) -> tuple[str, str]:
    """How a template is used, and what to mind."""
    if one.kind is HoleKind.PRICK:
        use = (
            "Prick each hole, lay this face down, chalk through: the marks come out right way round."
            if one.reversed
            else "Prick each hole, lay this face up, chalk through."
        )
        return use, CAUTION_PRICK
    if one.kind is HoleKind.PUNCH:
        return "Punch each hole with the punch named, lay face up, mark or set through it.", (
            CAUTION_PUNCH
        )
    if one.method == "tape":
        return USE_TAPE, f"{CAUTION_TAPE} {CAUTION_CUT}"
    if one.method == "film":
        return "Lay on the marks, glue or set through the holes, lift straight up.", (
            f"{CAUTION_FILM} {CAUTION_CUT}"
        )
    return "Lay on the marks and chalk through the holes.", CAUTION_CUT


def part_kind_words(kind: PartKind) -> str:
    words = {
        PartKind.APPLIQUE: "Appliqué parts",
        PartKind.WEB: "Fusible web",
        PartKind.PIECE: "Pattern pieces",
    }
    return words[kind]
