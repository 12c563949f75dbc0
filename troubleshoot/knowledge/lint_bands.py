"""Bands and limits: ascending on every car, without a gap, in units and calculations that exist."""

from __future__ import annotations

import math
from collections.abc import Iterator

from troubleshoot.calculations.units import QuantityRefused, known_units, read_quantity
from troubleshoot.knowledge.against import against_checks
from troubleshoot.knowledge.car import CAR_FIELDS, Car, car_unit
from troubleshoot.knowledge.compiling import fits
from troubleshoot.knowledge.findings import Finding, nearest
from troubleshoot.knowledge.forms import straightened
from troubleshoot.knowledge.limits import limit_value
from troubleshoot.knowledge.lint_references import Record, car_field, unknown
from troubleshoot.knowledge.load_trees import SourcedTrees
from troubleshoot.knowledge.loading import YamlPath
from troubleshoot.knowledge.model import Check, Limit, Source
from troubleshoot.problems import TroubleshootError


def bands(trees: SourcedTrees) -> Iterator[Finding]:
    """Find units, limits and bands that cannot be."""
    checks = trees.catalogue.checks
    for identifier, check in {**checks, **against_checks(checks)}.items():
        if check.reading is None or not check.bands:
            continue
        record = ("checks", identifier)
        wrong = [*_number(trees, record, check), *_ends(trees, record, check)]
        for position, band in enumerate(check.bands):
            if isinstance(band.to, Limit):
                wrong.extend(_limit(trees, record, ("bands", position, "to"), band.to))
        yield from wrong
        if not wrong:
            yield from _on_cars(trees, record, check)


def _number(trees: SourcedTrees, record: Record, check: Check) -> Iterator[Finding]:
    assert check.reading is not None
    unit, (low, high) = check.reading.unit, check.reading.plausible
    if unit not in known_units():
        what = f"{unit} is no known unit{nearest(unit, known_units())}"
        advice = straightened(unit) or "use a unit the program knows, such as psi"
        yield trees.at(record, ("reading", "unit"), what, advice, "unknown-unit")
    if not low < high:
        what, advice = f"the plausible range runs from {low:g} to {high:g}", "write the lower number first"
        yield trees.at(record, ("reading", "plausible"), what, advice, "plausible-range")


def _ends(trees: SourcedTrees, record: Record, check: Check) -> Iterator[Finding]:
    last = len(check.bands) - 1
    for position, band in enumerate(check.bands):
        if position == last and band.to is not None:
            advice = "leave to: out of the last band"
            yield trees.at(record, ("bands", position, "to"), "above the last band is a gap", advice, "band-gap")
        if position < last and band.to is None:
            what, advice = f"band {band.outcome} has no upper limit", "say how far it reaches with to:"
            yield trees.at(record, ("bands", position), what, advice, "band-open")


def _limit(trees: SourcedTrees, record: Record, yaml_path: YamlPath, limit: Limit) -> Iterator[Finding]:
    if (limit.car is None) == (limit.calc is None):
        advice = "give it car: with a field, or calc: with inputs:"
        yield trees.at(
            record, yaml_path, "a limit comes from the car or from a calculation", advice, "limit-of-no-kind"
        )
    if limit.car is not None:
        yield from _car_number(trees, record, (*yaml_path, "car"), limit.car)
    if limit.calc is not None:
        yield from _calculation(trees, record, yaml_path, limit)


def _car_number(trees: SourcedTrees, record: Record, yaml_path: YamlPath, name: str) -> Iterator[Finding]:
    yield from unknown(trees, record, yaml_path, name, CAR_FIELDS, "car field")
    if name in CAR_FIELDS and car_unit(name) is None:
        what, advice = f"{name} of a car is not a number", "use a car field that is measured"
        yield trees.at(record, yaml_path, what, advice, "not-a-number")


def _calculation(trees: SourcedTrees, record: Record, yaml_path: YamlPath, limit: Limit) -> Iterator[Finding]:
    from troubleshoot.calculations.registry import calculation, calculations

    assert limit.calc is not None
    try:
        named = calculation(limit.calc)
    except (KeyError, TroubleshootError):
        names = [one.name for one in calculations()]
        yield from unknown(trees, record, (*yaml_path, "calc"), limit.calc, names, "calculation")
        return
    inputs = {one.name: one for one in named.inputs}
    for name, given in limit.inputs.items():
        there = (*yaml_path, "inputs", name)
        if name not in inputs:
            yield from unknown(trees, record, there, name, inputs, "input")
        elif isinstance(given, Source):
            yield from _source(trees, record, there, given, inputs[name].unit)
        elif isinstance(given, str):
            yield from _quantity(trees, record, there, given, inputs[name].unit)
    for field in named.inputs:
        if field.name not in limit.inputs and field.default is None:
            advice = f"add it under inputs:, in {field.unit}"
            yield trees.at(record, yaml_path, f"{limit.calc} needs {field.name}", advice, "missing-input")
    if limit.output is not None:
        yield from unknown(
            trees, record, (*yaml_path, "output"), limit.output, [one.name for one in named.outputs], "output"
        )


def _source(trees: SourcedTrees, record: Record, yaml_path: YamlPath, source: Source, unit: str) -> Iterator[Finding]:
    if source.reading is not None:
        yield from unknown(trees, record, (*yaml_path, "reading"), source.reading, trees.known("checks"), "check")
        measured = trees.catalogue.checks.get(source.reading)
        if measured is not None and measured.reading is None:
            what, advice = f"{source.reading} is seen, not measured", "use a check with a number"
            yield trees.at(record, (*yaml_path, "reading"), what, advice, "not-a-number")
        if source.usual is None and source.car is None:
            advice = "add usual: with what it reads on most cars"
            yield trees.at(record, yaml_path, "nothing stands in until this is read", advice, "no-usual")
    if source.car is not None and source.each:
        yield from car_field(trees, record, (*yaml_path, "each"), source.car, source.each)
        for value, text in source.each.items():
            if isinstance(text, str):
                yield from _quantity(trees, record, (*yaml_path, "each", value), text, unit)
    elif source.car is not None:
        yield from _car_number(trees, record, (*yaml_path, "car"), source.car)
    if source.reading is None and source.car is None and source.usual is None:
        advice = "give it reading:, car: or usual:"
        yield trees.at(record, yaml_path, "this input comes from nowhere", advice, "no-usual")
    if isinstance(source.usual, str):
        yield from _quantity(trees, record, (*yaml_path, "usual"), source.usual, unit)


def _quantity(trees: SourcedTrees, record: Record, yaml_path: YamlPath, text: str, unit: str) -> Iterator[Finding]:
    try:
        read_quantity(text, unit)
    except QuantityRefused as problem:
        yield trees.at(record, yaml_path, problem.sentence.rstrip("."), problem.advice.rstrip("."), "bad-quantity")


def _on_cars(trees: SourcedTrees, record: Record, check: Check) -> Iterator[Finding]:
    """Work the bands out on every car the check is for; one finding a fault, on the first car that shows it."""
    cars = {name: car for name, car in trees.catalogue.cars.items() if fits(car, check.for_)} or {"a plain car": Car()}
    seen: set[YamlPath] = set()
    for name, car in cars.items():
        try:
            faults = list(_misplaced(check, car, trees))
        except TroubleshootError as problem:
            yaml_path = ("bands", _refusing(check, car, trees), "to")
            if yaml_path not in seen:
                seen.add(yaml_path)
                what = f"on {name}: {problem.sentence.rstrip('.')}"
                yield trees.at(record, yaml_path, what, problem.advice.rstrip(".") or "correct it", "limit-refused")
            continue
        for finding_trail, what, advice, code in faults:
            if finding_trail not in seen:
                seen.add(finding_trail)
                yield trees.at(record, finding_trail, f"on {name}: {what}", advice, code)


def _refusing(check: Check, car: Car, trees: SourcedTrees) -> int:
    assert check.reading is not None
    for position, band in enumerate(check.bands):
        try:
            if band.to is not None:
                limit_value(band.to, check.reading.unit, car, {}, trees.catalogue.checks)
        except TroubleshootError:
            return position
    return 0


def _misplaced(check: Check, car: Car, trees: SourcedTrees) -> Iterator[tuple[YamlPath, str, str, str]]:
    assert check.reading is not None
    low, high = check.reading.plausible
    below = -math.inf
    for position, band in enumerate(check.bands[:-1]):
        assert band.to is not None
        limit = limit_value(band.to, check.reading.unit, car, {}, trees.catalogue.checks).value
        yaml_path: YamlPath = ("bands", position, "to")
        calculated = any(isinstance(one.to, Limit) and one.to.calc for one in check.bands[: position + 1])
        if not limit > below and not calculated:
            what = f"{band.outcome} reaches to {limit:.4g}, not above the {below:.4g} before it"
            yield yaml_path, what, "write the bands from low to high", "bands-overlap"
        if not low <= limit <= high:
            what = f"the limit {limit:.4g} lies outside the plausible {low:g} to {high:g}"
            yield yaml_path, what, "correct one of the two", "limit-outside"
        below = limit
