"""`start`: write a job file for a drawing."""

from __future__ import annotations

import re
from pathlib import Path

import click

from templater.model.problems import Problem, Refused, Severity, Source
from templater.session import start_job


def start_and_tell(drawing: Path, job: Path) -> None:
    """Writes the job file. Raises Refused if there is one already, or the drawing cannot serve."""
    if job.exists():
        raise Refused(
            (
                Problem(
                    "job-exists",
                    Severity.ERROR,
                    f"there is a file {job} already",
                    "Name another with -o, or move it away.",
                    Source(job.name),
                ),
            )
        )
    text, found = start_job(drawing, job)
    with job.open("x", encoding="utf-8", newline="\n") as file:
        file.write(text)
    if found.zones and not found.proposals:
        click.echo(f"Wrote {job}. Look through it, then: templater make {_as_typed(job)}")
        return
    number = len({proposal.drawn_on for proposal in found.proposals})
    layers = "1 layer has" if number == 1 else f"{number} layers have"
    click.echo(f"Wrote {job}. {layers} no role; what they may be stands in it under [layers].")
    click.echo("Nothing was guessed for you: take the # away from what is right, correct the rest,")
    click.echo(f"look through the other choices, then: templater make {_as_typed(job)}")


def _as_typed(path: Path) -> str:
    """A file's name as it is typed in a shell: in quotes if it has a space or the like."""
    return str(path) if re.fullmatch(r"[\w./\\:-]+", str(path)) else f'"{path}"'
