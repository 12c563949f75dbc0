"""Work out a limit that is not a plain number: from the car, or by a named calculation.

Inputs come from readings already taken, from the car, or from a usual value; the uncertainty of a reading is carried
through the calculation (first-order propagation, JCGM 100) into that of the limit.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from troubleshoot.calculations.units import (
    Measured,
    QuantityRefused,
    convert,
    convert_difference,
    dimension_of,
    read_quantity,
    show_number,
    show_worked_out,
    with_unit,
)
from troubleshoot.knowledge.car import Car, car_unit, car_value
from troubleshoot.knowledge.model import Check, Expects, Limit, Source
from troubleshoot.problems import TroubleshootError

Readings = Mapping[str, "float | Measured"]
"""Numbers read so far, by check id; a plain number is in that check's own unit."""


class LimitRefused(TroubleshootError):
    """A limit cannot be worked out from what is known."""


ALTITUDE = "altitude"
WEATHER_FT = 280.0
"""What 1 kPa of weather makes of a height in a car's file (standard atmosphere; common practice, no source)."""

SAID = {"feedback-from": "feedback temperature"}
"""Car fields whose written name does not read as a noun."""


@dataclass(frozen=True)
class LimitValue:
    """A limit as a number in the check's unit, its standard uncertainty there, and how it was come by."""

    value: float
    uncertainty: float
    words: str = ""


def limit_value(
    limit: float | Limit, unit: str, car: Car, readings: Readings, checks: Mapping[str, Check] | None = None
) -> LimitValue:
    """Return a limit in a unit; LimitRefused when a calculation, a field or an input is missing or out of range."""
    if not isinstance(limit, Limit):
        return LimitValue(float(limit), 0.0)
    if limit.calc is not None:
        return _calculated(limit, unit, car, readings, checks or {})
    if limit.car is None:
        raise LimitRefused("A limit names neither a car field nor a calculation.", "Add car: or calc: to it.")
    value = _car_number(limit.car, car, unit)
    words = f"{SAID.get(limit.car, limit.car.replace('-', ' '))} of this car{_changed(limit)}"
    return LimitValue(value * limit.times + limit.plus, 0.0, words)


def limits_rest_on(check: Check) -> frozenset[str]:
    """Return the checks whose readings some limit of this check is worked out from."""
    return frozenset[str]().union(*(readings_behind(band.to) for band in check.bands if isinstance(band.to, Limit)))


def readings_behind(limit: Limit) -> frozenset[str]:
    """Return the checks whose readings a limit is worked out from."""
    sources = (one for one in limit.inputs.values() if isinstance(one, Source))
    return frozenset(one.reading for one in sources if one.reading is not None)


def expected_number(
    check: Check,
    expects: Expects,
    car: Car,
    readings: Readings | None = None,
    checks: Mapping[str, Check] | None = None,
) -> LimitValue:
    """Return the number that a cause makes a check read on this car, and its spread, in the check's unit.

    The spread is that of the trees together with the uncertainty of what the number is worked out from. LimitRefused
    when a quantity, a calculation, a field or an input is missing or out of range.
    """
    if check.reading is None:
        raise LimitRefused("expects: belongs to a check that is read as a number.", "Give outcomes with how often.")
    unit = check.reading.unit
    spread = _quantity(expects.spread, unit, difference=True)
    if not spread > 0.0:
        raise LimitRefused(f"The spread of what is expected is {expects.spread}.", "Write one above 0, such as 2 %.")
    if expects.value is not None:
        return LimitValue(_quantity(expects.value, unit), spread)
    number = limit_value(expects, unit, car, readings or {}, checks)
    return replace(number, uncertainty=math.hypot(number.uncertainty, spread))


@lru_cache(maxsize=4096)
def _quantity(written: float | str, unit: str, difference: bool = False) -> float:
    if not isinstance(written, str):
        return float(written)
    try:
        if difference:
            return read_quantity(f"0 ± {written}", unit).uncertainty or 0.0
        return read_quantity(written, unit).value
    except QuantityRefused as problem:
        raise LimitRefused(problem.sentence, problem.advice) from None


def _changed(limit: Limit) -> str:
    times = f" × {limit.times:g}" if limit.times != 1.0 else ""
    plus = f" {'+' if limit.plus > 0 else '−'} {abs(limit.plus):g}" if limit.plus else ""
    return times + plus


def _car_number(name: str, car: Car, unit: str) -> float:
    try:
        value, own = car_value(car, name), car_unit(name)
    except KeyError:
        raise LimitRefused(f"A car has no {name}.", "Use the name of a car field.") from None
    if own is None or not isinstance(value, (int, float)):
        raise LimitRefused(f"{name} of a car is not a number.", "Use a car field that is measured.")
    return convert(float(value), own, unit)


def _calculated(limit: Limit, unit: str, car: Car, readings: Readings, checks: Mapping[str, Check]) -> LimitValue:
    """Evaluate with the readings; where the calculation refuses them, with the usual values in their place."""
    try:
        return _evaluated(limit, unit, car, readings, checks)
    except LimitRefused:
        raise
    except QuantityRefused as problem:
        raise LimitRefused(problem.sentence, problem.advice) from None
    except TroubleshootError as problem:
        if not readings:
            raise LimitRefused(problem.sentence, problem.advice) from None
    return _calculated(limit, unit, car, {}, checks)


def _evaluated(limit: Limit, unit: str, car: Car, readings: Readings, checks: Mapping[str, Check]) -> LimitValue:
    from troubleshoot.calculations.registry import calculation

    assert limit.calc is not None
    try:
        named = calculation(limit.calc)
    except (KeyError, TroubleshootError) as problem:
        raise LimitRefused(str(problem), "Use the name of a calculation.") from None
    units = {one.name: one.unit for one in named.inputs}
    inputs: dict[str, Measured | float] = {}
    for name, given in limit.inputs.items():
        if name not in units:
            raise LimitRefused(f"{limit.calc} has no input {name}.", f"Use {', '.join(units)}.")
        inputs[name] = _input(given, units[name], car, readings, checks)
    results = named.evaluate(inputs)
    wanted = limit.output or named.outputs[0].name
    if wanted not in results:
        raise LimitRefused(f"{limit.calc} has no output {wanted}.", f"Use {', '.join(results)}.")
    result = results[wanted]
    value = convert(result.value, result.unit, unit) * limit.times + limit.plus
    spread = abs(convert_difference(result.uncertainty or 0.0, result.unit, unit) * limit.times)
    return LimitValue(value, spread, _words(limit, result, inputs, units, readings, car))


def _input(
    given: float | str | Source, unit: str, car: Car, readings: Readings, checks: Mapping[str, Check]
) -> Measured | float:
    if isinstance(given, str):
        return read_quantity(given, unit)
    if not isinstance(given, Source):
        return float(given)
    if given.reading is not None and given.reading in readings:
        return _reading(given.reading, readings[given.reading], unit, checks)
    if given.car is not None and given.each:
        said = given.each.get(str(car_value(car, given.car)))
        if said is None:
            raise LimitRefused(f"each: has nothing for {given.car} {car_value(car, given.car)}.", "Add it there.")
        return read_quantity(said, unit) if isinstance(said, str) else float(said)
    if given.car is not None:
        number = _car_number(given.car, car, unit)
        if given.car != ALTITUDE:
            return number
        return Measured(number, convert_difference(WEATHER_FT, "ft", unit), unit, "")
    if isinstance(given.usual, str):
        return read_quantity(given.usual, unit)
    if given.usual is None:
        raise LimitRefused(f"Nothing is known of {given.reading or 'an input'} yet.", "Give its source a usual: value.")
    return float(given.usual)


def _reading(check: str, value: float | Measured, unit: str, checks: Mapping[str, Check]) -> Measured:
    known = checks.get(check)
    if isinstance(value, Measured):
        own, number, spread = value.unit, value.value, value.uncertainty
    elif known is not None and known.reading is not None:
        own, number, spread = known.reading.unit, float(value), None
    else:
        own, number, spread = unit, float(value), None
    if spread is None and known is not None and known.reading is not None:
        spread = convert_difference(known.reading.uncertainty, known.reading.unit, own)
    if dimension_of(own) == "absolute pressure" and dimension_of(unit) == "length":
        return _height(convert(number, own, "kPa abs"), convert_difference(spread or 0.0, own, "kPa abs"), unit)
    wide = None if spread is None else abs(convert_difference(spread, own, unit))
    return Measured(convert(number, own, unit), wide, unit, "")


def _height(barometer: float, spread: float, unit: str) -> Measured:
    """Return the height at which the standard atmosphere has this barometer, kPa: what an altimeter shows."""
    from troubleshoot.calculations.weather import pressure_height

    height = pressure_height(1000.0 * barometer)
    wide = abs(pressure_height(1000.0 * (barometer - spread)) - height)
    return Measured(convert(height, "m", unit), convert_difference(wide, "m", unit), unit, "")


def _words(
    limit: Limit,
    result: Measured,
    inputs: Mapping[str, Measured | float],
    units: Mapping[str, str],
    readings: Readings,
    car: Car,
) -> str:
    assert limit.calc is not None
    parts = []
    for name, given in limit.inputs.items():
        if isinstance(given, Source) and (given.reading is not None or given.each):
            value = inputs[name]
            number = value.value if isinstance(value, Measured) else value
            origin = "read" if given.reading in readings else "of this car" if given.car is not None else "usual"
            if given.car is not None and given.each:
                origin = f"{given.car}: {car_value(car, given.car)}"
            parts.append(f"{name.replace('-', ' ')} {with_unit(show_number(float(number)), units[name])} ({origin})")
    told = f", with {', '.join(parts)}" if parts else ""
    return f"{limit.calc.replace('-', ' ')} {show_worked_out(result)}{_changed(limit)}{told}"
