"""Recolouring: one stone of the assortment for another of the same size, none moved."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from templater.job.locate import in_job
from templater.model.problems import Problem, Problems, Severity
from templater.model.stones import Setting, Stone


def substitute(
    settings: Sequence[Setting], substitutes: Mapping[str, str]
) -> tuple[tuple[Setting, ...], Problems]:
    """The settings with each stone named on the left of `[substitute]` as that on the right.

    A substitute of another size is an error: it would not fit its place. One of a stone that
    nobody sets is a note.
    """
    wanted = {_plain(old): (old, _plain(new)) for old, new in substitutes.items()}
    problems: list[Problem] = []
    exchange: dict[tuple[str, str, str], tuple[str, str]] = {}
    used: set[str] = set()
    for stone in (stone for setting in settings for stone in setting.stones):
        key = (stone.size, stone.colour, stone.finish)
        name = _plain(" ".join(key))
        if name not in wanted or name in used:
            continue
        used.add(name)
        old, new = wanted[name]
        size, (*colour, finish) = (
            _plain(stone.size),
            new.removeprefix(_plain(stone.size)).split() or [""],
        )
        if not new.startswith(f"{size} ") or not colour:
            problems.append(_of_another_size(old, substitutes[old], stone.size))
        else:
            exchange[key] = (" ".join(colour), finish)
    problems.extend(
        Problem(
            "substitute-not-used",
            Severity.NOTE,
            f'this job does not set "{old}"',
            "",
            in_job("substitute", old),
        )
        for name, (old, _) in wanted.items()
        if name not in used
    )
    return tuple(_recoloured(setting, exchange) for setting in settings), tuple(problems)


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())


def _recoloured(
    setting: Setting, exchange: Mapping[tuple[str, str, str], tuple[str, str]]
) -> Setting:
    def of(stone: Stone) -> Stone:
        new = exchange.get((stone.size, stone.colour, stone.finish))
        return stone if new is None else stone._replace(colour=new[0], finish=new[1])

    return replace(setting, stones=tuple(of(stone) for stone in setting.stones))


def _of_another_size(old: str, new: str, size: str) -> Problem:
    return Problem(
        "substitute-size",
        Severity.ERROR,
        f'"{new}" cannot stand for "{old}": a substitute is {size}, a colour and a finish',
        f'Write it as "{size} COLOUR FINISH"; to change the size, change the stoning.',
        in_job("substitute", old),
    )
