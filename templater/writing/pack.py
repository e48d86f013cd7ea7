"""The whole pack: every file of a plan, written into a folder that the caller provides."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path, PurePosixPath

from templater.model.lays import LAYS_FILE, dump_lays
from templater.model.plan import Plan
from templater.model.plan_file import PLAN_FILE, dump_plan
from templater.model.setting_layers import SETTING_FILE
from templater.model.sheets import Sheet
from templater.writing.tables import after_sewing_csv, holes_csv, shopping_csv, stones_csv
from templater.writing.walked_table import walked_csv
from templater.writing.whole import whole_files

Watch = Callable[[str, int, int], None]
"""Told a file's name, how many files are done, and of how many; may raise to stop."""

PLACEMENT = "placement"
"""The kind of sheets that are for people only: printed in tiles, not written whole."""
PRINT_FOLDER = "print"

_Writer = Callable[[], bytes]


def write_pack(
    plan: Plan,
    folder: Path,
    *,
    paper_mm: tuple[float, float],
    margin_mm: float,
    overlap_mm: float,
    calibrate: tuple[float, float] = (1.0, 1.0),
    roll_margin_mm: float = 0.0,
    watch: Watch | None = None,
) -> tuple[str, ...]:
    """Write every file of the pack into `folder`, which exists, and return their names, sorted.

    `paper_mm`, `margin_mm` and `overlap_mm` are of the printed tiles, `calibrate` their
    correction in x and y, `roll_margin_mm` what a plotter cannot reach of the rules' roll. Raises
    OSError where the disk refuses, ValueError for a plan that no file can hold (a number not finite,
    a sheet name outside the folder).
    """
    jobs = tuple(
        _files(
            plan,
            paper_mm=paper_mm,
            margin_mm=margin_mm,
            overlap_mm=overlap_mm,
            calibrate=calibrate,
            roll_margin_mm=roll_margin_mm,
        )
    )
    _refuse_bad_names(name for name, _ in jobs)
    for done, (name, write) in enumerate(jobs):
        if watch is not None:
            watch(name, done, len(jobs))
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(write())
    if watch is not None:
        watch("", len(jobs), len(jobs))
    return tuple(sorted(name for name, _ in jobs))


def _files(
    plan: Plan,
    *,
    paper_mm: tuple[float, float],
    margin_mm: float,
    overlap_mm: float,
    calibrate: tuple[float, float],
    roll_margin_mm: float,
) -> Iterator[tuple[str, _Writer]]:
    from templater.writing.book_page import book_html
    from templater.writing.book_pdf import book_pdf
    from templater.writing.book_swatches import swatch_sheets
    from templater.writing.pdf import pdf_bytes
    from templater.writing.preview_picture import preview_png
    from templater.writing.preview_svg import preview_svg
    from templater.writing.setting_svg import setting_svg
    from templater.writing.svg import svg_bytes
    from templater.writing.tiled_pdf import tiled_pdf_bytes

    yield PLAN_FILE, lambda: dump_plan(plan)
    yield "stones.csv", lambda: stones_csv(plan)
    if any(stone.after_sewing for stone in plan.stones):
        yield "after-sewing.csv", lambda: after_sewing_csv(plan)
    yield "holes.csv", lambda: holes_csv(plan)
    yield "shopping.csv", lambda: shopping_csv(plan)
    if plan.walked:
        yield "walked.csv", lambda: walked_csv(plan)
    if plan.lays:
        yield LAYS_FILE, lambda: dump_lays(plan.lays)
    for sheet in plan.sheets:
        if not is_for_people(sheet):
            yield from whole_files(sheet, plan.rules)
    for group, sheets in sheet_groups(plan.sheets).items():
        yield (
            f"{PRINT_FOLDER}/{group}.pdf",
            partial(
                tiled_pdf_bytes,
                sheets,
                title=f"{plan.name}: {sheets[0].title if len(sheets) == 1 else group}",
                paper_mm=paper_mm,
                margin_mm=margin_mm,
                overlap_mm=overlap_mm,
                calibrate=calibrate,
                display=plan.rules.display,
            ),
        )
    yield from _rolls(plan, overlap_mm, roll_margin_mm)
    for sheet in swatch_sheets(plan):
        yield f"{sheet.name}.pdf", partial(pdf_bytes, (sheet,), sheet.title)
        yield f"{sheet.name}.svg", partial(svg_bytes, sheet)
    yield SETTING_FILE, lambda: setting_svg(plan)
    yield "book.html", lambda: book_html(plan)
    yield "book.pdf", lambda: book_pdf(plan, paper_mm, margin_mm)
    yield "preview.svg", lambda: preview_svg(plan)
    yield "preview.png", lambda: preview_png(plan)


def _rolls(plan: Plan, overlap_mm: float, margin_mm: float) -> Iterator[tuple[str, _Writer]]:
    """The sheets that are true to size once more on a plotter's roll, if the maker has one."""
    from templater.writing.roll_pdf import Roll, roll_pdf_bytes

    rules = plan.rules
    if rules.roll_mm is None:
        return
    roll = Roll(rules.roll_mm, margin_mm, rules.roll_calibrate)
    true = tuple(sheet for sheet in plan.sheets if sheet.bars)
    for group, sheets in sheet_groups(true).items():
        title = f"{plan.name}: {sheets[0].title if len(sheets) == 1 else group}"
        yield (
            f"{PRINT_FOLDER}/{group}-roll.pdf",
            partial(roll_pdf_bytes, sheets, roll, overlap_mm, rules.display, title),
        )


def is_for_people(sheet: Sheet) -> bool:
    """Whether a sheet is only printed, in tiles, and not written whole for machines."""
    return sheet.kind == PLACEMENT or PurePosixPath(sheet.name).parts[0] == PRINT_FOLDER


def sheet_groups(sheets: tuple[Sheet, ...]) -> dict[str, tuple[Sheet, ...]]:
    """The sheets that share a printed PDF, by its name in the print folder.

    Sheets for machines go by their folder; one that is for people has a PDF of its own, unless it
    stands in a folder inside the print folder.
    """
    groups: dict[str, list[Sheet]] = {}
    for sheet in sheets:
        path = PurePosixPath(sheet.name)
        alone = is_for_people(sheet) and len(path.parts) == 2
        name = path.name if alone else (path.parent.name or "sheets")
        groups.setdefault(name, []).append(sheet)
    return {name: tuple(members) for name, members in groups.items()}


def _refuse_bad_names(names: Iterator[str]) -> None:
    """No file may land outside the folder or on top of another, also where case does not count."""
    seen: set[str] = set()
    for name in names:
        path = PurePosixPath(name)
        if path.is_absolute() or ".." in path.parts or "\\" in name or ":" in name:
            raise ValueError(f"{name!r} is no name for a file of the pack")
        if name.casefold() in seen:
            raise ValueError(f"two files of the pack would be called {name!r}")
        seen.add(name.casefold())
