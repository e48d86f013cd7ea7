"""The demo, made once by the command itself, for every test that looks at a pack."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

COMMAND = [sys.executable, "-m", "templater"]
BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")


def run_templater(*arguments: str | Path, hash_seed: str = "0", cwd: Path | None = None):
    """The command as a user runs it, in a process of its own."""
    return subprocess.run(
        [*COMMAND, *(str(argument) for argument in arguments)],
        capture_output=True,
        text=True,
        cwd=cwd,
        env={**os.environ, "PYTHONHASHSEED": hash_seed},
        check=False,
    )


@pytest.fixture(scope="session")
def templater():
    return run_templater


@pytest.fixture(scope="session")
def demo(tmp_path_factory):
    """The folder of the demo's job, what the command said, and the pack."""
    folder = tmp_path_factory.mktemp("demo")
    told = run_templater("demo", "work", cwd=folder)
    assert told.returncode == 0, told.stderr
    return folder / "work", told, folder / "work" / "kelp-leotard-pack"


@pytest.fixture(scope="session")
def demo_pack(demo) -> Path:
    return demo[2]


@pytest.fixture
def no_fonts(monkeypatch):
    """A machine without any font but the one that is shipped."""
    from templater.lettering import fallback, shaping

    def forget():
        fallback._face_for.cache_clear()
        shaping._shape.cache_clear()

    forget()
    monkeypatch.setattr(fallback, "system_faces", tuple)
    monkeypatch.setattr(fallback, "_everywhere", tuple)
    yield
    forget()


@pytest.fixture(scope="session")
def browser():
    """A real browser, where there is one: one for all tests, since two cannot be driven at once."""
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    path = next((found for name in BROWSERS if (found := shutil.which(name))), None)
    if path is None:
        pytest.skip("there is no Chromium on this machine")
    with sync_api.sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield started
        started.close()
