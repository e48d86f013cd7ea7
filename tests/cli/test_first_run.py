"""The first run on a machine compiles its tight loops, says so and records it; the next does not."""

import os
import re
import subprocess
import sys
import time

import pytest

from templater.geometry.kernels.first_run import RECORD

DRAWING = """<svg xmlns="http://www.w3.org/2000/svg" width="70mm" height="40mm" viewBox="0 0 70 40">
<g data-name="zone frond"><path d="M5 5H35V35H5Z"/></g>
<g data-name="zone tip"><path d="M40 5H65V35H40Z"/></g>
</svg>"""
JOB = """
drawing = "kelp.svg"
[stoning.frond]
fill = { style = "sprinkled" }
[stoning.tip]
fill = { style = "staggered" }
"""


def made_on_a_terminal(folder, cache):
    """What `make` says on a terminal and how long it takes, its compiled code kept in `cache`."""
    pty = pytest.importorskip("pty", reason="a terminal of our own takes a Unix machine")
    ours, theirs = pty.openpty()
    start = time.monotonic()
    with subprocess.Popen(
        [sys.executable, "-m", "templater", "make", str(folder / "kelp.toml")],
        stdout=subprocess.DEVNULL,
        stderr=theirs,
        env={**os.environ, "NUMBA_CACHE_DIR": str(cache)},
    ) as making:
        os.close(theirs)
        said = b""
        while True:
            try:
                part = os.read(ours, 4096)
            except OSError:  # the other end is closed
                break
            if not part:
                break
            said += part
        assert making.wait(timeout=120) == 0, said.decode()
    os.close(ours)
    return said.decode(), time.monotonic() - start


def test_compiling_is_told_timed_and_kept(tmp_path):
    from templater.geometry.kernels.compiled import COMPILED

    if not COMPILED:
        pytest.skip("numba is not installed: nothing is compiled")
    (tmp_path / "kelp.svg").write_text(DRAWING, "utf-8")
    (tmp_path / "kelp.toml").write_text(JOB, "utf-8")
    cache = tmp_path / "cache"
    first, first_seconds = made_on_a_terminal(tmp_path, cache)
    again, again_seconds = made_on_a_terminal(tmp_path, cache)
    print(f"first run {first_seconds:.1f} s, second {again_seconds:.1f} s")
    assert re.search(r"stones \(compiling once on this machine, seconds\)", first)
    told = re.search(r"the tight loops were compiled for this machine in (\d+\.\d) s", first)
    assert told
    assert 1.0 < float(told[1]) < first_seconds
    assert "compil" not in again
    assert again_seconds * 3.0 <= first_seconds
    assert (cache / RECORD).read_text("utf-8").splitlines() == [told[0]]
