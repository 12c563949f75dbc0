"""What a calculation takes and gives, field by field, with units and ranges; nothing here runs one."""

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, NamedTuple

from troubleshoot.calculations.docstrings import Documentation, documentation
from troubleshoot.calculations.refusals import CalculationRefused
from troubleshoot.calculations.unit_table import UNITS
from troubleshoot.calculations.units import System, show_number, with_unit


class Quantity(NamedTuple):
    """What a parameter or result is: words, symbol in the formula, unit at the edge, allowed and usual range in it."""

    words: str
    symbol: str
    unit: str
    low: float = -math.inf
    high: float = math.inf
    usual: tuple[float, float] | None = None
    outside: str = ""
    whole: bool = False


class Field(NamedTuple):
    """One input or output of a calculation as faces show it; `low`, `high`, `usual` and `default` are in `unit`."""

    name: str
    words: str
    symbol: str
    unit: str
    metric_unit: str
    low: float
    high: float
    default: float | tuple[float, ...] | None
    usual: tuple[float, float] | None
    outside: str
    whole: bool
    many: bool

    @property
    def allowed(self) -> str:
        """The allowed range in words, as "0.1 to 100 psi"."""
        return range_in_words(self, self.unit)

    def unit_in(self, system: System) -> str:
        """Return the unit in which a person of that system types and reads this field."""
        return self.metric_unit if system == "metric" else self.unit

    def to_inside(self, value: float) -> float:
        """Convert from the field's unit to the inside unit."""
        unit = UNITS[self.unit]
        return value * unit.factor + unit.offset

    def from_inside(self, value: float) -> float:
        """Convert from the inside unit to the field's unit."""
        unit = UNITS[self.unit]
        return (value - unit.offset) / unit.factor


# Given the inputs by parameter and the results by field name, both in inside units; yields sentences.
Notes = Callable[[Mapping[str, Any], Mapping[str, float]], Iterable[str]]


class Definition(NamedTuple):
    """One calculation: what the decorator collects from a function."""

    name: str
    subject: str
    section: str
    title: str
    function: Callable[..., Any]
    parameters: tuple[str, ...]
    inputs: tuple[Field, ...]
    outputs: tuple[Field, ...]
    notes: Notes | None

    @property
    def documentation(self) -> Documentation:
        """Summary, formula, valid range, source, use and example, from the docstring."""
        return documentation(self.function)

    @property
    def formula(self) -> str:
        """The formula with its symbols."""
        return self.documentation.formula

    @property
    def valid(self) -> str:
        """Where the formula holds."""
        return self.documentation.valid

    @property
    def source(self) -> str:
        """Where the formula comes from."""
        return self.documentation.source

    def field(self, name: str) -> Field:
        """Return the input of that name; CalculationRefused names the ones there are."""
        for field in self.inputs:
            if field.name == name:
                return field
        known = ", ".join(field.name for field in self.inputs)
        raise CalculationRefused(name, "", known, f'"{self.name}" has no input "{name}".', f"It takes {known}.")


def check_range(field: Field, inside: Any) -> None:
    """Raise CalculationRefused unless `inside` (one value, or a sequence of them) lies in the field's range."""
    for value in inside if isinstance(inside, Sequence) else (inside,):
        at_edge = field.from_inside(value)
        slack = 1e-9 * max(abs(field.low), abs(field.high), 1e-30)
        slack = slack if math.isfinite(slack) else 0.0
        if not (math.isfinite(at_edge) and field.low - slack <= at_edge <= field.high + slack):
            raise out_of_range(field, at_edge)
        if field.whole and abs(at_edge - round(at_edge)) > 1e-6:
            raise out_of_range(field, at_edge, f"must be a whole number, {field.allowed}")


def out_of_range(field: Field, value: float, rule: str = "") -> CalculationRefused:
    """Make the refusal of a value in the field's unit, with the range in both systems."""
    shown = with_unit(show_number(value) if math.isfinite(value) else "not a number", field.unit)
    rule = rule or f"must be {field.allowed}"
    other = f" ({range_in_words(field, field.metric_unit)})" if field.metric_unit != field.unit else ""
    sentence = f"{field.words[0].upper()}{field.words[1:]} {shown}: {rule}{other}."
    hint = f"{field.outside[0].upper()}{field.outside[1:]}" if field.outside else "Check the value and its unit"
    advice = hint if hint.endswith("?") else f"{hint}."
    return CalculationRefused(field.name, shown, field.allowed, sentence, advice)


def default_in(field: Field, unit: str) -> str:
    """Write what a field is taken as when not given, in one of its two units; nothing where it must be given.

    A value that is round in the other unit, as 0.43 mm, is so in this one too: within half a percent, as 0.017 in.
    """
    if field.default is None:
        return ""
    values = field.default if isinstance(field.default, tuple) else (field.default,)
    return "; ".join(with_unit(_round_in(field, value, unit), unit) for value in values)


def _round_in(field: Field, value: float, unit: str) -> str:
    edges = {
        one: (field.to_inside(value) - UNITS[one].offset) / UNITS[one].factor for one in (field.unit, field.metric_unit)
    }
    here = edges[unit]
    if all(show_number(edge) != show_number(edge, 2) for edge in edges.values()):
        return show_number(here)
    shorter = (show_number(here, figures) for figures in (2, 3))
    return next((text for text in shorter if abs(float(text) - here) <= 0.005 * abs(here)), show_number(here))


def range_in_words(field: Field, unit: str) -> str:
    """Write the allowed range of a field in a unit of its dimension."""
    to = UNITS[unit]
    low, high = ((field.to_inside(edge) - to.offset) / to.factor for edge in (field.low, field.high))
    if math.isinf(low) and math.isinf(high):
        return "any value"
    if math.isinf(high):
        return f"at least {with_unit(show_number(low), unit)}"
    return range_between(low, high, unit, unit == field.unit)


def range_between(low: float, high: float, unit: str, own: bool) -> str:
    """Write a range in a unit; where that is not its own, with three figures, never wider than what is taken."""
    if own:
        return f"{show_number(low)} to {with_unit(show_number(high), unit)}"
    return f"{_three_figures(low, math.ceil)} to {with_unit(_three_figures(high, math.floor), unit)}"


def _three_figures(value: float, way: Callable[[float], int]) -> str:
    """Write a number rounded up or down to three figures; what rounding of the computer adds is let go first."""
    size = 10.0 ** (math.floor(math.log10(abs(value))) - 2) if value else 1.0
    return show_number(way(round(value / size, 6)) * size)
