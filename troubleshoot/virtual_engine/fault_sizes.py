"""What a fault is: changes of parameters by a severity, on one scale, each size in its unit with its basis.

One scale for all faults: 0.25 early (just beyond what a good car does), 0.5 clear (what a shop usually sees), 1 gross,
but such that the car still comes in. Sizes between lie on straight lines; at 0 the car is healthy.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

EARLY, CLEAR, GROSS = 0.25, 0.5, 1.0
"""The named points of the scale."""

BETWEEN_EARLY_AND_CLEAR, BETWEEN_CLEAR_AND_GROSS = 0.375, 0.75
"""Where a fault that goes in steps takes its next one."""

Change = Callable[[float, float], float]
"""From the healthy value and the severity to the faulty value."""

BOTH = frozenset({"points", "electronic"})
POINTS = frozenset({"points"})
ELECTRONIC = frozenset({"electronic"})

ESTIMATE = "engineering estimate"
TRADE = "common practice, no source; sizes an engineering estimate"


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault: what it changes; `sizes` says what early, clear and gross are in units, `basis` why."""

    id: str
    group: str
    core: bool
    applies_to: frozenset[str]
    sizes: str
    basis: str
    changes: Mapping[str, Change] = field(repr=False)


def amount(severity: float, start: float, early: float, clear: float, gross: float) -> float:
    """Return the size at a severity, on straight lines through the named points."""
    if severity <= EARLY:
        return start + (early - start) * severity / EARLY
    if severity <= CLEAR:
        return early + (clear - early) * (severity - EARLY) / (CLEAR - EARLY)
    return clear + (gross - clear) * (severity - CLEAR) / (GROSS - CLEAR)


def plus(early: float, clear: float, gross: float) -> Change:
    """Add an amount."""
    return lambda value, s: value + amount(s, 0.0, early, clear, gross)


def times(early: float, clear: float, gross: float) -> Change:
    """Multiply by a factor."""
    return lambda value, s: value * amount(s, 1.0, early, clear, gross)


def reach(early: float, clear: float, gross: float) -> Change:
    """Take a value, coming from the healthy one."""
    return lambda value, s: amount(s, value, early, clear, gross)


def begins(nothing: float, early: float, clear: float, gross: float) -> Change:
    """Take a value that begins with a step: the slightest fault already reads `nothing`."""
    return lambda _value, s: amount(s, nothing, early, clear, gross)


def steps(early: float, clear: float, gross: float) -> Change:
    """Take one of three values."""
    return lambda _value, s: early if s < BETWEEN_EARLY_AND_CLEAR else clear if s < BETWEEN_CLEAR_AND_GROSS else gross


def fixed(goal: float) -> Change:
    """Take a value whatever the severity."""
    return lambda _value, _s: goal


def fault(
    name: str,
    group: str,
    sizes: str,
    basis: str,
    changes: Mapping[str, Change],
    core: bool = True,
    applies_to: frozenset[str] = BOTH,
) -> Fault:
    """Return one entry of the tables of faults."""
    return Fault(name, group, core, applies_to, sizes, basis, MappingProxyType(dict(changes)))
