"""A pack is written whole or not at all, and nothing of the maker's is ever lost."""

import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from templater.model.problems import Refused
from templater.writing.ours import MANIFEST
from templater.writing.swap import PackFolder, recover

PLAN = json.dumps(
    {"version": 1, "job_hash": "x", "rules": {}, "sheets": [{"name": "stencils/a"}, 3, {"x": 1}]}
)


def fill(folder: Path, word: str, *more: str) -> None:
    (folder / "plan.json").write_text(PLAN)
    (folder / "stones.csv").write_text(word)
    (folder / "stencils").mkdir()
    (folder / "stencils" / "a.svg").write_text(word)
    for name in more:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(word)


def make(target: Path, word: str, *more: str) -> PackFolder:
    pack = PackFolder(target)
    with pack as folder:
        fill(folder, word, *more)
    return pack


def texts(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): path.read_text()
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.name != MANIFEST
    }


def leftovers(target: Path) -> list[str]:
    return sorted(path.name for path in target.parent.iterdir() if path.name != target.name)


def test_a_new_pack_appears_with_its_list_of_files(tmp_path):
    target = tmp_path / "deep" / "pack"
    make(target, "one")
    assert texts(target) == {"plan.json": PLAN, "stones.csv": "one", "stencils/a.svg": "one"}
    listed = [
        line for line in (target / MANIFEST).read_text().splitlines() if not line.startswith("#")
    ]
    assert listed == ["plan.json", "stencils/a.svg", "stones.csv"]
    assert leftovers(target) == []


def test_made_again_what_was_ours_goes_and_what_is_the_makers_stays(tmp_path):
    target = tmp_path / "pack"
    make(target, "one", "book.html")
    (target / "notes.txt").write_text("mine")
    (target / "stencils" / "photo.jpg").write_text("mine too")
    (target / "empty").mkdir()
    pack = make(target, "two")
    assert pack.kept == ()
    assert texts(target) == {
        "plan.json": PLAN,
        "stones.csv": "two",
        "stencils/a.svg": "two",
        "notes.txt": "mine",
        "stencils/photo.jpg": "mine too",
    }
    assert (target / "empty").is_dir()
    assert leftovers(target) == []
    make(target, "three")
    assert texts(target)["notes.txt"] == "mine"


def test_a_file_of_the_makers_whose_name_we_now_need_is_kept_beside(tmp_path):
    target = tmp_path / "pack"
    make(target, "one")
    (target / "book.html").write_text("mine")
    (target / "print").write_text("a file where a folder comes")
    pack = make(target, "two", "book.html", "print/a.pdf")
    assert pack.kept == (("book.html", "book (yours).html"), ("print", "print (yours)"))
    assert texts(target)["book (yours).html"] == "mine"
    assert texts(target)["print (yours)"] == "a file where a folder comes"
    assert texts(target)["book.html"] == "two"


def test_a_folder_of_the_makers_where_we_now_need_a_file_is_kept_beside(tmp_path):
    target = tmp_path / "pack"
    make(target, "one")
    (target / "preview.png").mkdir()
    (target / "preview.png" / "x.txt").write_text("mine")
    make(target, "two", "preview.png")
    assert texts(target)["preview.png"] == "two"
    assert "mine" in texts(target).values()


@pytest.mark.parametrize(
    "content",
    [
        {"notes.txt": "mine"},
        {"plan.json": "{}"},
        {"plan.json": "[1, 2"},
        {"plan.json": '{"version": 3}', "x": ""},
    ],
)
def test_a_folder_that_is_not_ours_is_never_replaced(tmp_path, content):
    target = tmp_path / "theirs"
    target.mkdir()
    for name, text in content.items():
        (target / name).write_text(text)
    with pytest.raises(Refused) as refused, PackFolder(target):
        pytest.fail("it was entered")
    (problem,) = refused.value.problems
    assert problem.code == "not-our-folder"
    assert "theirs" in problem.message
    assert problem.mend
    assert texts(target) == content
    assert leftovers(target) == []


def test_a_file_of_that_name_is_never_replaced(tmp_path):
    target = tmp_path / "pack"
    target.write_text("mine")
    with pytest.raises(Refused, match="is a file"), PackFolder(target):
        pytest.fail("it was entered")
    assert target.read_text() == "mine"


def test_an_empty_folder_may_be_filled(tmp_path):
    target = tmp_path / "pack"
    target.mkdir()
    make(target, "one")
    assert texts(target)["stones.csv"] == "one"


def test_a_link_to_a_pack_is_followed_not_replaced(tmp_path):
    real, link = tmp_path / "real", tmp_path / "link"
    make(real, "one")
    link.symlink_to(real, target_is_directory=True)
    make(link, "two")
    assert link.is_symlink()
    assert texts(real)["stones.csv"] == "two"


def test_links_in_a_pack_are_carried_over_as_links(tmp_path):
    target, outside = tmp_path / "pack", tmp_path / "outside"
    outside.mkdir()
    (outside / "big.txt").write_text("far")
    make(target, "one")
    (target / "link.txt").symlink_to(outside / "big.txt")
    (target / "folder").symlink_to(outside, target_is_directory=True)
    make(target, "two")
    assert (target / "link.txt").is_symlink()
    assert (target / "folder").is_symlink()
    assert (outside / "big.txt").read_text() == "far"


@pytest.mark.parametrize("error", [RuntimeError, KeyboardInterrupt, SystemExit])
@pytest.mark.parametrize("before", [True, False])
def test_an_exception_leaves_everything_as_it_was(tmp_path, error, before):
    target = tmp_path / "pack"
    if before:
        make(target, "one")

    def broken_run():
        with PackFolder(target) as folder:
            fill(folder, "half")
            raise error

    with pytest.raises(error):
        broken_run()
    assert leftovers(target) == []
    if before:
        assert texts(target)["stones.csv"] == "one"
    else:
        assert not target.exists()


def test_folders_made_on_the_way_to_a_pack_that_failed_are_gone_too(tmp_path):
    def broken_run():
        with PackFolder(tmp_path / "a" / "b" / "pack"):
            raise RuntimeError

    with pytest.raises(RuntimeError):
        broken_run()
    assert list(tmp_path.iterdir()) == []


def test_a_pack_copied_without_its_hidden_list_is_known_by_its_plan(tmp_path):
    target = tmp_path / "pack"
    make(target, "one", "stencils/a-r12.dxf", "print/stencils.pdf")
    (target / MANIFEST).unlink()
    (target / "mine.txt").write_text("mine")
    (target / "print" / "mine.pdf").write_text("mine")
    pack = make(target, "two")
    assert pack.kept == ()
    assert texts(target) == {
        "plan.json": PLAN,
        "stones.csv": "two",
        "stencils/a.svg": "two",
        "mine.txt": "mine",
        "print/mine.pdf": "mine",
    }


def test_a_pack_whose_plan_was_spoilt_is_still_ours(tmp_path):
    target = tmp_path / "pack"
    make(target, "one")
    (target / "plan.json").write_text('{"version": 1, "job_h')
    make(target, "two")
    assert texts(target)["plan.json"] == PLAN


class Killed(BaseException):
    """The process is gone: no clean-up runs."""


STEPS = range(12)


def cut_off(monkeypatch, target, step, *, after):
    """Make a pack, but die at the `step`th change of the disk in the swap. False: it had fewer."""
    count = 0

    def dying(real):
        def instead(*args, **kwargs):
            nonlocal count
            count += 1
            if count == step + 1:
                if after:
                    real(*args, **kwargs)
                raise Killed
            if count > step + 1:
                raise Killed
            return real(*args, **kwargs)

        return instead

    with monkeypatch.context() as patch:
        pack = PackFolder(target)
        folder = pack.__enter__()
        fill(folder, "new", "print/x.pdf")
        patch.setattr(Path, "rename", dying(Path.rename))
        patch.setattr(Path, "mkdir", dying(Path.mkdir))
        patch.setattr(Path, "write_text", dying(Path.write_text))
        patch.setattr(os, "link", dying(os.link))
        patch.setattr(os, "unlink", dying(os.unlink))
        patch.setattr(os, "rmdir", dying(os.rmdir))
        try:
            pack.__exit__(None, None, None)
        except Killed:
            pack._lock.release()  # as the system does
            return True
        except FileNotFoundError:
            pack._lock.release()
            return True
    return False


@pytest.mark.parametrize("after", [False, True])
@pytest.mark.parametrize("step", STEPS)
def test_cut_off_at_any_step_the_next_command_finishes_or_reverts(
    monkeypatch, tmp_path, step, after
):
    target = tmp_path / "pack"
    make(target, "old", "only-old.csv")
    (target / "notes.txt").write_text("mine")
    (target / "sub").mkdir()
    (target / "sub" / "mine.txt").write_text("mine")
    cut_off(monkeypatch, target, step, after=after)
    recover(target)
    assert leftovers(target) == []
    found = texts(target)
    assert found.pop("notes.txt") == "mine"
    assert found.pop("sub/mine.txt") == "mine"
    old = {
        "plan.json": PLAN,
        "stones.csv": "old",
        "stencils/a.svg": "old",
        "only-old.csv": "old",
    }
    new = {
        "plan.json": PLAN,
        "stones.csv": "new",
        "stencils/a.svg": "new",
        "print/x.pdf": "new",
    }
    assert found in (old, new)
    make(target, "again")
    assert texts(target)["stones.csv"] == "again"
    assert texts(target)["notes.txt"] == "mine"


def test_the_steps_cut_off_above_reach_from_before_the_swap_to_after_it(monkeypatch, tmp_path):
    target = tmp_path / "pack"
    seen = set()
    for step in STEPS:
        make(target, "old")
        died = cut_off(monkeypatch, target, step, after=False)
        recover(target)
        seen.add((died, texts(target)["stones.csv"]))
    assert {(True, "old"), (True, "new")} <= seen


@pytest.mark.parametrize("step", STEPS)
def test_a_first_pack_cut_off_is_not_there_at_all(monkeypatch, tmp_path, step):
    target = tmp_path / "pack"
    died = cut_off(monkeypatch, target, step, after=False)
    recover(target)
    assert leftovers(target) == []
    assert target.exists() != died or texts(target)["stones.csv"] == "new"


SLEEPER = """
import signal, sys, time
# Where the tests run in the background, children are born deaf to an interrupt.
signal.signal(signal.SIGINT, signal.default_int_handler)
from pathlib import Path
from templater.writing.swap import PackFolder
with PackFolder(Path(sys.argv[1])) as folder:
    (folder / "plan.json").write_text("{}")
    print("in", flush=True)
    time.sleep(60)
"""


def test_killed_for_good_while_writing_leaves_the_old_pack_and_no_trace_after_the_next(tmp_path):
    target = tmp_path / "pack"
    make(target, "one")
    with subprocess.Popen(
        [sys.executable, "-c", SLEEPER, str(target)], stdout=subprocess.PIPE, text=True
    ) as other:
        assert other.stdout.readline() == "in\n"
        with pytest.raises(Refused) as refused, PackFolder(target):
            pytest.fail("two runs at once")
        assert refused.value.problems[0].code == "pack-in-use"
        other.kill()
    assert texts(target)["stones.csv"] == "one"
    assert leftovers(target) == [".pack.new"]
    recover(target)
    assert leftovers(target) == []


def test_interrupted_by_the_maker_leaves_everything_as_it_was(tmp_path):
    target = tmp_path / "pack"
    make(target, "one")
    with subprocess.Popen(
        [sys.executable, "-c", SLEEPER, str(target)],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
    ) as other:
        assert other.stdout.readline() == "in\n"
        other.send_signal(signal.SIGINT)
        assert other.wait(30) != 0
    assert texts(target)["stones.csv"] == "one"
    assert leftovers(target) == []


def test_a_file_that_came_in_while_the_pack_was_replaced_is_rescued(tmp_path):
    target = tmp_path / "pack"
    make(target, "one")
    old = tmp_path / ".pack.old"
    make(old, "older", "only-old.csv")
    (old / "late.txt").write_text("mine")
    recover(target)
    assert texts(target)["late.txt"] == "mine"
    assert texts(target)["stones.csv"] == "one"
    assert "only-old.csv" not in texts(target)
    assert leftovers(target) == []
