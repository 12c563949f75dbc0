"""What a car file holds: the facts about one converted car that change a limit or a likelihood."""

from __future__ import annotations

from functools import cache
from typing import Annotated, Any, Literal

import msgspec
from msgspec import Meta, Struct, inspect


def _number(words: str, unit: str, low: float, high: float) -> Any:
    return Meta(ge=low, le=high, description=words, extra_json_schema={"x-unit": unit})


def _words(words: str) -> Any:
    return Meta(description=words)


class Car(Struct, frozen=True, forbid_unknown_fields=True, rename="kebab", kw_only=True):
    """One car; every field has a default that suits a common conversion, so a person enters only what differs."""

    title: Annotated[str, Meta(min_length=1, max_length=60, description="What to call the car")] = "My car"
    about: Annotated[str, _words("Anything worth remembering about it")] = ""
    owner: Annotated[str, Meta(max_length=60, description="Owner")] = ""
    plate: Annotated[str, Meta(max_length=20, description="Plate")] = ""
    mileage: Annotated[str, Meta(max_length=20, description="Mileage, as the car shows it")] = ""
    cylinders: Annotated[Literal[4, 6, 8], _words("Cylinders")] = 8
    strokes: Annotated[Literal[4, 2], _words("Strokes of a cycle: four-stroke, or two-stroke")] = 4
    displacement: Annotated[float, _number("Engine displacement", "in^3", 40, 700)] = 300.0
    ignition: Annotated[
        Literal["points", "electronic", "capacitor box"],
        _words("What fires the coil: breaker points, an electronic pickup, or a capacitor-discharge box"),
    ] = "points"
    pickup: Annotated[
        Literal["magnetic", "hall or optical"],
        _words("Pickup of an electronic ignition: magnetic (two wires), or a Hall or optical switch (three)"),
    ] = "magnetic"
    sweeps_at_key_on: Annotated[bool, _words("Does the tachometer or ignition box sweep or test itself at key-on?")] = (
        False
    )
    plenum: Annotated[
        Literal["divided", "open"], _words("Below the throttle body: two halves (dual-plane), or one open space")
    ] = "divided"
    cam: Annotated[Literal["stock", "long"], _words("Camshaft: stock, or long overlap")] = "stock"
    fuel_metering: Annotated[
        Literal["manifold pressure", "throttle angle"], _words("What the controller meters air by")
    ] = "manifold pressure"
    overrun_cut: Annotated[bool, _words("Does the controller cut fuel on the overrun?")] = True
    timing_control: Annotated[
        Literal["distributor", "controller"], _words("What sets the ignition timing: distributor or controller")
    ] = "distributor"
    injectors: Annotated[int, _number("Number of injectors", "count", 1, 16)] = 4
    injector_flow: Annotated[float, _number("Rated flow of one injector", "lb/h", 5, 300)] = 62.0
    injector_place: Annotated[
        Literal["above blades", "below blades"], _words("Do the injectors spray above or below the throttle blades?")
    ] = "above blades"
    injector_resistance: Annotated[
        float, _number("Injector resistance: low kinds 1 to 4 ohm, high kinds 11 to 17", "ohm", 0.5, 30)
    ] = 12.0
    rated_pressure: Annotated[float, _number("Fuel pressure the regulator is set to", "psi", 9, 100)] = 58.0
    regulator: Annotated[Literal["fixed", "manifold referenced"], _words("Regulator: fixed, or with a vacuum hose")] = (
        "fixed"
    )
    return_line: Annotated[
        Literal["return", "dead head"], _words("A return line to the tank, or a single dead-headed line")
    ] = "return"
    pump: Annotated[Literal["in tank", "in line"], _words("Where the pump is mounted")] = "in line"
    pump_flow: Annotated[float, _number("Rated pump flow at the rated pressure", "L/h", 20, 600)] = 190.0
    pump_current: Annotated[float, _number("Pump current at the rated pressure", "A", 1, 30)] = 6.0
    suction_line: Annotated[
        float, _number("Line from tank to pump, inside, that the pump asks for: 3/8 in is 9.5 mm", "mm", 3, 30)
    ] = 9.5
    wire_gauge: Annotated[int, _number("Gauge of the pump feed wire", "AWG", 4, 22)] = 12
    wire_length: Annotated[float, _number("One-way length of the pump feed wire", "ft", 1, 60)] = 15.0
    alternator: Annotated[float, _number("Rated alternator output", "A", 20, 300)] = 63.0
    fuel: Annotated[Literal["gasoline", "e10", "e85"], _words("Fuel in the tank")] = "e10"
    vapour_pressure: Annotated[
        float, _number("Reid vapour pressure of the fuel: summer 7 to 9 psi, winter up to 15", "psia", 4, 16)
    ] = 8.0
    air_temperature: Annotated[float, _number("Air temperature where the car stands today", "degF", -40, 130)] = 70.0
    altitude: Annotated[float, _number("Altitude", "ft", -1000, 14000)] = 500.0
    sensor_distance: Annotated[
        float, _number("Oxygen sensor, distance past the point where the pipes meet", "in", 0, 120)
    ] = 4.0
    feedback_from: Annotated[float, _number("Coolant temperature at which feedback begins", "degF", 60, 200)] = 160.0
    thermostat: Annotated[float, _number("Temperature at which the thermostat opens", "degF", 140, 215)] = 185.0
    idle_mixture: Annotated[float, _number("Mixture asked for at idle, warm", "lambda", 0.8, 1.05)] = 0.97
    idle_speed: Annotated[float, _number("Idle speed the controller is asked for, hot", "rpm", 400, 1500)] = 750.0
    speed_limit: Annotated[float, _number("Speed limit set in the controller or ignition box", "rpm", 2000, 10000)] = (
        5600.0
    )
    peak_power: Annotated[float, _number("Power the engine makes, flywheel", "hp", 20, 1000)] = 200.0
    base_timing: Annotated[float, _number("Static ignition timing, crank degrees", "deg", -10, 40)] = 10.0
    mechanical_advance: Annotated[float, _number("Mechanical advance, all in, crank degrees", "deg", 0, 50)] = 22.0
    advance_source: Annotated[
        Literal["ported", "manifold", "none"],
        _words("What the maker feeds the vacuum advance with: ported or manifold vacuum, or none fitted"),
    ] = "ported"
    plug_gap: Annotated[
        float, _number("Spark plug gap this ignition asks for: points 0.75 to 1.0, electronic 1.0 to 1.5", "mm", 0.4, 2)
    ] = 0.9
    dwell: Annotated[float, _number("Dwell the points are set to, distributor degrees", "deg", 10, 70)] = 30.0
    coil_resistance: Annotated[float, _number("Coil primary resistance", "ohm", 0.2, 6)] = 1.5
    ballast: Annotated[bool, _words("Is there a ballast resistor, or a resistance wire, ahead of the coil?")] = True
    compression: Annotated[float, _number("Usual cranking compression", "psi", 60, 260)] = 150.0


WHOSE = ("title", "about", "owner", "plate", "mileage")
"""Fields that tell which car it is; no limit and no likelihood depends on them."""
CAR_FIELDS: tuple[str, ...] = Car.__struct_encode_fields__
"""Field names as written in YAML."""
_ATTRIBUTE = dict(zip(CAR_FIELDS, Car.__struct_fields__, strict=True))


USUAL_DWELL = {4: 50.0, 6: 38.0, 8: 30.0}
"""Distributor degrees by cylinders; common practice, four 45 to 58, six 31 to 42, eight 28 to 32."""


def dwell_with(car: Car, cylinders: int) -> float:
    """Return the dwell of a car that is said to have so many cylinders: the usual one, unless it was set otherwise."""
    return USUAL_DWELL[cylinders] if car.dwell == USUAL_DWELL[car.cylinders] else car.dwell


def car_value(car: Car, name: str) -> Any:
    """Return the value of a car field by its written name; KeyError when there is none."""
    value: Any = getattr(car, _ATTRIBUTE[name])
    return value


def car_from(values: dict[str, Any]) -> Car:
    """Build a car from written names and values; msgspec.ValidationError when one does not fit."""
    return msgspec.convert(values, Car, strict=False)


def car_unit(name: str) -> str | None:
    """Return the unit a car field is kept in, None when it is no quantity; KeyError when there is no such field."""
    return _units()[name]


def car_fields() -> tuple[inspect.Field, ...]:
    """Return what is written about a car: the name and the type of each field."""
    form = inspect.type_info(Car)
    return form.fields if isinstance(form, inspect.StructType) else ()


@cache
def _units() -> dict[str, str | None]:
    found: dict[str, str | None] = {"cylinders": "count", "strokes": "count"}
    for one in car_fields():
        extra = one.type.extra_json_schema if isinstance(one.type, inspect.Metadata) else None
        found.setdefault(one.encode_name, (extra or {}).get("x-unit"))
    return found
