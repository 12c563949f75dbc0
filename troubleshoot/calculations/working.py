"""The working of a calculation, line by line: each formula with its numbers put in, and what it comes to.

Formulas are written the way people write them ("t = θ/(3·N)"). A line that is arithmetic is worked out by the small
parser here (nothing is ever executed); a line in words is shown as it is and ends the working out of what needs it.
"""

import math
import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple

from troubleshoot.calculations.fields import Definition
from troubleshoot.calculations.units import show_number


class Step(NamedTuple):
    """One line of the working: the formula, the same with numbers, the value (None where it is in words)."""

    formula: str
    with_numbers: str
    value: float | None


class _InWords(ValueError):
    """The line is not arithmetic, or needs something not worked out before."""


_TOKEN = re.compile("\\s*(?:([0-9]+(?:\\.[0-9]+)?)|([^\\W\\d_][\u0307]*(?:\\w*)?)|([-+·/^√(),]))")
_CONSTANTS = {"π": math.pi, "e": math.e}


def _functions() -> dict[str, Callable[..., float]]:
    """Return the functions a formula may name; the last three are calculations of their own."""
    from troubleshoot.calculations.fuel_properties import true_vapour_pressure
    from troubleshoot.calculations.fuel_supply import friction_factor
    from troubleshoot.calculations.weather import saturation_pressure

    return {
        "ln": math.log, "exp": math.exp, "cos": math.cos, "max": max, "min": min,
        "friction": friction_factor,
        "p_sat": saturation_pressure,
        "vapour": lambda reid, temperature: true_vapour_pressure(reid, temperature, 3.0),
    }  # fmt: skip


def steps(calculation: Definition, inside: Mapping[str, float | Sequence[float]]) -> list[Step]:
    """Work a calculation's formula out from its inputs by parameter, in inside units."""
    known: dict[str, Any] = {
        field.symbol: inside[parameter]
        for parameter, field in zip(calculation.parameters, calculation.inputs, strict=True)
    }
    worked = []
    for line in calculation.formula.splitlines():
        name, equals, expression = line.partition(" = ")
        try:
            if not equals or not _TOKEN.fullmatch(name):
                raise _InWords(line)
            value, numbers = _Parser(expression, known).whole()
        except (_InWords, ValueError, ZeroDivisionError, OverflowError, TypeError):
            worked.append(Step(line, "", None))
            continue
        known[name] = value
        worked.append(Step(line, f"{name} = {numbers}", value))
    return worked


class _Parser:
    """Recursive descent over sums, products, powers, roots and functions; keeps the text with numbers put in."""

    def __init__(self, text: str, known: Mapping[str, Any]) -> None:
        self.known = known
        self.functions = _functions()
        self.tokens: list[str] = []
        at = 0
        while at < len(text.rstrip()):
            found = _TOKEN.match(text, at)
            if not found:
                raise _InWords(text)
            self.tokens.append(found[0].strip())
            at = found.end()
        self.at = 0

    def whole(self) -> tuple[Any, str]:
        """Return the value of the whole text and the text with its numbers."""
        value, text = self._sum()
        if self.at != len(self.tokens):
            raise _InWords(text)
        return value, text

    def _peek(self) -> str:
        return self.tokens[self.at] if self.at < len(self.tokens) else ""

    def _take(self, expected: str = "") -> str:
        token = self._peek()
        if not token or (expected and token != expected):
            raise _InWords(token)
        self.at += 1
        return token

    def _sum(self) -> tuple[Any, str]:
        value, text = self._product()
        while self._peek() in ("+", "-"):
            sign = self._take()
            other, more = self._product()
            value, text = (value + other if sign == "+" else value - other), f"{text} {sign} {more}"
        return value, text

    def _product(self) -> tuple[Any, str]:
        value, text = self._signed()
        while self._peek() in ("·", "/"):
            sign = self._take()
            other, more = self._signed()
            value, text = (value * other if sign == "·" else value / other), f"{text}{sign}{more}"
        return value, text

    def _signed(self) -> tuple[Any, str]:
        if self._peek() == "-":
            self._take()
            value, text = self._signed()
            return -value, f"-{text}"
        return self._power()

    def _power(self) -> tuple[Any, str]:
        value, text = self._atom()
        if self._peek() == "^":
            self._take()
            other, more = self._signed()
            raised = value**other
            if isinstance(raised, complex):
                raise _InWords(text)
            return raised, f"{text}^{more}"
        return value, text

    def _atom(self) -> tuple[Any, str]:
        token = self._take()
        if token == "(":
            value, text = self._sum()
            self._take(")")
            return value, f"({text})"
        if token == "√":
            value, text = self._atom()
            return math.sqrt(value), f"√{text}"
        if token[0].isdigit():
            return float(token), token
        if self._peek() == "(" and token in self.functions:
            return self._call(token)
        if token in self.known:
            return self.known[token], _number(self.known[token])
        if token in _CONSTANTS:
            return _CONSTANTS[token], token
        raise _InWords(token)

    def _call(self, name: str) -> tuple[Any, str]:
        self._take("(")
        values, texts = [], []
        while True:
            value, text = self._sum()
            values.append(value)
            texts.append(text)
            if self._take() == ")":
                return self.functions[name](*values), f"{name}({', '.join(texts)})"


def _number(value: Any) -> str:
    """Write a number, or a list of them, into a formula."""
    if isinstance(value, tuple):
        return ", ".join(show_number(one, 5) for one in value)
    return show_number(value, 5)
