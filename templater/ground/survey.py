"""What a drawing holds, in mm, by layer, piece and zone: for people and for other programs."""

from __future__ import annotations

from dataclasses import dataclass

from templater.geometry.measure import area_mm2, join_boxes, path_box, path_length
from templater.ground.colour_parts import colours_of
from templater.ground.proposals import Proposal, propose
from templater.ground.roles import read_layer_name
from templater.model.curves import Box
from templater.model.drawing import Drawing
from templater.model.ground import Ground, Zone
from templater.model.problems import Problems
from templater.model.roles import Role


@dataclass(frozen=True, slots=True)
class LayerFound:
    name: str
    role: str | None
    shapes: int
    colours: tuple[str, ...] = ()


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
class RowFound:
    """A row's lines together."""

    name: str
    piece: str
    lines: int
    length_mm: float


@dataclass(frozen=True, slots=True)
class EdgeFound:
    """An `edge` or `seam` by name, its lines together."""

    kind: Role
    name: str
    piece: str
    length_mm: float


@dataclass(frozen=True, slots=True)
class Survey:
    """A drawing at a glance. Boxes are x0, y0, x1, y1 in the canonical frame."""

    file: str
    unit: str
    size_mm: tuple[float, float]
    layers: tuple[LayerFound, ...]
    pieces: tuple[PieceFound, ...]
    zones: tuple[ZoneFound, ...]
    rows: tuple[RowFound, ...]
    edges: tuple[EdgeFound, ...]
    problems: Problems
    proposals: tuple[Proposal, ...] = ()

    @property
    def in_inches(self) -> bool:
        """Whether the drawing's own unit is the inch, so that its maker thinks in inches."""
        word = self.unit.split(maxsplit=1)[0].rstrip(",;").casefold()
        return word in {"in", "inch", "inches"}


def length_words(length_mm: float, *, inches: bool) -> str:
    return f"{length_mm / 25.4:.2f} in" if inches else f"{length_mm:.1f} mm"


def size_words(width_mm: float, height_mm: float, *, inches: bool) -> str:
    """Width × height, as people read lengths."""
    width = f"{width_mm / 25.4:.2f}" if inches else f"{width_mm:.1f}"
    return f"{width} × {length_words(height_mm, inches=inches)}"


def survey(drawing: Drawing, ground: Ground, problems: Problems) -> Survey:
    """The drawing's layers, and its pieces and zones as far as the ground could be built."""
    return Survey(
        file=drawing.file,
        unit=drawing.unit,
        size_mm=(round(drawing.size_mm[0], 4), round(drawing.size_mm[1], 4)),
        layers=tuple(
            LayerFound(
                layer.name,
                read_layer_name(layer.name, {}).role,
                len(layer.shapes),
                colours_of(layer),
            )
            for layer in drawing.layers
        ),
        pieces=_pieces(ground),
        zones=tuple(_zone(zone) for zone in ground.zones),
        rows=_rows(ground),
        edges=_edges(ground),
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


def _rows(ground: Ground) -> tuple[RowFound, ...]:
    found: dict[tuple[str, str], RowFound] = {}
    for row in ground.rows:
        key = (row.name, row.piece)
        before = found.get(key, RowFound(*key, 0, 0.0))
        length_mm = round(before.length_mm + path_length(row.path), 4)
        found[key] = RowFound(*key, before.lines + 1, length_mm)
    return tuple(found.values())


def _edges(ground: Ground) -> tuple[EdgeFound, ...]:
    """Each piece's named finished edges and seams, once."""
    lines = [(Role.EDGE, r.name, r.piece, r.path) for r in ground.references]
    lines += [(Role.SEAM, s.name, p.name, s.path) for p in ground.pieces for s in p.seams]
    found: dict[tuple[Role, str, str], float] = {}
    for kind, name, piece, path in lines:
        key = (kind, name, piece)
        found[key] = found.get(key, 0.0) + path_length(path)
    return tuple(EdgeFound(*key, round(length_mm, 4)) for key, length_mm in found.items())


def _rounded(box: Box) -> Box:
    x0, y0, x1, y1 = (round(value, 4) for value in box)
    return (x0, y0, x1, y1)
