"""What a drawing holds, in mm, by layer, piece and zone: for people and for other programs."""

from __future__ import annotations

from dataclasses import dataclass

from templater.geometry.measure import area_mm2, join_boxes, path_box
from templater.ground.proposals import Proposal, propose
from templater.ground.roles import read_layer_name
from templater.model.curves import Box
from templater.model.drawing import Drawing
from templater.model.ground import Ground, Zone
from templater.model.problems import Problems


@dataclass(frozen=True, slots=True)
class LayerFound:
    name: str
    role: str | None
    shapes: int


@dataclass(frozen=True, slots=True)
class PieceFound:
    name: str
    area_mm2: float
    bbox_mm: Box | None
    has_fold: bool


@dataclass(frozen=True, slots=True)
class ZoneFound:
    name: str
    piece: str
    regions: int
    area_mm2: float
    bbox_mm: Box


@dataclass(frozen=True, slots=True)
class Survey:
    """A drawing at a glance. Boxes are x0, y0, x1, y1 in the canonical frame."""

    file: str
    unit: str
    size_mm: tuple[float, float]
    layers: tuple[LayerFound, ...]
    pieces: tuple[PieceFound, ...]
    zones: tuple[ZoneFound, ...]
    rows: tuple[str, ...]
    named_edges: tuple[tuple[str, str], ...]
    problems: Problems
    proposals: tuple[Proposal, ...] = ()


def survey(drawing: Drawing, ground: Ground, problems: Problems) -> Survey:
    """The drawing's layers, and its pieces and zones as far as the ground could be built."""
    return Survey(
        file=drawing.file,
        unit=drawing.unit,
        size_mm=(round(drawing.size_mm[0], 4), round(drawing.size_mm[1], 4)),
        layers=tuple(
            LayerFound(layer.name, read_layer_name(layer.name, {}).role, len(layer.shapes))
            for layer in drawing.layers
        ),
        pieces=_pieces(ground),
        zones=tuple(_zone(zone) for zone in ground.zones),
        rows=tuple(dict.fromkeys(row.name for row in ground.rows)),
        named_edges=_named_edges(ground),
        problems=problems,
        proposals=propose(drawing, {}),
    )


def _pieces(ground: Ground) -> tuple[PieceFound, ...]:
    return tuple(
        PieceFound(
            piece.name,
            0.0 if piece.area is None else round(area_mm2(piece.area), 4),
            None if piece.area is None else _rounded(path_box(piece.area.outline)),
            piece.fold is not None,
        )
        for piece in ground.pieces
    )


def _zone(zone: Zone) -> ZoneFound:
    return ZoneFound(
        zone.name,
        zone.piece,
        len(zone.regions),
        round(sum(area_mm2(region.area) for region in zone.regions), 4),
        _rounded(join_boxes(path_box(region.area.outline) for region in zone.regions)),
    )


def _named_edges(ground: Ground) -> tuple[tuple[str, str], ...]:
    """Each piece's named finished edges and seams, once."""
    edges = [(reference.piece, reference.name) for reference in ground.references]
    seams = [(piece.name, seam.name) for piece in ground.pieces for seam in piece.seams]
    return tuple(dict.fromkeys((*edges, *seams)))


def _rounded(box: Box) -> Box:
    x0, y0, x1, y1 = (round(value, 4) for value in box)
    return (x0, y0, x1, y1)
