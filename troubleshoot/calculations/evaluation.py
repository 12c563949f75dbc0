"""Running a calculation on readings: units in and out, ranges, notes, and the uncertainty of the result.

Uncertainty follows JCGM 100:2008 (GUM), 5.1.2: first order, independent inputs, sensitivities by central differences.
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import Any, NamedTuple

from troubleshoot.calculations.fields import Definition, Field, check_range
from troubleshoot.calculations.refusals import CalculationRefused
from troubleshoot.calculations.unit_table import UNITS
from troubleshoot.calculations.units import (
    Measured,
    QuantityRefused,
    System,
    convert,
    convert_difference,
    measured,
    show_measured,
    show_number,
    with_unit,
)

Given = Measured | float | Sequence[Measured | float]
_STEP = 1e-5  # of the size of the input: the error of the difference and of rounding are both below 1e-8


class Answer(NamedTuple):
    """The results of a calculation with everything a face shows beside them."""

    calculation: Definition
    inputs: dict[str, Measured | tuple[Measured, ...]]
    defaulted: frozenset[str]
    outputs: dict[str, Measured]
    notes: tuple[str, ...]
    shares: dict[str, dict[str, float]]  # output -> input -> its share of the variance


def answer(calculation: Definition, inputs: Mapping[str, Given], system: System = "us") -> Answer:
    """Calculate; see `Calculation.answer`."""
    for name in inputs:
        calculation.field(name)
    missing = [field.name for field in calculation.inputs if field.default is None and field.name not in inputs]
    advice = f"Also missing: {', '.join(missing[1:])}." if len(missing) > 1 else ""
    taken = {field.name: _take(field, inputs, advice) for field in calculation.inputs}
    inside: dict[str, Any] = {}
    for parameter, field in zip(calculation.parameters, calculation.inputs, strict=True):
        value = taken[field.name]
        inside[parameter] = (
            tuple(field.to_inside(one.value) for one in value)
            if isinstance(value, tuple) and not isinstance(value, Measured)
            else field.to_inside(value.value)
        )
        check_range(field, inside[parameter])
    results = _run(calculation, inside, taken)
    spreads, shares = _propagate(calculation, inside, taken, results)
    outputs = {
        field.name: measured(
            field.from_inside(value),
            field.unit,
            spread / UNITS[field.unit].factor if spread is not None else None,
        )
        for field, value, spread in zip(calculation.outputs, results, spreads, strict=True)
    }
    return Answer(
        calculation=calculation,
        inputs=taken,
        defaulted=frozenset(field.name for field in calculation.inputs if field.name not in inputs),
        outputs=outputs,
        notes=tuple(_notes(calculation, inside, taken, outputs, system)),
        shares=shares,
    )


def _take(field: Field, inputs: Mapping[str, Given], advice: str) -> Measured | tuple[Measured, ...]:
    """Return what is given for a field, in the field's unit; its default when nothing is."""
    given = inputs.get(field.name, field.default)
    if given is None:
        sentence = f"{field.words[0].upper()}{field.words[1:]} ({field.name}) is missing: give {field.allowed}."
        raise CalculationRefused(field.name, "missing", field.allowed, sentence, advice)
    if isinstance(given, Measured | float | int):
        one = _one(field, given)
        return (one,) if field.many else one
    if not field.many:
        raise CalculationRefused(
            field.name, f"{len(given)} values", "one value", f"{field.name} takes one value, not {len(given)}."
        )
    if not given:
        raise CalculationRefused(field.name, "empty", field.allowed, f"{field.name} is an empty list.")
    return tuple(_one(field, value) for value in given)


def _one(field: Field, given: Measured | float) -> Measured:
    """Return one value in the field's unit."""
    if not isinstance(given, Measured):
        return measured(float(given), field.unit)
    if given.unit == field.unit:
        return given
    try:
        value = convert(given.value, given.unit, field.unit)
        spread = None if given.uncertainty is None else convert_difference(given.uncertainty, given.unit, field.unit)
    except QuantityRefused as wrong:
        raise CalculationRefused(
            field.name, show_measured(given), field.allowed, f"{field.name}: {wrong.sentence}", wrong.advice
        ) from None
    return Measured(value, spread, field.unit, given.understood)


def _run(
    calculation: Definition, inside: Mapping[str, Any], taken: Mapping[str, Measured | tuple[Measured, ...]]
) -> tuple[float, ...]:
    """Call the formula; put the value as typed into a refusal of its own."""
    try:
        results = _values(calculation.function(**inside))
    except CalculationRefused as refused:
        given = taken.get(refused.field)
        if given is not None and not refused.value:
            refused.value = show_measured(given) if isinstance(given, Measured) else _list_in_words(given)
        raise
    except (OverflowError, ZeroDivisionError, ValueError) as trouble:
        sentence = "These values together have no answer."
        raise CalculationRefused("", "", "", sentence, "Check each of them.") from trouble
    for field, value in zip(calculation.outputs, results, strict=True):
        if not math.isfinite(value):
            raise CalculationRefused(field.name, "", "", f"These values give no finite {field.words}.")
    return results


def _values(result: Any) -> tuple[float, ...]:
    """Return a result, one number or a record of them, as a tuple."""
    return tuple(result) if isinstance(result, tuple) else (result,)


def _propagate(
    calculation: Definition,
    inside: dict[str, Any],
    taken: Mapping[str, Measured | tuple[Measured, ...]],
    results: tuple[float, ...],
) -> tuple[list[float | None], dict[str, dict[str, float]]]:
    """Return the standard uncertainty of each result (None: no input states one) and each input's share of it."""
    variances = [0.0] * len(results)
    by_input: dict[str, list[float]] = {}
    for parameter, field in zip(calculation.parameters, calculation.inputs, strict=True):
        for spread, shifted in _shifts(field, parameter, inside, taken[field.name]):
            slopes = _slopes(calculation.function, inside, parameter, shifted, results)
            fields = zip(slopes, calculation.outputs, strict=True)
            part = [0.0 if out.whole else (slope * spread) * (slope * spread) for slope, out in fields]
            variances = [a + b for a, b in zip(variances, part, strict=True)]
            total = by_input.setdefault(field.name, [0.0] * len(results))
            by_input[field.name] = [a + b for a, b in zip(total, part, strict=True)]
    if not by_input:
        return [None] * len(results), {}
    if not all(math.isfinite(variance) for variance in variances):
        raise CalculationRefused("", "", "", "These values give no finite uncertainty.", "Check each of them.")
    shares = {
        out.name: {name: parts[i] / variances[i] for name, parts in by_input.items()}
        for i, out in enumerate(calculation.outputs)
        if variances[i] > 0
    }
    return [math.sqrt(variance) for variance in variances], shares


def _shifts(
    field: Field, parameter: str, inside: Mapping[str, Any], taken: Measured | tuple[Measured, ...]
) -> Iterator[tuple[float, Callable[[float], Any]]]:
    """Yield for each uncertain number of an input its inside uncertainty and how to shift it by a step."""
    factor = UNITS[field.unit].factor
    if isinstance(taken, Measured):
        if taken.uncertainty:
            yield taken.uncertainty * factor, _shift(inside[parameter], taken.uncertainty * factor)
        return
    values = inside[parameter]
    for place, one in enumerate(taken):
        if one.uncertainty:
            yield one.uncertainty * factor, _shift_one(values, place, one.uncertainty * factor)


def _shift(base: float, spread: float) -> Callable[[float], float]:
    """Return a function that shifts a number by a step of its size."""
    size = max(abs(base), spread)
    return lambda step: base + step * size


def _shift_one(values: tuple[float, ...], place: int, spread: float) -> Callable[[float], tuple[float, ...]]:
    """Return a function that shifts one number of a list by a step of its size."""
    size = max(abs(values[place]), spread)
    return lambda step: (*values[:place], values[place] + step * size, *values[place + 1 :])


def _slopes(
    function: Callable[..., Any],
    inside: dict[str, Any],
    parameter: str,
    shifted: Callable[[float], Any],
    results: tuple[float, ...],
) -> list[float]:
    """Return the derivative of each result by central difference, one-sided where one side has no answer."""
    ends: list[tuple[float, tuple[float, ...]]] = []
    for step in (_STEP, -_STEP):
        moved = shifted(step)
        try:
            ends.append((_distance(inside[parameter], moved), _values(function(**{**inside, parameter: moved}))))
        except (ValueError, ZeroDivisionError, OverflowError):
            ends.append((0.0, results))
    (up, high), (down, low) = ends
    if up == down:
        return [0.0] * len(results)
    return [(a - b) / (up - down) for a, b in zip(high, low, strict=True)]


def _distance(base: Any, moved: Any) -> float:
    """Return by how much a number, or the one shifted number of a list, was moved."""
    if isinstance(base, tuple):
        return float(sum(b - a for a, b in zip(base, moved, strict=True)))
    return float(moved - base)


def _notes(
    calculation: Definition,
    inside: Mapping[str, Any],
    taken: Mapping[str, Measured | tuple[Measured, ...]],
    outputs: Mapping[str, Measured],
    system: System,
) -> Iterator[str]:
    """Yield what a mechanic should be told: values out of the usual, and what the calculation itself notes."""
    for field in calculation.inputs:
        given = taken[field.name]
        for one in (given,) if isinstance(given, Measured) else given:
            yield from _unusual(field, one, field.unit_in(system))
    for field in calculation.outputs:
        yield from _unusual(field, outputs[field.name], field.unit_in(system))
    if calculation.notes is not None:
        results = {field.name: field.to_inside(outputs[field.name].value) for field in calculation.outputs}
        yield from calculation.notes(inside, results)


def _unusual(field: Field, value: Measured, unit: str) -> Iterator[str]:
    """Yield a note, in `unit`, when a value lies outside the field's usual range."""
    if field.usual is None or field.usual[0] <= value.value <= field.usual[1]:
        return
    low, high, now = (convert(one, field.unit, unit) for one in (*field.usual, value.value))
    if math.isinf(low):
        usual = f"up to {with_unit(show_number(high), unit)}"
    elif math.isinf(high):
        usual = f"from {with_unit(show_number(low), unit)} up"
    else:
        usual = f"{show_number(low)} to {with_unit(show_number(high), unit)}"
    shown = with_unit(show_number(now), unit)
    told = f": {field.outside}" if field.outside else ""
    yield f"{field.words[0].upper()}{field.words[1:]} {shown} is outside the usual {usual}{told}."


def _list_in_words(values: tuple[Measured, ...]) -> str:
    """Write a list of readings."""
    return ", ".join(show_measured(value) for value in values)
