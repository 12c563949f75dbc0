"""Cars of the virtual engine as patients: readings and complaints with all faults, and as each is repaired."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np

from troubleshoot.bench.answer_table import CHANGES
from troubleshoot.bench.complaint_concerns import COMPLAINT_CONCERNS, concerns_of
from troubleshoot.virtual_engine.complaints import complaints
from troubleshoot.virtual_engine.engines import ENGINES, IGNITIONS
from troubleshoot.virtual_engine.readings import readings

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


@dataclass(frozen=True)
class Patient:
    """A case with its car computed: readings and concerns for the faults as they are, and as each one is repaired."""

    case: BenchCase
    readings: dict[FaultsPresent, dict[str, float]]
    concerns: dict[FaultsPresent, frozenset[str]]
    reported: tuple[str, ...]


@cache
def healthy_readings(engine: str, ignition: str) -> Mapping[str, np.ndarray]:
    """Return the readings of sound cars of a kind, against which a driver notices a change."""
    return readings(engine, ignition, [[] for _ in range(HEALTHY_CARS)], list(range(HEALTHY_CARS)), noise=False)


def left_after(faults: FaultsPresent, mended: frozenset[str]) -> FaultsPresent:
    """Return the faults that remain."""
    return tuple(one for one in faults if one[0] not in mended)


def patients(cases: Sequence[BenchCase], seed: int) -> Iterator[Patient | None]:
    """Compute the cars of these cases, in order; None for a case in which the driver notices nothing."""
    wanted = [(case, state) for case in cases for state in _states(case.faults)]
    results: dict[tuple[int, FaultsPresent], tuple[dict[str, float], tuple[str, ...]]] = {}
    for engine in ENGINES:
        for ignition in IGNITIONS:
            group = [one for one in wanted if (one[0].engine, one[0].ignition) == (engine, ignition)]
            for start in range(0, len(group), BATCH):
                _compute(engine, ignition, group[start : start + BATCH], seed, results)
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


def _compute(
    engine: str,
    ignition: str,
    group: Sequence[tuple[BenchCase, FaultsPresent]],
    seed: int,
    results: dict[tuple[int, FaultsPresent], tuple[dict[str, float], tuple[str, ...]]],
) -> None:
    seeds = [seed * 1_000_003 + case.number for case, _ in group]
    found = readings(engine, ignition, [state for _, state in group], seeds)
    heard = complaints(found, healthy_readings(engine, ignition))
    for place, (case, state) in enumerate(group):
        row = {name: float(values[place]) for name, values in found.items()}
        results[case.number, state] = (row, tuple(heard[place]))
