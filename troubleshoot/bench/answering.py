"""The adapter between the virtual engine and the checks: a reading under the name of a check, in the check's unit."""

from __future__ import annotations

import math
from collections.abc import Mapping

from troubleshoot.bench.answer_table import CHANGES, CHOICES, NUMBERS
from troubleshoot.calculations.units import convert
from troubleshoot.knowledge.model import Check
from troubleshoot.virtual_engine.instruments import READINGS


def can_answer(check: str) -> bool:
    """Return whether the virtual engine has an answer to this check at all."""
    return check in NUMBERS or check in CHOICES


def readings_behind(check: str) -> frozenset[str]:
    """Return the readings of the engine that a check is answered from; none for one that has no answer."""
    if check in NUMBERS:
        return frozenset(CHANGES.get(name, name) for name in NUMBERS[check].terms)
    return frozenset({CHOICES[check].reading}) if check in CHOICES else frozenset()


def own_parameter_checks() -> frozenset[str]:
    """Return the checks answered by a fault's own parameter, as the engine marks its readings.

    A proof that uses them is nearly circular: the check reads what the fault was set to.
    """
    return frozenset(
        check for check in (*NUMBERS, *CHOICES) if any(READINGS[name].own_parameter for name in readings_behind(check))
    )


def answer(identifier: str, check: Check, readings: Mapping[str, float]) -> float | str | None:
    """Return the number (in the check's unit) or the outcome that answers a check; None when it cannot be measured."""
    if identifier in NUMBERS and check.reading is not None:
        return _number(identifier, check.reading.unit, readings)
    if identifier in CHOICES:
        return _choice(identifier, readings)
    return None


def _number(identifier: str, unit: str, readings: Mapping[str, float]) -> float | None:
    known = NUMBERS[identifier]
    value = sum(times * readings[name] for name, times in known.terms.items()) + known.plus
    if not math.isfinite(value):
        return None
    if unit == known.unit:
        return value
    return convert(value, known.unit, unit)


def _choice(identifier: str, readings: Mapping[str, float]) -> str | None:
    known = CHOICES[identifier]
    value = readings[known.reading]
    if not math.isfinite(value):
        return None
    return next(outcome for limit, outcome in known.outcomes if value < limit)
