"""docs/fills.md tells of every fill style, every key of each and its default."""

from dataclasses import fields

from fills_reference import DOCUMENT, reference, renewed

from templater.stoning.styles import STYLES

TEXT = DOCUMENT.read_text("utf-8")


def test_the_document_is_as_the_registry_has_it():
    assert renewed(TEXT) == TEXT, "run: python tests/stoning/fills_reference.py"


def test_every_style_and_every_key_has_its_words():
    for name, style in STYLES.items():
        section = reference().split(f"### `{name}`\n")[1].split("### ")[0]
        assert style.summary.lower() in section.lower()
        for key in fields(style.parameters):
            assert f"| `{key.name}` |" in section
            assert len(key.metadata["doc"]) > 5


def test_it_is_linked_from_where_people_look():
    for page in ("README.md", "docs/job-file.md"):
        assert "fills.md" in (DOCUMENT.parents[1] / page).read_text("utf-8")
