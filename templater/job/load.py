"""From the text of a job file to a Job, or to messages that say what is wrong, where, and the mend."""

from __future__ import annotations

import difflib
import re
import tomllib
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from templater.job.locate import dotted, line_of, located
from templater.job.migrations import migrated
from templater.model.problems import Problem, Problems, Severity, Source, has_errors

if TYPE_CHECKING:
    from pydantic import BaseModel
    from pydantic_core import ErrorDetails

    from templater.job.schema import Job

_DECIMAL_COMMA = re.compile(r"=\s*-?\d+,\d+\s*(?:#.*)?$")
_CHANGE = "Change it, or leave it out to have the default."
_KINDS = {
    "int_type": "must be a whole number",
    "int_parsing": "must be a whole number",
    "int_from_float": "must be a whole number",
    "float_type": "must be a number",
    "float_parsing": "must be a number",
    "bool_type": "must be true or false",
    "bool_parsing": "must be true or false",
    "string_type": "must be a text in quotes",
}
_UNION_STEP = re.compile(
    r"^(?:[A-Z]\w*(?:\[.*\])?|literal\[.*\]|str|float|int|tuple\[.*\]|function-.*|constrained-.*)$"
)


def load_job(
    text: str, file: str, styles: Mapping[str, type] | None = None
) -> tuple[Job | None, Problems]:
    """The job with notes on it, or None with the errors.

    `styles` gives the fill styles there are, each with the dataclass of its own keys; without it
    the keys of fills are not checked.
    """
    from pydantic import ValidationError

    from templater.job.schema import Job

    try:
        table = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        return None, (_not_toml(error, text, file),)
    table, refused = migrated(table, file)
    if has_errors(refused):
        return None, refused
    try:
        job = Job.model_validate(table)
    except ValidationError as error:
        return None, tuple(
            _problem(detail, text, file, Job) for detail in _told_once(error.errors())
        )
    from templater.job.spelling import misspelt, unknown_sizes

    problems = () if styles is None else _fill_problems(job, text, file, styles)
    problems += located((*unknown_sizes(job), *misspelt(job)), text, file)
    return (None if has_errors(problems) else job), problems


def _source(text: str, file: str, path: Sequence[str]) -> Source:
    return Source(file, element=dotted(path), line=line_of(text, path))


def _error(code: str, message: str, mend: str, source: Source) -> Problem:
    return Problem(code, Severity.ERROR, message, mend, source)


def _not_toml(error: tomllib.TOMLDecodeError, text: str, file: str) -> Problem:
    match = re.search(r"line (\d+), column (\d+)", str(error))
    line = int(match[1]) if match else None
    lines = text.splitlines()
    written = lines[line - 1] if line is not None and line <= len(lines) else ""
    mend = "Mend the line; texts stand in quotes, lists in [ ], and tables begin with [name]."
    if _DECIMAL_COMMA.search(written):
        mend = "Write decimals with a point, not a comma: 0.4 instead of 0,4."
    return _error(
        "job-not-toml",
        f"the job file cannot be read: {error}" + (f" – {written.strip()}" if written else ""),
        mend,
        Source(file, line=line),
    )


def _path(detail: ErrorDetails) -> tuple[str, ...]:
    return tuple(str(step) for step in detail["loc"] if not _UNION_STEP.match(str(step)))


def _told_once(details: Sequence[ErrorDetails]) -> list[ErrorDetails]:
    """One error a key: where a value may be of several kinds, pydantic reports each it is not."""
    details = [{**detail, "msg": _wanted(detail)} for detail in details]
    paths = [_path(detail) for detail in details]
    kept: dict[tuple[str, ...], ErrorDetails] = {}
    for path, detail in zip(paths, details, strict=True):
        if any(len(other) > len(path) and other[: len(path)] == path for other in paths):
            continue
        if path in kept:
            also = detail["msg"].removeprefix("Input should be ").removeprefix("must be ")
            kept[path] = {**kept[path], "msg": f"{kept[path]['msg']}, or {also}"}
        else:
            kept[path] = detail
    unknown = [path for path, detail in kept.items() if detail["type"] == "extra_forbidden"]
    return [
        detail
        for path, detail in kept.items()
        # A key that is missing because it was misspelt is told by the misspelling.
        if detail["type"] != "missing"
        or all(path[:-1] != other[:-1] for other in unknown)
        or path == ("drawing",)
    ]


def _wanted(detail: ErrorDetails) -> str:
    """What a value must be, in our words where the library's are a programmer's."""
    return _KINDS.get(detail["type"], detail["msg"]).removeprefix("Value error, ")


def _problem(detail: ErrorDetails, text: str, file: str, model: type[BaseModel]) -> Problem:
    path = _path(detail)
    source = _source(text, file, path)
    key = dotted(path)
    if detail["type"] == "extra_forbidden":
        return _error(
            "unknown-key",
            f"there is no key {key}",
            _nearest(path[-1], _keys_at(model, path)),
            source,
        )
    if detail["type"] == "missing":
        return _error("missing-key", f"the key {key} is missing", f"Add {key} = …", source)
    said = detail["msg"]
    given = detail["input"]
    shown = f" (it is {given!r})" if isinstance(given, str | int | float | list) else ""
    return _error("bad-value", f"{key}: {said}{shown}", _CHANGE, source)


def _nearest(word: str, choices: Sequence[str]) -> str:
    close = difflib.get_close_matches(word, choices, n=1, cutoff=0.5)
    listed = ", ".join(choices)
    return (
        f'Did you mean "{close[0]}"? Known here: {listed}.' if close else f"Known here: {listed}."
    )


def _keys_at(model: type[BaseModel], path: Sequence[str]) -> tuple[str, ...]:
    """The keys that are known where the last step of the path stands."""
    from pydantic import BaseModel

    def tables(annotation: Any) -> list[type[BaseModel]]:
        if isinstance(annotation, type) and issubclass(annotation, BaseModel):
            return [annotation]
        return [found for inner in getattr(annotation, "__args__", ()) for found in tables(inner)]

    here: list[type[BaseModel]] = [model]
    for step in path[:-1]:
        inner = [
            found
            for table in here
            if step in table.model_fields
            for found in tables(table.model_fields[step].annotation)
        ]
        here = inner or here
    return tuple(sorted({name for table in here for name in table.model_fields}))


def _fill_problems(job: Job, text: str, file: str, styles: Mapping[str, type]) -> Problems:
    from pydantic import TypeAdapter, ValidationError

    problems: list[Problem] = []
    for name, stoning in job.stoning.items():
        path = ("stoning", name, "fill")
        style = styles.get(stoning.fill.style)
        if style is None:
            problems.append(
                _error(
                    "unknown-style",
                    f'there is no fill style "{stoning.fill.style}"',
                    _nearest(stoning.fill.style, sorted(styles)),
                    _source(text, file, (*path, "style")),
                )
            )
            continue
        given = stoning.fill.parameters
        known = tuple(sorted(getattr(style, "__dataclass_fields__", {})))
        problems.extend(
            _error(
                "unknown-key",
                f'there is no key {dotted((*path, key))} for the style "{stoning.fill.style}"',
                _nearest(key, ("style", "sizes", "gap", *known)),
                _source(text, file, (*path, key)),
            )
            for key in given
            if key not in known
        )
        try:
            TypeAdapter(style).validate_python(given)
        except ValidationError as error:
            for detail in error.errors():
                where = (*path, *(str(step) for step in detail["loc"][:1]))
                problems.append(
                    _error(
                        "bad-value",
                        f"{dotted(where)}: {_wanted(detail)}",
                        _CHANGE,
                        _source(text, file, where),
                    )
                )
    return tuple(problems)
