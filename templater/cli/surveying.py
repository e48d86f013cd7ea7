"""`survey`: what a drawing holds, as text or JSON."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

import click

from templater.cli.telling import tell_problems
from templater.ground.shapes import UNUSED
from templater.ground.survey import LayerFound, Survey, length_words, size_words
from templater.model.curves import Box
from templater.model.problems import Problem, has_errors
from templater.session import survey_drawing

_MOST_COLOURS = 6


def survey_and_tell(path: Path, *, as_json: bool, picture: Path | None = None) -> int:
    """Prints the survey and draws it if asked; 1 if the drawing has an error, else 0."""
    found = survey_drawing(path, picture)
    if as_json:
        import json

        click.echo(json.dumps(as_table(found), ensure_ascii=False, indent=2))
    else:
        # Of a file that could not be read there is nothing to tell but why.
        for line in _text(found) if found.layers or not has_errors(found.problems) else ():
            click.echo(line)
        tell_problems(_not_told(found))
    return 1 if has_errors(found.problems) else 0


def _not_told(found: Survey) -> tuple[Problem, ...]:
    """The problems without what the proposals above them say already."""
    proposed = {proposal.drawn_on for proposal in found.proposals}
    return tuple(
        problem
        for problem in found.problems
        if problem.code != UNUSED or problem.source is None or problem.source.layer not in proposed
    )


def as_table(found: Survey) -> dict[str, Any]:
    """The survey as `--json` prints it (design, section 7)."""
    return {
        "unit": found.unit,
        "size_mm": list(found.size_mm),
        "layers": [_layer(x) for x in found.layers],
        "pieces": [
            {"name": x.name, "area_mm2": x.area_mm2, "bbox_mm": _box(x.bbox_mm)}
            for x in found.pieces
        ],
        "zones": [
            {
                "name": x.name,
                "piece": x.piece,
                "regions": x.regions,
                "area_mm2": x.area_mm2,
                "bbox_mm": _box(x.bbox_mm),
            }
            for x in found.zones
        ],
        "problems": [_problem(problem) for problem in found.problems],
    }


def _layer(x: LayerFound) -> dict[str, Any]:
    """`colours` only where they may tell things apart."""
    table = {"name": x.name, "role": x.role, "shapes": x.shapes}
    return {**table, "colours": list(x.colours)} if len(x.colours) > 1 else table


def _box(box: Box | None) -> list[float] | None:
    return None if box is None else list(box)


def _problem(problem: Problem) -> dict[str, Any]:
    return {
        "code": problem.code,
        "severity": problem.severity.value,
        "layer": problem.source.layer if problem.source else "",
        "element": problem.source.element if problem.source else "",
        "at_mm": list(problem.at_mm) if problem.at_mm else None,
        "message": problem.message,
        "mend": problem.mend,
    }


def _text(found: Survey) -> list[str]:
    width, height = found.size_mm
    inches = found.in_inches
    also = f", {size_words(width, height, inches=True)}" if inches else ""
    lines = [f"{found.file}: {size_words(width, height, inches=False)}{also} (unit: {found.unit})"]
    columns = 4 if any(len(layer.colours) > 1 for layer in found.layers) else 3
    lines += _table(
        ("layer", "role", "shapes>", "colours")[:columns],
        [
            (x.name or "(none)", x.role or "–", str(x.shapes), _colours(x.colours))[:columns]
            for x in found.layers
        ],
    )
    lines += _table(
        ("piece", "area>", "size"),
        [
            (
                x.name,
                _area(x.area_mm2, inches=inches) if x.bbox_mm else "–",
                _size(x.bbox_mm, inches=inches),
            )
            for x in found.pieces
        ],
    )
    lines += _table(
        ("zone", "piece", "regions>", "area>", "size"),
        [
            (
                x.name,
                x.piece,
                str(x.regions),
                _area(x.area_mm2, inches=inches),
                _size(x.bbox_mm, inches=inches),
            )
            for x in found.zones
        ],
    )
    lines += _table(
        ("row", "piece", "lines>", "length>"),
        [
            (x.name, x.piece, str(x.lines), length_words(x.length_mm, inches=inches))
            for x in found.rows
        ],
    )
    lines += _table(
        ("edge or seam", "piece", "length>"),
        [
            (f"{x.kind} {x.name}", x.piece, length_words(x.length_mm, inches=inches))
            for x in found.edges
        ],
    )
    if found.proposals:
        lines += ["", "Layers without a role, and what they may be. To accept one, write it under"]
        lines += ["[layers] in the job (templater start puts them there), or rename the layer."]
        lines += [f"  {x.setting}   {x.why}" for x in found.proposals]
    return lines


def _colours(colours: tuple[str, ...]) -> str:
    more = len(colours) - _MOST_COLOURS
    return ", ".join(colours[:_MOST_COLOURS]) + (f" and {more} more" if more > 0 else "")


def _table(heads: tuple[str, ...], rows: list[tuple[str, ...]]) -> list[str]:
    """A blank line, the heads, the rows; nothing without rows. Heads that end with > are numbers."""
    if not rows:
        return []
    names = [head.rstrip(">") for head in heads]
    widths = [max(map(len, column)) for column in zip(names, *rows, strict=True)]

    def line(cells: Iterable[str]) -> str:
        parts = [
            cell.rjust(width) if head.endswith(">") else cell.ljust(width)
            for cell, head, width in zip(cells, heads, widths, strict=True)
        ]
        return "   ".join(parts).rstrip()

    return ["", line(names), *(line(row) for row in rows)]


def _area(area_mm2: float, *, inches: bool) -> str:
    return f"{area_mm2 / 25.4**2:.1f} in²" if inches else f"{area_mm2 / 100.0:.1f} cm²"


def _size(box: Box | None, *, inches: bool) -> str:
    return (
        "no outline" if box is None else size_words(box[2] - box[0], box[3] - box[1], inches=inches)
    )
