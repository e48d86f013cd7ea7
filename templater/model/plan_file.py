"""plan.json: the whole plan to bytes and back, the same to the bit.

One value of a list stands on a line, so that two plans can be compared line by line. Stones,
holes and bars are arrays in the order of their fields (`model/stones.py`, `model/parts.py`,
`model/sheets.py`); everything else is objects with the fields' names, in the order declared.
What is drawn on the sheets (`Sheet.layers`) is not kept: it stands in the sheets' own files.
"""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from typing import TYPE_CHECKING, Any

from templater.model.plan import PLAN_VERSION, Plan
from templater.model.problems import Problem, Problems, Refused, Severity, Source

if TYPE_CHECKING:
    from pydantic import TypeAdapter

PLAN_FILE = "plan.json"
_MOST_FAULTS = 12


def dump_plan(plan: Plan) -> bytes:
    """The plan as UTF-8 JSON, keys in declared order, floats in their shortest exact form.

    Raises ValueError if a number in the plan is not finite.
    """
    kept = replace(plan, sheets=tuple(replace(sheet, layers=()) for sheet in plan.sheets))
    fields = _adapter().dump_python(kept, mode="json")
    lines = ",\n".join(f"{_json(key)}: {_laid_out(value)}" for key, value in fields.items())
    return f"{{\n{lines}\n}}\n".encode()


def load_plan(data: bytes, file: str = PLAN_FILE) -> Plan:
    """The plan that `dump_plan` wrote. `file` is its name in messages.

    Raises Refused if the bytes are no JSON, of another version, or do not hold a plan.
    """
    from pydantic import ValidationError

    _refuse_other_versions(data, file)
    try:
        return _adapter().validate_json(data)
    except ValidationError as error:
        raise Refused(_faults(error.errors(include_url=False), file)) from error


@cache
def _adapter() -> TypeAdapter[Plan]:
    from pydantic import TypeAdapter

    return TypeAdapter(Plan)


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))


def _laid_out(value: object) -> str:
    """A list with each of its values on a line of its own; an object likewise, by key."""
    if isinstance(value, list) and value:
        return "[\n" + ",\n".join(_json(item) for item in value) + "\n]"
    if isinstance(value, dict) and value:
        entries = (f"{_json(key)}: {_laid_out(item)}" for key, item in value.items())
        return "{\n" + ",\n".join(entries) + "\n}"
    return _json(value)


def _refuse_other_versions(data: bytes, file: str) -> None:
    try:
        fields = json.loads(data.decode("utf-8"))
    except (UnicodeDecodeError, json.JSONDecodeError, RecursionError) as error:
        raise Refused(
            (_fault(file, "plan-unreadable", f"{file} is not readable JSON: {error}"),)
        ) from error
    version = fields.get("version") if isinstance(fields, dict) else None
    if not isinstance(version, int) or isinstance(version, bool):
        raise Refused(
            (_fault(file, "plan-unreadable", f"{file} holds no plan: it has no version number"),)
        )
    if version != PLAN_VERSION:
        raise Refused(
            (
                _fault(
                    file,
                    "plan-version",
                    f"{file} is a plan of version {version}; this program reads version {PLAN_VERSION}",
                ),
            )
        )


def _faults(errors: list[Any], file: str) -> Problems:
    shown = errors[:_MOST_FAULTS]
    left = len(errors) - len(shown)
    found = [
        _fault(
            file,
            "plan-unreadable",
            f"{file}, {'.'.join(str(part) for part in error['loc'])}: {error['msg']}",
        )
        for error in shown
    ]
    if left:
        found.append(_fault(file, "plan-unreadable", f"{file}: {left} more faults of this kind"))
    return tuple(found)


def _fault(file: str, code: str, message: str) -> Problem:
    return Problem(
        code,
        Severity.ERROR,
        message,
        "make the pack again from its job with this version of templater; do not edit the plan by hand",
        Source(file),
    )
