"""One car of the virtual engine on the bench: its readings with all its faults, and as each one is repaired."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

from troubleshoot.bench.answering import answer
from troubleshoot.bench.complaint_concerns import COMPLAINT_CONCERNS, concerns_of
from troubleshoot.bench.fault_causes import FAULT_CAUSES, same_cause
from troubleshoot.bench.patients import HEALTHY_CARS, BenchCase, FaultsPresent, Patient, changes_since, left_after
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.model import Check, Instrument
from troubleshoot.virtual_engine.complaints import complaints
from troubleshoot.virtual_engine.parameters import Values
from troubleshoot.virtual_engine.readings import Cars, add_noise, measure_together

TOGETHER = 96
"""Cars computed side by side, each with its faults, with each of them alone and without."""

Result = Literal["gone", "partly", "still"]


@dataclass(frozen=True)
class CarJob:
    """A car to compute: engine, ignition, faults with severity, and the seed that makes the one car."""

    engine: str
    ignition: str
    faults: FaultsPresent
    seed: int


@dataclass(frozen=True)
class BenchCar:
    """A computed car: readings and what the driver complains of, for every set of faults that can be left."""

    job: CarJob
    readings: Mapping[FaultsPresent, Mapping[str, float]]
    heard: Mapping[FaultsPresent, tuple[str, ...]]

    @property
    def causes(self) -> tuple[str, ...]:
        """Return the causes of the trees that the faults are, in their order."""
        return tuple(FAULT_CAUSES[name] for name, _ in self.job.faults)

    def after(self, repaired: Collection[str]) -> FaultsPresent:
        """Return the faults left when these causes have been repaired; a cause no reading separates counts as well."""
        engine = self.job.engine
        gone = frozenset(
            name for name, _ in self.job.faults if any(same_cause(engine, FAULT_CAUSES[name], one) for one in repaired)
        )
        return left_after(self.job.faults, gone)

    def patient(self, number: int, reported: Sequence[str], missing_tools: frozenset[str]) -> Patient:
        """Return the car as a case that a policy can walk."""
        case = BenchCase(number, self.job.engine, self.job.ignition, self.job.faults, missing_tools)
        plain = {state: dict(row) for state, row in self.readings.items()}
        concerns = {state: self.concerns(state) for state in self.readings}
        return Patient(case, plain, concerns, tuple(reported))

    def concerns(self, state: FaultsPresent) -> frozenset[str]:
        """Return the concerns that show while these faults are present."""
        return frozenset(COMPLAINT_CONCERNS[one] for one in self.heard[state])


def compute_cars(jobs: Sequence[CarJob], done: Callable[[int, int], None] | None = None) -> list[BenchCar]:
    """Return the cars of these jobs in order, all computed together, some hundred at a time.

    A single car takes about as long as a few dozen, so ask for all at once; `done` is told how many are finished.
    """
    found: list[BenchCar] = []
    for start in range(0, len(jobs), TOGETHER):
        found += _compute(jobs[start : start + TOGETHER])
        if done is not None:
            done(len(found), len(jobs))
    return found


def _compute(jobs: Sequence[CarJob]) -> list[BenchCar]:
    """Compute cars in one batch, with the sound cars of each kind that a driver is used to beside them."""
    kinds = list(dict.fromkeys((job.engine, job.ignition) for job in jobs))
    cars = [Cars(job.engine, job.ignition, states_of(job.faults), [job.seed] * 2 ** len(job.faults)) for job in jobs]
    sound = [Cars(*kind, [()] * HEALTHY_CARS, range(HEALTHY_CARS)) for kind in kinds]
    values = measure_together([*cars, *sound])
    healthy = dict(zip(kinds, values[len(jobs) :], strict=True))
    return [
        _heard(job, one, found, healthy[job.engine, job.ignition])
        for job, one, found in zip(jobs, cars, values[: len(jobs)], strict=True)
    ]


def _heard(job: CarJob, cars: Cars, found: dict[str, Values], healthy: Mapping[str, Values]) -> BenchCar:
    """Return a car with what its instruments show and its driver notices."""
    add_noise(found, cars.keys, 0)
    states, heard = states_of(job.faults), complaints(found, healthy)
    rows = {state: {name: float(column[at]) for name, column in found.items()} for at, state in enumerate(states)}
    for row in rows.values():
        row |= changes_since(rows[()], row)
    return BenchCar(job, rows, dict(zip(states, heard, strict=True)))


def states_of(faults: FaultsPresent) -> list[FaultsPresent]:
    """Return every set of faults that can be left as repairs go on, all of them first, none last."""
    return [left for count in range(len(faults), -1, -1) for left in combinations(faults, count)]


def reported_by(car: BenchCar) -> tuple[str, ...]:
    """Return the concerns the driver reports with all faults present; empty when nothing is noticed."""
    return concerns_of(car.heard[car.job.faults])


def reading_text(identifier: str, check: Check, readings: Mapping[str, float]) -> str | None:
    """Return what the instrument of a check shows, as "38 psi", or an outcome; None when it cannot be measured."""
    found = answer(identifier, check, readings)
    if found is None or isinstance(found, str):
        return found
    assert check.reading is not None
    return as_shown(check.reading, found)


def as_shown(instrument: Instrument, found: float) -> str:
    """Return a number as an instrument shows it, with its unit and no more digits than a meter has."""
    step = read_to(instrument)
    while step < 1.0 and abs(found) >= METER_COUNTS * step:
        step *= 10.0
    return _written(instrument, found, step)


def as_typed(check: Check, found: float | str) -> str:
    """Return what a careful person would type for an answer of the engine, a number in the check's unit or an outcome.

    A number is read between the marks of a scale: to a step of 1, 2 or 5 that is at most half the uncertainty.
    """
    if isinstance(found, str):
        return found
    assert check.reading is not None
    return _written(check.reading, found, scale_step(check.reading.uncertainty))


def _written(instrument: Instrument, found: float, step: float) -> str:
    low, high = instrument.plausible
    value = round(min(max(found, low), high) / step) * step + 0.0
    places = max(0, -math.floor(math.log10(step) + 1e-9))
    return f"{value:.{places}f} {instrument.unit}"


def scale_step(uncertainty: float) -> float:
    """Return the step that a scale of this uncertainty can be read to: the largest of 1, 2 and 5 up to half of it.

    >>> [scale_step(one) for one in (0.05, 0.8, 3.0, 15.0, 100.0)]
    [0.02, 0.2, 1.0, 5.0, 50.0]
    """
    return _largest(uncertainty / 2.0, (1.0, 2.0, 5.0))


def _largest(limit: float, of: Sequence[float]) -> float:
    """Return the largest of these times a power of ten that is no more than a limit."""
    held = limit * (1.0 + 1e-9)
    decade = 10.0 ** math.floor(math.log10(held))
    return max(one * decade for one in of if one * decade <= held)


METER_COUNTS = 2000
"""Steps that a meter shows in one range; common practice, no source."""
MARKED_IN_TWOS = frozenset({"psi", "kPa", "kPa abs", "inHg", "mm", "deg dist"})
"""Units of gauges, whose marks stand 1, 2 or 5 apart; digits are read to 1 or 5. Common practice, no source."""
COARSEST = {"rpm": 10.0}
"""A rev counter is read to this where it is good to half of it or worse; common practice, no source."""


def read_to(instrument: Instrument) -> float:
    """Return the step that an instrument shows, in its unit: the largest that is no more than its uncertainty.

    >>> [read_to(Instrument(unit="V", plausible=[0, 20], uncertainty=one)) for one in (0.03, 0.05, 0.2)]
    [0.01, 0.05, 0.1]
    """
    found = _largest(instrument.uncertainty, (1.0, 2.0, 5.0) if instrument.unit in MARKED_IN_TWOS else (1.0, 5.0))
    least = COARSEST.get(instrument.unit, 0.0)
    return least if found < least <= 2.0 * instrument.uncertainty else found


def reading_texts(
    catalogue: Catalogue, readings: Mapping[str, float], checks: Collection[str]
) -> dict[str, str | None]:
    """Return what the instruments show for each of these checks, in the order of their ids."""
    return {name: reading_text(name, catalogue.checks[name], readings) for name in sorted(checks)}


@dataclass
class VirtualBench:
    """The bench of one car that is being worked on; `repaired` says what has been repaired so far."""

    car: BenchCar
    catalogue: Catalogue
    reported: tuple[str, ...]
    repaired: Callable[[], Collection[str]] = tuple

    def read(self, check_id: str) -> str | None:
        """Return what is read for a check in the car's present state; None when it cannot be measured."""
        return reading_text(
            check_id, self.catalogue.checks[check_id], self.car.readings[self.car.after(self.repaired())]
        )

    def retest(self) -> Result:
        """Return whether what was reported is gone, partly gone or still there."""
        left = set(self.reported) & self.car.concerns(self.car.after(self.repaired()))
        if not left:
            return "gone"
        return "still" if len(left) == len(self.reported) else "partly"
