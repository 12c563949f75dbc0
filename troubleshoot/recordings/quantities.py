"""The quantities a log may record: the headings that mean them, and the units they are written in."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

from troubleshoot.calculations.units import QuantityRefused, read_quantity


@dataclass(frozen=True)
class Quantity:
    """Something a log may record: its name here, the unit it is kept in, and headings that mean it."""

    name: str
    unit: str
    headings: tuple[str, ...]


MANIFOLD, TIME, SPEED = "manifold-pressure", "time", "engine-speed"

QUANTITIES = (
    Quantity(
        TIME,
        "s",
        (
            "time",
            "t",
            "seconds",
            "elapsed",
            "elapsed time",
            "clock",
            "time of day",
            "timestamp",
            "date time",
            "datetime",
            "date and time",
        ),
    ),
    Quantity(SPEED, "rpm", ("rpm", "engine speed", "speed", "engine rpm", "revs")),
    Quantity("fuel-pressure", "psi", ("fuel pressure", "rail pressure", "pressure", "fuel", "fuel p", "frp")),
    Quantity(MANIFOLD, "kPa abs", ("manifold pressure", "map", "manifold absolute pressure", "manifold")),
    Quantity("mixture", "lambda", ("lambda", "mixture", "afr", "air fuel ratio", "λ", "a/f", "wideband")),
    Quantity("throttle", "%", ("throttle", "throttle position", "tp", "tps", "throttle angle")),
    Quantity("duty", "%", ("duty", "injector duty", "duty cycle", "injector duty cycle")),
    Quantity("pulse-width", "ms", ("pulse width", "injector pulse width", "pulse", "injector pulse")),
    Quantity(
        "correction", "%", ("correction", "fuel correction", "feedback", "trim", "fuel trim", "short term fuel trim")
    ),
    Quantity(
        "battery-volts",
        "V",
        ("battery", "battery volts", "volts", "voltage", "supply volts", "batt", "batt v", "battery voltage"),
    ),
    Quantity("pump-volts", "V", ("pump volts", "pump voltage", "pump v")),
    Quantity("idle-valve", "%", ("idle valve", "idle valve position", "idle air", "idle air control", "valve")),
    Quantity(
        "coolant", "degF", ("coolant", "coolant temperature", "ect", "engine coolant temperature", "coolant temp")
    ),
    Quantity(
        "air-temperature", "degF", ("air temperature", "iat", "intake air temperature", "air temp", "intake air temp")
    ),
    Quantity("timing", "deg", ("timing", "ignition timing", "advance", "spark", "spark advance")),
    Quantity("barometer", "kPa abs", ("barometer", "baro", "barometric pressure", "barometric")),
    Quantity("power", "hp", ("power", "wheel power", "horsepower")),
    Quantity("torque", "lbf*ft", ("torque", "wheel torque")),
)
"""Every quantity a log is looked through for; short forms are those of SAE J1930 (from memory) and of the trade."""

BY_NAME = {one.name: one for one in QUANTITIES}

AFR_AT_STOICHIOMETRIC = 14.7
"""Air-fuel ratio of gasoline at lambda 1, as mixture meters assume (common practice, no source)."""

PRESSURES_ABSOLUTE = (MANIFOLD, "barometer")

_SPELLINGS = {
    "1/min": "rpm",
    "min-1": "rpm",
    "u/min": "rpm",
    "r/min": "rpm",
    "sek": "s",
    "secs": "s",
    "hh:mm:ss": "s",
    "h:m:s": "s",
    "mm:ss": "s",
    "m:s": "s",
    "degrees": "deg",
    "° btdc": "deg",
    "deg btdc": "deg",
    "°crk": "deg",
    "°": "deg",
    "pct": "%",
    "kpa a": "kPa",
    "kpa(a)": "kPa",
    "bhp": "hp",
    "a/f": "AFR",
    ":1": "AFR",
    "afr": "AFR",
}
"""Other spellings of units that loggers of any make write."""

_BRACKETS = re.compile(r"^(?P<name>.*?)\s*[\[({](?P<unit>[^\])}]*)[\])}]\s*$")


@dataclass(frozen=True)
class Column:
    """One column of a file: its place from 0, what it is, and the unit it is written in."""

    place: int
    heading: str
    quantity: Quantity
    unit: str
    stated: bool = False
    """Whether the file itself names the unit."""

    @cached_property
    def line(self) -> tuple[float, float]:
        """Return scale and zero that lead from the unit written to the quantity's own."""
        if self.unit == "AFR":
            return 1 / AFR_AT_STOICHIOMETRIC, 0.0
        if self.unit == self.quantity.unit:
            return 1.0, 0.0
        if self.quantity.name in PRESSURES_ABSOLUTE and (scale := _kilopascals(self.unit)) is not None:
            return scale, 0.0
        zero, one = (read_quantity(f"{value} {self.unit}", self.quantity.unit).value for value in (0, 1))
        return one - zero, zero

    def in_unit(self, unit: str) -> Column:
        """Return the column as written in a unit that a row of units names; QuantityRefused for a wrong one."""
        return replace(self, unit=_unit("", unit, self.quantity), stated=True) if unit.strip() else self


class Heading(NamedTuple):
    """A heading taken apart: the words folded for comparing, and the unit in brackets or at the end."""

    plain: str
    unit: str


def taken_apart(heading: str) -> Heading:
    """Return the name and the bracketed unit of a heading."""
    text = heading.strip().strip('"').strip()
    found = _BRACKETS.match(text)
    name, unit = (found["name"], found["unit"].strip()) if found and found["name"].strip() else (text, "")
    return Heading(" ".join(re.sub(r"[_\-.,:]+", " ", name).casefold().split()), unit)


def column_for(place: int, heading: str, chosen: Mapping[str, str] | None = None) -> Column | None:
    """Return what a heading means; None when it is none of the quantities; QuantityRefused for a wrong unit.

    `chosen` leads from a quantity's name to the heading that a person said it has.
    """
    text = heading.strip()
    plain, unit = taken_apart(text)
    for name, wanted in (chosen or {}).items():
        if name in BY_NAME and wanted.strip().casefold() == text.casefold():
            return Column(place, text, BY_NAME[name], _unit(plain, unit, BY_NAME[name]), bool(unit))
    free = [one for one in QUANTITIES if one.name not in (chosen or {})]
    for quantity in free:
        if plain in quantity.headings:
            return Column(place, text, quantity, _unit(plain, unit, quantity), bool(unit))
    if unit:
        return None
    words = plain.split()
    for quantity in free:
        for count in range(len(words) - 1, 0, -1):
            rest = " ".join(words[count:])
            if " ".join(words[:count]) in quantity.headings and is_unit(rest, quantity):
                return Column(place, text, quantity, _unit(plain, rest, quantity), True)
    return None


def is_unit(text: str, quantity: Quantity) -> bool:
    """Return whether a text is a unit of a quantity."""
    try:
        _unit("", text, quantity)
    except QuantityRefused:
        return False
    return bool(text.strip())


def looks_like_unit(text: str) -> bool:
    """Return whether a cell of a row of units is a unit of any quantity kept here."""
    return any(is_unit(text, one) for one in QUANTITIES)


def _unit(plain: str, unit: str, quantity: Quantity) -> str:
    """Return the unit a column is written in, refusing one of another dimension."""
    unit = _SPELLINGS.get(unit.strip().casefold(), unit.strip())
    if not unit:
        return "AFR" if plain in ("afr", "air fuel ratio", "a/f") else quantity.unit
    if quantity.unit == "lambda" and unit == "AFR":
        return unit
    if quantity.name not in PRESSURES_ABSOLUTE or _kilopascals(unit) is None:
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
