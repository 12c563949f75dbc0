"""Idle surge: which causes emerge from the equations, and which had to be imposed."""

from __future__ import annotations

import pytest

from troubleshoot.virtual_engine.engines import ENGINES
from troubleshoot.virtual_engine.idle_surge import CAUSES, amplitudes


@pytest.mark.parametrize("engine", ENGINES)
def test_each_cause_surges_or_not_as_the_study_says(engine: str) -> None:
    """Yes or no with wide limits: amplitudes near a threshold depend on step and seed."""
    found = amplitudes(engine, CAUSES, seed=1, repeats=3)
    for cause, swing in zip(CAUSES, found, strict=True):
        if cause.above is not None:
            assert swing > cause.above, f"{cause.id}: {swing:.0f} rpm"
        if cause.below is not None:
            assert swing < cause.below, f"{cause.id}: {swing:.0f} rpm"


@pytest.mark.parametrize("engine", ENGINES)
def test_true_limit_cycles_survive_without_any_noise(engine: str) -> None:
    """Overrun cut, quick trim and advance in the idle range keep hunting by themselves; scatter does not."""
    by_id = {cause.id: cause for cause in CAUSES}
    cycles = [by_id[name] for name in ("leak-and-overrun-cut", "trim-too-quick", "advance-in-idle")]
    forced = [by_id[name] for name in ("healthy", "timing-scatter", "pulse-starved-map", "sticking-idle-valve")]
    found = amplitudes(engine, cycles + forced, seed=1, repeats=1, quiet=True)
    assert (found[:3] > 60).all()
    assert (found[3:] < 5).all()


def test_what_is_imposed_is_called_imposed() -> None:
    assert {cause.id for cause in CAUSES if cause.origin in ("imposed", "forced")} == {
        "pulse-starved-map",
        "timing-scatter",
    }
