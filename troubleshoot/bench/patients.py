"""Cars of the virtual engine as patients: readings and complaints with all faults, and as each is repaired."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from itertools import product

import numpy as np

from troubleshoot.bench.answer_table import CHANGES
from troubleshoot.bench.complaint_concerns import COMPLAINT_CONCERNS, concerns_of
from troubleshoot.virtual_engine.complaints import complaints
from troubleshoot.virtual_engine.engines import ENGINES, IGNITIONS, nominal
from troubleshoot.virtual_engine.population import Day, settle
from troubleshoot.virtual_engine.readings import Cars, add_noise, measure_together

BATCH = 256
"""Cars computed side by side."""

HEALTHY_CARS = 33
"""Sound cars whose medians say what a driver is used to."""

FaultsPresent = tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class BenchCase:
    """One case by its number: everything about it follows from the number and the seed."""

    number: int
    engine: str
    ignition: str
    faults: FaultsPresent
    missing_tools: frozenset[str]
    drawn: bool = False
    """Whether the car is one of a population round its file."""


@dataclass(frozen=True)
class Patient:
    """A case with its car computed: readings and concerns for the faults as they are, and as each one is repaired."""

    case: BenchCase
    readings: dict[FaultsPresent, dict[str, float]]
    concerns: dict[FaultsPresent, frozenset[str]]
    reported: tuple[str, ...]
    day: Day | None = None
    """What the driver can know of a car of a population."""


def seed_of(seed: int, number: int) -> int:
    """Return the seed of a case's car."""
    return seed * 1_000_003 + number


@cache
def healthy_readings() -> Mapping[tuple[str, str], Mapping[str, np.ndarray]]:
    """Return the readings of sound cars of each engine and ignition, against which a driver notices a change."""
    kinds = list(product(ENGINES, IGNITIONS))
    found = measure_together([Cars(*kind, [()] * HEALTHY_CARS, range(HEALTHY_CARS)) for kind in kinds])
    return dict(zip(kinds, found, strict=True))


def left_after(faults: FaultsPresent, gone: frozenset[str]) -> FaultsPresent:
    """Return the faults that remain."""
    return tuple(one for one in faults if one[0] not in gone)


def patients(cases: Sequence[BenchCase], seed: int) -> Iterator[Patient | None]:
    """Compute the cars of these cases, in order; None for a case in which the driver notices nothing."""
    wanted = [(case, state) for case in cases for state in _states(case.faults)]
    results: dict[tuple[int, FaultsPresent], tuple[dict[str, float], tuple[str, ...]]] = {}
    for part in _whole_cases(wanted):
        _compute(part, seed, results)
    for case in cases:
        found = {state: results[case.number, state] for state in _states(case.faults)}
        for row, _ in found.values():
            row |= changes_since(found[()][0], row)
        reported = concerns_of(found[case.faults][1])
        if not reported:
            yield None
            continue
        yield Patient(
            case,
            {state: one[0] for state, one in found.items()},
            {state: frozenset(COMPLAINT_CONCERNS[complaint] for complaint in one[1]) for state, one in found.items()},
            reported,
            settle(nominal(case.engine, case.ignition), (seed_of(seed, case.number),))[1] if case.drawn else None,
        )


def changes_since(before: dict[str, float], now: dict[str, float]) -> dict[str, float]:
    """Return what changed since the car was sound, in percent of what it was then."""
    return {name: 100.0 * (now[reading] / before[reading] - 1.0) for name, reading in CHANGES.items()}


def _states(faults: FaultsPresent) -> list[FaultsPresent]:
    """Return what can be present as repairs go on: all, each one alone, none."""
    states = [faults, ()]
    if len(faults) > 1:
        states += [(one,) for one in faults]
    return states


CaseStates = Sequence[tuple[BenchCase, FaultsPresent]]


def _whole_cases(group: CaseStates) -> Iterator[CaseStates]:
    """Cut a group into batches, each case with all its states in one."""
    start = 0
    while start < len(group):
        end = min(start + BATCH, len(group))
        while end < len(group) and group[end][0] is group[end - 1][0]:
            end += 1
        yield group[start:end]
        start = end


def _own_before(group: CaseStates, found: Mapping[str, np.ndarray]) -> dict[str, np.ndarray]:
    """Return beside each row what the same car read before anything was wrong."""
    healthy = {case.number: place for place, (case, state) in enumerate(group) if not state}
    rows = [healthy[case.number] for case, _ in group]
    return {name: values[rows] for name, values in found.items()}


def _compute(
    group: CaseStates, seed: int, results: dict[tuple[int, FaultsPresent], tuple[dict[str, float], tuple[str, ...]]]
) -> None:
    kinds: dict[tuple[str, str, bool], list[tuple[BenchCase, FaultsPresent]]] = {}
    for case, state in group:
        kinds.setdefault((case.engine, case.ignition, case.drawn), []).append((case, state))
    cars = [
        Cars(engine, ignition, [state for _, state in some], [seed_of(seed, case.number) for case, _ in some], drawn)
        for (engine, ignition, drawn), some in kinds.items()
    ]
    for one, some, found in zip(cars, kinds.values(), measure_together(cars), strict=True):
        add_noise(found, one.keys, 0)
        if one.drawn:
            heard = complaints(found, _own_before(some, found), own=True)
        else:
            heard = complaints(found, healthy_readings()[one.engine, one.ignition])
        for place, (case, state) in enumerate(some):
            row = {name: float(values[place]) for name, values in found.items()}
            results[case.number, state] = (row, tuple(heard[place]))
