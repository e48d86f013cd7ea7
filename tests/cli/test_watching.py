"""Long work says how far it is where no terminal shows it; short work says nothing."""

import re
import time

from templater.cli.watching import EVERY_S, BarWatch


def work(watch, seconds):
    watch.stage("writing", 191)
    for _ in range(45):
        watch.advance()
    time.sleep(seconds)
    watch.close()


def test_long_work_says_every_while_how_far_it_is(capsys):
    work(BarWatch(every_s=0.1), 0.35)
    said = capsys.readouterr().err.splitlines()
    assert 2 <= len(said) <= 4
    assert all(re.fullmatch(r"writing 45 of 191, \d+ s so far …", line) for line in said)


def test_short_work_says_nothing(capsys):
    work(BarWatch(every_s=0.5), 0.05)
    time.sleep(0.6)  # nothing comes after the end either
    assert capsys.readouterr() == ("", "")


def test_half_a_minute_is_not_silent():
    assert 10.0 <= EVERY_S <= 30.0


def test_on_a_terminal_there_is_one_line_that_changes(capsys, monkeypatch):
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    work(BarWatch(every_s=0.05), 0.2)
    said = capsys.readouterr().err
    assert "\n" not in said
    assert "writing 45 of 191 …" in said
    assert said.endswith("\r\x1b[K")
