"""What must hold, always: the plan against what the pack's files really hold.

Nothing here is shared with the steps that made the plan: the predicates are the checks' own, on
curves flattened by the checks. Each check is a function of `Made` that gives the problems it finds.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from templater.model.facts import PackFacts, StoneRow
from templater.model.plan import Plan
from templater.model.problems import Problems

if TYPE_CHECKING:
    from templater.checks.made import Made

Check = Callable[["Made"], Problems]


def every_check() -> tuple[Check, ...]:
    """All checks, in the order in which their findings help a reader most. Imported late: numpy."""
    from templater.checks import (
        agreement,
        borders,
        bounds,
        cloths,
        darts,
        drawn,
        drawn_parts,
        holes,
        marks,
        maximal,
        mirror,
        parts,
        passes,
        rolls,
        sewing,
        spacing,
        truesize,
    )

    return (
        agreement.stones_are_the_plans,
        agreement.settings_are_placed,
        agreement.shopping_counts_the_stones,
        agreement.totals_count_the_stones,
        mirror.sides_are_mirrored,
        mirror.sides_are_right,
        mirror.left_mirrors_right,
        spacing.stones_keep_apart,
        darts.stones_keep_apart_over_darts,
        bounds.stones_lie_inside,
        borders.borders_lie_within,
        bounds.stones_keep_clear,
        bounds.stones_are_low_enough,
        sewing.stones_beside_seams_are_told,
        maximal.fills_are_maximal,
        holes.holes_are_the_plans,
        holes.each_stone_is_held_once,
        holes.lots_are_kept_apart,
        holes.holes_lie_on_stones,
        holes.holes_fit_their_stones,
        passes.bridges_hold,
        passes.film_clears_set_stones,
        drawn.sheets_are_written,
        drawn.holes_are_drawn,
        drawn.register_marks_are_drawn,
        drawn_parts.cut_lines_are_drawn,
        drawn_parts.labels_are_readable,
        truesize.bars_measure_right,
        truesize.pages_are_true_size,
        rolls.rolls_hold_the_sheets,
        parts.parts_are_placed,
        parts.parts_lie_inside,
        parts.parts_do_not_overlap,
        parts.parts_are_the_right_way_up,
        parts.grain_is_kept,
        cloths.cloth_lays_hold,
        darts.closed_parts_are_whole,
        marks.match_marks_meet,
        marks.register_marks_tell_turned_sheets,
        marks.passes_share_their_marks,
    )


def check(plan: Plan, facts: PackFacts) -> Problems:
    """Every rule that the pack breaks, each a problem; empty for a sound pack."""
    from templater.checks.made import lay_back
    from templater.checks.wholeness import plan_hangs_together

    broken = plan_hangs_together(plan)
    if broken:
        return broken
    made = lay_back(plan, facts)
    return tuple(problem for each in every_check() for problem in each(made))


def check_stones(plan: Plan) -> Problems:
    """The rules that stones break by where they lie: for a setting that is being edited by hand,
    of which nothing is written yet but the setting itself.
    """
    from templater.checks import borders, bounds, darts, spacing
    from templater.checks.made import lay_back

    rows = tuple(
        StoneRow(
            stone.zone,
            stone.side,
            stone.x_mm,
            stone.y_mm,
            stone.turn_deg,
            stone.size,
            stone.length_mm,
            stone.width_mm,
            stone.colour,
            stone.finish,
            stone.piece,
            stone.kind,
            stone.id,
        )
        for stone in plan.stones
    )
    made = lay_back(plan, PackFacts(stones=rows, holes=(), shopping=(), sheets=(), files=()))
    rules: tuple[Check, ...] = (
        spacing.stones_keep_apart,
        darts.stones_keep_apart_over_darts,
        bounds.stones_lie_inside,
        borders.borders_lie_within,
        bounds.stones_keep_clear,
        bounds.stones_are_low_enough,
    )
    return tuple(problem for each in rules for problem in each(made))
