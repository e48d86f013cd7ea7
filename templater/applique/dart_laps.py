"""Zones that meet across a dart edge to edge, with no cloth of the lower one beneath the other."""

from __future__ import annotations

from collections.abc import Iterator

from templater.applique.dart_marks import zones_on
from templater.applique.facing import dart_words, edges_at, facing, place_on
from templater.applique.words import length_words
from templater.model.ground import Dart, Ground, Zone
from templater.model.problems import Problem, Severity

LEAST_MM = 10.0
"""What meets along less of a leg than this needs no words."""


def dart_gaps(ground: Ground, underlaps_mm: dict[str, float], display: str) -> tuple[Problem, ...]:
    """A note for each two zones that meet so. `underlaps_mm`: how far each zone goes under others."""
    return tuple(
        problem
        for piece in ground.pieces
        for dart in piece.darts
        for problem in _gaps(zones_on(ground, piece), dart, underlaps_mm, display)
    )


def _gaps(
    zones: tuple[Zone, ...], dart: Dart, underlaps_mm: dict[str, float], display: str
) -> Iterator[Problem]:
    named = {zone.name: zone for zone in zones}
    told: set[tuple[str, str]] = set()
    for one, other in facing(zones, dart):
        lower, upper = sorted((one, other), key=lambda each: named[each.party.zone].level)
        pair = (lower.party.zone, upper.party.zone)
        zone = named[pair[0]]
        lap_mm = underlaps_mm.get(zone.name, 0.0)
        if pair[0] == pair[1] or pair in told or lap_mm <= 0.0 or one.common_mm(other) < LEAST_MM:
            continue
        edges = edges_at(zone.regions[lower.party.region - 1], dart)
        if any(edge.allowance_mm > 0.0 for edge in edges):
            continue
        told.add(pair)
        middle_mm = (max(one.near_mm, other.near_mm) + min(one.far_mm, other.far_mm)) / 2.0
        yield Problem(
            "no-underlap-at-dart",
            Severity.NOTE,
            f'the zones "{pair[0]}" and "{pair[1]}" meet edge to edge across the '
            f"{dart_words([dart])}: no cloth of the one goes beneath the other",
            f"edges = {{ {dart.name} = {lap_mm:g} }} under [zones.{pair[0]}] gives it "
            f"{length_words(lap_mm, display)} beyond its leg, to lay over the sewn dart; it is "
            "not needed where they are sewn on before the dart is",
            zone.source,
            place_on(dart, lower.side, middle_mm),
        )
