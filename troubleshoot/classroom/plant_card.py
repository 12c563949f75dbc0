"""The card for setting a fault on a real training engine: how, what the trainee should find, how to undo it."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from troubleshoot.bench.answering import answer
from troubleshoot.bench.fault_causes import CAUSE_FAULTS
from troubleshoot.bench.patients import FaultsPresent, changes_since
from troubleshoot.calculations.units import Measured, show_worked_out
from troubleshoot.case.answering import known_cause
from troubleshoot.case.cautioning import SIGNALS, cautions_shown
from troubleshoot.case.view import CautionShown
from troubleshoot.classroom.drill_maker import engine_of, possible_causes
from troubleshoot.knowledge.answers import System, shown_unit_of
from troubleshoot.knowledge.bands import bands_for
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.compiling import fits
from troubleshoot.knowledge.model import Check
from troubleshoot.problems import TroubleshootError
from troubleshoot.virtual_engine.faults import severity_of
from troubleshoot.virtual_engine.readings import readings

CARS = 24
"""Cars computed: enough to say how far one car's reading lies from another's."""
SPREADS = 2.0
"""Standard deviations on either side that a reading may be off."""
MOST_SHOWN = 8
PRESENT = (
    "The trainer stays beside the engine the whole time, with someone who may stop it at once. One person"
    " at a time works on it. Follow the maker's data, local rules, and whoever is licensed for the work."
)


NEITHER = (
    "NOT DRIVEN AND NOT LOADED while the fault is set: cranking, idle and held speeds in neutral only, and none of"
    " them for longer than a reading takes. The key is with the trainer, with a tag on it that names the fault."
)
RUN_BY_A_CLASS = ("exhaust-gas", "moving-parts", "hot-parts")
"""Cautions of every card, since a class runs the engine that it sets a fault on."""

PLANTED_SIZES: dict[str, tuple[str, float]] = {
    "pump-volts-low": ("pump_supply_ohm", 0.5),
    "pump-ground-poor": ("pump_ground_ohm", 0.33),
    "injector-feed-drop": ("injector_feed_ohm", 1.0),
    "controller-feed-drops": ("ecu_crank_ohm", 1.0),
    "coil-feed-resistance": ("ballast_ohm", 1.5),
    "coolant-sensor-reads-cold": ("clt_series_ohm", 1000.0),
    "throttle-sensor-not-zeroed": ("tps_closed", 0.24),  # volts: 6 % of the travel
    "plugs-worn": ("plug_gap", 0.4),  # millimetres
    "dwell-too-large": ("dwell", 8.0),  # degrees
    "timing-retarded": ("base_advance", -9.0),
    "idle-target-high": ("idle_speed", 300.0),  # rpm
    "idle-target-low": ("idle_speed", -200.0),
    "vacuum-leak": ("leak_area", 0.226),  # cm2: a hole of 6 mm with a discharge coefficient of 0.8
    "vacuum-leak-one-half": ("leak_area_b", 0.1005),  # the same for 4 mm
    "fuel-table-lean-idle": ("ve_idle", -0.25),  # share of the fuel
    "fuel-table-rich-idle": ("ve_idle", 0.40),
    "fuel-table-rich-cruise": ("ve_cruise", 0.25),
    "cranking-fuel-lean": ("crank_gain", -0.65),
    "opening-delay-wrong": ("dead_time_ecu", -0.8),  # milliseconds
    "throttle-not-opening": ("plate_limit", -0.5),  # share of the opening
}
"""What a card sets where it says how much: parameter of the engine, and by how much it is changed."""

PLANTED: dict[str, float] = {
    cause: severity_of(CAUSE_FAULTS[cause], parameter, change) for cause, (parameter, change) in PLANTED_SIZES.items()
} | {"battery-weak": 0.5, "signal-intermittent": 0.5, "pulses-setting-wrong": 0.25}
"""How bad a fault is when it is set as its card says; every other is at its worst. An old part that is fitted, and a
plug left loose, are as bad as a shop usually meets them; six cylinders entered for eight read a third high."""

SET_AS = CAUSE_FAULTS | {"pulses-setting-wrong": "cylinder_setting_high"}
"""The fault of the virtual engine that a card sets; a cause that goes both ways is set the way its card says."""

NOT_IN_A_LESSON = frozenset({"plug-reading"})
"""Checks of what only a longer run leaves behind."""


@dataclass(frozen=True)
class Expected:
    """What one check should read with the fault set, and what it reads on a sound car."""

    ask: str
    faulty: str
    sound: str
    how_far: float


@dataclass(frozen=True)
class SetOnCars:
    """Readings by name of the same cars, sound and with one fault set."""

    sound: list[dict[str, float]]
    faulty: list[dict[str, float]]


@dataclass(frozen=True)
class PlantCard:
    """The card of one cause; `never` says why it must not be set, and then there is nothing to do."""

    title: str
    car: str
    do: tuple[str, ...]
    undo: tuple[str, ...]
    say: str
    never: str
    cautions: tuple[CautionShown, ...]
    expected: tuple[Expected, ...]


def plant_card(cause: str, car: str, severity: float | None, catalogue: Catalogue, units: System = "us") -> PlantCard:
    """Return the card of a cause on an example car; readings only where the virtual engine knows the fault.

    Readings are in the units of `units`. Without a severity it is as bad as what the card tells to do makes it.
    """
    return card_of(cause, car, set_on_cars({cause: severity}, car, catalogue).get(cause), catalogue, units)


def card_of(cause: str, car: str, cars: SetOnCars | None, catalogue: Catalogue, units: System = "us") -> PlantCard:
    """Return the card of a cause from the cars that `set_on_cars` computed; without them it names no reading."""
    known = known_cause(catalogue, cause)
    plant = known.plant
    names = [] if plant.never else dict.fromkeys([*plant.cautions, *RUN_BY_A_CLASS])
    return PlantCard(
        known.title, catalogue.cars[car].title, tuple(plant.do), tuple(plant.undo), plant.present, plant.never,
        tuple(sorted(cautions_shown(catalogue, names, catalogue.cars[car]), key=_worst_first)),
        () if cars is None else _expected(cause, car, cars, catalogue, units),
    )  # fmt: skip


def set_on_cars(severities: Mapping[str, float | None], car: str, catalogue: Catalogue) -> dict[str, SetOnCars]:
    """Return, for each cause that may be set and that the virtual engine has, its cars with the fault set.

    All are computed side by side, which takes little longer than one. A severity lies between 0.05 and 1; without
    one the fault is as bad as its card sets it. `PlanRefused` for a car that the virtual engine does not have.
    """
    engine, ignition = engine_of(car, catalogue)
    possible = set(possible_causes(car, catalogue))
    faults: dict[str, FaultsPresent] = {}
    for cause, asked in severities.items():
        plant = known_cause(catalogue, cause).plant
        severity = PLANTED.get(cause, 1.0) if asked is None else asked
        if not 0.05 <= severity <= 1:
            raise TroubleshootError(f"{severity} is no severity.", "Give a number from 0.05 to 1.")
        if not plant.never and cause in possible:
            faults[cause] = ((SET_AS[cause], severity),)
    if not faults:
        return {}
    states: list[FaultsPresent] = [(), *faults.values()]
    values = readings(
        engine, ignition, [state for state in states for _ in range(CARS)], [*range(1, CARS + 1)] * len(states)
    )
    rows = [{name: float(column[at]) for name, column in values.items()} for at in range(CARS * len(states))]
    before = [dict(row) for row in rows[:CARS]]
    for at, row in enumerate(rows):
        row |= changes_since(before[at % CARS], row)
    return {
        cause: SetOnCars(rows[:CARS], rows[CARS * at : CARS * (at + 1)]) for at, cause in enumerate(faults, start=1)
    }


def _worst_first(caution: CautionShown) -> int:
    return SIGNALS.index(caution.signal) if caution.signal in SIGNALS else len(SIGNALS)


def plantable(catalogue: Catalogue) -> tuple[tuple[str, str], ...]:
    """Return what may be set on a real engine, by id and title, in the order of the titles."""
    found = [
        (name, cause.title) for name, cause in catalogue.causes.items() if cause.plant.do and not cause.plant.never
    ]
    return tuple(sorted(found, key=lambda one: one[1].casefold()))


def _expected(cause: str, car: str, cars: SetOnCars, catalogue: Catalogue, units: System) -> tuple[Expected, ...]:
    """Return the checks that tell the fault best: sound and faulty readings of the same cars, with their spread.

    None is made under load, since nobody drives or loads the engine, and none that the way of setting it prevents.
    """
    kept_out = {*catalogue.causes[cause].plant.prevents, *NOT_IN_A_LESSON}
    found = []
    for name, check in catalogue.checks.items():
        if check.state == "under load" or name in kept_out:
            continue
        if fits(catalogue.cars[car], check.for_) and cause in check.moved_by:
            one = _one(name, check, cars, catalogue, car, units)
            if one is not None:
                found.append(one)
    found.sort(key=lambda one: (-one.how_far, one.ask))
    return tuple(found[:MOST_SHOWN])


def _one(name: str, check: Check, cars: SetOnCars, catalogue: Catalogue, car: str, units: System) -> Expected | None:
    sound = [answer(name, check, row) for row in cars.sound]
    faulty = [answer(name, check, row) for row in cars.faulty]
    if not check.kind.measured:
        usual, changed = _most(sound), _most(faulty)
        if usual is None or changed is None or usual == changed:
            return None
        words = dict(check.named_outcomes)
        return Expected(check.ask, words.get(changed, changed), words.get(usual, usual), 50.0)
    first, second = _numbers(sound), _numbers(faulty)
    if len(first) < CARS // 2 or len(second) < CARS // 2:
        return None
    spread = max(float(np.std(first)), float(np.std(second)), check.uncertainty)
    far = abs(float(np.mean(second)) - float(np.mean(first))) / spread
    if far < SPREADS:
        return None
    bands = bands_for(check, catalogue.cars[car], {}, catalogue.checks)
    where = next((one for one in bands if one.low <= float(np.mean(second)) < one.high), None)
    if where is not None and where.outcome == check.normal:
        return None
    said = f"{_words(check, second, units)}{f' ({where.words})' if where and where.words else ''}"
    return Expected(check.ask, said, _words(check, first, units), min(far, 40.0))


def _most(found: list[float | str | None]) -> str | None:
    names = [one for one in found if isinstance(one, str)]
    return max(sorted(set(names)), key=names.count) if len(names) > len(found) / 2 else None


def _numbers(found: list[float | str | None]) -> list[float]:
    return [one for one in found if isinstance(one, float | int)]


def _words(check: Check, values: list[float], units: System) -> str:
    """Return a reading with its spread in the unit shown, to the second digit of the spread."""
    assert check.reading is not None
    low, high = check.reading.plausible
    spread = max(SPREADS * float(np.std(values)), check.uncertainty)
    mean = min(max(float(np.mean(values)), low), high)
    return show_worked_out(Measured(mean, spread, check.reading.unit, ""), shown_unit_of(check, units))


def card_lines(card: PlantCard, width: int = 78) -> Iterator[str]:
    """Yield the card as lines of text to print."""

    def wrapped(text: str, first: str = "") -> list[str]:
        return textwrap.wrap(text, width, initial_indent=first, subsequent_indent=" " * len(first)) or [first]

    yield from wrapped(card.title, "FAULT: ")
    if card.never:
        yield from wrapped(card.never, "NOT TO BE SET ON A REAL ENGINE: ")
        return
    yield "Set by ____________________  on ____________  engine ____________________"
    yield from wrapped(NEITHER)
    yield from wrapped(PRESENT, "Present: ")
    for caution in card.cautions:
        yield from wrapped(caution.title, f"{caution.signal}: ")
        for line in caution.card:
            yield from wrapped(line, "  - ")
    for title, steps in (("To set it", card.do), ("To undo it", card.undo)):
        yield f"{title}:"
        for number, line in enumerate(steps, start=1):
            yield from wrapped(line, f"  {number}. ")
    yield from wrapped(card.say, "To the class, or to be seen: ")
    if card.expected:
        yield f"What should be found (worked out for the {card.car}; another engine differs):"
        for one in card.expected:
            yield from wrapped(f"{one.ask}: {one.faulty}; sound: {one.sound}", "  - ")
    else:
        yield "Nothing is worked out for it: read the engine before and after, and write the figures here."
    yield from wrapped("Each check brings cautions of its own: read them in the program before it is made.")
    yield "After the lesson: undone by ______________  looked at by ______________"
    yield "                  engine run and healthy [ ]  tag off, key back [ ]"
