"""One batch of full readings an engine, shared by the tests that look at healthy and faulty cars."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from troubleshoot.virtual_engine.cars import build
from troubleshoot.virtual_engine.engines import ENGINES
from troubleshoot.virtual_engine.faults import FAULTS
from troubleshoot.virtual_engine.parameters import Parameters
from troubleshoot.virtual_engine.readings import measure

HEALTHY_CARS = 48
RANDOM_CARS = 4
SEED = 2026


@dataclass(frozen=True)
class Batch:
    """Readings without instrument noise of one engine: random healthy cars, faults on nominal and random cars."""

    engine: str
    healthy: dict[str, np.ndarray]
    nominal_healthy: dict[str, np.ndarray]
    nominal: dict[str, dict[str, float]]  # every fault at full severity
    cars: dict[str, dict[str, np.ndarray]]  # every third fault at full severity
    electronic: dict[str, dict[str, float]]  # "", pump_dead and o2_dead with electronic ignition
    leaking_check_valve: dict[str, np.ndarray]  # one car, seven severities


def rows(values: dict[str, np.ndarray], first: int, last: int) -> dict[str, np.ndarray]:
    return {name: value[first:last] for name, value in values.items()}


def ignition_of(fault: str) -> str:
    return "points" if "points" in FAULTS[fault].applies_to else "electronic"


def make_batch(engine: str) -> Batch:
    """Build every group of cars, run them side by side once, and take the groups apart again."""
    listed = list(FAULTS)[::3]
    growing = [[("check_valve_leak", float(s))] for s in np.linspace(0.1, 1.0, 7)]
    electronic: list[list[tuple[str, float]]] = [[], [("pump_dead", 1.0)], [("o2_dead", 1.0)]]
    seed = iter(range(SEED, SEED + 10_000))
    groups = {
        "healthy": build(engine, "points", [[]] * HEALTHY_CARS, keys := [(next(seed),) for _ in range(HEALTHY_CARS)]),
        "plain": build(engine, "points", [[]], [(5,)], spread=False),
        "growing": build(engine, "points", growing, [(7,)] * 7),
        "electronic": build(engine, "electronic", electronic, [(2,)] * 3, spread=False),
    }
    noise = keys + [(5,)] + [(7,)] * 7 + [(2,)] * 3
    for fault in FAULTS:
        groups[f"nominal {fault}"] = build(engine, ignition_of(fault), [[(fault, 1.0)]], [(5,)], spread=False)
        noise.append((5,))
    for fault in listed:
        keys = [(next(seed),) for _ in range(RANDOM_CARS)]
        groups[f"cars {fault}"] = build(engine, ignition_of(fault), [[(fault, 1.0)]] * RANDOM_CARS, keys)
        noise += keys
    found = measure(Parameters.joined(list(groups.values())), noise)
    ends = np.cumsum([group.size for group in groups.values()])
    parts = {}
    for (name, group), end in zip(groups.items(), ends, strict=True):
        parts[name] = rows(found, int(end) - group.size, int(end))
    other = parts["electronic"].items()
    return Batch(
        engine,
        parts["healthy"],
        parts["plain"],
        {fault: {r: float(v[0]) for r, v in parts[f"nominal {fault}"].items()} for fault in FAULTS},
        {fault: parts[f"cars {fault}"] for fault in listed},
        {name: {r: float(v[i]) for r, v in other} for i, name in enumerate(("", "pump_dead", "o2_dead"))},
        parts["growing"],
    )


@pytest.fixture(scope="session", params=ENGINES)
def batch(request: pytest.FixtureRequest) -> Batch:
    """Return the shared readings of one engine."""
    return make_batch(request.param)
