import subprocess
import sys

import pytest

from templater.job.schema import Job
from templater.model.curves import Line, Path
from templater.model.fingerprint import fingerprint
from templater.model.ground import Side


def test_equal_values_have_equal_fingerprints_and_others_do_not():
    values = [
        None, 0, 1, 1.0, True, "1", b"1", (), ((),), (1, 2), (12,), ("1", "2"), ("12",), {"a": 1}, {"b": 1},
        Line((0, 0), (1, 0)), Path((Line((0, 0), (1, 0)),), closed=False),
        Path((Line((0, 0), (1, 0)),), closed=True), Job(drawing="a"), Job(drawing="b"),
    ]  # fmt: skip
    prints = [fingerprint(value) for value in values]
    assert len(set(prints)) == len(prints)
    assert prints == [fingerprint(value) for value in values]


def test_a_word_of_an_enumeration_is_its_text():
    assert fingerprint(Side.LEFT) == fingerprint("left")


def test_it_is_the_same_in_every_process():
    script = "from templater.model.fingerprint import fingerprint; print(fingerprint('a', (1.5, {'k': None})))"
    told = {
        subprocess.run(
            [sys.executable, "-c", script],
            env={"PYTHONHASHSEED": seed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(told) == 1
    assert told.pop().strip() == fingerprint("a", (1.5, {"k": None}))


def test_what_it_does_not_know_it_refuses():
    with pytest.raises(TypeError):
        fingerprint(object())
