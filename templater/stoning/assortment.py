"""The sizes a job names, found in the catalogue, or a problem that says which are not."""

from __future__ import annotations

from collections.abc import Iterable

from templater.catalogue.sizes import find_size, nearest_names
from templater.model.problems import Problem, Problems, Severity
from templater.model.stones import Size


def find_sizes(names: Iterable[str], where: str) -> tuple[dict[str, Size], Problems]:
    """Sizes by the job's own names; `where` says in a message what asks for them."""
    sizes: dict[str, Size] = {}
    problems: list[Problem] = []
    for name in dict.fromkeys(names):
        size = find_size(name)
        if size is not None:
            sizes[name] = size
            continue
        near = nearest_names(name)
        hint = f"Did you mean {', '.join(near)}?" if near else "See `templater sizes`."
        problems.append(
            Problem(
                "unknown-size", Severity.ERROR, f'{where}: there is no stone size "{name}"', hint
            )
        )
    return sizes, tuple(problems)
