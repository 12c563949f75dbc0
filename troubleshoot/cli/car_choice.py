"""Which car: one of the examples by id, or a car file; and what differs about it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

import msgspec

from troubleshoot.calculations.units import QuantityRefused, read_quantity, shown_unit
from troubleshoot.knowledge.car import CAR_FIELDS, Car, car_from, car_unit, car_value, dwell_with
from troubleshoot.knowledge.car_file import CarRefused, read_car_file
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.findings import nearest
from troubleshoot.problems import TroubleshootError


def car_asked_for(cars: Mapping[str, Car], wanted: str, folder: Path) -> Car:
    """Return a car by its name among those known, or of a file; CarRefused with every fault of the file."""
    if wanted in cars:
        return cars[wanted]
    try:
        path = folder / wanted
        there = path.is_file()
    except (OSError, ValueError):
        there = False
    if not there:
        known = ", ".join(cars)
        raise CarRefused(
            f"There is no car and no file {wanted[:60]}{nearest(wanted, cars)}.",
            f"Use a car file, or one of: {known}.",
        )
    return read_car_file(path)


def car_named(catalogue: Catalogue, identifier: str | None) -> Car | None:
    """Return an example car, None for none named; TroubleshootError when there is none of that id."""
    if identifier is None:
        return None
    if identifier not in catalogue.cars:
        hint = nearest(identifier, catalogue.cars)
        known = ", ".join(sorted(catalogue.cars))
        raise TroubleshootError(f"There is no car {identifier[:60]}{hint}.", f"Use one of: {known}.")
    return catalogue.cars[identifier]


def changed_car(car: Car, changes: Sequence[str]) -> Car:
    """Return the car with changes as `name = value`; CarRefused for an unknown name or a value that cannot be."""
    values = msgspec.to_builtins(car)
    for change in changes:
        name, found, text = change.partition("=")
        name, text = name.strip().replace(" ", "-"), text.strip()
        if not found or not text:
            raise CarRefused(f"{change[:60]!r} does not change a car.", "Write it as name = value.")
        if name not in CAR_FIELDS:
            raise CarRefused(
                f"A car has no {name[:40]!r}{nearest(name, CAR_FIELDS)}.", f"Use one of {', '.join(CAR_FIELDS)}."
            )
        values[name] = _value(name, text)
        try:
            made = car_from(values)
            if name == "cylinders" and values["dwell"] == car.dwell:
                values["dwell"] = dwell_with(car, made.cylinders)
        except msgspec.ValidationError as problem:
            raise CarRefused(f"{name} cannot be {text[:40]}: {problem}.", "Give a value that can be.") from problem
    return car_from(values)


def _value(name: str, text: str) -> float | str | bool:
    if text.casefold() in ("yes", "true", "no", "false"):
        return text.casefold() in ("yes", "true")
    unit = car_unit(name)
    if unit is None:
        return text
    try:
        value = read_quantity(text, unit).value
    except QuantityRefused as problem:
        raise CarRefused(f"{name}: {problem.sentence}", problem.advice) from problem
    return int(value) if value.is_integer() else value


def car_lines(car: Car) -> Iterator[str]:
    """Yield every fact about a car."""
    for name in CAR_FIELDS:
        value, unit = car_value(car, name), car_unit(name)
        shown = ("no", "yes")[value] if isinstance(value, bool) else f"{value:.12g}" if unit else value
        yield f"  {name} = {shown} {unit if unit and shown_unit(unit) else ''}".rstrip()
