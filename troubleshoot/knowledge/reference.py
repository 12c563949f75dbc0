"""The reference of the tree form as Markdown, drawn from the form itself."""

from __future__ import annotations

import msgspec

from troubleshoot.knowledge.car import CAR_FIELDS, Car, car_unit
from troubleshoot.knowledge.field_words import FIELD_WORDS
from troubleshoot.knowledge.model import FREQUENCY_WORDS
from troubleshoot.knowledge.schema import schema

_PLACES = {
    "Concern": "A concern: `concerns/ID.yaml`",
    "Step": "A step, under `steps:`",
    "WorkedCase": "A worked case: one of the list in `concerns/ID.cases.yaml`",
    "Cause": "A cause: `causes/SYSTEM.yaml`, under its id",
    "Repair": "A repair, under `repair:`",
    "Proof": "A proof, under `proof:`",
    "Plant": "Planting, under `plant:`",
    "Check": "A check: `checks/SYSTEM.yaml`, under its id",
    "Against": "What it reads against another check, under `against:`",
    "Instrument": "A number, under `reading:`",
    "Band": "A band, one of `bands:`",
    "Limit": "A limit that is no plain number, under `to:`",
    "Expects": "A number to expect, under `expects:` in a signature",
    "Source": "An input that is looked up, under `inputs:`",
    "Choice": "A choice, one of `choices:`",
    "Caution": "A caution: `cautions.yaml`, under its id",
    "Setup": "A set-up: `setups.yaml`, under its id",
    "Tool": "A tool: `tools.yaml`, under its id",
    "HealthyCar": "A healthy car: `healthy/ID.yaml`",
}


def reference() -> str:
    """Return the reference: the words for how often, every part of every record, and the fields of a car."""
    lines = ["### Words for how often", "", "| word | number |", "| --- | --- |"]
    lines += [f"| {word} | {share:g} |" for word, share in FREQUENCY_WORDS.items()]
    for record, heading in _PLACES.items():
        lines += ["", f"### {heading}", "", "| part | meaning |", "| --- | --- |"]
        lines += [f"| `{field}` | {words} |" for field, words in FIELD_WORDS[record].items()]
    lines += ["", "### A car: `cars/ID.yaml`, and what `for:`, `differs:` and `car:` may name", ""]
    lines += ["| part | values | usual |", "| --- | --- | --- |", *_car_rows()]
    return "\n".join(lines) + "\n"


def _car_rows() -> list[str]:
    properties = schema("car")["$defs"]["Car"]["properties"]
    usual = msgspec.to_builtins(Car())
    rows = []
    for name in CAR_FIELDS:
        choices = properties[name].get("enum")
        unit = car_unit(name)
        values = ", ".join(f"{one}" for one in choices) if choices else unit or _sort(properties[name])
        rows.append(f"| `{name}` | {values} | {_shown(usual[name])} |")
    return rows


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    return f"{value:g}" if isinstance(value, (int, float)) else str(value)


def _sort(field: dict[str, object]) -> str:
    return "true, false" if field.get("type") == "boolean" else "words"
