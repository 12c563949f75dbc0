"""From typed or written text to a reading: a number in the check's unit, or one of its outcomes; never a guess.

The one place where text becomes a reading: for sessions, questions, worked cases, the linter, drills and the proof.
"""

from __future__ import annotations

import contextlib
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, assert_never

from troubleshoot.calculations.units import Measured as Quantity
from troubleshoot.calculations.units import (
    QuantityRefused,
    convert,
    convert_difference,
    dimension_of,
    display_unit,
    places_for,
    read_quantity,
    said_roughly,
    show_measured,
    show_number,
    with_unit,
)
from troubleshoot.knowledge.bands import BandLimit, bands_for, share_in_bands
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.findings import nearest
from troubleshoot.knowledge.limits import Readings
from troubleshoot.knowledge.model import Check, Look, Number
from troubleshoot.problems import TroubleshootError

System = Literal["us", "metric"]
"""The units a person reads; None stands for the unit that the trees write a check in."""

CLOSE_CALL = 0.85
"""A reading of which less than this lies in one band is called close to a limit."""

GASOLINE_SCALE = 14.7
"""Air-fuel ratio that displays set to the gasoline scale show at lambda 1 (common practice, no source)."""

LEAST_RATIO = 7.0
"""A lambda is never as high as this, an air-fuel ratio hardly ever lower."""

AS_DISPLAYED = ("kPa", "kPa abs")
"""Manifold pressure is read off the controller, which shows kilopascals in every country (SAE J1979, from memory)."""

SKIPPED = "skipped"
"""What is written for a check that could not be made."""

ABOUT = 2.0
"""A number said to be about right is at least this many times as uncertain as the instrument."""


_MARKED = re.compile(r"±|\+/?[-−]")


_LEADING = re.compile(r"-?\d+(\.\d+)?")


class ReadingRefused(TroubleshootError):
    """A text is no reading of this check."""


class ReadingImplausible(ReadingRefused):
    """The reading lies outside what the check can show; it is taken when the person says they are sure."""


@dataclass(frozen=True)
class InterpretedReading:
    """What was understood of a text; `value` and `uncertainty` are in `unit`, the check's own."""

    value: float | None
    uncertainty: float | None
    unit: str
    outcome: str
    words: str
    warning: str
    shares: tuple[float, ...]
    normal: bool | None
    shown: str
    bands: tuple[BandLimit, ...] = ()
    """The bands that a number was found among; none for an outcome that was named."""


def id_words(identifier: str) -> str:
    """Return an id as words, where the trees give none."""
    return identifier.replace("-", " ")


def shown_unit_of(check: Check, system: System | None) -> str:
    """Return the unit in which a person of that system reads this check; empty for a check that is seen."""
    if check.reading is None:
        return ""
    unit = check.reading.unit
    return unit if system is None or unit in AS_DISPLAYED else display_unit(unit, system)


def in_shown_unit(check: Check, value: float, system: System | None) -> float:
    """Return a value of the check's unit in the unit shown."""
    unit = check.unit
    return convert(value, unit, shown_unit_of(check, system)) if unit else value


def spread_in_shown_unit(check: Check, spread: float, system: System | None) -> float:
    """Return an uncertainty of the check's unit in the unit shown."""
    unit = check.unit
    return convert_difference(spread, unit, shown_unit_of(check, system)) if unit else spread


def shown_uncertainty(check: Check, system: System | None) -> float:
    """Return the uncertainty of a check's instrument in the unit shown, in no more figures than it has."""
    spread = spread_in_shown_unit(check, check.uncertainty, system)
    return round(spread, places_for(spread)) if spread and shown_unit_of(check, system) != check.unit else spread


def show_value(check: Check, value: float, system: System | None) -> str:
    """Write a value of the check's unit for a person of that system."""
    return with_unit(show_number(in_shown_unit(check, value, system)), shown_unit_of(check, system))


def show_reading(
    check: Check, value: float, spread: float | None, system: System | None, limits: Sequence[float] = ()
) -> str:
    """Write what was read, with the uncertainty stated, if any; converted, no finer than its uncertainty tells.

    It is finer where it would else be seen on the other side of one of the `limits`, which are in the check's unit.
    """
    unit = shown_unit_of(check, system)
    number, around = in_shown_unit(check, value, system), spread_in_shown_unit(check, spread or 0.0, system)
    told = min((one for one in (spread, check.uncertainty) if one), default=0.0)
    as_typed = unit == check.unit and math.isclose(float(show_number(number)), number, rel_tol=1e-9)
    if as_typed or not told:
        return show_measured(Quantity(number, around or None, unit, ""))
    least = places_for(spread_in_shown_unit(check, told, system))
    ends = [(value < limit, in_shown_unit(check, limit, system)) for limit in limits]
    fit = (n for n in range(least, least + 6) if all((round(number, n) < end) == below for below, end in ends))
    written = [show_number(round(number, next(fit, least)), 8), show_number(round(around, least), 8)]
    return with_unit(" ± ".join(written if around else written[:1]), unit)


@dataclass(frozen=True)
class ReadingContext:
    """What a reading is judged in: the car, the other numbers read, the catalogue's checks, and units shown."""

    car: Car
    numbers: Readings
    checks: Mapping[str, Check]
    system: System | None

    def bands(self, check: Check) -> tuple[BandLimit, ...]:
        """Return a check's bands here, its limits worked out from what has been read."""
        return bands_for(check, self.car, self.numbers, self.checks)


def written_readings(
    checks: Mapping[str, Check], car: Car, written: Mapping[str, str | float]
) -> dict[str, InterpretedReading]:
    """Return readings as written in a file, check id to `38 psi`, an outcome or `skipped`; those skipped are left out.

    A bare number is in the check's own unit. Limits that are worked out from other readings use those given here.
    ReadingRefused for the first that is none, with its check.
    """
    numbers: dict[str, float | Quantity] = {}
    context = ReadingContext(car, numbers, checks, None)
    made = dict.fromkeys(name for name, text in written.items() if str(text).strip().casefold() != SKIPPED)
    for name in made:
        if name not in checks:
            raise ReadingRefused(f"There is no check {name[:60]}{nearest(name, checks)}.", "Use the id of a check.")
        read = _written(name, checks[name], str(written[name]), context)
        if read.value is not None:
            numbers[name] = Quantity(read.value, read.uncertainty, read.unit, "")
    return {name: _written(name, checks[name], str(written[name]), context) for name in made}


def _written(name: str, check: Check, text: str, context: ReadingContext) -> InterpretedReading:
    try:
        return read_text(check, text, context)
    except ReadingRefused as refused:
        hint = nearest(text.strip(), check.outcomes)
        outcomes = f" Its outcomes are {', '.join(check.outcomes)}."
        raise ReadingRefused(f"{name}: {refused.sentence.rstrip('.')}{hint}.", f"{refused.advice}{outcomes}") from None


def read_text(check: Check, text: str, context: ReadingContext, sure: bool = False) -> InterpretedReading:
    """Return what a typed answer says; ReadingRefused or ReadingImplausible when it says nothing usable."""
    typed, system = " ".join(text.split()), context.system
    if not typed:
        raise ReadingRefused("Nothing was typed.", _expected(check, system))
    named = _named_outcome(check, typed)
    if named is not None:
        return understood_outcome(check, named)
    if check.reading is None:
        raise ReadingRefused(f'"{typed[:40]}" is none of the answers.', _expected(check, system))
    quantity = _quantity(check, text, system)
    value = convert(quantity.value, quantity.unit, check.reading.unit)
    spread = quantity.uncertainty
    if spread is not None:
        spread = abs(convert_difference(spread, quantity.unit, check.reading.unit))
        if said_roughly(text):
            spread = max(spread, ABOUT * check.reading.uncertainty)
        elif _MARKED.search(text) is None:
            spread = max(spread, check.reading.uncertainty)
    if not sure:
        _ask_about_the_unit(check, text, value, context)
    low, high = check.reading.plausible
    if not sure and not low <= value <= high:
        advice = "Look at the unit and the instrument; if it really reads that, say that you are sure."
        if check.reading.unit == "lambda" and value >= LEAST_RATIO:
            advice = f"If the display shows an air-fuel ratio, type {show_number(value)} AFR."
        raise ReadingImplausible(
            f"{show_value(check, value, system)} is outside what this can be "
            f"({show_value(check, low, system)} to {show_value(check, high, system)}).",
            advice,
        )
    return understood_value(check, value, spread, context)


FAR = 4.0
"""How many times outside all its limits a bare number lies before it is asked whether the other unit was meant."""


def _ask_about_the_unit(check: Check, text: str, value: float, context: ReadingContext) -> None:
    """Ask about a bare number far outside the limits that would lie among them in the other system's unit.

    3.2 typed where psi is asked for, on a system set to 58 psi, is most likely 3.2 bar.
    """
    unit = shown_unit_of(check, context.system)
    if check.reading is None or not _BARE.fullmatch(text.strip()) or dimension_of(unit) not in ASKED_ABOUT:
        return
    other = OTHER_SYSTEM.get(unit, "")
    limits = [one for band in context.bands(check) for one in (band.low, band.high) if 0 < one < math.inf]
    if not other or not limits or min(limits) / FAR <= value <= max(limits) * FAR:
        return
    typed = convert(value, check.reading.unit, unit)
    meant = convert(typed, other, check.reading.unit)
    if min(limits) / 2 <= meant <= max(limits) * 2:
        as_asked, as_other = with_unit(show_number(typed), unit), with_unit(show_number(typed), other)
        raise ReadingImplausible(
            f"{as_asked} is far outside the limits. If it is {as_other}, type {as_other}.",
            f"If it really is {as_asked}, say that you are sure.",
        )


_BARE = re.compile(r"[-+]?[0-9][0-9.,\s]*(?:±[0-9.,\s]*)?")
ASKED_ABOUT = frozenset({"pressure", "volume flow"})
OTHER_SYSTEM = {"psi": "bar", "bar": "psi", "gal/h": "L/h", "L/h": "gal/h"}


def _quantity(check: Check, text: str, system: System | None) -> Quantity:
    """Return the number typed; a ratio on the gasoline scale of a display is lambda times 14.7, whatever the fuel."""
    unit = shown_unit_of(check, system)
    try:
        return read_quantity(text, unit)
    except QuantityRefused as problem:
        if unit == "lambda":
            with contextlib.suppress(QuantityRefused):
                ratio = read_quantity(text, "AFR")
                spread = None if ratio.uncertainty is None else ratio.uncertainty / GASOLINE_SCALE
                return Quantity(ratio.value / GASOLINE_SCALE, spread, unit, ratio.understood)
        raise ReadingRefused(problem.sentence, problem.advice) from problem


def _named_outcome(check: Check, typed: str) -> str | None:
    """Return the outcome a text names: its id, its words, or (for a check that is seen) its number."""
    folded = typed.casefold()
    for place, (outcome, words) in enumerate(check.named_outcomes, start=1):
        if folded.replace(" ", "-") == outcome or (words and folded.rstrip(".") == words.casefold().rstrip(".")):
            return outcome
        if not check.kind.measured and folded == str(place):
            return outcome
    return None


def understood_outcome(check: Check, outcome: str) -> InterpretedReading:
    """Return an outcome that was named outright."""
    words = dict(check.named_outcomes).get(outcome) or id_words(outcome)
    shares = tuple(float(one == outcome) for one in check.outcomes)
    normal = None if check.normal is None else outcome == check.normal
    return InterpretedReading(None, None, check.unit, outcome, words, "", shares, normal, words)


def understood_value(check: Check, value: float, spread: float | None, context: ReadingContext) -> InterpretedReading:
    """Return where a number falls among the check's bands, with the uncertainty of the instrument or as stated."""
    system = context.system
    if check.reading is None:
        raise ReadingRefused("This check is answered in words, not with a number.", _expected(check, system))
    usual = check.reading.uncertainty if spread is None else spread
    bands = context.bands(check)
    shares = tuple(share_in_bands(value, usual, bands))
    best = max(range(len(shares)), key=lambda place: (shares[place], bands[place].normal))
    band = bands[best]
    words = band.words or id_words(band.outcome)
    shown = show_reading(check, value, spread, system, [one.high for one in bands if math.isfinite(one.high)])
    warning = ""
    if shares[best] < CLOSE_CALL and len(bands) > 1:
        warning = f"close to a limit: it counts {shares[best] * 100:.0f} % as “{words}”"
    normal = None if check.normal is None else band.outcome == check.normal
    return InterpretedReading(
        value, usual, check.reading.unit, band.outcome, words, warning, shares, normal, shown, bands
    )


def limits_in_words(bands: Sequence[BandLimit], check: Check, system: System, beside: float | None = None) -> str:
    """Write the normal band's limits, as "54 to 62 psi"; empty where a check has none.

    `beside` is a reading in the check's unit that they are shown with: it is never seen on the wrong side of one.
    """
    normal = [band for band in bands if band.normal]
    return _between(normal[0].low, normal[-1].high, "from", check, system, beside) if normal else ""


def band_in_words(band: BandLimit, check: Check, system: System | None, beside: float | None = None) -> str:
    """Write where one band lies, as "up to 46 psi"; empty for one that is open at both ends."""
    return _between(band.low, band.high, "from" if band.normal else "above", check, system, beside)


def limit_number(check: Check, limit: float, system: System | None, beside: float | None = None) -> str:
    """Write a limit to the last figure that the check can tell; one of three figures in the trees' own unit stays.

    It gets more figures where a reading `beside` it, in the check's unit, would seem to lie on its other side.
    """
    value = in_shown_unit(check, limit, system)
    spread = spread_in_shown_unit(check, check.uncertainty, system)
    if spread <= 0.0 or (float(f"{limit:.3g}") == limit == value):
        written = show_number(value)
    else:
        step = 10.0 ** math.floor(math.log10(spread))
        written = f"{round(value / step) * step:.{max(0, round(-math.log10(step)))}f}"
    if beside is None:
        return written
    said = show_reading(check, beside, None, system, (limit,))
    return number_beside(value, written, in_shown_unit(check, beside, system), said)


def number_beside(value: float, written: str, beside: float, said: str) -> str:
    """Return a limit as written, or with more figures, so that `beside`, as it is said, is seen on its true side.

    >>> number_beside(4.979, "5.0", 4.99, "4.99 V"), number_beside(4.979, "5.0", 4.6, "4.6 V")
    ('4.98', '5.0')
    """
    number = _LEADING.match(said)
    shown = float(number[0]) if number else beside
    finer = (show_number(value, figures) for figures in range(3, 9))
    return next((one for one in (written, *finer) if (shown < float(one)) == (beside < value)), written)


def _between(low: float, high: float, above: str, check: Check, system: System | None, beside: float | None) -> str:
    ends = [limit for limit in (low, high) if math.isfinite(limit)]
    numbers = [limit_number(check, limit, system, beside) for limit in ends]
    if len(numbers) == 2 and numbers[0] == numbers[1]:
        numbers = [show_number(in_shown_unit(check, limit, system)) for limit in ends]
    if not numbers:
        return ""
    said = with_unit(numbers[-1], shown_unit_of(check, system))
    if len(numbers) == 2:
        return f"{numbers[0]} to {said}"
    return f"up to {said}" if low == -math.inf else f"{above} {said}"


def _expected(check: Check, system: System | None) -> str:
    match check.kind:
        case Number():
            unit = shown_unit_of(check, system)
            return f"Type a number{f' in {unit}' if unit else ''}, or say why it cannot be measured."
        case Look(choices=choices):
            answers = ", ".join(f"{place} {one.words}" for place, one in enumerate(choices, start=1))
            return f"Answer with a number: {answers}."
        case never:
            assert_never(never)
