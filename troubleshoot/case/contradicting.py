"""Answers that the car file contradicts: a question for each, so that the wrong one of the two is put right.

All limits are from common practice, no source: far enough apart that a fault seldom gives such a number, and near what
another car would give.
"""

from __future__ import annotations

from collections.abc import Iterator

from troubleshoot.calculations.units import convert, show_number, with_unit
from troubleshoot.calculations.weather import barometer_at_altitude
from troubleshoot.case.assessing import Assessment
from troubleshoot.knowledge.answers import InterpretedReading
from troubleshoot.knowledge.car import USUAL_DWELL, Car, car_unit, car_value
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.compiling import fits
from troubleshoot.knowledge.model import Conditions

SETTLE = "If the reading is right, change the car; if not, type it again; if both are right, go on."

SIX_VOLTS = (5.5, 7.3)
"""Volts of a 6 V battery at rest; a 12 V one is flat and sulphated there."""

SYSTEM_PRESSURES = (13.0, 15.0, 30.0, 43.5, 58.0)
"""Usual settings of throttle-body and port systems, psi."""

NEAR, APART = 0.07, 0.25
"""As set within this share of one usual setting, and this far from the one in the car file."""

TIMING_APART = 14.0
"""Degrees of crank between file and light; a tooth of the distributor is more, and is asked about too."""

RESISTANCE_TIMES = 1.6
"""A coil or injector of another kind differs by more than this factor; one with shorted turns by less."""

OPEN_OHMS = 40.0
"""From here on it is a broken winding and no other kind of part."""

DWELL_NEAR = 2.5
"""Degrees about the usual dwell of an engine with other cylinders."""

IDLE_APART = 200.0
"""Revolutions between the idle speed in the file and the one the controller is asked for."""

SENSOR_FAR = 10.0
"""Inches past the point where the pipes meet; common practice, as the check draws it."""

ABOVE_BAROMETER = 4.0
"""Kilopascal; no engine without a blower draws in more than the barometer has."""

PUMP_FUEL = 20.0
"""Per cent of ethanol; ordinary pump fuel holds no more than 10 to 15."""


def contradictions(seen: Assessment, catalogue: Catalogue) -> tuple[str, ...]:
    """Return a question for each answer that does not go with the car file, in the order of the checks."""
    found: dict[str, str] = {}
    for check, read in seen.latest.items():
        known = catalogue.checks[check]
        why = _not_this_car(known.for_, seen.car) or next(_against_file(check, read, seen.car), "")
        if why:
            asked = known.ask.rstrip(".?")
            found.setdefault(why, f"“{asked}: {read.shown}” does not go with the car file. {why} {SETTLE}")
    return tuple(found.values())


def _not_this_car(conditions: Conditions, car: Car) -> str:
    """Say what of the car file this check does not fit."""
    for name, allowed in conditions.items():
        if not fits(car, {name: allowed}):
            words = name.replace("-", " ")
            value = car_value(car, name)
            says = {True: "yes", False: "no"}.get(value, value) if isinstance(value, bool) else value
            return f"It is asked of cars with {words} {_any_of(allowed)}; the file says {says}."
    return ""


def _any_of(allowed: list[str | float | bool]) -> str:
    return " or ".join({True: "yes", False: "no"}[one] if isinstance(one, bool) else str(one) for one in allowed)


def _against_file(check: str, read: InterpretedReading, car: Car) -> Iterator[str]:
    value = read.value
    if check == "oxygen-sensor-place" and read.outcome == "well-placed" and car.sensor_distance > SENSOR_FAR:
        yield f"{_filed(car, 'sensor-distance')} Well placed is no further than {SENSOR_FAR:.0f} in."
    if value is None:
        return
    if check == "battery-rest-volts" and SIX_VOLTS[0] <= value <= SIX_VOLTS[1]:
        yield "A sound 6 V battery reads that, and all limits here are for 12 V. Is it a 6 V car?"
    if check == "rpm-shown-at-key-on" and read.normal is False and value >= 900.0 and not car.sweeps_at_key_on:
        yield (
            "A tachometer or ignition box that tests itself at key-on shows thousands, and the file says that none "
            "here does. Does the needle sweep at key-on?"
        )
    if check in ("pressure-at-prime", "pressure-return-clamped") or (
        check == "pressure-at-idle" and car.regulator == "fixed"
    ):
        yield from _pressure(value, car)
    if check == "base-timing-hose-off" and abs(value - car.base_timing) > TIMING_APART:
        yield f"{_filed(car, 'base-timing')} Is that what this engine is set to?"
    if check == "idle-target-look" and abs(value - car.idle_speed) > IDLE_APART:
        yield f"{_filed(car, 'idle-speed')} Which of the two is meant for this engine?"
    if check == "ethanol-content" and value > PUMP_FUEL and car.fuel != "e85":
        yield f"The file says {car.fuel}. What was filled?"
    for name, field in (("coil-primary-resistance", "coil-resistance"), ("injector-resistance", "injector-resistance")):
        if check == name and value < OPEN_OHMS and _another_kind(value, float(car_value(car, field))):
            yield f"{_filed(car, field)} Is another kind fitted?"
    if check == "dwell-at-idle":
        yield from _dwell(value, car)
    if check == "manifold-pressure-full" and value > _barometer(car) + ABOVE_BAROMETER:
        yield (
            f"At {with_unit(show_number(car.altitude), 'ft')} the barometer stands near "
            f"{with_unit(show_number(round(_barometer(car))), 'kPa')}. Is the altitude right, or is it blown?"
        )


def _filed(car: Car, field: str) -> str:
    shown = with_unit(show_number(float(car_value(car, field))), car_unit(field) or "")
    return f"The file says {field.replace('-', ' ')} {shown}."


def _another_kind(value: float, filed: float) -> bool:
    return value > 0.0 and not filed / RESISTANCE_TIMES <= value <= filed * RESISTANCE_TIMES and value > 0.3


def _pressure(value: float, car: Car) -> Iterator[str]:
    for usual in SYSTEM_PRESSURES:
        if abs(value / usual - 1.0) <= NEAR and abs(usual / car.rated_pressure - 1.0) > APART:
            yield f"{_filed(car, 'rated-pressure')} Systems set to {show_number(usual)} psi read this. Is it one?"
            return


def _dwell(value: float, car: Car) -> Iterator[str]:
    for cylinders, usual in USUAL_DWELL.items():
        if cylinders != car.cylinders and abs(value - usual) <= DWELL_NEAR and abs(value - car.dwell) > 2 * DWELL_NEAR:
            yield (
                f"That is the dwell of {cylinders} cylinders, and the file has {car.cylinders}. Does the file have "
                "them right, and does the meter stand at them?"
            )
            return


def _barometer(car: Car) -> float:
    return barometer_at_altitude(convert(car.altitude, "ft", "m")).barometer / 1000.0
