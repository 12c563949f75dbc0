"""Cars prepared ahead: what is taken is what was drawn, for this level, concern, units and version only."""

from __future__ import annotations

import msgspec
import pytest

from troubleshoot.classroom.drill_file import packed
from troubleshoot.classroom.key_file import KeyRefused, key_text
from troubleshoot.classroom.ready_cars import ALIKE, ReadyCars, car_bytes, kept_car, kept_key


def test_a_car_taken_is_the_car_that_was_kept_and_is_taken_once(tmp_path, trees, made) -> None:
    car = made["06-lean-on-the-long-hill"]
    ready = ReadyCars(tmp_path, trees, "us")
    ready.fill(1, iter([car]))
    assert ready.take(2, None, "asked") is None, "another level"
    assert ready.take(1, "no-crank", "asked") is None, "another concern"
    assert ReadyCars(tmp_path, trees, "metric").take(1, None, "asked") is None, "other words"
    taken = ready.take(1, car.drill.concerns[0], "shown")
    assert taken is not None
    assert taken.drill.ranking == "shown" and taken.key.drill == taken.drill
    assert taken.drill.readings == car.drill.readings and taken.key.faults == car.key.faults
    assert taken.car.heard == car.car.heard
    for state, row in car.car.readings.items():
        assert taken.car.readings[state] == pytest.approx(row, nan_ok=True)
    assert ready.take(1, None, "asked") is None


def test_enough_alike_are_enough_and_other_versions_are_cleared_away(tmp_path, trees, made) -> None:
    car = made["06-lean-on-the-long-hill"]
    (tmp_path / "0000-1-aa.car").write_bytes(b"of another version")
    ready = ReadyCars(tmp_path, trees, "us")
    ready.fill(1, iter([car] * 5))
    assert len(list(tmp_path.iterdir())) == len(ready.files(1)) == ALIKE


def test_a_damaged_car_is_passed_over_and_refused_by_name(tmp_path, trees, made) -> None:
    car = made["06-lean-on-the-long-hill"]
    ready = ReadyCars(tmp_path, trees, "us")
    ready.fill(1, iter([car]))
    (whole,) = ready.files(1)
    whole.with_name(whole.name.replace("-1-", "-1-0")).write_bytes(b"{")
    other = msgspec.structs.replace(car.key, drill=msgspec.structs.replace(car.drill, title="Changed"))
    changed = whole.with_name("changed.car")
    changed.write_bytes(packed(key_text(other)))
    with pytest.raises(KeyRefused, match="was changed"):
        kept_car(changed)
    assert kept_key(whole) == car.key
    assert ready.take(1, None, "asked") is not None and ready.files(1) == []
    assert car_bytes(car).count(car.key.causes[0].encode()) == 0
