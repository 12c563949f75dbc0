"""The form of a car, made from the fields of `Car`: words, units, ranges and choices stand there once."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, Literal

import msgspec
from msgspec import inspect

from troubleshoot.calculations.fields import range_between
from troubleshoot.calculations.units import convert, display_unit, read_quantity, show_quantity
from troubleshoot.knowledge.car import Car, car_from, dwell_with
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.widgets.form import FormField

System = Literal["us", "metric"]
YES, NO = "yes", "no"


@dataclass(frozen=True)
class CarField:
    """One field of a car: what may stand in it."""

    name: str
    words: str
    unit: str
    low: float
    high: float
    choices: tuple[Any, ...]


def car_fields() -> tuple[CarField, ...]:
    """Return the fields of a car in their written order."""
    described = inspect.type_info(Car)
    assert isinstance(described, inspect.StructType)
    return tuple(_field(one.encode_name, one.type) for one in described.fields)


def _field(name: str, kind: inspect.Type) -> CarField:
    words, unit = name.replace("-", " "), ""
    if isinstance(kind, inspect.Metadata):
        extra = kind.extra_json_schema or {}
        words, unit = str(extra.get("description", words)), str(extra.get("x-unit", ""))
        kind = kind.type
    if isinstance(kind, inspect.LiteralType):
        return CarField(name, words, "", 0, 0, tuple(kind.values))
    if isinstance(kind, inspect.BoolType):
        return CarField(name, words, "", 0, 0, (True, False))
    low, high = getattr(kind, "ge", None), getattr(kind, "le", None)
    return CarField(name, words, unit, float(low or 0), float(high or 0), ())


def form_fields(car: Car, system: System, first: Sequence[str] = ()) -> Sequence[FormField]:
    """Return the form of a car in US or metric units; `first` are the fields that the form begins with."""
    values = msgspec.to_builtins(car)
    named = {field.name: field for field in car_fields()}
    order = [*first, *(name for name in named if name not in first)]
    return [_form_field(named[name], values[name], system) for name in order]


def _form_field(field: CarField, value: Any, system: System) -> FormField:
    if field.choices:
        shown = tuple(_choice(one) for one in field.choices)
        return FormField(field.name, field.words, _choice(value), choices=shown)
    if not field.unit:
        return FormField(field.name, field.words, str(value))
    figure, wrong = show_quantity(value, field.unit, system), partial(_problem, field, system)
    return FormField(field.name, field.words, figure, _range(field, system), wrong=wrong)


def _problem(field: CarField, system: System, text: str) -> str:
    """Return what is wrong with a figure, or nothing; an empty one is not known, which is right."""
    try:
        if text.strip():
            _read(field, text, system)
    except TroubleshootError as refused:
        return str(refused)
    return ""


def _range(field: CarField, system: System) -> str:
    """Write a field's range with two or three figures, never wider than what is taken."""
    shown = display_unit(field.unit, system)
    low, high = (convert(end, field.unit, shown) for end in (field.low, field.high))
    return range_between(low, high, shown, shown == field.unit)


def _choice(value: Any) -> str:
    return (YES if value else NO) if isinstance(value, bool) else str(value)


def read_car(car: Car, changed: Mapping[str, str], system: System) -> tuple[Car, dict[str, str]]:
    """Return the car with what was typed in its fields, and what is wrong by field name.

    A figure that was emptied stays what it was: nobody needs to know them all.
    """
    values, wrong = msgspec.to_builtins(car), {}
    for field in car_fields():
        if field.name not in changed or (field.unit and not changed[field.name].strip()):
            continue
        try:
            values[field.name] = _read(field, changed[field.name], system)
        except TroubleshootError as refused:
            wrong[field.name] = str(refused)
    if wrong:
        return car, wrong
    try:
        if "cylinders" in changed and "dwell" not in changed:
            values["dwell"] = dwell_with(car, values["cylinders"])
        return car_from(values), {}
    except msgspec.ValidationError as refused:
        words, _, path = str(refused).partition(" - at `$.")
        return car, {path.rstrip("`") or "title": f"{words}."}


def following(car: Car, name: str, text: str, system: System) -> dict[str, str]:
    """Return the fields that follow another one, as the dwell follows the cylinders, until they are set by hand."""
    if name != "cylinders" or not text.isdecimal():
        return {}
    return {"dwell": show_quantity(dwell_with(car, int(text)), "deg", system)}


def _read(field: CarField, text: str, system: System) -> Any:
    if field.choices:
        return next(one for one in field.choices if _choice(one) == text)
    if not field.unit:
        if field.name == "title" and not text.strip():
            raise TroubleshootError("The car needs a name.", "Any word that tells it from the others.")
        return text.strip()
    read = read_quantity(text, display_unit(field.unit, system))
    value = round(convert(read.value, read.unit, field.unit), 6)
    if not field.low <= value <= field.high:
        raise TroubleshootError(f"{read.understood} is outside {_range(field, system)}.", "Look at the unit.")
    return value
