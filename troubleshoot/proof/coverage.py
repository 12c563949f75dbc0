"""The other way round: what the population shows of each fault, and whether the concern's tree lists its cause."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from troubleshoot.bench.complaint_concerns import COMPLAINT_CONCERNS
from troubleshoot.bench.fault_causes import FAULT_CAUSES
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.proof.cases import severity
from troubleshoot.virtual_engine.complaints import complaints
from troubleshoot.virtual_engine.engines import ENGINES, IGNITIONS
from troubleshoot.virtual_engine.faults import FAULTS
from troubleshoot.virtual_engine.readings import readings

LISTED_FROM = 0.05
"""A concern that this share of the cars with a fault show must be covered by the concern's tree."""

_SEED = 5151


@dataclass(frozen=True)
class Shown:
    """How many cars with a cause were drawn, and how many of their drivers report each concern."""

    cars: int
    concerns: Mapping[str, int]


@dataclass(frozen=True)
class Gap:
    """A concern that a cause shows and whose tree does not list it."""

    concern: str
    cause: str
    share: float
    cars: int


def shown_in_population(cars: int, faults: tuple[str, ...] = tuple(FAULTS)) -> dict[str, Shown]:
    """Return what drivers report of each cause, from `cars` cars of the population a fault and kind of engine.

    The same sound cars get each fault in turn, so that they are computed once.
    """
    counted: Counter[str] = Counter()
    heard: dict[str, Counter[str]] = {FAULT_CAUSES[name]: Counter() for name in faults}
    for engine in ENGINES:
        for ignition in IGNITIONS:
            rng = np.random.default_rng((_SEED, len(engine), len(ignition)))
            names = [name for name in faults if ignition in FAULTS[name].applies_to]
            seeds = [int(one) for one in rng.integers(1, 2**40, cars)]
            ill = [[(name, severity(rng))] for name in names for _ in seeds]
            found = readings(engine, ignition, [*ill, *([] for _ in seeds)], seeds * (len(names) + 1), drawn=True)
            now = {name: values[: len(ill)] for name, values in found.items()}
            before = {name: np.tile(values[len(ill) :], len(names)) for name, values in found.items()}
            for ((name, _),), said in zip(ill, complaints(now, before, own=True), strict=True):
                counted[FAULT_CAUSES[name]] += 1
                heard[FAULT_CAUSES[name]].update({COMPLAINT_CONCERNS[one] for one in said})
    return {cause: Shown(counted[cause], dict(heard[cause])) for cause in heard}


def not_listed(catalogue: Catalogue, shown: Mapping[str, Shown]) -> list[Gap]:
    """Return the gaps: concerns that at least a twentieth of the cars show, whose trees do not list the cause."""
    gaps = [
        Gap(concern, cause, times / found.cars, found.cars)
        for cause, found in shown.items()
        for concern, times in found.concerns.items()
        if found.cars and times / found.cars >= LISTED_FROM and cause not in catalogue.concerns[concern].shows
    ]
    return sorted(gaps, key=lambda one: (one.concern, -one.share))
