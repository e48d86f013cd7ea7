"""Running a job: files in, a pack out, with a Store for unchanged steps and a Watch on the work."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import ExitStack
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol, TypeVar

from templater.job.locate import located
from templater.model.fingerprint import fingerprint
from templater.model.plan import Plan
from templater.model.plan_file import PLAN_FILE
from templater.model.problems import Problem, Problems, Refused, Severity, Source, has_errors
from templater.model.setting_layers import SETTING_FILE
from templater.pipeline import Step, make_plan, plan_with_setting

if TYPE_CHECKING:
    from templater.ground.survey import Survey
    from templater.job.schema import Job
    from templater.model.lays import KeptLay
    from templater.model.sheets import Sheet

Value = TypeVar("Value")


class Store(Protocol):
    """Keeps the results of steps under the hash of their inputs."""

    def get(self, key: str) -> tuple[Any, Problems] | None: ...

    def put(self, key: str, result: tuple[Any, Problems]) -> None: ...


class MemoryStore:
    """A store that lasts as long as the process: for a page that edits a job live."""

    def __init__(self) -> None:
        self._kept: dict[str, tuple[Any, Problems]] = {}

    def get(self, key: str) -> tuple[Any, Problems] | None:
        return self._kept.get(key)

    def put(self, key: str, result: tuple[Any, Problems]) -> None:
        self._kept[key] = result


class Watch(Protocol):
    """Is told what is being done; may raise to cancel. `total` is 0 where it is not known."""

    def stage(self, name: str, total: int) -> None: ...

    def advance(self) -> None: ...


class NoWatch:
    def stage(self, name: str, total: int) -> None:
        """Nobody looks."""

    def advance(self) -> None:
        """Nobody looks."""


class Session:
    """Runs steps: a result that is kept is used again, an error stops the run."""

    def __init__(self, store: Store | None = None, watch: Watch | None = None) -> None:
        self._store = store
        self._watch: Watch = watch or NoWatch()
        self._stage = ""
        self._problems: list[Problem] = []
        self._job = ("", "")

    @property
    def problems(self) -> Problems:
        return tuple(self._problems)

    def expect(self, name: str, steps: int, remark: str = "") -> None:
        """The next `steps` steps belong to this stage; the watch is told the remark with it."""
        self._stage = name
        self._watch.stage(f"{name} {remark}".rstrip(), steps)

    def job_is(self, text: str, file: str) -> None:
        """Problems with the job that are found from now on are told with its file and the line."""
        self._job = (text, file)

    def note(self, problems: Problems) -> None:
        """Keeps problems; raises Refused with all so far if one is an error."""
        self._problems.extend(located(problems, *self._job))
        if has_errors(problems):
            raise Refused(self.problems)

    def writing(self, _name: str, done: int, total: int) -> None:
        """The writers' progress."""
        if done == 0:
            self.expect("writing", total)
        else:
            self._watch.advance()

    def run(self, step: Step[Value], *inputs: Any) -> Value:
        """The step's value. Raises Refused if it finds an error."""
        if step.name != self._stage:
            self.expect(step.name, 1)
        value, problems = self._result(step, inputs)
        self.note(problems)
        self._watch.advance()
        return value

    def _result(self, step: Step[Value], inputs: tuple[Any, ...]) -> tuple[Value, Problems]:
        if self._store is None:
            return step.function(*inputs)
        key = fingerprint(step.name, step.version, _where(step.function), *inputs)
        kept = self._store.get(key)
        if kept is None:
            kept = step.function(*inputs)
            self._store.put(key, kept)
        return kept


def _where(function: Callable[..., Any]) -> str:
    return f"{function.__module__}.{function.__qualname__}"


@dataclass(frozen=True, slots=True)
class Made:
    """A pack that was written and checked."""

    folder: Path
    plan: Plan
    files: tuple[str, ...]


def _refused(code: str, message: str, mend: str, source: Source | None = None) -> Refused:
    return Refused((Problem(code, Severity.ERROR, message, mend, source),))


def read_file(path: Path, what: str) -> bytes:
    """A named file's bytes. Raises Refused if it is not there or no file."""
    try:
        return path.read_bytes()
    except (FileNotFoundError, IsADirectoryError, NotADirectoryError) as error:
        near = _like(path)
        mend = f"Did you mean {near}?" if near else "Check the name and the folder."
        said = f"there is no {what} {path}"
        raise _refused(f"no-{what}", said, mend, Source(path.name)) from error


def _like(path: Path) -> str:
    import difflib

    try:
        names = [entry.name for entry in path.parent.iterdir()]
    except OSError:
        return ""
    close = difflib.get_close_matches(path.name, names, n=1)
    return close[0] if close else ""


_DRAWINGS = frozenset({".svg", ".svgz", ".dxf", ".pdf"})


def read_job(path: Path) -> tuple[Job, bytes, Problems]:
    """The job in a file, its bytes, and what is to be said of it. Raises Refused on an error."""
    from templater.job import load_job
    from templater.stoning.styles import STYLES

    data = read_file(path, "job")
    if path.suffix.casefold() in _DRAWINGS:
        raise _refused(
            "drawing-for-job",
            "this is a drawing, not a job",
            f'Write a job for it with: templater start "{path}", then make that.',
            Source(path.name),
        )
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise _refused(
            "job-not-text",
            f"the job {path.name} is not UTF-8 text",
            "Save it as plain text in UTF-8, or write one with: templater start DRAWING",
            Source(path.name),
        ) from error
    job, problems = load_job(text, path.name, {n: style.parameters for n, style in STYLES.items()})
    if job is None:
        raise Refused(problems)
    return job, data, problems


def pack_folder(job_path: Path) -> Path:
    """Where a job's pack goes if nobody says otherwise: `<stem>-pack` beside the job."""
    return job_path.parent / f"{job_path.stem}-pack"


def make(
    job_path: Path,
    folder: Path | None = None,
    *,
    store: Store | None = None,
    watch: Watch | None = None,
) -> Made:
    """A job's whole pack, written, read back, checked, and only then put in place.

    Raises Refused if anything is wrong with the job or the drawing, OSError for disk or rights.
    """
    from templater.checks import check
    from templater.lettering import using_font
    from templater.readback import read_pack
    from templater.writing import lettering_problems, write_pack
    from templater.writing.swap import PackFolder

    session = Session(store, watch)
    target = folder or pack_folder(job_path)
    with PackFolder(target) as temporary, ExitStack() as during:
        session.expect("reading", 2)
        job, data, problems = read_job(job_path)
        session.job_is(data.decode("utf-8-sig"), job_path.name)
        session.note(problems)
        font = None if job.templates.font is None else job_path.parent / job.templates.font
        letters = () if font is None else (read_file(font, "font"),)
        session.note(during.enter_context(using_font(font)))
        paper = _paper(job, job_path.name)
        drawing = read_file(job_path.parent / job.drawing, "drawing")
        edited = _edited(job, job_path, target)
        job_hash = fingerprint(data, drawing, edited, *letters)
        plan = make_plan(
            session, drawing, Path(job.drawing).name, job, job_hash, edited, _kept_lays(target)
        )
        session.note(lettering_problems(plan))
        plan = replace(plan, problems=session.problems)
        files = write_pack(plan, temporary, **paper, watch=session.writing)
        session.run(Step("checking", 1, _found(check)), plan, read_pack(temporary))
    return Made(target, plan, files)


def _kept_lays(pack: Path) -> tuple[KeptLay, ...]:
    """The lays that an earlier run looked long for."""
    from templater.model.lays import LAYS_FILE, load_lays

    path = pack / LAYS_FILE
    return load_lays(path.read_bytes()) if path.is_file() else ()


def _edited(job: Job, job_path: Path, pack: Path) -> tuple[bytes, str] | None:
    """The setting that `[setting]` names, or that of the pack as it stands for locked zones."""
    if job.setting.use is not None:
        path = job_path.parent / job.setting.use
        return read_file(path, "setting"), path.name
    if job.setting.locked:
        path = pack / SETTING_FILE
        return read_file(path, "setting"), path.name
    return None


def _found(check: Callable[..., Problems]) -> Callable[..., tuple[None, Problems]]:
    return lambda plan, facts: (None, check(plan, facts))


def _paper(job: Job, file: str) -> dict[str, Any]:
    """What the printed tiles need to know of the paper. Raises Refused for an unknown one."""
    from templater.catalogue.papers import find_paper, paper_names

    paper = job.templates.paper
    size = find_paper(paper.size) if isinstance(paper.size, str) else paper.size
    if size is None:
        raise _refused(
            "unknown-paper",
            f'there is no paper "{paper.size}"',
            f"Known are: {', '.join(paper_names())}; or write [width, height] in mm.",
            Source(file, element="templates.paper.size"),
        )
    return {
        "paper_mm": size,
        "margin_mm": paper.margin,
        "overlap_mm": paper.overlap,
        "calibrate": paper.calibrate,
        "roll_margin_mm": paper.roll.margin if paper.roll else 0.0,
    }


def check_pack(folder: Path, *, watch: Watch | None = None) -> tuple[Plan, Problems]:
    """What the checks find in a made pack; of one whose setting was edited, what is wrong with that.

    Raises Refused if the folder holds no pack.
    """
    from templater.checks import check, check_stones
    from templater.readback import load_plan, read_pack
    from templater.writing.setting_svg import setting_svg
    from templater.writing.swap import recover

    recover(folder.resolve())
    if not (folder / PLAN_FILE).is_file():
        raise _refused(
            "no-pack",
            f"there is no pack in {folder}: it has no {PLAN_FILE}",
            "Name the folder that make wrote, such as front-pack.",
        )
    Session(watch=watch).expect("reading and checking", 0)
    plan = load_plan(folder)
    path = folder / SETTING_FILE
    edited = path.read_bytes() if path.exists() else b""
    if edited in (b"", setting_svg(plan)):
        return plan, check(plan, read_pack(folder))
    changed, problems = plan_with_setting(plan, edited, SETTING_FILE)
    return changed, (*problems, *check_stones(changed), _edited_note(plan, changed))


def _edited_note(plan: Plan, changed: Plan) -> Problem:
    before, after = len(plan.stones), len(changed.stones)
    return Problem(
        "setting-edited",
        Severity.NOTE,
        f"{SETTING_FILE} was edited: it has {after} stones"
        + (f" instead of {before}" if after != before else ", as many as before"),
        f'To make the pack from it, copy it beside the job and write use = "{SETTING_FILE}" under [setting].',
        Source(SETTING_FILE),
    )


_OF_A_JOB = frozenset({"no-stoning"})
"""What the ground finds of a job; a survey has none."""


def survey_drawing(path: Path, picture: Path | None = None) -> Survey:
    """What a drawing holds, with every problem; errors do not stop it.

    With `picture`, the same as a picture too, SVG or PNG by the file's ending. Raises Refused if a
    file of that name is there that is none of our survey pictures.
    """
    from templater.ground import build_ground
    from templater.ground.survey import survey
    from templater.job.schema import Job
    from templater.reading import read_drawing

    drawing = read_drawing(read_file(path, "drawing"), path.name)
    ground, problems = build_ground(drawing, Job(drawing=path.name))
    if has_errors(drawing.problems) and not drawing.layers:
        problems = ()  # It could not be read: what it lacks is not to be told of it.
    problems = tuple(problem for problem in problems if problem.code not in _OF_A_JOB)
    found = survey(drawing, ground, (*drawing.problems, *problems))
    if picture is not None:
        from templater.ground.survey_sheet import survey_sheet

        _write_picture(survey_sheet(drawing, found), picture)
    return found


def _write_picture(sheet: Sheet, path: Path) -> None:
    """The sheet as a file, whole or not at all; only a survey picture is ever replaced."""
    from templater.ground.survey_sheet import TITLE
    from templater.writing import sheet_png, svg_bytes

    if path.exists() and (path.is_dir() or TITLE.encode() not in path.read_bytes()[:4096]):
        raise _refused(
            "picture-exists",
            f"there is a file {path} already, and it is no survey picture",
            "Name another after --picture, or move it away.",
            Source(path.name),
        )
    data = sheet_png(sheet) if path.suffix.casefold() == ".png" else svg_bytes(sheet)
    beside = path.with_name(f".{path.name}.part")
    try:
        beside.write_bytes(data)
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


def start_job(path: Path, job_path: Path) -> tuple[str, Survey]:
    """The text of a job file for a drawing, and what was found. Raises Refused if it cannot serve.

    A drawing whose layers have no roles yet serves if there is something to propose for them.
    """
    from templater.ground.start import start_text
    from templater.stoning.styles import STYLES

    found = survey_drawing(path)
    to_be_named = {"no-zones"} if found.proposals else set()
    if has_errors(problem for problem in found.problems if problem.code not in to_be_named):
        raise Refused(found.problems)
    import os

    drawing = os.path.relpath(path, job_path.parent)
    return start_text(found, drawing, tuple(STYLES)), found
