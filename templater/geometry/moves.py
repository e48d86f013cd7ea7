"""Moving, mirroring and turning round curves. Rigid moves keep arcs arcs."""

from __future__ import annotations

from templater.model.curves import Arc, Area, Cubic, Line, Path, Segment, Transform


def moved_segment(segment: Segment, transform: Transform) -> Segment:
    """A segment under a similarity (a move, turn, mirror or even scale)."""
    at = transform.apply
    match segment:
        case Line():
            return Line(at(segment.start), at(segment.end))
        case Arc():
            bulge = -segment.bulge if transform.mirrors else segment.bulge
            return Arc(at(segment.start), at(segment.end), bulge)
        case Cubic():
            return Cubic(
                at(segment.start), at(segment.control1), at(segment.control2), at(segment.end)
            )


def moved_path(path: Path, transform: Transform) -> Path:
    """A path under a similarity, its direction along the path unchanged."""
    return Path(tuple(moved_segment(s, transform) for s in path.segments), path.closed)


def moved_area(area: Area, transform: Transform) -> Area:
    """An area under a similarity, its outline anticlockwise again if the move mirrors."""
    outline, holes = (
        moved_path(area.outline, transform),
        tuple(moved_path(hole, transform) for hole in area.holes),
    )
    if transform.mirrors:
        return Area(reversed_path(outline), tuple(reversed_path(hole) for hole in holes))
    return Area(outline, holes)


def reversed_segment(segment: Segment) -> Segment:
    match segment:
        case Line():
            return Line(segment.end, segment.start)
        case Arc():
            return Arc(segment.end, segment.start, -segment.bulge)
        case Cubic():
            return Cubic(segment.end, segment.control2, segment.control1, segment.start)


def reversed_path(path: Path) -> Path:
    """The same curve run the other way."""
    return Path(tuple(reversed_segment(s) for s in reversed(path.segments)), path.closed)
