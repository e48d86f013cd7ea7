"""Compiling the tight loops where numba is there, and running them as they are where it is not.

Modules of this package import this one first and are themselves only imported late, inside the
functions that need them: numba takes a third of a second to import. Kernels use + − × ÷ √ and
whole numbers only, index flat columns, and are called with columns from `column`, `zeros` and
`counters`: arrays for compiled runs, lists for plain ones, where lists are several times quicker.

Set TEMPLATER_PLAIN=1 in the environment to run plain in spite of numba.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, TypeVar, cast

import numpy as np

from templater.geometry.kernels.first_run import COMPILING, remark

_F = TypeVar("_F", bound=Callable[..., Any])

Reals = Any
"""A column of numbers with a fraction: an array or a list."""
Wholes = Any
"""A column of whole numbers: an array or a list."""


def _keeps() -> bool:
    """Whether compiled code can be kept: beside the package, else in the user's cache folder.

    Points numba there where needed. Never in a folder others may write to: what is kept is run.
    """
    if "NUMBA_CACHE_DIR" in os.environ:
        return True
    if os.access(Path(__file__).resolve().parent, os.W_OK):
        return True
    home = os.environ.get("XDG_CACHE_HOME") or os.environ.get("LOCALAPPDATA")
    try:
        base = Path(home) if home else Path("~").expanduser() / ".cache"
        folder = base / "templater" / "kernels"
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, RuntimeError):
        return False
    if not os.access(folder, os.W_OK):
        return False
    os.environ["NUMBA_CACHE_DIR"] = str(folder)
    return True


def _njit() -> Callable[[Any], Any] | None:
    if os.environ.get("TEMPLATER_PLAIN") == "1":
        return None
    keeps = _keeps()
    try:
        import numba
    except ImportError:
        return None
    _time_compiling()
    njit: Callable[..., Any] = numba.njit
    plain = {"cache": keeps, "fastmath": False, "error_model": "numpy", "nogil": True}
    # Kernels make no arrays, so nothing needs counting who holds which: five times the speed.
    # This option is numba's own affair and may go; without it kernels are only slower.
    try:
        made = njit(**plain, _nrt=False)
        made(_probe)
    except (KeyError, TypeError, ValueError):
        made = njit(**plain)
    return cast("Callable[[Any], Any]", made)


def _time_compiling() -> None:
    from numba.core import event

    class Timer(event.Listener):
        def on_start(self, _event: object) -> None:
            COMPILING.start()

        def on_end(self, _event: object) -> None:
            COMPILING.stop()

    register: Callable[..., Any] = event.register
    register("numba:compile", Timer())


def _probe() -> int:
    return 0


_decorate = _njit()
COMPILED = _decorate is not None
"""Whether kernels run compiled in this process."""


def kernel(function: _F) -> _F:
    """The function compiled at its first call (and kept for later processes), or as it is."""
    return function if _decorate is None else cast("_F", _decorate(function))


def column(values: Sequence[float] | np.ndarray[Any, Any]) -> Reals:
    """Numbers with a fraction, as kernels take them."""
    array = np.ascontiguousarray(values, dtype=np.float64)
    return array if COMPILED else array.tolist()


def whole_column(values: Sequence[int] | np.ndarray[Any, Any]) -> Wholes:
    """Whole numbers, as kernels take them."""
    array = np.ascontiguousarray(values, dtype=np.int32)
    return array if COMPILED else array.tolist()


def zeros(count: int) -> Reals:
    """`count` times 0.0."""
    return np.zeros(count) if COMPILED else [0.0] * count


def counters(count: int, value: int = 0) -> Wholes:
    """`count` times a whole number of 32 bits."""
    return np.full(count, value, dtype=np.int32) if COMPILED else [value] * count


def wide_counters(count: int, value: int = 0) -> Wholes:
    """`count` times a whole number of 64 bits."""
    return np.full(count, value, dtype=np.int64) if COMPILED else [value] * count


def stretched(values: Any, count: int) -> Any:
    """The same column, `count` long, the new places holding nought."""
    if COMPILED:
        longer = np.zeros(count, dtype=values.dtype)
        longer[: len(values)] = values
        return longer
    return [*values, *([type(values[0])(0)] * (count - len(values)))]


def first_run_remark(*, packed: bool) -> str:
    """What the progress line says where kernels are still to be compiled; else empty."""
    return remark(packed=packed) if COMPILED else ""
