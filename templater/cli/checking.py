"""`check`: verify a made pack again."""

from __future__ import annotations

from pathlib import Path

import click

from templater.cli.packed import sheet_folders
from templater.cli.telling import tell_problems
from templater.cli.watching import watched
from templater.model.problems import has_errors
from templater.model.words import counted
from templater.session import check_pack


def check_and_tell(folder: Path) -> int:
    """Prints what the checks found; 1 if anything is wrong, else 0."""
    with watched() as watch:
        plan, problems = check_pack(folder, watch=watch)
    tell_problems(problems)
    if has_errors(problems):
        click.echo(f"{folder} does not hold what its plan says.", err=True)
        return 1
    things = [f"{len(plan.stones)} stones", f"{len(plan.parts)} parts to cut"]
    files = [path.relative_to(folder).as_posix() for path in folder.rglob("*")]
    things += [f"{counted(x.sheets, 'sheet')} in {x.name}/" for x in sheet_folders(files)]
    click.echo(f"{folder}: {', '.join(things)} are as planned; files and plan agree.")
    return 0
