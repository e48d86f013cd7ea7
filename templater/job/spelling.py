"""What a job spells amiss: sizes that are none, colours and finishes that nearly are others."""

from __future__ import annotations

import difflib
from collections import Counter
from collections.abc import Iterator
from typing import TYPE_CHECKING

from templater.catalogue.colours import meant_colour
from templater.catalogue.sizes import find_size, nearest_names
from templater.job.locate import in_job
from templater.model.problems import Problem, Problems, Severity

if TYPE_CHECKING:
    from templater.job.schema import Job

_USUAL = "plain"
_ALIKE = 0.75
"""How alike two finishes are, of which one is taken for the other misspelt: plian, plain."""


def unknown_sizes(job: Job) -> Problems:
    """An error for each stone that no size of the catalogue has the name of."""
    return tuple(
        Problem(
            "unknown-size",
            Severity.ERROR,
            f'there is no stone size "{name}"',
            f"Did you mean {', '.join(near)}?" if near else "See `templater sizes`.",
            in_job(*path),
        )
        for path, name in _sizes(job)
        if find_size(name) is None
        for near in (nearest_names(name),)
    )


def _sizes(job: Job) -> Iterator[tuple[tuple[str, ...], str]]:
    """Every size with its place."""
    for name, stoning in job.stoning.items():
        if stoning.outline:
            yield ("stoning", name, "outline", "size"), stoning.outline.size
        if stoning.fill.style != "none":
            for size in stoning.fill.sizes:
                yield ("stoning", name, "fill", "sizes"), size
    for name, row in job.rows.items():
        for size in (row.stone,) if isinstance(row.stone, str) else dict.fromkeys(row.stone):
            yield ("rows", name, "stone"), size


def misspelt(job: Job) -> Problems:
    """Notes on colours and finishes, which are free text: one amiss would be bought unheard."""
    return (*_colours(job), *_finishes(job))


def _colours(job: Job) -> Iterator[Problem]:
    """A colour that nearly has a name that pictures know."""
    for colour, path in _first_places(job, "colour").items():
        meant = meant_colour(colour)
        if meant is not None:
            yield Problem(
                "colour-not-known",
                Severity.NOTE,
                f'there is no colour "{colour}" among those that pictures know: it is shown grey',
                f'Did you mean "{meant}"? If it is the name you buy it by, leave it.',
                in_job(*path),
            )


def _finishes(job: Job) -> Iterator[Problem]:
    """A finish that nearly is the usual one, or another of the job's own that it names more often
    or before.
    """
    times = Counter(finish for _, finish in _named(job, "finish"))
    places = _first_places(job, "finish")
    own = [finish for finish in places if finish != _USUAL]
    ranked = [_USUAL, *sorted(own, key=lambda finish: -times[finish])]
    for number, finish in enumerate(ranked):
        # A word within another is no misspelling of it: foiled, unfoiled.
        others = [one for one in ranked[:number] if one not in finish and finish not in one]
        near = difflib.get_close_matches(finish, others, n=1, cutoff=_ALIKE)
        if near:
            yield Problem(
                "finish-nearly-another",
                Severity.NOTE,
                f'the finish "{finish}" nearly is "{near[0]}", but is counted and bought apart',
                f'Did you mean "{near[0]}"? If it is a finish of its own, leave it.',
                in_job(*places[finish]),
            )


def _first_places(job: Job, key: str) -> dict[str, tuple[str, ...]]:
    places: dict[str, tuple[str, ...]] = {}
    for path, word in _named(job, key):
        places.setdefault(word, path)
    return places


def _named(job: Job, key: str) -> Iterator[tuple[tuple[str, ...], str]]:
    """Every colour or finish that the job names, with its place."""
    for table, entries in (("stoning", job.stoning), ("rows", job.rows)):
        for name, entry in entries.items():
            for word in getattr(entry, key):
                yield (table, name, key), word
