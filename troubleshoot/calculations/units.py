"""Quantities as people type and read them: "45psi", "3,1 bar", "160F", "20 oz" at a spring scale.

A typed text is read in the unit that is asked for; a bare number is taken in that unit; a wrong dimension says so.
Unit conversion of anything outside the trade's own table is pint's, imported only then.
"""

import math
import re
from typing import Literal, NamedTuple

from troubleshoot.calculations.numbers_typed import NumberUnclear, read_number, tidy
from troubleshoot.calculations.unit_table import SPELLINGS, SPELLINGS_WHERE_ASKED, UNITS, Unit
from troubleshoot.problems import TroubleshootError

System = Literal["us", "metric"]


class QuantityRefused(TroubleshootError):
    """What was typed cannot be taken as the quantity that is asked for."""


class Measured(NamedTuple):
    """A value in `unit`, its standard uncertainty in the same unit (None: not stated), and what was understood."""

    value: float
    uncertainty: float | None
    unit: str
    understood: str


# A neutral unit states no reference, so it passes for either of these; the two never pass for each other.
_PASSES = {
    ("angle", "crank angle"),
    ("angle", "distributor angle"),
    ("crank angle", "angle"),
    ("distributor angle", "angle"),
    ("number", "lambda"),
    ("lambda", "number"),
    ("number", "count"),
    ("count", "number"),
    ("number", "air-fuel ratio"),
    ("air-fuel ratio", "number"),
    ("temperature", "temperature difference"),
}
_MARK = re.compile(r"\s*(?:±|\+/-|\+-|\+/−)\s*")
ABOUT = 0.05
"""Share of a number that is said to be about right which its uncertainty is taken to be (our own choice)."""
_ABOUT = re.compile(
    r"(?:about|approximately|approx\.?|around|roughly|circa|ca\.?|~|≈)\s*(?=[-+.,]?[0-9])", re.IGNORECASE
)
_RANGE = re.compile(
    r"(?P<low>[-+]?[0-9][0-9.,]*)(?P<unit>(?:(?!\s*to\b)\s*[^\W\d_%°]*[%°]?[^\W\d_]*)?)"
    r"(?:\s+to\s+|\s*(?:\.\.\.?|…)\s*|\s*-\s*)(?P<high>[-+]?[0-9][0-9.,]*(?![0-9.,/]).*)",
    re.IGNORECASE,
)
_WHOLE = {"engine speed", "count"}
_SAYS_GAUGE = {"psig", "psi gauge", "barg", "kpag"}


def known_units() -> frozenset[str]:
    """Return the names of all units of the table."""
    return frozenset(UNITS)


def dimension_of(unit: str) -> str:
    """Return the dimension of a unit of the table, as in "pressure"; QuantityRefused for an unknown name."""
    return _unit(unit).dimension


def convert(value: float, from_unit: str, to_unit: str) -> float:
    """Convert between units of one dimension; gauge and absolute, crank and distributor are never mixed.

    >>> round(convert(45, "psi", "kPa"), 2)
    310.26
    """
    if from_unit == to_unit:
        return value
    source, target = _unit(from_unit), _unit(to_unit)
    _same_kind(source, target)
    return _between(value, source, target)


def _between(value: float, source: Unit, target: Unit) -> float:
    """Return a value of one unit in another of its kind; degrees where a difference is asked for have no zero point."""
    zero = 0.0 if target.dimension == "temperature difference" else source.offset - target.offset
    return (value * source.factor + zero) / target.factor


def convert_difference(value: float, from_unit: str, to_unit: str) -> float:
    """Convert an interval or an uncertainty: as `convert`, without the zero points of temperature scales."""
    source, target = _unit(from_unit), _unit(to_unit)
    _same_kind(source, target)
    return value * source.factor / target.factor


def display_unit(unit: str, system: System) -> str:
    """Return the unit in which a person of that system reads a quantity given in `unit`."""
    found = _unit(unit)
    return (found.metric if system == "metric" else found.us) or unit


def shown_unit(unit: str) -> str:
    """Return how a unit is written for people, as "°F" for "degF"."""
    return _unit(unit).shown


def inside_unit(unit: str) -> str:
    """Return the unit formulas use inside for the dimension of `unit`; "" where it has no name."""
    dimension = _unit(unit).dimension
    return next((u.name for u in UNITS.values() if u.dimension == dimension and u.factor == 1 and not u.offset), "")


def show_number(value: float, figures: int = 4) -> str:
    """Write a number with about `figures` significant figures, never with an exponent in the usual range.

    >>> show_number(4961.853), show_number(0.0160), show_number(13.5)
    ('4962', '0.016', '13.5')
    """
    if value == 0 or not math.isfinite(value):
        return "0" if value == 0 else str(value)
    size = math.floor(math.log10(abs(value)))
    if size >= 9 or size < -6:
        mantissa, _, exponent = f"{value:.{figures - 1}e}".partition("e")
        return f"{mantissa.rstrip('0').rstrip('.')}e{int(exponent)}"
    decimals = max(0, figures - 1 - size)
    text = f"{value:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def with_unit(number: str, unit: str) -> str:
    """Join a written number and a unit the way the trade writes it."""
    shown = shown_unit(unit)
    if not shown:
        return number
    return f"{number}{shown}" if shown == "°" or shown.startswith("° ") else f"{number} {shown}"


def show_quantity(value: float, unit: str, system: System, converted: int = 4) -> str:
    """Write a value given in `unit` for a person of that system, as "310.3 kPa"; `converted` to so many figures."""
    to = display_unit(unit, system)
    return with_unit(show_number(convert(value, unit, to), 4 if to == unit else converted), to)


def show_measured(measured: Measured, system: System | None = None, *, unit: str | None = None) -> str:
    """Write a measured value with its uncertainty: in `unit` if given, else in that of `system`, else in its own."""
    to = unit or (measured.unit if system is None else display_unit(measured.unit, system))
    value = show_number(convert(measured.value, measured.unit, to))
    if measured.uncertainty:
        value += f" ± {show_number(convert_difference(measured.uncertainty, measured.unit, to), 2)}"
    return with_unit(value, to)


def show_worked_out(measured: Measured, unit: str = "") -> str:
    """Write what was worked out, in `unit` or its own, with no finer figures than its uncertainty tells.

    >>> show_worked_out(Measured(4961.85, 146.3, "rpm", "")), show_worked_out(Measured(9.752, 0.3, "V", ""))
    ('4960 ± 150 rpm', '9.8 ± 0.3 V')
    """
    to = unit or measured.unit
    value = convert(measured.value, measured.unit, to)
    spread = convert_difference(measured.uncertainty or 0.0, measured.unit, to)
    if not 0.0 < spread < math.inf:
        return show_measured(measured, unit=to)
    finest = math.floor(math.log10(spread)) - 1
    two = round(spread / 10.0**finest)
    place = finest + (two % 10 == 0)
    numbers = (f"{round(one, -place):.{max(0, -place)}f}" for one in (value, two * 10.0**finest))
    return with_unit(" ± ".join(numbers), to)


def places_for(spread: float) -> int:
    """Return the decimals that a value of this uncertainty is written with: one figure of it, two where it begins low.

    >>> places_for(0.0689), places_for(1.39), places_for(25.0)
    (2, 1, 0)
    """
    first = math.floor(math.log10(spread))
    return max(0, (spread / 10.0**first < 3.0) - first)


def read_quantity(text: str, unit: str) -> Measured:
    """Read what a person typed where a quantity in `unit` is asked for.

    Raises QuantityRefused, and nothing else, for text that has no reading, has two, or is of another dimension.

    >>> read_quantity("3,1 bar", "psi").understood
    '3.1 bar = 44.96 psi'
    >>> read_quantity("20 oz", "ozf").value
    20.0
    >>> read_quantity("45 ± 1 psi", "psi").uncertainty
    1.0
    >>> read_quantity("5600-5700 rpm", "rpm").understood, read_quantity("about 40", "psi").uncertainty
    ('5650 ± 50 rpm', 2.0)
    """
    asked = _unit(unit)
    cleaned = tidy(text)
    if not cleaned:
        raise QuantityRefused("Nothing was typed.", f"Type a number{_in_words(unit)}.")
    about = _ABOUT.match(cleaned)
    if about:
        value, typed = _number_and_unit(cleaned[about.end() :], text, unit)
        return _measured(value, abs(value) * ABOUT, typed or asked, asked)
    parts = _MARK.split(cleaned)
    if len(parts) > 2:
        raise _unreadable(text, unit)
    try:
        value, typed = _number_and_unit(parts[0], text, unit)
    except QuantityRefused:
        ends = _RANGE.fullmatch(cleaned)
        if ends is None:
            raise
        return _middle(ends["low"] + ends["unit"], ends["high"], text, unit)
    if len(parts) == 1:
        return _measured(value, None, typed or asked, asked)
    spread, spread_unit = _number_and_unit(parts[1], text, unit)
    if spread < 0:
        raise QuantityRefused(f'"{_short(text)}" has a negative uncertainty.', "Write it as 45 ± 1.")
    if spread_unit is not None and spread_unit.dimension == "share" and asked.dimension != "share":
        return _measured(value, abs(value) * spread * spread_unit.factor, typed or asked, asked)
    typed = typed or spread_unit or asked
    if spread_unit is not None and spread_unit != typed:
        _same_kind(spread_unit, typed)
        spread *= spread_unit.factor / typed.factor
    return _measured(value, spread, typed, asked)


def said_roughly(text: str) -> bool:
    """Return whether a text says that its number is about right, as in "about 40"."""
    return _ABOUT.match(tidy(text)) is not None


def _middle(low: str, high: str, text: str, unit: str) -> Measured:
    """Return the middle of a range, half of its width as the uncertainty; a unit at either end is that of both."""
    asked = _unit(unit)
    upper, upper_unit = _number_and_unit(high, text, unit)
    lower, lower_unit = _number_and_unit(low, text, unit)
    typed = upper_unit or lower_unit or asked
    if lower_unit is not None and lower_unit != typed:
        _same_kind(lower_unit, typed)
        lower = _between(lower, lower_unit, typed)
    if not lower < upper:
        raise QuantityRefused(f'"{_short(text)}" is no range from low to high.', "Write it as 38 to 42.")
    return _measured((lower + upper) / 2, (upper - lower) / 2, typed, asked)


def read_quantities(text: str, unit: str) -> tuple[Measured, ...]:
    """Read a list of quantities: separated by semicolons, by comma and space, or by spaces.

    >>> [m.value for m in read_quantities("155 150 148 psi", "psi")]
    [155.0, 150.0, 148.0]
    """
    cleaned = tidy(text)
    if ";" in cleaned:
        pieces = cleaned.split(";")
    elif re.search(r",\s", cleaned):
        pieces = re.split(r",\s+", cleaned)
    else:
        pieces = re.split(r"\s+(?=[+-]?[0-9.])", cleaned)
    last = re.search(r"[0-9.]\s*([^0-9.\s][^0-9]*)$", pieces[-1])
    shared = f" {last[1]}" if last and not any(re.search(r"[^0-9.,+\-\s]", p) for p in pieces[:-1]) else ""
    return tuple(read_quantity(p + (shared if i < len(pieces) - 1 else ""), unit) for i, p in enumerate(pieces))


def measured(value: float, unit: str, uncertainty: float | None = None) -> Measured:
    """Make a Measured from a value that needs no reading, with its echo."""
    plain = Measured(value, uncertainty, unit, "")
    return plain._replace(understood=show_measured(plain))


def _unit(name: str) -> Unit:
    """Return the unit of that name."""
    try:
        return UNITS[name]
    except KeyError:
        raise QuantityRefused(f'"{_short(name)}" is no known unit.', "Use a unit known here, such as psi.") from None


def _same_kind(source: Unit, target: Unit) -> None:
    """Refuse two units that do not measure the same thing."""
    if source.dimension == target.dimension or (source.dimension, target.dimension) in _PASSES:
        return
    sentence = f"{source.shown or source.name} is {_a(source.dimension)}; this asks for {_a(target.dimension)}."
    advice = f"Give it in {target.shown or target.name}."
    both = {source.dimension, target.dimension}
    if both == {"pressure", "absolute pressure"}:
        asks = "absolute" if target.dimension == "absolute pressure" else "gauge"
        given = "gauge" if asks == "absolute" else "absolute"
        sentence = f"{source.shown} is {given} pressure here; this asks for {asks} pressure."
        advice = "Absolute is gauge plus the barometer."
    elif both == {"crank angle", "distributor angle"}:
        advice = "One distributor degree is two crank degrees."
    raise QuantityRefused(sentence, advice)


def _number_and_unit(piece: str, text: str, unit: str) -> tuple[float, Unit | None]:
    """Split "45psi" into the number and the unit typed after it (None: no unit)."""
    try:
        found = read_number(piece, whole=UNITS[unit].dimension in _WHOLE)
    except NumberUnclear as problem:
        words = str(problem)
        raise QuantityRefused(f"{words[0].upper()}{words[1:]}.", f"Type a number{_in_words(unit)}.") from None
    if found is None:
        raise _unreadable(text, unit)
    rest = piece[found.length :].strip()
    if not rest:
        return found.value, None
    if re.match(r"-[^\W\d]", rest):  # "0.016-inch"
        rest = rest[1:]
    if rest[0] in "0123456789.,+-±⁰¹²³" or rest[0].isdigit():
        raise _unreadable(text, unit)
    return found.value, _find_unit(rest, unit, text)


def _find_unit(spelling: str, unit: str, text: str) -> Unit:
    """Return the unit a person means by `spelling` where `unit` is asked for."""
    asked = UNITS[unit]
    spelling = re.sub(r"\s+", " ", spelling)
    name = _named(spelling) or _named(spelling.rstrip("."))
    here = SPELLINGS_WHERE_ASKED.get(asked.dimension, {})
    if name and spelling.casefold() in _SAYS_GAUGE:
        return UNITS[name]
    special = here.get(spelling) or here.get(spelling.casefold()) or (here.get(name) if name else None)
    if special or name:
        return UNITS[special or name or unit]
    from troubleshoot.calculations.unusual_units import unusual_unit

    found = unusual_unit(spelling, asked)
    if found is None:
        raise QuantityRefused(
            f'"{_short(spelling)}" in "{_short(text)}" is not a unit known here.', f"Type a number{_in_words(unit)}."
        )
    return found


def _named(spelling: str) -> str | None:
    """Look a spelling up as written, then without regard to capitals where that cannot mistake milli for mega."""
    if spelling in UNITS:
        return spelling
    folded = None if _MEGA.match(spelling) else _FOLDED.get(spelling.casefold())
    return SPELLINGS.get(spelling) or _SHOWN.get(spelling) or folded


_MEGA = re.compile(r"M(?:V|A|H|J|S|W|OHM|Ω|ohm)\b")
_FOLDED: dict[str, str] = {}
for _spelling, _name in (*SPELLINGS.items(), *((u.name, u.name) for u in UNITS.values())):
    _FOLDED.setdefault(_spelling.casefold(), _name)
_SHOWN = {u.shown: u.name for u in reversed(UNITS.values()) if u.shown}
# one letter in the wrong case may be another unit ("f" for farad is nobody's, "h" for henry would be a guess)
for _letter in ("h", "g", "mohm", "mω"):
    _FOLDED.pop(_letter, None)


def _measured(value: float, spread: float | None, typed: Unit, asked: Unit) -> Measured:
    """Convert a value in the unit typed to the unit asked and say what was understood."""
    _same_kind(typed, asked)
    result = value if typed.name == asked.name else _between(value, typed, asked)
    wide = None if spread is None else spread * typed.factor / asked.factor
    if not math.isfinite(result) or not (wide is None or math.isfinite(wide)):
        raise QuantityRefused("The number is too large to be a measurement.", f"Type a number{_in_words(asked.name)}.")
    told = show_measured(Measured(result, wide, asked.name, ""))
    if typed.name != asked.name and typed.shown != asked.shown and typed.shown:
        number = show_number(value)
        told = f"{number}{'' if typed.shown.startswith('° ') else ' '}{typed.shown} = {told}"
    return Measured(result, wide, asked.name, told)


def _unreadable(text: str, unit: str) -> QuantityRefused:
    """Say that a text could not be read."""
    return QuantityRefused(f'"{_short(text)}" cannot be read.', f"Type a number{_in_words(unit)}.")


def _short(text: str) -> str:
    """Return text for quoting in a sentence, cut to a length that fits a line."""
    flat = " ".join(text.split())
    return flat if len(flat) <= 40 else flat[:37] + "..."


def _in_words(unit: str) -> str:
    """Return " in psi" for a unit with a name, nothing for a plain number."""
    shown = UNITS[unit].shown
    return f" in {shown}" if shown else ""


def _a(dimension: str) -> str:
    """Return a dimension with its article."""
    return f"an {dimension}" if dimension[0] in "aeiou" else f"a {dimension}"
