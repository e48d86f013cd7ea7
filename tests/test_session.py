"""Steps are pure: a kept result is used again, an error stops the run, problems are gathered."""

import pytest

from templater.model.problems import Problem, Refused, Severity
from templater.pipeline import Step
from templater.session import MemoryStore, Session


class Recorder:
    def __init__(self):
        self.told = []

    def stage(self, name, total):
        self.told.append((name, total))

    def advance(self):
        self.told.append("step")


def counted(calls, problems=()):
    def add(a, b):
        calls.append((a, b))
        return a + b, problems

    return add


def test_a_kept_result_is_used_again_with_its_problems():
    calls, store = [], MemoryStore()
    note = Problem("said", Severity.NOTE, "a note")
    step = Step("adding", 1, counted(calls, (note,)))
    first, second = Session(store), Session(store)
    assert [first.run(step, 1, 2), second.run(step, 1, 2), second.run(step, 1, 3)] == [3, 3, 4]
    assert calls == [(1, 2), (1, 3)]
    assert second.problems == (note, note)


def test_another_version_of_a_step_is_another_step():
    calls, session = [], Session(MemoryStore())
    for version in (1, 2, 2):
        session.run(Step("adding", version, counted(calls)), 1, 2)
    assert len(calls) == 2


def test_without_a_store_every_step_runs():
    calls = []
    for _ in range(2):
        Session().run(Step("adding", 1, counted(calls)), 1, 2)
    assert len(calls) == 2


def test_an_error_stops_the_run_with_all_that_was_found_so_far():
    note = Problem("said", Severity.NOTE, "a note")
    error = Problem("broken", Severity.ERROR, "it is broken", "mend it")
    session = Session()
    session.run(Step("one", 1, counted([], (note,))), 1, 2)
    with pytest.raises(Refused) as refused:
        session.run(Step("two", 1, counted([], (error,))), 1, 2)
    assert refused.value.problems == (note, error)


def test_the_watch_is_told_the_stage_and_every_step():
    watch = Recorder()
    session = Session(watch=watch)
    session.expect("adding", 2)
    session.run(Step("adding", 1, counted([])), 1, 2)
    session.run(Step("adding", 1, counted([])), 3, 4)
    session.run(Step("more", 1, counted([])), 5, 6)
    assert watch.told == [("adding", 2), "step", "step", ("more", 1), "step"]


def test_a_watch_may_cancel():
    class Cancelling(Recorder):
        def advance(self):
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        Session(watch=Cancelling()).run(Step("adding", 1, counted([])), 1, 2)
