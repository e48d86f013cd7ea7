"""`templater --help` against `python -c pass`: a ratio in one run."""

import statistics
import subprocess
import sys
import time

LIMIT = 6.0
RUNS = 9


def seconds(command):
    start = time.perf_counter()
    subprocess.run(command, check=True, capture_output=True)
    return time.perf_counter() - start


def test_help_starts_in_under_six_times_an_empty_python():
    empty, helping = [sys.executable, "-c", "pass"], [sys.executable, "-m", "templater", "--help"]
    seconds(helping)
    ratios = [seconds(helping) / seconds(empty) for _ in range(RUNS)]
    print(f"\n--help / python -c pass: median {statistics.median(ratios):.2f}, limit {LIMIT}")
    assert statistics.median(ratios) < LIMIT
