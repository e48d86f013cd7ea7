"""The job reference lists every key of the schema."""

from pathlib import Path

from pydantic import BaseModel

import templater
from templater.job.schema import Job

REFERENCE = (Path(templater.__file__).parents[1] / "docs" / "job-file.md").read_text("utf-8")


def tables(annotation):
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return {annotation}
    return {table for inner in getattr(annotation, "__args__", ()) for table in tables(inner)}


def every_key(model):
    keys = set()
    for name, field in model.model_fields.items():
        keys.add(name)
        for table in tables(field.annotation):
            keys |= every_key(table)
    return keys


def test_every_key_stands_in_the_reference():
    # `packs` gathers what stands under [prices] by the stones' own names; it is no key to be written.
    keys = every_key(Job) - {
        "packs",
        "layers",
        "pieces",
        "zones",
        "stoning",
        "rows",
        "prices",
        "stock",
    }
    assert len(keys) > 50
    missing = [key for key in sorted(keys) if f"{key}" not in REFERENCE]
    assert missing == []
    for table in (
        "[layers]",
        "[pieces.",
        "[zones.",
        "[stoning.",
        "[rows.",
        "[prices]",
        "[stock]",
        "[substitute]",
    ):
        assert table in REFERENCE
