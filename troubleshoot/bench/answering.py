"""The adapter between the virtual engine and the checks: a reading under the name of a check, in the check's unit."""

from __future__ import annotations

import math
from collections.abc import Mapping

from troubleshoot.bench.answer_table import CHOICES, NUMBERS
from troubleshoot.calculations.units import convert, convert_difference
from troubleshoot.knowledge.model import Check


def can_answer(check: str) -> bool:
    """Return whether the virtual engine has an answer to this check at all."""
    return check in NUMBERS or check in CHOICES


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
    if identifier in DIFFERENCES:
        return convert_difference(value, known.unit, unit)
    return convert(value, known.unit, unit)


DIFFERENCES = frozenset({"coolant-error", "coolant-cold-soak"})
"""Checks whose reading is a difference of two temperatures, so that no zero is shifted."""


def _choice(identifier: str, readings: Mapping[str, float]) -> str | None:
    known = CHOICES[identifier]
    value = readings[known.reading]
    if not math.isfinite(value):
        return None
    return next(outcome for limit, outcome in known.outcomes if value < limit)
