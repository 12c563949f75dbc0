"""Random cases for the proof: a car, one or two faults, their severity, and the tools that are not at hand."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from troubleshoot.bench.patients import BenchCase
from troubleshoot.virtual_engine.engines import ENGINES, IGNITIONS
from troubleshoot.virtual_engine.faults import FAULTS

TOOL_MISSING = 0.08
"""The probability that a tool which not everybody owns is not at hand."""


def draw_case(seed: int, number: int, pairs: bool, rare_tools: Sequence[str]) -> BenchCase:
    """Draw a case; the same seed and number give the same case."""
    rng = np.random.default_rng((seed, number, 71))
    engine = ENGINES[int(rng.integers(len(ENGINES)))]
    ignition = IGNITIONS[int(rng.integers(len(IGNITIONS)))]
    possible = [
        name for name, fault in FAULTS.items() if ignition in fault.applies_to and fault.onset(engine) is not None
    ]
    chosen = rng.choice(len(possible), size=2 if pairs else 1, replace=False)
    present = tuple((possible[int(one)], _severity(rng, possible[int(one)], engine)) for one in chosen)
    missing = frozenset(tool for tool in rare_tools if rng.random() < TOOL_MISSING)
    return BenchCase(number, engine, ignition, present, missing)


def _severity(rng: np.random.Generator, fault: str, engine: str) -> float:
    onset = FAULTS[fault].onset(engine)
    return float(rng.uniform(1.0 if onset is None else onset, 1.0))
