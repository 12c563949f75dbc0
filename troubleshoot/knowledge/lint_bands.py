"""Bands and limits: ascending on every car, without a gap, in units and calculations that exist."""

from __future__ import annotations

import math
from collections.abc import Iterator

from troubleshoot.calculations.units import QuantityRefused, known_units, read_quantity
from troubleshoot.knowledge.car import CAR_FIELDS, Car, car_unit
from troubleshoot.knowledge.compiling import fits
from troubleshoot.knowledge.findings import Finding, nearest
from troubleshoot.knowledge.limits import limit_value
from troubleshoot.knowledge.lint_references import Record, unknown
from troubleshoot.knowledge.loading import Trail
from troubleshoot.knowledge.model import Check, Limit, Source
from troubleshoot.knowledge.reading import Reading
from troubleshoot.problems import TroubleshootError


def bands(reading: Reading) -> Iterator[Finding]:
    """Find units, limits and bands that cannot be."""
    for identifier, check in reading.catalogue.checks.items():
        if check.reading is None or not check.bands:
            continue
        record = ("checks", identifier)
        wrong = [*_number(reading, record, check), *_ends(reading, record, check)]
        for position, band in enumerate(check.bands):
            if isinstance(band.to, Limit):
                wrong.extend(_limit(reading, record, ("bands", position, "to"), band.to))
        yield from wrong
        if not wrong:
            yield from _on_cars(reading, record, check)


def _number(reading: Reading, record: Record, check: Check) -> Iterator[Finding]:
    assert check.reading is not None
    unit, (low, high) = check.reading.unit, check.reading.plausible
    if unit not in known_units():
        what = f"{unit} is no known unit{nearest(unit, known_units())}"
        yield reading.at(record, ("reading", "unit"), what, "use a unit the program knows, such as psi", "unknown-unit")
    if not low < high:
        what, mend = f"the plausible range runs from {low:g} to {high:g}", "write the lower number first"
        yield reading.at(record, ("reading", "plausible"), what, mend, "plausible-range")


def _ends(reading: Reading, record: Record, check: Check) -> Iterator[Finding]:
    last = len(check.bands) - 1
    for position, band in enumerate(check.bands):
        if position == last and band.to is not None:
            mend = "leave to: out of the last band"
            yield reading.at(record, ("bands", position, "to"), "above the last band is a gap", mend, "band-gap")
        if position < last and band.to is None:
            what, mend = f"band {band.outcome} has no upper limit", "say how far it reaches with to:"
            yield reading.at(record, ("bands", position), what, mend, "band-open")


def _limit(reading: Reading, record: Record, trail: Trail, limit: Limit) -> Iterator[Finding]:
    if (limit.car is None) == (limit.calc is None):
        mend = "give it car: with a field, or calc: with inputs:"
        yield reading.at(record, trail, "a limit comes from the car or from a calculation", mend, "limit-of-no-kind")
    if limit.car is not None:
        yield from _car_number(reading, record, (*trail, "car"), limit.car)
    if limit.calc is not None:
        yield from _calculation(reading, record, trail, limit)


def _car_number(reading: Reading, record: Record, trail: Trail, name: str) -> Iterator[Finding]:
    yield from unknown(reading, record, trail, name, CAR_FIELDS, "car field")
    if name in CAR_FIELDS and car_unit(name) is None:
        what, mend = f"{name} of a car is not a number", "use a car field that is measured"
        yield reading.at(record, trail, what, mend, "not-a-number")


def _calculation(reading: Reading, record: Record, trail: Trail, limit: Limit) -> Iterator[Finding]:
    from troubleshoot.calculations.registry import calculation, calculations

    assert limit.calc is not None
    try:
        named = calculation(limit.calc)
    except (KeyError, TroubleshootError):
        names = [one.name for one in calculations()]
        yield from unknown(reading, record, (*trail, "calc"), limit.calc, names, "calculation")
        return
    inputs = {one.name: one for one in named.inputs}
    for name, given in limit.inputs.items():
        there = (*trail, "inputs", name)
        if name not in inputs:
            yield from unknown(reading, record, there, name, inputs, "input")
        elif isinstance(given, Source):
            yield from _source(reading, record, there, given, inputs[name].unit)
        elif isinstance(given, str):
            yield from _quantity(reading, record, there, given, inputs[name].unit)
    for field in named.inputs:
        if field.name not in limit.inputs and field.default is None:
            mend = f"add it under inputs:, in {field.unit}"
            yield reading.at(record, trail, f"{limit.calc} needs {field.name}", mend, "missing-input")
    if limit.output is not None:
        yield from unknown(
            reading, record, (*trail, "output"), limit.output, [one.name for one in named.outputs], "output"
        )


def _source(reading: Reading, record: Record, trail: Trail, source: Source, unit: str) -> Iterator[Finding]:
    if source.reading is not None:
        yield from unknown(reading, record, (*trail, "reading"), source.reading, reading.known("checks"), "check")
        measured = reading.catalogue.checks.get(source.reading)
        if measured is not None and measured.reading is None:
            what, mend = f"{source.reading} is seen, not measured", "use a check with a number"
            yield reading.at(record, (*trail, "reading"), what, mend, "not-a-number")
        if source.usual is None and source.car is None:
            mend = "add usual: with what it reads on most cars"
            yield reading.at(record, trail, "nothing stands in until this is read", mend, "no-usual")
    if source.car is not None:
        yield from _car_number(reading, record, (*trail, "car"), source.car)
    if source.reading is None and source.car is None and source.usual is None:
        mend = "give it reading:, car: or usual:"
        yield reading.at(record, trail, "this input comes from nowhere", mend, "no-usual")
    if isinstance(source.usual, str):
        yield from _quantity(reading, record, (*trail, "usual"), source.usual, unit)


def _quantity(reading: Reading, record: Record, trail: Trail, text: str, unit: str) -> Iterator[Finding]:
    try:
        read_quantity(text, unit)
    except QuantityRefused as problem:
        yield reading.at(record, trail, problem.sentence.rstrip("."), problem.remedy.rstrip("."), "bad-quantity")


def _on_cars(reading: Reading, record: Record, check: Check) -> Iterator[Finding]:
    """Work the bands out on every car the check is for; one finding a fault, on the first car that shows it."""
    cars = {name: car for name, car in reading.catalogue.cars.items() if fits(car, check.for_)} or {
        "a plain car": Car()
    }
    seen: set[Trail] = set()
    for name, car in cars.items():
        try:
            faults = list(_misplaced(check, car, reading))
        except TroubleshootError as problem:
            trail = ("bands", _refusing(check, car, reading), "to")
            if trail not in seen:
                seen.add(trail)
                what = f"on {name}: {problem.sentence.rstrip('.')}"
                yield reading.at(record, trail, what, problem.remedy.rstrip(".") or "correct it", "limit-refused")
            continue
        for finding_trail, what, mend, code in faults:
            if finding_trail not in seen:
                seen.add(finding_trail)
                yield reading.at(record, finding_trail, f"on {name}: {what}", mend, code)


def _refusing(check: Check, car: Car, reading: Reading) -> int:
    assert check.reading is not None
    for position, band in enumerate(check.bands):
        try:
            if band.to is not None:
                limit_value(band.to, check.reading.unit, car, {}, reading.catalogue.checks)
        except TroubleshootError:
            return position
    return 0


def _misplaced(check: Check, car: Car, reading: Reading) -> Iterator[tuple[Trail, str, str, str]]:
    assert check.reading is not None
    low, high = check.reading.plausible
    below = -math.inf
    for position, band in enumerate(check.bands[:-1]):
        assert band.to is not None
        limit = limit_value(band.to, check.reading.unit, car, {}, reading.catalogue.checks).value
        trail: Trail = ("bands", position, "to")
        calculated = any(isinstance(one.to, Limit) and one.to.calc for one in check.bands[: position + 1])
        if not limit > below and not calculated:
            what = f"{band.outcome} reaches to {limit:.4g}, not above the {below:.4g} before it"
            yield trail, what, "write the bands from low to high", "bands-overlap"
        if not low <= limit <= high:
            what = f"the limit {limit:.4g} lies outside the plausible {low:g} to {high:g}"
            yield trail, what, "correct one of the two", "limit-outside"
        below = limit
