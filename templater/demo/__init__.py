"""The sample job: the front of a kelp leotard for an invented ice-show troupe."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

DRAWING = "kelp-front.svg"
JOB = "kelp-leotard.toml"


def write_demo(folder: Path) -> Path:
    """Puts drawing and job into a folder, made if need be, and returns the job's path.

    A file of the same name that was changed there is left as it is.
    """
    folder.mkdir(parents=True, exist_ok=True)
    for name in (DRAWING, JOB):
        target = folder / name
        if not target.exists():
            target.write_bytes(files("templater.demo").joinpath(name).read_bytes())
    return folder / JOB
