"""Sewn-product pattern data in DXF: each piece a block, its parts on numbered layers.

A piece's boundary (layer 1) becomes `piece NAME`, its notches `notch NAME` and so on, as
`sewn_table` lists. An internal cut-out (layer 11) is a hole of its piece, and `clear NAME` too, so
that it is cut and no stone comes near it. A half piece stays a half: its mirror line (layer 6) is
its `fold NAME`, and it is named among the drawing's halves, so that it is unfolded wherever it is
cut or stoned. Texts are kept on `note NAME`. Pieces that lie on each other, as most programs write them, are moved apart.

Called by the DXF reader; imports ezdxf when called.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NamedTuple

from templater.model.drawing import DrawingLayer
from templater.model.names import plain_name
from templater.model.problems import Problem, Problems, Severity, Source
from templater.model.words import counted
from templater.reading.dxf_units import Unit
from templater.reading.naming import role_of
from templater.reading.sewn_layers import PieceShapes, layers_of, moved_apart
from templater.reading.sewn_table import (
    MM_OF_UNITS,
    NUMBERED,
    PIECE_KEYS,
    Entry,
    entry_of,
    number_of,
)

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document
    from ezdxf.entities import DXFEntity, Insert
    from ezdxf.layouts import BlockLayout

    from templater.reading.dxf_walk import Walk

_OUTLINE_KINDS = ("LINE", "LWPOLYLINE", "POLYLINE", "ARC", "SPLINE", "CIRCLE")
_TELLING = set(NUMBERED) - {1, 15} | {2, 3}


class Pieces(NamedTuple):
    """The layers of the pieces chosen, the unit they are in, what was found, which are halves."""

    layers: tuple[DrawingLayer, ...]
    unit: Unit
    problems: Problems
    halves: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Block:
    """A piece's block: what its texts say, and the references to it."""

    block: BlockLayout
    name: str
    size: str
    entries: tuple[Entry, ...]
    inserts: list[Insert] = field(default_factory=list)

    def said(self, key: str) -> str:
        return next((entry.value for entry in self.entries if entry.key == key), "")


def is_sewn(document: Document) -> bool:
    """Whether some block has an outline on layer 1, and piece texts or two more numbered layers."""
    return any(_is_piece(block) for block in _plain_blocks(document))


def _plain_blocks(document: Document) -> list[BlockLayout]:
    return [
        block
        for block in document.blocks
        if not block.is_any_layout and not block.name.startswith("*")
    ]


def _is_piece(block: BlockLayout) -> bool:
    from templater.reading.dxf_walk import layer_of

    outlined, telling, texts = False, set(), False
    for entity in block:
        number = number_of(layer_of(entity))
        if number == 1 and entity.dxftype() in _OUTLINE_KINDS:
            outlined = True
        elif number in _TELLING:
            telling.add(number)
        entry = _entry(entity)
        texts = texts or (entry is not None and entry.key in PIECE_KEYS)
    return outlined and (texts or len(telling) > 1)


def _entry(entity: DXFEntity) -> Entry | None:
    from templater.reading.dxf_words import decoded

    if entity.dxftype() not in ("TEXT", "MTEXT"):
        return None
    return entry_of(decoded(str(entity.plain_text())))  # type: ignore[attr-defined]  # a text has it


def read_pieces(
    document: Document, file: str, told: Unit, *, asked_mm: float | None, size: str | None
) -> Pieces:
    """The pieces of one size, in mm.

    `told` is the header's unit, `asked_mm` the job's, which goes before all; then the texts'
    `Units` count, then the header. `size` is the job's; without it a file of several sizes gives
    its sample size, and says so.
    """
    style = [entry for entity in document.modelspace() if (entry := _entry(entity))]
    blocks = _blocks(document)
    unit, problems = _unit(file, style, told, asked_mm)
    chosen, faults = _chosen(blocks, style, size, file)
    problems += faults
    if any(problem.severity is Severity.ERROR for problem in faults):
        return Pieces((), unit, problems)
    from templater.reading.dxf_walk import Walk

    walk = Walk(document, file)
    pieces: list[PieceShapes] = []
    taken: set[str] = set()
    placed_anywhere = any(block.inserts for block in blocks)
    for one in chosen:
        places = [walk.within_reference(insert) for insert in one.inserts]
        if not places and not placed_anywhere:
            places = [walk.within_block(one.block)]
        elif not places:
            problems += (_not_placed(file, one),)
        for place in places:
            name = _unused_name(one.name, taken)
            read, said = layers_of(place, file, unit.mm, name)
            pieces.append(read)
            problems += said
    pieces, moved = moved_apart(pieces, file)
    layers = tuple(layer for piece in pieces for layer in piece.layers)
    layers += _style_notes(document, file, unit.mm)
    others = _outside_pieces(document, {id(i) for b in blocks for i in b.inserts})
    if not moved:
        added, others, said = _drawn_over(walk, others, unit.mm)
        layers += added
        problems += said
    problems += (*walk.problems, *walk.hidden(), *_survey(file, style, chosen))
    outside = _left_outside(others, file)
    halves = tuple(
        plain_name(piece.name)
        for piece in pieces
        if any(layer.name == f"fold {piece.name}" for layer in piece.layers)
    )
    return Pieces(layers, unit, (*problems, *moved, *outside), halves)


def _blocks(document: Document) -> list[_Block]:
    found: dict[str, _Block] = {}
    for block in _plain_blocks(document):
        if _is_piece(block):
            entries = tuple(entry for entity in block if (entry := _entry(entity)))
            said = {entry.key: entry.value for entry in reversed(entries)}
            name = said.get("piece name") or block.name
            found[block.name.casefold()] = _Block(block, name, said.get("size", ""), entries)
    for entity in document.modelspace():
        if entity.dxftype() == "INSERT":
            piece = found.get(str(entity.dxf.get("name", "")).casefold())
            if piece is not None:
                piece.inserts.append(entity)  # type: ignore[arg-type]  # told by its type name
    return list(found.values())


def _unused_name(name: str, taken: set[str]) -> str:
    number, free = 2, name
    while plain_name(free) in taken:
        free, number = f"{name} {number}", number + 1
    taken.add(plain_name(free))
    return free


def _unit(
    file: str, style: Iterable[Entry], told: Unit, asked_mm: float | None
) -> tuple[Unit, Problems]:
    if asked_mm is not None:
        return Unit(asked_mm, f"{asked_mm:g} mm as the job says", assumed=False), ()
    word = next((entry.value for entry in style if entry.key == "units"), "")
    mm = MM_OF_UNITS.get(word.strip().casefold())
    if mm is None:
        return told, ()
    name = "mm" if mm == 1.0 else "in"
    problem = Problem(
        "unit-to-confirm",
        Severity.WARNING,
        f"“{file}” says its units are {word.strip()}; they are taken as {name}, but programs "
        "differ (some write cm).",
        "Compare one length you have measured with the survey; then say it in the job, "
        f'unit = "{name}" if it is right.',
        Source(file),
    )
    return Unit(mm, f"{name} by the text “Units: {word.strip()}”", assumed=False), (problem,)


def _chosen(
    blocks: list[_Block], style: Iterable[Entry], size: str | None, file: str
) -> tuple[list[_Block], Problems]:
    sizes = list(dict.fromkeys(block.size for block in blocks if block.size))
    listed = ", ".join(sizes)
    source = Source(file)
    known = {plain_name(one): one for one in sizes}
    if size is not None and plain_name(size) not in known:
        near = difflib.get_close_matches(plain_name(size), list(known), n=1)
        hint = f" Did you mean “{known[near[0]]}”?" if near else ""
        if not sizes:
            message = f"The job asks for size “{size}”, but no piece of “{file}” names a size."
            mend = "Take `size` out of the job."
            return blocks, (Problem("size-not-used", Severity.WARNING, message, mend, source),)
        return [], (
            Problem(
                "size-unknown",
                Severity.ERROR,
                f"“{file}” has no size “{size}”; it has {listed}.",
                f"Choose one of them in the job, such as size = “{sizes[0]}”.{hint}",
                source,
            ),
        )
    if len(sizes) <= 1 and size is None:
        return blocks, ()
    wanted = size
    problems: Problems = ()
    if wanted is None:
        wanted = next((entry.value for entry in style if entry.key == "sample size"), "")
        if plain_name(wanted) not in known:
            return [], (
                Problem(
                    "size-not-chosen",
                    Severity.ERROR,
                    f"“{file}” has the sizes {listed} and names no sample size.",
                    f'Choose one in the job, such as size = "{sizes[0]}".',
                    source,
                ),
            )
        problems = (
            Problem(
                "size-not-chosen",
                Severity.WARNING,
                f"“{file}” has the sizes {listed}; its sample size {wanted} was read.",
                f'Choose one in the job: size = "{wanted}".',
                source,
            ),
        )
    kept = [b for b in blocks if not b.size or plain_name(b.size) == plain_name(wanted)]
    return kept, problems


def _not_placed(file: str, one: _Block) -> Problem:
    return Problem(
        "piece-not-placed",
        Severity.WARNING,
        f"The piece “{one.name}” of “{file}” is defined but placed nowhere; it was left out.",
        "Place it in the program that made the file, or delete it.",
        Source(file, "", f"BLOCK {one.block.name}"),
    )


def _survey(file: str, style: Iterable[Entry], chosen: Iterable[_Block]) -> Problems:
    """What the file says of itself, and the texts that were not understood."""
    parts = []
    for one in chosen:
        details = [one.said(key) for key in ("size", "quantity", "category", "material")]
        words = ("size", "quantity", "category", "material")
        said = ", ".join(f"{w} {d}" for w, d in zip(words, details, strict=True) if d)
        parts.append(f"{one.name} ({said})" if said else one.name)
    name = next((entry.value for entry in style if entry.key == "style name"), "")
    about = f" of style “{name}”" if name else ""
    found = [
        Problem(
            "sewn-pieces",
            Severity.NOTE,
            f"“{file}” is sewn-product pattern data{about}; pieces read: {'; '.join(parts)}.",
            source=Source(file),
        )
    ]
    entries = [*style, *(entry for one in chosen for entry in one.entries)]
    unknown = list(dict.fromkeys(entry.key for entry in entries if not entry.known))
    if unknown:
        found.append(
            Problem(
                "sewn-texts-unknown",
                Severity.NOTE,
                f"Texts of “{file}” that were not understood: {', '.join(unknown)}.",
                "They are kept as notes; nothing needs doing.",
                Source(file),
            )
        )
    return tuple(found)


def _style_notes(document: Document, file: str, mm: float) -> tuple[DrawingLayer, ...]:
    """The texts of the whole style, which stand outside the pieces."""
    from ezdxf.math import Matrix44

    from templater.reading.dxf_gather import gather
    from templater.reading.dxf_walk import Placed

    placed = [
        Placed(entity, Matrix44(), "note", ())
        for entity in document.modelspace()
        if entity.dxftype() in ("TEXT", "MTEXT")
    ]
    return gather(placed, file, mm)[0]


def _outside_pieces(document: Document, inserts: set[int]) -> list[DXFEntity]:
    """What model space holds beside the references and texts of such a file."""
    return [
        entity
        for entity in document.modelspace()
        if id(entity) not in inserts and entity.dxftype() not in ("TEXT", "MTEXT")
    ]


def _drawn_over(
    walk: Walk, entities: Sequence[DXFEntity], mm: float
) -> tuple[tuple[DrawingLayer, ...], list[DXFEntity], Problems]:
    """What the maker drew over the pieces, on layers with a role; the rest; and what is said of it.

    Sound only where the pieces lie as the file has them.
    """
    from templater.reading.dxf_gather import gather
    from templater.reading.dxf_walk import layer_of

    drawn = [entity for entity in entities if role_of(layer_of(entity))]
    rest = [entity for entity in entities if not role_of(layer_of(entity))]
    layers, problems = gather(walk.these(drawn), walk.file, mm)
    return layers, rest, tuple(problems)


def _left_outside(other: Sequence[DXFEntity], file: str) -> Problems:
    """Names what belongs to no piece."""
    from templater.reading.dxf_walk import layer_of

    if not other:
        return ()
    names = ", ".join(
        f"{entity.dxftype()} #{entity.dxf.get('handle')} on layer {layer_of(entity)}"
        for entity in other[:10]
    )
    return (
        Problem(
            "outside-pieces",
            Severity.WARNING,
            f"Left out of “{file}”, as belonging to no piece: "
            f"{counted(len(other), 'entity', 'entities')} ({names}).",
            "Draw them on layers whose names begin with a role, such as zone frond; where the "
            "pieces lie on each other, put them into the block of their piece.",
            Source(file),
        ),
    )
