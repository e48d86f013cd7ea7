"""Reading our own data files: tables of the trade, each row with its source."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any


@cache
def table(name: str) -> dict[str, Any]:
    """The table `NAME.toml` of the catalogue. Callers do not change it."""
    return tomllib.loads(files("templater.catalogue").joinpath(f"{name}.toml").read_text("utf-8"))
