"""Ctrl-C leaves nothing behind, and says so."""

import signal
import subprocess
import sys
import time
from pathlib import Path

import templater as package

DEMO = Path(package.__file__).parent / "demo"

# Where tests run in the background, children are born deaf to an interrupt.
HEARING = (
    "import signal; signal.signal(signal.SIGINT, signal.default_int_handler)\n"
    "from templater.cli.main import main; main()"
)


def test_an_interrupted_make_is_exit_code_130_and_leaves_nothing(tmp_path):
    for name in ("kelp-front.svg", "kelp-leotard.toml"):
        (tmp_path / name).write_bytes((DEMO / name).read_bytes())
    before = sorted(path.name for path in tmp_path.iterdir())
    command = [sys.executable, "-c", HEARING, "make", str(tmp_path / "kelp-leotard.toml")]
    with subprocess.Popen(command, stderr=subprocess.PIPE, text=True) as making:
        # Once the temporary folder is there, the work has begun.
        for _ in range(600):
            if any(path.name.startswith(".") for path in tmp_path.iterdir()):
                break
            time.sleep(0.05)
        else:
            raise AssertionError("the work did not begin")
        time.sleep(1.0)
        making.send_signal(signal.SIGINT)
        _, said = making.communicate(timeout=60)
    assert making.returncode == 130
    assert "Interrupted" in said
    assert sorted(path.name for path in tmp_path.iterdir()) == before


def test_an_interrupt_that_a_library_tells_as_its_own_fault_is_still_one(monkeypatch):
    """Compilers and C libraries wrap what they are interrupted by."""
    from templater.cli import main as cli

    def interrupted(*_, **__):
        raise SystemError("returned a result with an exception set") from KeyboardInterrupt()

    monkeypatch.setattr(cli.templater, "main", interrupted)
    assert cli.run(["make", "a.toml"]) == cli.INTERRUPTED

    def broken(*_, **__):
        raise SystemError("something else")

    monkeypatch.setattr(cli.templater, "main", broken)
    assert cli.run(["make", "a.toml"]) == cli.DEFECT
