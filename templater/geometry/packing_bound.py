"""How many equal stones a region can hold at the very most."""

from __future__ import annotations

import math
from collections.abc import Sequence

from templater.model.curves import Ring


def count_bound(
    rings: Sequence[Ring], diameter_mm: float, gap_mm: float, *, clearance_mm: float = 0.0
) -> int:
    """The most stones of one size whose edges keep `clearance_mm` from the rings (even-odd).

    N ≤ 2/√3·A(X)/D² + P(X)/(2D) + χ(X) for the region X that centres may take and D the diameter
    and gap together; χ counts parts less holes. Sources: H. Groemer, Über die Einlagerung von
    Kreisen in einen konvexen Bereich, Math. Z. 73, 1960; N. Oler, Acta Math. 105, 1961;
    J. H. Folkman and R. L. Graham, A packing inequality for compact convex subsets of the plane,
    Canad. Math. Bull. 12, 1969. Raises ValueError for a size that is not positive.
    """
    import shapely
    from shapely import Polygon

    if not diameter_mm > 0.0 or gap_mm < 0.0:
        raise ValueError("the diameter must be positive and the gap not negative")
    shape = Polygon(rings[0])
    for ring in rings[1:]:
        shape = shape.symmetric_difference(Polygon(ring))
    # Arcs of the inset lie inside the true one by a chord's height: 128 to a quarter keep the
    # bound a bound to well under one stone, and it is rounded up.
    centres = shape.buffer(-(diameter_mm / 2.0 + clearance_mm), quad_segs=128)
    total, apart = 0.0, diameter_mm + gap_mm
    for part in shapely.get_parts(centres):
        if part.area > 0.0:
            total += 2.0 / math.sqrt(3.0) * part.area / (apart * apart)
            total += part.length / (2.0 * apart) + 1.0 - len(part.interiors)
    return math.floor(total + 1e-3)
