"""Readings as written down, check id to `38 psi`, an outcome or `skipped`, turned into evidence."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from troubleshoot.calculations.units import Measured, QuantityRefused, read_quantity
from troubleshoot.knowledge.bands import BandLimit, bands_for, reading_plausible, share_in_bands, shares_of_outcome
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.findings import nearest
from troubleshoot.knowledge.model import Check
from troubleshoot.problems import TroubleshootError

SKIPPED = "skipped"
"""What is written for a check that could not be made."""


class ReadingRefused(TroubleshootError):
    """A reading cannot be taken: no such check or outcome, the wrong dimension, or out of all reason."""


@dataclass(frozen=True)
class Taken:
    """One reading: the check, what was written, and the share of it in each of the check's outcomes."""

    check: str
    written: str
    shares: tuple[float, ...]
    measured: Measured | None = None
    bands: tuple[BandLimit, ...] = ()


def taken_readings(checks: Mapping[str, Check], car: Car, written: Mapping[str, str | float]) -> tuple[Taken, ...]:
    """Return the readings as evidence, in their order, those skipped left out; ReadingRefused for the first bad one.

    Limits that are worked out from other readings use those given here.
    """
    numbers: dict[str, float | Measured] = {}
    for identifier, value in written.items():
        measured = measured_reading(identifier, _check(checks, identifier), value)
        if measured is not None:
            numbers[identifier] = measured
    made = []
    for identifier, value in written.items():
        if str(value).strip() != SKIPPED:
            made.append(_taken(checks, car, identifier, str(value), numbers))
    return tuple(made)


def measured_reading(identifier: str, check: Check, written: str | float) -> Measured | None:
    """Return a number as written in the check's unit, with its uncertainty; None for an outcome or a skip."""
    text = str(written).strip()
    if text == SKIPPED or (text in check.outcomes and not _numeric(text)) or check.reading is None:
        return None
    try:
        found = read_quantity(text, check.reading.unit)
    except QuantityRefused as problem:
        raise ReadingRefused(f"{identifier}: {problem.sentence}", problem.advice) from None
    if not reading_plausible(check, found.value):
        low, high = check.reading.plausible
        unit = check.reading.unit
        what = f"{identifier}: {found.understood} is outside {low:g} to {high:g} {unit}, which cannot be."
        raise ReadingRefused(what, "Measure again, and mind the unit.")
    if found.uncertainty is None:
        found = found._replace(uncertainty=check.reading.uncertainty)
    return found


def _numeric(text: str) -> bool:
    return text[:1].isdigit()


def _check(checks: Mapping[str, Check], identifier: str) -> Check:
    if identifier not in checks:
        hint = nearest(identifier, checks)
        raise ReadingRefused(f"There is no check {identifier[:60]}{hint}.", "Use the id of a check.")
    return checks[identifier]


def _taken(
    checks: Mapping[str, Check], car: Car, identifier: str, text: str, numbers: Mapping[str, float | Measured]
) -> Taken:
    check = checks[identifier]
    bands = bands_for(check, car, numbers, checks)
    measured = numbers.get(identifier)
    if isinstance(measured, Measured):
        shares = share_in_bands(measured.value, measured.uncertainty or 0.0, bands)
        return Taken(identifier, text, shares, measured, bands)
    try:
        return Taken(identifier, text, shares_of_outcome(check, text.strip()), None, bands)
    except KeyError:
        hint = nearest(text, check.outcomes)
        what = f"{identifier}: {text[:40]} is not one of its outcomes{hint}."
        raise ReadingRefused(what, f"Use one of {', '.join(check.outcomes)}, or {SKIPPED}.") from None
