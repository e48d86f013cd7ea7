"""DXF to a Drawing: every version from R12 on, ASCII or binary, in mm, in the file's own frame.

Lines stay lines, arcs and bulges exact arcs, ellipses Béziers within 1e-5 mm, splines exact
cubics. Blocks are resolved: contents on layer "0" lie on their reference's layer. Loose lines and
arcs of a layer are joined end to end (`joining`), closed outlines become areas (`dxf_areas` says
how one inside another counts). Sewn-product pattern data go by their numbered layers (`sewn`).
Imports ezdxf when called.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from templater.model.drawing import Drawing, DrawingLayer
from templater.model.problems import Problem, Severity, Source
from templater.reading.dxf_load import Loaded, audited, load_document
from templater.reading.dxf_units import (
    Unit,
    assumed_unit_problem,
    header_unit,
    named_unit,
    unknown_unit,
    unlikely_size_problem,
)

if TYPE_CHECKING:
    from ezdxf.document import Drawing as Document


_LIKELY_MM = (10.0, 10_000.0)
"""A costume piece is larger than a stone and smaller than a room (our own choice)."""


def read_dxf(
    data: bytes, file: str, *, unit: str | None = None, size: str | None = None
) -> Drawing:
    """The drawing in a DXF file. Never raises for bad content: see the Drawing's problems.

    `unit` ("mm", "cm", "in") goes before what the file says. `size` chooses one of the sizes of a
    sewn-product file; other files have none.
    """
    if unit is not None and named_unit(unit) is None:
        return Drawing(file, (), (0.0, 0.0), "unknown", (unknown_unit(unit, file),))
    loaded = load_document(data, file)
    if loaded.document is None:
        return Drawing(file, (), (0.0, 0.0), "unknown", loaded.problems)
    try:
        return _read(loaded, data, file, unit, size)
    except Exception as error:  # noqa: BLE001  what a foreign file holds must not end the run
        what = f"{type(error).__name__}: {error}"
        problem = Problem(
            "dxf-unreadable",
            Severity.ERROR,
            f"“{file}” holds something that cannot be read ({what}).",
            "Save it again as DXF (R2010, ASCII) from the program that made it.",
            Source(file),
        )
        return Drawing(file, (), (0.0, 0.0), "unknown", (*loaded.problems, problem))


def _read(loaded: Loaded, data: bytes, file: str, unit: str | None, size: str | None) -> Drawing:
    assert loaded.document is not None
    told = header_unit(loaded.document, data)
    asked = named_unit(unit) if unit is not None else None
    problems = list(loaded.problems)
    halves: tuple[str, ...] = ()
    from templater.reading.sewn import is_sewn, read_pieces

    if is_sewn(loaded.document):
        pieces = read_pieces(loaded.document, file, told, asked_mm=asked, size=size)
        layers, found, halves = pieces.layers, pieces.unit, pieces.halves
        problems.extend(pieces.problems)
    else:
        found = told if asked is None else Unit(asked, f"{unit} as the job says", assumed=False)
        layers, faults = _model_space(loaded.document, file, found.mm)
        problems.extend(faults)
        problems.extend(_settings_problems(file, told, asked, size))
    if not loaded.recovered:  # recovering has audited already
        problems.extend(audited(loaded.document, file))
    return replace(finished(file, layers, found, problems), halves=halves)


def _model_space(
    document: Document, file: str, mm: float
) -> tuple[tuple[DrawingLayer, ...], list[Problem]]:
    from templater.reading.dxf_gather import gather
    from templater.reading.dxf_walk import Walk, paper_problem

    walk = Walk(document, file)
    layers, faults = gather(walk.entities(), file, mm)
    problems = [*walk.problems, *walk.hidden(), *faults]
    if paper := paper_problem(document, file):
        problems.append(paper)
    return layers, problems


def _settings_problems(
    file: str, told: Unit, asked: float | None, size: str | None
) -> list[Problem]:
    found = []
    if asked is not None and not told.assumed and abs(told.mm / asked - 1.0) > 1e-6:
        found.append(
            Problem(
                "unit-overridden",
                Severity.NOTE,
                f"The job says one unit of “{file}” is {asked:g} mm; the file's header says "
                f"{told.mm:g} mm.",
                source=Source(file),
            )
        )
    if size is not None:
        found.append(
            Problem(
                "size-not-used",
                Severity.WARNING,
                f"The job asks for size “{size}”, but “{file}” is not sewn-product pattern data: "
                "it has no sizes.",
                "Take `size` out of the job.",
                Source(file),
            )
        )
    return found


def finished(
    file: str, layers: Sequence[DrawingLayer], unit: Unit, problems: Sequence[Problem]
) -> Drawing:
    """The Drawing, with its size measured, and said where it hangs on an assumed unit."""
    from templater.reading.dxf_gather import box_of_layers

    said = list(problems)
    box = box_of_layers(layers)
    extent = (0.0, 0.0) if box is None else (box[2] - box[0], box[3] - box[1])
    if box is None:
        said.append(
            Problem(
                "drawing-empty",
                Severity.ERROR,
                f"“{file}” has nothing in it that can be seen and read.",
                "Draw in model space, on layers that are on and thawed, and save again.",
                Source(file),
            )
        )
    elif unit.assumed:
        said.append(assumed_unit_problem(file, extent, unit))
    elif not _LIKELY_MM[0] <= max(extent) <= _LIKELY_MM[1]:
        said.append(unlikely_size_problem(file, extent, unit))
    return Drawing(file, tuple(layers), extent, unit.words, tuple(said))
