"""JSON Schemas of the tree files, generated from the typed form, so that an editor completes and checks while typing.

A YAML file names its schema in a first line that common editors follow; `schema_line` writes it.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import msgspec

from troubleshoot.file_writing import write_whole
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue_record import Catalogue
from troubleshoot.knowledge.compiling import SOMETHING_ELSE
from troubleshoot.knowledge.field_words import FIELD_WORDS
from troubleshoot.knowledge.load_trees import tree_files
from troubleshoot.knowledge.model import (
    FREQUENCY_WORDS,
    Cause,
    Caution,
    Check,
    Concern,
    Expects,
    HealthyCar,
    Setup,
    Tool,
    WorkedCase,
)

SCHEMAS: dict[str, Any] = {
    "concern": Concern,
    "cases": list[WorkedCase],
    "causes": dict[str, Cause],
    "checks": dict[str, Check],
    "cautions": dict[str, Caution],
    "setups": dict[str, Setup],
    "tools": dict[str, Tool],
    "car": Car,
    "healthy": HealthyCar,
}
"""Schema name to the form of the file it describes."""

_PLACES = {"concerns": "concern", "causes": "causes", "checks": "checks", "cars": "car", "healthy": "healthy"}
_FREQUENCY = {
    "description": "How often: a number from 0 to 1, or a word.",
    "anyOf": [{"type": "number", "minimum": 0, "maximum": 1}, {"enum": list(FREQUENCY_WORDS)}],
}
_FREQUENCIES = {"type": "object", "additionalProperties": _FREQUENCY}
_SHOWINGS = {"type": "object", "additionalProperties": {"anyOf": [_FREQUENCY, _FREQUENCIES]}}
_WHY = {"type": "string", "description": "The reason, when it is not obvious."}


def _signature(*inner: dict[str, Any]) -> dict[str, Any]:
    """Return the form of a signature: outcomes or a number to expect, or names with what may stand under them."""
    allowed = {"anyOf": [_FREQUENCY, *inner]} if inner else _FREQUENCY
    expects = {"$ref": "#/$defs/Expects"}
    return {"type": "object", "properties": {"why": _WHY, "expects": expects}, "additionalProperties": allowed}


_BY_DEGREE = _signature(_signature())
_BY_WAY = _signature(_BY_DEGREE)
_SPECIAL: dict[str, dict[str, dict[str, Any]]] = {
    "Concern": {"reported-anyway": _FREQUENCY, "shows": _SHOWINGS},
    "Check": {"usual": _FREQUENCIES, "moved-by": {"type": "object", "additionalProperties": _BY_WAY}},
    "Against": {"usual": _FREQUENCIES, "moved-by": {"type": "object", "additionalProperties": _BY_WAY}},
}


_IDS: dict[str, dict[str, tuple[str, str]]] = {
    "Concern": {"shows": ("keys", "causes"), "items": ("list", "checks")},
    "Step": {"check": ("one", "checks"), "repair": ("one", "causes")},
    "Check": {"setup": ("one", "setups"), "tools": ("list", "tools"), "cautions": ("list", "cautions"),
              "moved-by": ("keys", "causes"), "not-after": ("keys", "checks")},
    "Against": {"check": ("one", "checks"), "moved-by": ("keys", "causes")},
    "Repair": {"cautions": ("list", "cautions"), "undoes": ("list", "setups")},
    "Proof": {"check": ("one", "checks")},
    "Plant": {"cautions": ("list", "cautions"), "prevents": ("list", "checks")},
    "Cause": {"cautions": ("list", "cautions")},
    "WorkedCase": {"car": ("one", "cars"), "concerns": ("list", "concerns"), "leads": ("list", "causes"),
                   "both": ("list", "causes"), "must-not-lead": ("list", "causes"), "readings": ("keys", "checks")},
}  # fmt: skip
"""Which part of which record names ids, and of what: one id, a list of them, or as the names of what stands below."""


def schema(name: str, catalogue: Catalogue | None = None) -> dict[str, Any]:
    """Return the JSON Schema of one kind of tree file; KeyError for an unknown name.

    With a catalogue it knows the ids that are there, so that an editor completes them and marks others.
    """
    made = msgspec.json.schema(SCHEMAS[name])
    definitions: dict[str, dict[str, Any]] = made.get("$defs", {})
    if "Check" in definitions:
        definitions |= msgspec.json.schema(Expects)["$defs"]
    for record, definition in definitions.items():
        _describe(record, definition)
        if catalogue is not None:
            _name_ids(record, definition, catalogue)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": f"troubleshoot {name}", **made}


def _describe(record: str, definition: dict[str, Any]) -> None:
    properties = definition.get("properties", {})
    for field, words in FIELD_WORDS.get(record, {}).items():
        if field in properties:
            properties[field] = {**properties[field], "description": words}
    for field, form in _SPECIAL.get(record, {}).items():
        properties[field] = {**form, "description": FIELD_WORDS[record][field]}


def _name_ids(record: str, definition: dict[str, Any], catalogue: Catalogue) -> None:
    """Put the ids that are there into the form of one record."""
    properties = definition.get("properties", {})
    for field, (how, kind) in _IDS.get(record, {}).items():
        form = properties.get(field)
        if form is None:
            continue
        known = sorted(getattr(catalogue, kind))
        if kind == "causes" and record == "WorkedCase":
            known = [*known, SOMETHING_ELSE]
        if how == "keys":
            inside = form.get("additionalProperties", {})
            properties[field] = {**form, "properties": dict.fromkeys(known, inside), "additionalProperties": False}
        elif how == "list":
            properties[field] = {**form, "items": {"enum": known}}
        else:
            own = {key: value for key, value in form.items() if key in ("description", "default")}
            properties[field] = {**own, "enum": [*known, None] if "anyOf" in form else known}


def schema_text(name: str, catalogue: Catalogue | None = None) -> str:
    """Return a schema as the text of its file."""
    whole = msgspec.json.encode(schema(name, catalogue), order="sorted")
    return msgspec.json.format(whole, indent=2).decode() + "\n"


def write_schemas(folder: Path, catalogue: Catalogue | None = None) -> tuple[Path, ...]:
    """Write every schema into a folder, with the ids of a catalogue where one is given, and return the files."""
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name in SCHEMAS:
        file = folder / f"{name}.json"
        write_whole(file, schema_text(name, catalogue))
        written.append(file)
    return tuple(written)


def schema_line(place: str) -> str:
    """Return the first line of a tree file, by its place in the folder, that names its schema to editors.

    >>> schema_line("concerns/lean-top.yaml")
    '# yaml-language-server: $schema=../schema/concern.json'
    """
    if place.endswith(".cases.yaml"):
        name = "cases"
    elif "/" in place:
        name = _PLACES[place.split("/")[0]]
    else:
        name = place.removesuffix(".yaml")
    up = "../" * place.count("/")
    return f"# yaml-language-server: $schema={up}schema/{name}.json"


def mark_files(folder: Path) -> tuple[Path, ...]:
    """Write the line for editors at the head of every tree file of a folder that has none; return those changed."""
    changed = []
    for file in tree_files(folder):
        place = file.relative_to(folder).as_posix()
        text = file.read_text(encoding="utf-8")
        known = "/" not in place or place.split("/")[0] in _PLACES
        if known and not text.startswith("# yaml-language-server:"):
            write_whole(file, f"{schema_line(place)}\n{text}")
            changed.append(file)
    return tuple(changed)
