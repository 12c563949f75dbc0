"""A car file: read with units where they are given, and written so that it can be read back."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from troubleshoot.calculations.units import QuantityRefused, read_quantity, shown_unit
from troubleshoot.knowledge.car import CAR_FIELDS, Car, car_unit, car_value
from troubleshoot.problems import TroubleshootError

if TYPE_CHECKING:
    from troubleshoot.knowledge.loading import Document

ENDING = ".yaml"
"""How the name of a car file ends."""


class CarRefused(TroubleshootError):
    """There is no such car, or the file does not describe one."""


def read_car_file(path: Path) -> Car:
    """Return the car a file describes; CarRefused with every fault of the file.

    A figure may stand alone, in the unit of its field, or with a unit: `rated-pressure: 4 bar`.
    """
    from troubleshoot.knowledge.forms import fit
    from troubleshoot.knowledge.loading import read_document

    document = read_document(path)
    value = document.value
    if isinstance(value, dict):
        value = {name: _figure(document, name, given) for name, given in value.items()}
    car = fit(value, Car, document) if value is not None else None
    if car is None or document.findings:
        raise CarRefused("\n".join(str(finding) for finding in document.findings) or f"{path} describes no car.")
    return car


def _figure(document: Document, name: Any, given: Any) -> Any:
    """Return a figure in the unit of its field where it was written with one."""
    unit = car_unit(name) if name in CAR_FIELDS else None
    if unit is None or not isinstance(given, str):
        return given
    try:
        value = read_quantity(given, unit).value
    except QuantityRefused as refused:
        document.blame((name,), refused.sentence, refused.advice.rstrip("."), "misfit", True)
        return given
    value = float(f"{value:.9g}")
    return int(value) if value.is_integer() else value


def car_text(car: Car) -> str:
    """Return a car as the text of a car file, every figure with its unit."""
    return "".join(f"{name}: {_written(car_value(car, name), car_unit(name))}\n" for name in CAR_FIELDS)


def _written(value: Any, unit: str | None) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    return f"{value:.12g} {unit}" if unit and shown_unit(unit) else f"{value:.12g}"


def named_cars(folder: Path) -> Mapping[str, Car]:
    """Return the cars kept in a folder by the name of their file, in its order; what is no car is passed over."""
    found = {}
    for path in sorted(folder.glob(f"*{ENDING}")):
        try:
            found[path.stem] = read_car_file(path)
        except TroubleshootError:
            continue
    return found
