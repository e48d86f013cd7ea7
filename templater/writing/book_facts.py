"""The sentences and tables that the page and the paper share, filled in from the plan."""

from __future__ import annotations

from templater.model.plan import Plan, ShoppingLine
from templater.writing.book_words import area_words, book_words, hours_words, length_words

DENSITY_G_CM3 = 2.5
GLUE_MM = 0.25
"""As the numbers were counted; a test holds them against the counting room's."""

SHOPPING_HEAD = (
    "tray", "size", "colour", "finish", "count", "spare", "kit", "stock", "gross", "packs", "cost",
    "left_over",
)  # fmt: skip


def shopping_cells(line: ShoppingLine, letter: str) -> tuple[str, ...]:
    """One line of the shopping list as cells, in the order of `SHOPPING_HEAD`."""
    return (
        letter,
        line.size,
        line.colour,
        line.finish,
        str(line.count),
        str(line.spare),
        str(line.kit),
        str(line.stock) if line.stock else "",
        str(line.gross),
        "" if line.packs is None else f"{line.packs} × {line.pack_of}",
        "" if line.cost is None else f"{line.cost:.2f}",
        str(line.left),
    )


def instead_words(line: ShoppingLine) -> str:
    if not line.instead_of:
        return ""
    return str(book_words()["page"]["instead"].format(names=", ".join(line.instead_of)))


def care_lines(plan: Plan) -> tuple[tuple[str, str], ...]:
    """Stones that glue alone does not hold, and what they need."""
    return tuple(
        (f"{line.size} {line.colour} {line.finish} ({line.count})", line.care)
        for line in plan.counts.shopping
        if line.care
    )


def cloth_cells(plan: Plan) -> tuple[tuple[str, str, str, str], ...]:
    """Cloth and web: name, parts, area, length."""
    words, display = book_words()["page"], plan.rules.display
    return tuple(
        (
            words["web"] if line.is_web else line.fabric or words["unnamed"],
            str(line.parts),
            area_words(line.area_mm2, display),
            length_words(line.length_mm, display),
        )
        for line in plan.counts.cloths
    )


def fact_lines(plan: Plan) -> tuple[str, ...]:
    """What is to be known of the whole: time, mass, glue, sheets, cloth, cost."""
    words, counts = book_words()["facts"], plan.counts
    lines = [
        words["time"].format(hours=hours_words(counts.minutes)),
        words["open"].format(minutes=f"{counts.open_minutes:g}"),
        words["mass"].format(mass=f"{counts.mass_g:g}", density=f"{DENSITY_G_CM3:g}"),
        words["glue"].format(glue=f"{counts.glue_ml:g}", thick=f"{GLUE_MM:g}"),
        words["sheets"].format(all=counts.stencil_sheets, film=counts.film_sheets),
        words["spare"],
    ]
    if counts.cloths:
        width = length_words(counts.cloths[0].width_mm, plan.rules.display)
        lines.append(words["cloth"].format(width=width))
        if any(line.folded for line in counts.cloths):
            lines.append(words["cloth_folded"])
    if counts.cost is not None:
        lines.append(words["cost"].format(cost=f"{counts.cost:.2f}", currency=counts.currency))
    return tuple(lines)


def step_lines(plan: Plan) -> tuple[tuple[str, str], ...]:
    """The order of work: each step's name and what is done, of a pair only where there is one."""
    words = book_words()["steps"]
    pair = any(len(surface.sides) > 1 for surface in plan.ground.surfaces)
    cut = words["cut_pair" if pair else "cut_single"]
    return tuple((name, text.format(cut=cut)) for name, text in words["items"])
