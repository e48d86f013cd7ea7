"""Fixtures of the lettering's tests."""

import pytest

from templater.lettering import fallback, shaping


@pytest.fixture
def no_fonts(monkeypatch):
    """A machine without any font but the one that is shipped."""
    with_only(monkeypatch, ())
    yield
    monkeypatch.undo()
    forget()


def with_only(monkeypatch, faces):
    forget()
    monkeypatch.setattr(fallback, "system_faces", lambda: faces)
    monkeypatch.setattr(fallback, "_everywhere", tuple)


def forget():
    fallback._face_for.cache_clear()
    shaping._shape.cache_clear()
