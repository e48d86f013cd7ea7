"""`survey`: what a drawing holds, as text or JSON."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from templater.cli.telling import tell_problems
from templater.ground.survey import Survey
from templater.model.curves import Box
from templater.model.problems import Problem, has_errors
from templater.session import survey_drawing


def survey_and_tell(path: Path, *, as_json: bool) -> int:
    """Prints the survey; 1 if the drawing has an error, else 0."""
    found = survey_drawing(path)
    if as_json:
        import json

        click.echo(json.dumps(as_table(found), ensure_ascii=False, indent=2))
    else:
        for line in _text(found):
            click.echo(line)
        tell_problems(found.problems)
    return 1 if has_errors(found.problems) else 0


def as_table(found: Survey) -> dict[str, Any]:
    """The survey as `--json` prints it (design, section 7)."""
    return {
        "unit": found.unit,
        "size_mm": list(found.size_mm),
        "layers": [{"name": x.name, "role": x.role, "shapes": x.shapes} for x in found.layers],
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
    lines = [f"{found.file}: {width:.1f} × {height:.1f} mm (unit: {found.unit})", ""]
    lines.append(f"{'layer':<28}{'role':<10}{'shapes':>7}")
    lines.extend(
        f"{layer.name or '(none)':<28}{layer.role or '–':<10}{layer.shapes:>7}"
        for layer in found.layers
    )
    if found.pieces:
        lines += ["", f"{'piece':<18}{'area':>12}   size"]
        lines.extend(
            f"{piece.name:<18}{_area(piece.area_mm2):>12}   {_size(piece.bbox_mm)}"
            for piece in found.pieces
        )
    if found.zones:
        lines += ["", f"{'zone':<18}{'piece':<14}{'regions':>8}{'area':>12}   size"]
        lines.extend(
            f"{zone.name:<18}{zone.piece:<14}{zone.regions:>8}{_area(zone.area_mm2):>12}"
            f"   {_size(zone.bbox_mm)}"
            for zone in found.zones
        )
    return lines


def _area(area_mm2: float) -> str:
    return f"{area_mm2 / 100.0:.1f} cm²"


def _size(box: Box | None) -> str:
    return "no outline" if box is None else f"{box[2] - box[0]:.1f} × {box[3] - box[1]:.1f} mm"
