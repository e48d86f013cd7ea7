"""book.pdf: the bench book on paper, from the cover to the keeping of the stencils."""

from __future__ import annotations

from templater.lettering import text_width_mm
from templater.model.parts import HoleKind, Pass
from templater.model.plan import SWATCH_MM, Patch, Plan
from templater.writing.book_drawing import Garment
from templater.writing.book_facts import (
    SHOPPING_HEAD,
    care_lines,
    cloth_cells,
    fact_lines,
    instead_words,
    shopping_cells,
    step_lines,
)
from templater.writing.book_flow import BODY_MM, SMALL_MM, TITLE_MM, Flow, Paper, wrapped
from templater.writing.book_swatches import swatch_counts
from templater.writing.book_words import book_words, hours_words, side_words, zone_words
from templater.writing.pdf_canvas import PdfCanvas
from templater.writing.pdf_finish import finish_pdf

_LARGE_MM = 2.5
"""What is read at the table, the pack beside it."""


def book_pdf(plan: Plan, paper_mm: tuple[float, float], margin_mm: float) -> bytes:
    """The book on the maker's paper, upright. The same plan gives the same bytes."""
    canvas = PdfCanvas(plan.name)
    garment = Garment(plan, canvas)
    paper = Paper((min(paper_mm), max(paper_mm)), max(margin_mm, 10.0))
    flow = Flow(canvas, paper, plan.name)
    _cover(flow, garment)
    _cautions(flow)
    _steps(flow, plan)
    _swatches(flow, plan)
    _shopping(flow, garment)
    _cutting(flow, plan)
    _map(flow, garment)
    _cards(flow, garment)
    _passes(flow, plan)
    _keeping(flow, plan)
    flow.end_page()
    return finish_pdf(canvas)


def _cover(flow: Flow, garment: Garment) -> None:
    plan, words, page = garment.plan, book_words()["paper"], book_words()["page"]
    flow.new_page()
    flow.canvas.bookmark(plan.name, level=0)
    flow.heading(plan.name, TITLE_MM)
    flow.text(words["contents"], 2.5)
    counts = plan.counts
    figures = (
        f"{len(plan.stones):,} {page['stones'].lower()}",
        hours_words(counts.minutes),
        f"{counts.mass_g:g} g",
        f"{len(counts.patches)} {page['patches'].lower()}",
    )
    flow.text("  ·  ".join(figures), 2.5)
    flow.skip(2.0)
    garment.picture((flow.paper.left, flow.paper.bottom + 4.0, flow.paper.right, flow.y))


def _cautions(flow: Flow) -> None:
    words = book_words()["cautions"]
    flow.new_page(words["title"])
    flow.text(words["lead"], _LARGE_MM)
    for name, text in words["items"]:
        flow.heading(name, 3.0)
        flow.text(text, _LARGE_MM)


def _steps(flow: Flow, plan: Plan) -> None:
    flow.new_page(book_words()["steps"]["title"])
    for number, (name, text) in enumerate(step_lines(plan), start=1):
        flow.heading(f"{number}  {name}", 3.0)
        flow.text(text, _LARGE_MM, indent_mm=6.0)


def _swatches(flow: Flow, plan: Plan) -> None:
    """Below the order of work: what is needed to try every stoning."""
    if not plan.swatches:
        return
    words, page = book_words()["swatch"], book_words()["page"]
    flow.heading(words["heading"], 3.5)
    flow.text(words["about"].format(mm=f"{SWATCH_MM:g}"))
    rows = [
        (one.zone, str(len(one.stones)), ", ".join(f"{n} {kind}" for kind, n in swatch_counts(one)))
        for one in plan.swatches
    ]
    flow.table((page["zone"], page["stones"], page["next_lay_out"]), rows, (2, 1, 7), (1,))


def _shopping(flow: Flow, garment: Garment) -> None:
    plan, page = garment.plan, book_words()["page"]
    flow.new_page(page["shopping"])
    rows = []
    for line in plan.counts.shopping:
        tray = garment.trays.get((line.size, line.colour, line.finish))
        cells = list(shopping_cells(line, tray.letter if tray else ""))
        if instead := instead_words(line):
            cells[2] = f"{cells[2]} ({instead})"
        rows.append(cells)
    shares = (1.1, 2.5, 2.6, 1.6, 1.3, 1.4, 1.2, 1.4, 1.4, 2.0, 1.6, 1.5)
    flow.table([page[head] for head in SHOPPING_HEAD], rows, shares, range(4, 12))
    for fact in fact_lines(plan):
        flow.text(fact, indent_mm=3.0, mark="·")
    if apart := care_lines(plan):
        flow.heading(page["care_apart"])
        flow.table((page["stones"], ""), apart, (1, 1))
    heads = (
        page["zone"],
        page["stones"],
        page["minutes"],
        page["mass"],
        page["patches"],
        page["most"],
    )
    zones = [
        (
            zone.zone,
            str(zone.stones),
            f"{zone.minutes:g}",
            f"{zone.mass_g:g} g",
            str(sum(patch.zone == zone.zone for patch in plan.counts.patches)),
            str(zone.patch_stones),
        )
        for zone in plan.counts.zones
    ]
    flow.heading(page["by_zone"])
    flow.table(heads, zones, (3, 1, 1, 1, 1, 1.3), range(1, 6))


def _cutting(flow: Flow, plan: Plan) -> None:
    words, page = book_words()["paper"], book_words()["page"]
    flow.new_page(words["cutting"])
    flow.text(words["cutting_lead"])
    sheets = {placed.part: placed.sheet for placed in plan.placed}
    rows = [
        (
            part.zone or part.piece,
            side_words(part.side.value),
            part.fabric or page["unnamed"],
            str(part.copies),
            sheets.get(part.id, ""),
        )
        for part in plan.parts
    ]
    heads = (page["zone"], page["side"], page["fabric"], page["parts"], words["sheet"])
    flow.table(heads, rows, (2, 2.2, 3.2, 0.9, 4.2), (3,))
    if cloths := cloth_cells(plan):
        flow.heading(page["fabric"])
        cloth_heads = (page["fabric"], page["parts"], page["area"], page["length"])
        flow.table(cloth_heads, cloths, (4, 1, 1.4, 1.8), (1, 2, 3))


def _map(flow: Flow, garment: Garment) -> None:
    words = book_words()["paper"]
    flow.new_page(words["map"])
    flow.text(words["map_lead"])
    room = (flow.paper.left, flow.paper.bottom + 2.0, flow.paper.right, flow.y - 2.0)
    garment.picture(room, stones=False, numbers=True)


def _cards(flow: Flow, garment: Garment) -> None:
    groups: dict[tuple[str, str, str, bool], list[Patch]] = {}
    for patch in garment.plan.counts.patches:
        key = (patch.zone, patch.piece, patch.side.value, patch.after_sewing)
        groups.setdefault(key, []).append(patch)
    for (zone, _, side, later), patches in groups.items():
        name = zone_words(zone, side)
        _card(flow, garment, f"{name}, {book_words()['page']['later']}" if later else name, patches)


def _card(flow: Flow, garment: Garment, name: str, patches: list[Patch]) -> None:
    """The zone's picture, then a row for each patch: trays, tick box, room for the time."""
    words, paper = book_words()["paper"], flow.paper
    flow.new_page(f"{words['card']}: {name}", level=0)
    flow.text(words["card_lead"], SMALL_MM)
    keys = list(dict.fromkeys(line[:3] for patch in patches for line in patch.tray))
    keys = [key for key in garment.trays if key in keys]
    _legend(flow, garment, keys)
    high = min(0.48 * (paper.top - paper.bottom), flow.room)
    garment.card((paper.left, flow.y - high, paper.right, flow.y - 1.0), patches)
    flow.skip(high + 2.0)
    _card_head(flow)
    columns = {key: number for number, key in enumerate(keys)}
    rows = [
        {columns[line[:3]]: f"{garment.trays[line[:3]].letter} {line.stones}" for line in one.tray}
        for one in patches
    ]
    cell_mm = max(text_width_mm(text, SMALL_MM) for row in rows for text in row.values()) + 2.4
    for patch, cells in zip(patches, rows, strict=True):
        _card_row(flow, patch, cells, cell_mm)


def _legend(flow: Flow, garment: Garment, keys: list[tuple[str, str, str]]) -> None:
    """The trays of this card: letter, a stone, and what it is, three abreast."""
    wide = flow.paper.width / 3.0
    for start in range(0, len(keys), 3):
        flow.need(5.0)
        flow.skip(4.4)
        for number, key in enumerate(keys[start : start + 3]):
            x, tray = flow.paper.left + number * wide, garment.trays[key]
            flow.letter(tray.letter, (x, flow.y), BODY_MM)
            garment.chip(key, (x + 8.5, flow.y + BODY_MM / 2.0), 3.6)
            shown = wrapped(tray.words, SMALL_MM, wide - 13.0)
            flow.letter(shown[0] + ("…" if len(shown) > 1 else ""), (x + 11.5, flow.y), SMALL_MM)
    flow.skip(2.0)


_COLUMNS_MM = (13.0, 13.0, 13.0)
_LAST_MM = (10.0, 26.0)


def _card_head(flow: Flow) -> None:
    words, page, paper = book_words()["paper"], book_words()["page"], flow.paper
    flow.need(14.0)
    flow.skip(3.0)
    x = paper.left
    for head, wide in zip((page["patch"], page["stones"], page["min"]), _COLUMNS_MM, strict=True):
        flow.letter(head, (x, flow.y), SMALL_MM)
        x += wide
    flow.letter(words["trays"], (x, flow.y), SMALL_MM)
    flow.letter(words["done"], (paper.right - sum(_LAST_MM), flow.y), SMALL_MM)
    flow.letter(words["glued_at"], (paper.right - _LAST_MM[1], flow.y), SMALL_MM)
    flow.skip(1.4)
    flow.rule()


def _card_row(flow: Flow, patch: Patch, cells: dict[int, str], cell_mm: float) -> None:
    """One patch. Each tray has its column, on a further line where they are too many abreast."""
    paper = flow.paper
    room = paper.width - sum(_COLUMNS_MM) - sum(_LAST_MM) - 2.0
    abreast = max(1, int(room // cell_mm))
    lines = sorted({column // abreast for column in cells})
    high = max(5.4, 3.6 * len(lines) + 1.8)
    if flow.room < high:
        flow.new_page()
        _card_head(flow)
    top = flow.y - 3.6
    x = paper.left
    for text, wide in zip(
        (str(patch.number), str(len(patch.stones)), f"{patch.minutes:g}"), _COLUMNS_MM, strict=True
    ):
        flow.letter(text, (x, top), BODY_MM)
        x += wide
    for column, cell in cells.items():
        line, at = lines.index(column // abreast), column % abreast
        flow.letter(cell, (x + at * cell_mm, top - 3.6 * line), SMALL_MM)
    flow.tick_box((paper.right - sum(_LAST_MM), top - 0.7))
    flow.skip(high)
    flow.rule()


def _passes(flow: Flow, plan: Plan) -> None:
    words, page = book_words()["paper"], book_words()["page"]
    # Who sets by hand pours nothing through stencils, so has no order to keep and nothing to dry.
    passes = [one for one in plan.passes if one.kind is HoleKind.STENCIL and one.method != "hand"]
    if not passes:
        return
    flow.new_page(words["passes"])
    flow.text(words["passes_lead"])
    rows = [_pass_cells(one) for one in passes]
    heads = (
        page["zone"],
        page["size"],
        words["pass"],
        words["holes"],
        words["sheet"],
        words["done"],
    )
    flow.table(heads, rows, (3.4, 2, 1.2, 1, 4.4, 0.8), (3,))


def _pass_cells(one: Pass) -> tuple[str, ...]:
    panel = f" {one.panel}" if one.panel else ""
    return (
        f"{zone_words(one.zone, one.side.value)}{panel}",
        ", ".join((*one.sizes, *one.lot)),
        f"{one.number} / {one.of}",
        str(len(one.holes)),
        one.template,
        "□",
    )


def _keeping(flow: Flow, plan: Plan) -> None:
    words = book_words()
    flow.new_page(words["care"]["title"])
    for item in words["care"]["items"]:
        flow.text(item, indent_mm=3.0, mark="·")
    flow.heading(words["storing"]["title"], 3.5)
    for item in words["storing"]["items"]:
        flow.text(item, indent_mm=3.0, mark="·")
    flow.heading(words["repair"]["title"], 3.5)
    flow.text(words["repair"]["lead"])
    rows = [(line.size, line.colour, line.finish, str(line.kit)) for line in plan.counts.shopping]
    page = words["page"]
    heads = (page["size"], page["colour"], page["finish"], page["stones"])
    flow.table(heads, rows, (2, 2, 2, 1), (3,))
