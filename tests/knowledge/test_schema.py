"""The schemas editors use: drawn from the typed form, committed, true of every shipped file."""

from __future__ import annotations

from pathlib import Path

import jsonschema
import msgspec
import pytest

from troubleshoot.knowledge import model
from troubleshoot.knowledge.catalogue import shipped_trees
from troubleshoot.knowledge.field_words import FIELD_WORDS
from troubleshoot.knowledge.load_trees import tree_files
from troubleshoot.knowledge.loading import read_document
from troubleshoot.knowledge.schema import SCHEMAS, mark_files, schema, schema_line, schema_text


@pytest.mark.parametrize("name", SCHEMAS)
def test_the_committed_schema_is_the_one_the_form_gives(name):
    """After a change of the form: `troubleshoot tree schema --plain trees/schema`."""
    assert (shipped_trees() / "schema" / f"{name}.json").read_text(encoding="utf-8") == schema_text(name)


@pytest.mark.parametrize("name", SCHEMAS)
def test_each_is_a_valid_schema(name):
    """Reference: JSON Schema 2020-12, through the jsonschema library."""
    jsonschema.Draft202012Validator.check_schema(schema(name))


def test_every_field_of_every_record_has_its_words():
    for record, words in FIELD_WORDS.items():
        assert list(words) == list(getattr(model, record).__struct_encode_fields__), record
        assert all(text.endswith((".", "?")) for text in words.values())


def test_every_shipped_file_is_valid_under_its_schema():
    """An independent validator agrees with the loader."""
    for path in tree_files(shipped_trees()):
        place = path.relative_to(shipped_trees()).as_posix()
        name = schema_line(place).rsplit("/", 1)[1].removesuffix(".json")
        document = read_document(path)
        if document.findings:
            continue
        validator = jsonschema.Draft202012Validator(schema(name))
        assert [error.message for error in validator.iter_errors(document.value)] == [], place


def test_the_schema_refuses_what_the_form_refuses():
    good = {"title": "T", "says": "s", "meaning": "m", "shows": {"a": "often"}, "steps": {"first": {"check": "x"}}}
    validator = jsonschema.Draft202012Validator(schema("concern"))
    assert validator.is_valid(good)
    for wrong in (
        {"shows": {"a": "oftn"}},
        {"shows": {"a": 1.5}},
        {"colour": "red"},
        {"most-at-once": 4},
        {"kind": "x"},
    ):
        assert not validator.is_valid({**good, **wrong}), wrong


def test_the_line_for_editors_names_a_schema_that_is_there():
    for place in ("concerns/x.yaml", "concerns/x.cases.yaml", "causes/fuel.yaml", "tools.yaml", "cars/a.yaml"):
        target = schema_line(place).split("=")[1]
        folder = (shipped_trees() / place).parent
        assert Path(folder / target).resolve().is_file()


def test_schemas_are_plain_data():
    assert msgspec.json.decode(schema_text("checks"))["$schema"].startswith("https://json-schema.org/")


def test_files_are_marked_once(trees):
    root = trees()
    assert len(mark_files(root)) == len(tree_files(root))
    text = (root / "concerns" / "runs-weak.cases.yaml").read_text(encoding="utf-8")
    assert text.startswith("# yaml-language-server: $schema=../schema/cases.json\n- name:")
    assert mark_files(root) == ()
