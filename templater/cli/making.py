"""`make` and `demo`: make a pack and say in a few lines what came of it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import click

from templater.cli.packed import sheet_folders
from templater.cli.sparing import sheets_to_spare
from templater.cli.telling import tell_compiling, tell_problems
from templater.cli.watching import watched
from templater.model.plan import Plan
from templater.session import Made, make
from templater.writing.book_words import area_words, hours_words


def make_and_tell(job: Path, folder: Path | None) -> None:
    """Makes the pack and prints the summary. Raises Refused and OSError as `make` does."""
    try:
        with watched() as watch:
            made = make(job, folder, watch=watch)
    finally:
        tell_compiling()
    tell_problems(made.plan.problems)
    for line in summary(made):
        click.echo(line)


def summary(made: Made) -> Iterator[str]:
    """What was made and where: under 40 lines."""
    plan = made.plan
    yield f"{plan.name}: {len(plan.stones)} stones, {len(plan.parts)} parts to cut. The pack is {made.folder}"
    yield ""
    yield from _zones(plan)
    yield ""
    if plan.stones:
        yield from _stones(plan)
        yield ""
    yield from _files(made)


def _stones(plan: Plan) -> Iterator[str]:
    sizes = Counter(stone.size for stone in plan.stones)
    yield "stones by size: " + ", ".join(f"{size} {count}" for size, count in sizes.most_common(8))
    time = hours_words(plan.counts.minutes)
    cost = (
        f", {plan.counts.cost:.2f} {plan.counts.currency} where priced"
        if plan.counts.cost is not None
        else ""
    )
    yield f"setting takes about {time} at your rates; the stones weigh about {plan.counts.mass_g:.0f} g{cost}"


def _zones(plan: Plan) -> Iterator[str]:
    yield f"{'zone':<16}{'stones':>8}{'area':>12}{'coverage':>10}"
    counts = {count.zone: count.stones for count in plan.counts.zones}
    for setting in plan.settings[:12]:
        figures = setting.figures
        area = area_words(figures.area_mm2, plan.rules.display) if figures.area_mm2 else "–"
        coverage = f"{figures.coverage:.0%}" if figures.area_mm2 else "row"
        yield f"{setting.zone:<16}{counts.get(setting.zone, 0):>8}{area:>12}{coverage:>10}"
    if len(plan.settings) > 12:
        yield f"and {len(plan.settings) - 12} more, see plan.json"


def _files(made: Made) -> Iterator[str]:
    for folder in sheet_folders(made.files):
        word = "sheet" if folder.sheets == 1 else "sheets"
        kinds = ", ".join(folder.kinds)
        yield f"{folder.name + '/':<14}{folder.sheets:>4} {word}, {folder.what} ({kinds})"
    single = [file for file in made.files if "/" not in file]
    yield "and " + ", ".join(single)
    spare = sheets_to_spare(made.plan)
    if spare:
        yield spare
