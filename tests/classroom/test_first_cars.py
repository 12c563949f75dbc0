"""Cars shipped for the first practice: they are what the engine says, enough of them, and nobody gets one twice."""

from __future__ import annotations

import random

import pytest

from troubleshoot.bench.virtual_bench import compute_cars, reported_by
from troubleshoot.classroom.first_cars import FILE, first_car, first_cars, unused_cars
from troubleshoot.classroom.practising import LEVELS, ready_practice
from troubleshoot.classroom.ready_cars import ReadyCars

drawing = random.Random(7)


def test_the_cars_are_what_the_engine_says() -> None:
    """After a change of the engine that moves a reading: `scripts/first_cars.py` (takes about ten minutes)."""
    some = first_cars()[::12]
    computed = compute_cars([one.car.job for one in some])
    for kept, car in zip(some, computed, strict=True):
        now = first_car(kept.level, car)
        assert kept.heard == now.heard
        for rows, fresh in zip(kept.rows, now.rows, strict=True):
            assert [one is None for one in rows] == [one is None for one in fresh]
            pairs = [(one, other) for one, other in zip(rows, fresh, strict=True) if one is not None]
            assert [one for one, _ in pairs] == pytest.approx([other for _, other in pairs], rel=1e-4, abs=1e-6)


def test_there_are_too_many_to_be_guessed_and_none_is_read_by_opening_the_file(trees) -> None:
    for level in LEVELS:
        cars = [one.car for one in first_cars() if one.level == level]
        heard = {concern for car in cars for concern in reported_by(car)}
        assert len({car.causes for car in cars}) >= 15
        assert len(heard) >= 15, "most concerns find one"
    whole = FILE.read_bytes()
    assert not any(cause.encode() in whole for cause in trees.causes)


def test_a_first_practice_is_there_at_once_and_never_the_same_car_again(tmp_path, trees) -> None:
    ready = ReadyCars(tmp_path, trees, "us")
    first, second = (ready_practice(ready, 1, "lean-top", "asked", trees, drawing.getrandbits) for _ in range(2))
    assert first is not None and second is not None
    assert "lean-top" in first.drill.concerns and first.key.best_policy
    assert first.key.seed != second.key.seed
    assert first.drill.readings["pressure-at-idle"] is not None
    assert not [car for car, _ in unused_cars(tmp_path, 1, "lean-top", drawing.getrandbits) if
                str(car.seed) in (first.key.seed, second.key.seed)]  # fmt: skip
