"""The order of the steps, nothing else.

Each step is a pure function `inputs -> (value, problems)` with a version; a session runs them,
keeps their results and stops at the first that finds an error.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Generic, Protocol, TypeVar

from templater.model.near import NEAR_MM, ground_around
from templater.model.plan import PLAN_VERSION, SWATCH_MM, Plan, Rules
from templater.model.problems import Problems, Severity

if TYPE_CHECKING:
    from templater.job.schema import Job, StoningTable
    from templater.model.ground import Ground
    from templater.model.lays import KeptLay
    from templater.model.stones import Setting

Value = TypeVar("Value")


@dataclass(frozen=True, slots=True)
class Step(Generic[Value]):
    """A step's name for the watch, the version of what it computes, and its function."""

    name: str
    version: int
    function: Callable[..., tuple[Value, Problems]]


class Runner(Protocol):
    """What the pipeline needs of a session."""

    @property
    def problems(self) -> Problems: ...

    def run(self, step: Step[Value], *inputs: Any) -> Value: ...

    def expect(self, name: str, steps: int, remark: str = "") -> None: ...


def make_plan(
    runner: Runner,
    drawing: bytes,
    file: str,
    job: Job,
    job_hash: str,
    edited: tuple[bytes, str] | None = None,
    kept_lays: tuple[KeptLay, ...] = (),
) -> Plan:
    """Everything that is decided before a file is written. The steps are imported as they come.

    `edited`: a setting that was edited by hand, and its file's name. `kept_lays`: lays of an earlier
    run that may be used again.
    """
    from templater.applique import make_parts, walked
    from templater.catalogue.sizes import find_size
    from templater.counting import count
    from templater.ground import build_ground
    from templater.job.borders import with_borders
    from templater.sheets import best_lays, cloth_maps, lay_cloth, make_sheets
    from templater.stencils import make_passes
    from templater.stoning import place

    read_from = runner.run(Step("reading", 1, _read), drawing, file, job.unit, job.size)
    ground = runner.run(Step("ground", 3, build_ground), read_from, job)
    job = with_borders(job, ground.rows)

    settings = _settings(runner, ground, job, edited)
    stones = place(settings, ground)
    # A fill that is full with no stone of its smallest size in it is still full for that size.
    names = {stone.size for stone in stones} | {s.maximal_size for s in settings if s.maximal_size}
    sizes = {name: size for name in sorted(names) if (size := find_size(name)) is not None}
    parts = runner.run(Step("appliqués", 3, make_parts), ground, job)
    passes = runner.run(Step("templates", 2, make_passes), ground, stones, sizes, job)
    lays: tuple[KeptLay, ...] = ()
    if job.templates.lay == "best":
        lays = runner.run(Step("lay", 1, best_lays), parts, job, kept_lays)
    placed, sheets = runner.run(
        Step("sheets", 4, _pair_first(make_sheets)), ground, parts, passes, stones, sizes, job, lays
    )
    counts = runner.run(Step("numbers", 2, count), stones, sizes, job, parts, passes)
    cloths = runner.run(Step("cloth", 2, lay_cloth), counts.cloths, parts, job)
    maps = runner.run(Step("sheets", 1, cloth_maps), cloths, parts, job)
    swatches = _swatches(runner, ground, job)
    return Plan(
        version=PLAN_VERSION,
        job_hash=job_hash,
        name=job.name or file,
        seed=job.seed,
        rules=_rules(job, tuple(sizes)),
        sizes=tuple(sizes.values()),
        ground=ground,
        settings=settings,
        stones=stones,
        parts=parts,
        passes=passes,
        placed=placed,
        sheets=(*sheets, *maps),
        counts=replace(counts, cloths=cloths),
        problems=runner.problems,
        swatches=swatches,
        lays=lays,
        walked=walked(ground, job.display)[0],  # its problems came with the parts
    )


def plan_with_setting(plan: Plan, edited: bytes, file: str) -> tuple[Plan, Problems]:
    """A made plan with the stones of a setting that was edited since, and what is wrong with the file."""
    from templater.catalogue.sizes import find_size
    from templater.stoning import place
    from templater.stoning.edited import edited_settings, names_in, spacing_of_settings

    drawing, problems = _read(edited, file, None, None)
    spacing = spacing_of_settings(plan.settings)
    settings, said = edited_settings(drawing, plan.ground, spacing, names_in(drawing))
    stones = place(settings, plan.ground)
    names = sorted({stone.size for stone in stones})
    sizes = tuple(size for name in names if (size := find_size(name)) is not None)
    changed = replace(plan, settings=settings, stones=stones, sizes=sizes)
    return changed, tuple(p for p in problems if p.severity is Severity.ERROR) + said


def _read(data: bytes, name: str, unit: str | None, size: str | None) -> tuple[Any, Problems]:
    from templater.reading import read_drawing

    found = read_drawing(data, name, unit=unit, size=size)
    return found, found.problems


def _settings(
    runner: Runner, ground: Ground, job: Job, edited: tuple[bytes, str] | None
) -> tuple[Setting, ...]:
    """Every zone's and row's stones: those that were edited as they are, the others set."""
    from templater.geometry.kernels.compiled import first_run_remark
    from templater.stoning import row_obstacles_by_piece, set_rows, set_zone
    from templater.stoning.edited import edited_settings, names_in, spacing_of_job
    from templater.stoning.stretching import stretched
    from templater.stoning.substitution import substitute
    from templater.stoning.zone_problems import unstoned

    kept: dict[str, Setting] = {}
    if edited is not None:
        drawing = runner.run(Step("reading", 1, _read), *edited, None, None)
        names = job.setting.locked or names_in(drawing)
        spacing = spacing_of_job(ground, job)
        by_hand = runner.run(Step("stones", 1, edited_settings), drawing, ground, spacing, names)
        kept = {setting.zone: setting for setting in by_hand}
    stoned = [
        (zone, stoning)
        for zone in ground.zones
        if (stoning := job.stoning_of(zone.name)) is not None
    ]
    styles = {stoning.fill.style for _, stoning in stoned} - {"none"}
    remark = first_run_remark(packed="packed" in styles) if styles else ""
    runner.expect("stones", len(stoned) + 4, remark)
    runner.run(Step("stones", 1, unstoned), ground, job)
    rows, obstacles = runner.run(Step("stones", 1, _pair_first(set_rows)), ground, job)
    if any(row.zone in kept for row in rows):
        rows = tuple(kept.get(row.zone, row) for row in rows)
        obstacles = row_obstacles_by_piece(rows)
    set_one = Step("stones", 1, set_zone)
    settings = (
        *(
            kept[zone.name]
            if zone.name in kept
            # A zone is handed no more than it can depend on, so that it is kept when others change.
            else runner.run(
                set_one,
                zone,
                ground_around(ground, zone, _reach_mm(stoning)),
                stoning,
                obstacles.get(zone.piece, ()),
                job.seed,
            )
            for zone, stoning in stoned
        ),
        *rows,
    )
    settings = runner.run(Step("stones", 1, substitute), settings, job.substitute)
    return runner.run(Step("stones", 1, stretched), settings, ground, job)


def _swatches(runner: Runner, ground: Ground, job: Job) -> tuple[Setting, ...]:
    """Every stoning of the job on a small square, in the order of the zones. What is wrong with a
    stoning is told of its zones.
    """
    from templater.ground.swatch import swatch_ground
    from templater.stoning import set_zone
    from templater.stoning.substitution import substitute

    def set_quietly(*inputs: Any) -> tuple[Setting, Problems]:
        return set_zone(*inputs)[0], ()

    stonings = {
        job.zone_table(zone.name).stoning or zone.name: stoning
        for zone in ground.zones
        if (stoning := job.stoning_of(zone.name)) is not None
    }
    runner.expect("swatches", len(stonings))
    settings = tuple(
        runner.run(
            Step("swatches", 1, set_quietly),
            *swatch_ground(name, SWATCH_MM),
            stoning,
            (),
            job.seed,
        )
        for name, stoning in stonings.items()
    )
    return substitute(settings, job.substitute)[0]


def _reach_mm(stoning: StoningTable) -> float:
    """How near another zone must lie to matter to a stoning: a little beyond its largest gap."""
    gaps = [stoning.fill.gap, *([stoning.outline.gap] if stoning.outline else [])]
    return max(NEAR_MM, 1.1 * max(gaps))


def _pair_first(function: Callable[..., tuple[Any, Any, Problems]]) -> Callable[..., Any]:
    """A step of two values as a step of one."""

    def run(*inputs: Any) -> tuple[tuple[Any, Any], Problems]:
        first, second, problems = function(*inputs)
        return (first, second), problems

    return run


def _rules(job: Job, sizes: Sequence[str]) -> Rules:
    stencil = job.templates.stencil
    roll = job.templates.paper.roll
    by_size = isinstance(stencil.clearance, dict)
    return Rules(
        tolerance_mm=job.tolerance,
        bridge_mm=stencil.least_bridge,
        clearance_mm=stencil.clearance_of("other"),
        registration_mm=stencil.registration,
        kerf_mm=stencil.kerf,
        formats=job.templates.formats,
        display=job.display,
        calibrate=job.templates.paper.calibrate,
        hpgl_units_per_mm=job.templates.hpgl_units_per_mm,
        gcode_unit=job.templates.gcode_unit,
        clearances=tuple((size, stencil.clearance_of(size)) for size in sizes if by_size),
        kinds=job.templates.kinds,
        apart=stencil.apart,
        roll_mm=roll.width if roll else None,
        roll_calibrate=roll.calibrate if roll else (1.0, 1.0),
    )
