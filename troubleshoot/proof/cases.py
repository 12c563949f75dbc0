"""Random cases for the proof: a car, one or two faults, their severity, and the tools that are not at hand."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from troubleshoot.bench.patients import BenchCase
from troubleshoot.virtual_engine.engines import ENGINES, IGNITIONS
from troubleshoot.virtual_engine.faults import FAULTS

TOOL_MISSING = 0.08
"""The probability that a tool which not everybody owns is not at hand."""

DEGREES = ((0.15, 0.375), (0.375, 0.75), (0.75, 1.0))
"""Severities of mild, clear and gross faults."""

DEGREE_SHARES = (0.35, 0.45, 0.20)
"""How often each comes into a shop (engineering estimate); a case in which the driver notices nothing is left out."""


def draw_case(seed: int, number: int, pairs: bool, rare_tools: Sequence[str], drawn: bool = False) -> BenchCase:
    """Draw a case; the same seed and number give the same case. `drawn`: its car is one of a population."""
    rng = np.random.default_rng((seed, number, 71))
    engine = ENGINES[int(rng.integers(len(ENGINES)))]
    ignition = IGNITIONS[int(rng.integers(len(IGNITIONS)))]
    possible = [name for name, fault in FAULTS.items() if ignition in fault.applies_to]
    chosen = rng.choice(len(possible), size=2 if pairs else 1, replace=False)
    present = tuple((possible[int(one)], severity(rng)) for one in chosen)
    missing = frozenset(tool for tool in rare_tools if rng.random() < TOOL_MISSING)
    return BenchCase(number, engine, ignition, present, missing, drawn)


def severity(rng: np.random.Generator) -> float:
    """Return how bad a fault is: mild, clear or gross as often as the trees take it to be, evenly within each."""
    low, high = DEGREES[int(rng.choice(len(DEGREES), p=DEGREE_SHARES))]
    return float(rng.uniform(low, high))
