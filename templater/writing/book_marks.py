"""The lines a maker looks for on the cloth, as polylines on the garment: fold, creases, seams, edges."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from templater.geometry.flatten import flatten
from templater.geometry.moves import moved_path
from templater.model.curves import Area, Path, Ring, Transform
from templater.model.ground import EdgeKind, Piece
from templater.model.plan import Plan
from templater.writing.preview_scene import Block

_FLAT_MM = 0.1
_NOTCH_MM = 4.0


class MarkLine(NamedTuple):
    """`role`: fold, crease, seam, edge, dart, notch, clear or low; `name` where it has one."""

    role: str
    name: str
    points: Ring
    closed: bool


def mark_lines(plan: Plan, block: Block) -> tuple[MarkLine, ...]:
    """What is marked on a block's piece, where the block lies. The fold is drawn once."""
    if not block.piece:
        return ()
    piece = plan.ground.piece(block.piece)
    shift = Transform(e=block.move[0], f=block.move[1])
    lines: list[MarkLine] = []
    for number, side in enumerate(block.sides):
        move = side.transform.then(shift)
        for role, name, path in _paths(plan, piece):
            if role == "fold" and number > 0:
                continue
            moved = moved_path(path, move)
            lines.append(MarkLine(role, name, flatten(moved, _FLAT_MM), path.closed))
        lines.extend(
            MarkLine(role, "", tuple(move.apply(p) for p in points), closed=False)
            for role, points in _strokes(piece)
            if role != "fold" or number == 0
        )
    return tuple(lines)


def _paths(plan: Plan, piece: Piece) -> Iterator[tuple[str, str, Path]]:
    for crease in piece.creases:
        yield "crease", "", crease
    for seam in piece.seams:
        yield "seam", seam.name, seam.path
    for reference in plan.ground.references:
        if reference.piece == piece.name:
            yield "edge", reference.name, reference.path
    for keep in plan.ground.keep_clear:
        if keep.piece == piece.name and keep.role == "clear":
            yield from (("clear", "", path) for path in _outlines(keep.shape))
    for low in plan.ground.lows:
        if low.piece == piece.name:
            yield from (("low", "", path) for path in _outlines(low.area))
    for ring in piece.rings:
        for edge in ring:
            if edge.kind is EdgeKind.SEAM:
                yield "seam", edge.name, edge.path


def _outlines(shape: Area | Path) -> tuple[Path, ...]:
    return (shape.outline, *shape.holes) if isinstance(shape, Area) else (shape,)


def _strokes(piece: Piece) -> Iterator[tuple[str, Ring]]:
    if piece.fold is not None:
        yield "fold", (piece.fold.start, piece.fold.end)
    for dart in piece.darts:
        yield "dart", (dart.left, dart.tip, dart.right)
    for notch in piece.notches:
        x, y = notch.at
        yield "notch", ((x - _NOTCH_MM / 2.0, y), (x + _NOTCH_MM / 2.0, y))
