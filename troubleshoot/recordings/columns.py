"""The columns of a recorded run: which quantity a heading names, and in which unit."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cached_property

from troubleshoot.calculations.units import QuantityRefused, read_quantity


@dataclass(frozen=True)
class Quantity:
    """Something a run may record: its name here, the unit it is kept in, and headings that mean it."""

    name: str
    unit: str
    headings: tuple[str, ...]


MANIFOLD = "manifold-pressure"

QUANTITIES = (
    Quantity("time", "s", ("time", "t", "seconds", "elapsed", "elapsed time")),
    Quantity("engine-speed", "rpm", ("rpm", "engine speed", "speed", "engine rpm")),
    Quantity("fuel-pressure", "psi", ("fuel pressure", "rail pressure", "pressure", "fuel")),
    Quantity(MANIFOLD, "kPa abs", ("manifold pressure", "map", "manifold absolute pressure")),
    Quantity("mixture", "lambda", ("lambda", "mixture", "afr", "air fuel ratio", "λ")),
    Quantity("throttle", "%", ("throttle", "throttle position", "tp", "throttle angle")),
    Quantity("duty", "%", ("duty", "injector duty", "duty cycle", "injector duty cycle")),
    Quantity("pulse-width", "ms", ("pulse width", "injector pulse width", "pulse", "injector pulse")),
    Quantity("correction", "%", ("correction", "fuel correction", "feedback", "trim", "fuel trim")),
    Quantity("battery-volts", "V", ("battery", "battery volts", "volts", "voltage", "supply volts")),
    Quantity("pump-volts", "V", ("pump volts", "pump voltage")),
    Quantity("idle-valve", "%", ("idle valve", "idle valve position", "idle air", "iac", "valve")),
    Quantity("coolant", "degF", ("coolant", "coolant temperature", "ect", "clt")),
    Quantity("timing", "deg", ("timing", "ignition timing", "advance", "spark")),
)
"""Every quantity a run is looked through for; other columns are left alone."""

AFR_AT_STOICHIOMETRIC = 14.7
"""Air-fuel ratio of gasoline at lambda 1, as mixture meters assume (common practice, no source)."""

_BRACKETS = re.compile(r"^(?P<name>.*?)\s*[\[(](?P<unit>[^\])]*)[\])]\s*$")


@dataclass(frozen=True)
class Column:
    """One column of a file: its place from 0, what it is, and the unit it is written in."""

    place: int
    heading: str
    quantity: Quantity
    unit: str

    @cached_property
    def line(self) -> tuple[float, float]:
        """Return scale and zero that lead from the unit written to the quantity's own."""
        if self.unit == "AFR":
            return 1 / AFR_AT_STOICHIOMETRIC, 0.0
        if self.unit == self.quantity.unit:
            return 1.0, 0.0
        if self.quantity.name == MANIFOLD and (scale := _kilopascals(self.unit)) is not None:
            return scale, 0.0
        zero, one = (read_quantity(f"{value} {self.unit}", self.quantity.unit).value for value in (0, 1))
        return one - zero, zero

    def taken(self, value: float) -> float:
        """Return a value of the column in the quantity's unit."""
        scale, zero = self.line
        return value * scale + zero


def column_for(place: int, heading: str) -> Column | None:
    """Return what a heading means; None when it is none of the quantities; QuantityRefused for a wrong unit."""
    text = heading.strip()
    found = _BRACKETS.match(text)
    name, unit = (found["name"], found["unit"].strip()) if found else (text, "")
    plain = " ".join(name.replace("_", " ").replace("-", " ").casefold().split())
    for quantity in QUANTITIES:
        for known in quantity.headings:
            if plain == known:
                return Column(place, text, quantity, _unit(plain, unit, quantity))
            if not unit and plain.startswith(f"{known} "):
                rest = name.strip()[len(known) :].strip()
                if _is_unit(rest, quantity):
                    return Column(place, text, quantity, _unit(plain, rest, quantity))
    return None


def _is_unit(text: str, quantity: Quantity) -> bool:
    try:
        _unit("", text, quantity)
    except QuantityRefused:
        return False
    return True


def _unit(plain: str, unit: str, quantity: Quantity) -> str:
    """Return the unit a column is written in, refusing one of another dimension."""
    if not unit:
        return "AFR" if plain in ("afr", "air fuel ratio") else quantity.unit
    if quantity.unit == "lambda" and unit.casefold() in ("afr", "a/f", ":1"):
        return "AFR"
    if quantity.name != MANIFOLD or _kilopascals(unit) is None:
        read_quantity(f"1 {unit}", quantity.unit)
    return unit


def _kilopascals(unit: str) -> float | None:
    """Return the kPa in one of a plain unit of pressure, None for another unit.

    Loggers write manifold pressure as absolute in plain units, "bar" or "psi", so nothing is added to it.
    """
    try:
        return read_quantity(f"1 {unit}", "kPa").value
    except QuantityRefused:
        return None
