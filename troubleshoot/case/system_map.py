"""A map of the car's systems: their parts in the order of flow, how suspect each is, where a meter's leads go."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from troubleshoot.case.view import CauseShown, CheckShown
from troubleshoot.knowledge.car import Car


@dataclass(frozen=True)
class Part:
    """One part of a system; `share` is the probability of its likeliest cause, `leads` are R, B, or M for a meter."""

    name: str
    share: float
    leads: str = ""


@dataclass(frozen=True)
class System:
    """One system, as fuel or spark, with its parts in the order of flow."""

    name: str
    parts: tuple[Part, ...]


Row = tuple[str, Sequence[tuple[str, str]]]
"""A system with its parts, each with the words in the ids of its causes (a pattern)."""


def _fuel(car: Car) -> Row:
    pump = ("pump", "pump-(?!relay|not|volts|ground)|check-valve")
    tank = [("tank", "tank|fuel-(?:level|stale|octane|leak)|purge"), ("strainer", "strainer")]
    suction = [("suction", "suction|line-too-small|fuel-boiling")]
    regulator = "regulator" if car.regulator == "fixed" else "regulator + hose"
    rest = [
        ("filter", "filter"),
        (regulator, "regulator"),
        ("injectors", "injector(?!-feed)|body-heat"),
    ]
    back = [("return", "return-restricted|aerates")] if car.return_line == "return" else []
    order = [*tank, pump] if car.pump == "in tank" else [*tank, *suction, pump]
    return "FUEL", [*order, *rest, *back]


def _air(car: Car) -> Row:
    plenum = "split plenum" if car.plenum == "divided" else "plenum"
    return "AIR", [
        ("cleaner", "air-cleaner"),
        ("blades", "throttle-(?!sensor)|icing|kickdown"),
        ("idle valve", "idle-valve|idle-(?:control|target|load)"),
        (plenum, "vacuum-leak|booster|breather|plenum|halves|spacer|manifold-heat|intake|recirculation"),
        ("engine", "valve-float|compression|^cam|overheating|runs-on"),
        ("exhaust", "exhaust-(?!recirculation)"),
    ]


def _spark(car: Car) -> Row:
    ballast = [("ballast", "coil-feed")] if car.ballast else []
    coil = ("coil", "(?<!capacitor-)coil(?!-feed)" if car.ballast else "(?<!capacitor-)coil")
    trigger = (
        [("points", "points-(?!chatter)|dwell"), ("condenser", "condenser")]
        if car.ignition == "points"
        else [("pickup", "pickup"), ("box", "box|no-spark")]
    )
    timing = [("timing", "timing|advance|distributor-(?:not|off)|spark-(?:reference|table)")]
    return "SPARK", [
        *ballast, coil, *trigger, ("cap", "distributor-worn|rotor|cross-fire|secondary"), *timing,
        ("leads", "lead"), ("plugs", "plug(?!-lead)"),
    ]  # fmt: skip


def _signal(car: Car) -> Row:
    source = "coil −" if car.ignition == "points" else "pickup"
    return "SIGNAL", [
        (source, "chatter|capacitor|self-test|tach"),
        ("rpm wire", "signal-(?:wire|drops|intermittent|noise)"),
        ("pulses", "pulses"),
    ]


def _sensors(car: Car) -> Row:
    pressure = [("map hose", "map-hose"), ("map", "map-sensor")] if car.fuel_metering == "manifold pressure" else []
    return "SENSORS", [
        ("throttle", "throttle-sensor"), ("coolant", "coolant-sensor|thermostat"), *pressure,
        ("air", "air-sensor"), ("oxygen", "oxygen"),
    ]  # fmt: skip


def _power(car: Car) -> Row:  # noqa: ARG001 - every car has the same
    return "POWER", [
        ("battery", "battery|drain|alternator"), ("starter", "^start"), ("key", "ignition-switch|key-on|neutral"),
        ("relay", "relay|inertia|pump-not-cut"), ("pump feed", "pump-volts"),
        ("controller", "controller-(?!speed|ground)|connector-pin"),
        ("feed", "injector-feed"), ("grounds", "ground"),
    ]  # fmt: skip


def _set_up(car: Car) -> Row:  # noqa: ARG001 - every car has the same
    return "SET-UP", [
        ("engine data", "engine-data|speed-limit|opening-delay"), ("fuel table", "fuel-table"),
        ("cranking", "cranking|flood"), ("warm-up", "warm-up"), ("opening", "opening-fuel"),
        ("feedback", "feedback"), ("idle", "return-catch"),
    ]  # fmt: skip


ROWS = (_fuel, _air, _spark, _signal, _sensors, _power, _set_up)
LEAD = re.compile(r"\b(red|black)\b((?: lead)?(?: to| on| at)[^,.;]{0,60}| back-probed[^,.;]{0,50})", re.IGNORECASE)
SPOKEN = {
    "battery": "battery", "pump": "pump's|the pump|pump side", "coil": "coil", "coil −": "tachometer wire",
    "grounds": "ground|bare metal|bare block|block metal|distributor's body", "controller": "controller power",
    "starter": "starter|small terminal",
}  # fmt: skip
"""How steps name the part that a lead of a voltmeter goes to."""
READ_AT = {
    "suction": "suction|between tank and pump", "filter": "fuel pressure|filter", "tank": "tank", "pump": "pump",
    "return": "return", "oxygen": "mixture|correction|oxygen", "engine": "compression|vacuum|misses",
    "exhaust": "exhaust|back pressure", "blades": "throttle plate|blades", "idle valve": "idle valve",
    "points": "dwell|points", "timing": "timing|advance", "plugs": "plug", "leads": "spark", "coil": "coil",
    "throttle": "throttle", "coolant": "coolant|thermostat", "battery": "volts|battery|cranking",
    "rpm wire": "rpm|engine speed|speed shown",
}  # fmt: skip
"""What a check asks for that is read at one part."""


def system_map(car: Car, ranked: Iterable[CauseShown], check: CheckShown | None) -> tuple[System, ...]:
    """Return the systems of a car, each part as suspect as its likeliest cause, and where the check measures."""
    causes = tuple(ranked)
    leads = _leads(check) if check is not None else ()
    taken: set[str] = set()
    found = []
    for row in ROWS:
        name, parts = row(car)
        made = []
        for part, words in parts:
            shares = [one.probability for one in causes if re.search(words, one.id)]
            marks = "".join(lead for lead, place in leads if lead not in taken and _is_at(part, lead, place))
            taken.update(marks)
            made.append(Part(part, max(shares, default=0.0), marks))
        found.append(System(name, tuple(made)))
    return tuple(found)


def _is_at(part: str, lead: str, place: str) -> bool:
    words = READ_AT.get(part) if lead == "M" else SPOKEN.get(part)
    return words is not None and re.search(words, place, re.IGNORECASE) is not None


def _leads(check: CheckShown) -> tuple[tuple[str, str], ...]:
    """Return the leads of a meter with the words of where they go; M for a gauge that is read at one place."""
    found = {colour[0].upper(): place for colour, place in LEAD.findall(" ".join(check.do))}
    return tuple(found.items()) if found else (("M", check.ask),)
