"""What a case already knows of a calculation's inputs: from readings taken, else from the car."""

from __future__ import annotations

from collections.abc import Iterator

from troubleshoot.calculations.definition import Calculation
from troubleshoot.calculations.fields import Field
from troubleshoot.calculations.units import QuantityRefused, System, convert, show_number, with_unit
from troubleshoot.case.assessing import Assessment
from troubleshoot.knowledge.car import CAR_FIELDS, car_unit, car_value
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.model import Limit, Source

SAME_FACT = {
    "dwell-angle": "dwell", "rail-pressure": "rated-pressure", "set-pressure": "rated-pressure",
    "pressure-rated": "rated-pressure", "primary-resistance": "coil-resistance", "power": "peak-power",
    "flow-each": "injector-flow", "gauge": "wire-gauge", "one-way-length": "wire-length",
    "reid-vapour-pressure": "vapour-pressure", "rated-output": "alternator", "initial": "base-timing",
}  # fmt: skip
"""Inputs that are a fact of the car by another name."""
SAME_READING = {
    "spring-force": "spring-tension", "dwell-angle": "dwell-at-idle", "pressure-actual": "pressure-when-lean",
    "rail-pressure": "pressure-at-idle",
}  # fmt: skip
"""Inputs that a check reads; once it is taken it stands above the fact of the car."""


def known_inputs(calculation: Calculation, seen: Assessment, catalogue: Catalogue, system: System) -> dict[str, str]:
    """Return what may stand in a calculation's fields, by field name, as a person of that system writes it.

    Where the trees work a limit out with this calculation they say which reading or which fact of the car an input
    is; any other input is the fact of the car that has its name.
    """
    sources = dict(_sources(catalogue, calculation.name))
    found = {}
    for field in calculation.inputs:
        named = Source(reading=SAME_READING.get(field.name), car=SAME_FACT.get(field.name, field.name))
        number = _number(sources.get(field.name) or named, seen)
        if number is None or field.many:
            continue
        try:
            unit = field.unit_in(system)
            found[field.name] = _written(field, convert(number[0], number[1], unit), unit)
        except QuantityRefused:
            continue
    return found


def _sources(catalogue: Catalogue, name: str) -> Iterator[tuple[str, Source]]:
    for check in catalogue.checks.values():
        for band in check.bands:
            if isinstance(band.to, Limit) and band.to.calc == name:
                yield from ((one, given) for one, given in band.to.inputs.items() if isinstance(given, Source))


def _number(source: Source, seen: Assessment) -> tuple[float, str] | None:
    read = seen.latest.get(source.reading) if source.reading else None
    if read is not None and read.value is not None:
        return read.value, read.unit
    unit = car_unit(source.car) if source.car in CAR_FIELDS else None
    value = car_value(seen.car, source.car) if source.car is not None and unit is not None else None
    return (float(value), unit) if isinstance(value, int | float) and unit is not None else None


def _written(field: Field, value: float, unit: str) -> str:
    return show_number(value) if field.unit in ("", "1", "count") else with_unit(show_number(value), unit)
