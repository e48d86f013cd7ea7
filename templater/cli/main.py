"""The `templater` command: the only place that reads argv, prints and sets exit codes.

Exit codes: 0 made; 1 something wrong with a named file or what is in it; 2 the command line;
70 a defect of ours; 74 disk or rights; 130 interrupted.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path

import click

from templater import __version__

WRONG = 1
COMMAND_LINE = 2
DEFECT = 70
DISK = 74
INTERRUPTED = 130

_OBJECTS_BETWEEN_SWEEPS = 50_000

_FILE = click.Path(path_type=Path)


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(__version__, message="templater %(version)s")
def templater() -> None:
    """From one drawing of a costume piece to everything that is cut, set and bought.

    Draw coloured zones on a pattern piece, name the layers, then:

    \b
      templater survey front.svg       what the drawing holds, and what is wrong with it
      templater start front.svg        a job file for it, every choice commented
      templater make front.toml        the whole pack

    Or see it all at once: templater demo
    """  # noqa: D301 - click knows its mark for kept lines as the character, not as two


@templater.command()
@click.argument("folder", type=_FILE, default=Path("templater-demo"), metavar="[DIR]")
def demo(folder: Path) -> None:
    """Write the sample job into DIR (default: templater-demo) and make it."""
    from templater.cli.making import make_and_tell
    from templater.demo import write_demo

    job = write_demo(folder)
    click.echo(f"The sample job is {job}; its drawing lies beside it.")
    make_and_tell(job, None)


@templater.command()
@click.argument("drawing", type=_FILE)
@click.option("--json", "as_json", is_flag=True, help="For other programs.")
@click.option(
    "--picture",
    type=_FILE,
    metavar="FILE",
    help="Draw it as well, everything named and the problems circled: an .svg or .png file.",
)
def survey(drawing: Path, as_json: bool, picture: Path | None) -> None:
    """Say what DRAWING holds, in mm, by piece and zone; every problem, and where."""
    from templater.cli.surveying import survey_and_tell

    if picture is not None and picture.suffix.casefold() not in {".svg", ".png"}:
        raise click.BadParameter(
            f"{picture.name}: a picture is an .svg or a .png file.", param_hint="--picture"
        )
    sys.exit(survey_and_tell(drawing, as_json=as_json, picture=picture))


@templater.command()
@click.argument("drawing", type=_FILE)
@click.option(
    "-o", "--output", "job", type=_FILE, help="The job file. Default: beside the drawing."
)
def start(drawing: Path, job: Path | None) -> None:
    """Write a job file for DRAWING, every choice commented."""
    from templater.cli.starting import start_and_tell

    start_and_tell(drawing, job or drawing.with_suffix(".toml"))


@templater.command()
@click.argument("job", type=_FILE)
@click.option(
    "-o", "--output", "folder", type=_FILE, metavar="DIR", help="Default: JOB-pack beside JOB."
)
def make(job: Path, folder: Path | None) -> None:
    """Make the whole pack of JOB: cut files, stencils, layouts, prints, numbers, pictures."""
    from templater.cli.making import make_and_tell

    make_and_tell(job, folder)


@templater.command()
@click.argument("folder", type=_FILE, metavar="DIR")
def check(folder: Path) -> None:
    """Verify a made pack again, or one whose setting was edited by hand."""
    from templater.cli.checking import check_and_tell

    sys.exit(check_and_tell(folder))


@templater.command()
def sizes() -> None:
    """List the stone sizes it knows, with their sources."""
    from templater.cli.sizing import tell_sizes

    tell_sizes()


def main() -> None:
    """Runs the command and exits with the code that says how it went."""
    import gc

    # A job is millions of small values that stay to the end: looking through them for garbage as
    # often as Python does by itself takes a fifth of the time of reading a large pack back.
    gc.set_threshold(_OBJECTS_BETWEEN_SWEEPS, 20, 100)
    sys.exit(run(sys.argv[1:]))


def run(arguments: list[str]) -> int:
    from templater.model.problems import Refused

    try:
        templater.main(arguments, prog_name="templater", standalone_mode=False)
    except SystemExit as stop:
        return stop.code if isinstance(stop.code, int) else WRONG
    except click.exceptions.Exit as stop:
        return stop.exit_code
    except click.UsageError as error:
        error.show()
        return COMMAND_LINE
    except (click.Abort, KeyboardInterrupt):
        return _interrupted()
    except Refused as refused:
        from templater.cli.telling import tell_problems

        tell_problems(refused.problems)
        if arguments[:1] in (["make"], ["demo"], ["start"]):
            click.echo("Nothing was written.", err=True)
        return WRONG
    except OSError as error:
        named = f"{error.filename}: " if error.filename else ""
        click.echo(f"error: {named}{error.strerror or error}", err=True)
        if arguments[:1] in (["make"], ["start"]):
            click.echo("Nothing was written.", err=True)
        return DISK
    except Exception as error:  # noqa: BLE001 - the last line: whatever is left is a defect of ours
        return _interrupted() if _by_interrupt(error) else _defect(error)
    return 0


def _interrupted() -> int:
    click.echo("Interrupted; nothing was left behind.", err=True)
    return INTERRUPTED


def _by_interrupt(error: BaseException | None) -> bool:
    """Whether an interrupt lies behind an error: some libraries tell it as a fault of their own."""
    while error is not None:
        if isinstance(error, KeyboardInterrupt):
            return True
        error = error.__cause__ or error.__context__
    return False


def _defect(error: Exception) -> int:
    """A fault of the program itself: say so, and keep what is needed to find it."""
    if os.environ.get("TEMPLATER_TRACE"):
        import traceback

        traceback.print_exc()
    click.echo(
        f"This is a fault of templater itself ({type(error).__name__}: {error}).\n"
        "Nothing was left half-written. Please report it with the job and the drawing;\n"
        "run again with TEMPLATER_TRACE=1 for the details.",
        err=True,
    )
    return DEFECT
