"""A stable hash of any of our values, by content: the key under which a step's result is kept."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from typing import Any


def fingerprint(*values: object) -> str:
    """The same text for equal values in any process. Raises TypeError for a value it does not know."""
    digest = hashlib.blake2b(digest_size=16)
    for value in values:
        for part in _parts(value):
            digest.update(part)
    return digest.hexdigest()


def _parts(value: Any) -> Iterator[bytes]:
    """Each part begins with its kind and ends with a mark, so that no two values run together."""
    if isinstance(value, Enum):
        yield from _parts(value.value)
    elif value is None or isinstance(value, bool | int | float | str):
        yield f"{type(value).__name__}:{value!r};".encode()
    elif isinstance(value, bytes):
        yield b"bytes:" + hashlib.blake2b(value).digest()
    elif is_dataclass(value) and not isinstance(value, type):
        yield f"{type(value).__name__}(".encode()
        for field in fields(value):
            yield from _parts(getattr(value, field.name))
        yield b")"
    elif isinstance(value, tuple | list):
        yield b"["
        for item in value:
            yield from _parts(item)
        yield b"]"
    elif isinstance(value, Mapping):
        yield b"{"
        for key, item in value.items():
            yield from _parts(key)
            yield from _parts(item)
        yield b"}"
    elif hasattr(value, "model_dump"):  # the job's tables
        yield f"{type(value).__name__}".encode()
        yield from _parts(value.model_dump())
    else:
        raise TypeError(f"no fingerprint for {type(value).__name__}")
