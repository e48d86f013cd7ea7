"""The lines a ring may run along besides neighbours and the piece: fold, seams, finished edges."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from templater.ground.edges import Feature
from templater.ground.sites import line_geometry
from templater.model.ground import EdgeKind, Fold, Reference, SeamLine
from templater.model.names import plain_name

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry


def line_features(
    piece: str,
    fold: Fold | None,
    seams: Sequence[SeamLine],
    references: Sequence[Reference],
    allowances: Mapping[str, float],
    allowance_mm: float,
) -> list[Feature]:
    """What rings may run along besides neighbours and the piece: fold, seams, finished edges."""
    named = {plain_name(edge): mm for edge, mm in allowances.items()}
    features: list[Feature] = []
    if fold is not None:
        features.append(Feature(EdgeKind.FOLD, "", fold_line(fold), 0.0, visible=False))
    features.extend(
        Feature(
            EdgeKind.SEAM,
            seam.name,
            line_geometry(seam.path),
            named.get(seam.name, allowance_mm),
            visible=False,
        )
        for seam in seams
    )
    features.extend(
        Feature(
            EdgeKind.EDGE,
            reference.name,
            line_geometry(reference.path),
            named.get(reference.name, allowance_mm),
            visible=True,
        )
        for reference in references
        if reference.piece == piece
    )
    return features


def fold_line(fold: Fold) -> BaseGeometry:
    """The fold as a line far beyond the piece: the mirror line has no ends."""
    from shapely import LineString

    (x0, y0), (x1, y1) = fold.start, fold.end
    far = 1e4 / math.hypot(x1 - x0, y1 - y0)
    dx, dy = (x1 - x0) * far, (y1 - y0) * far
    return LineString([(x0 - dx, y0 - dy), (x1 + dx, y1 + dy)])
