"""Starts, flooding, and the recorded traces a person looks at."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from troubleshoot.virtual_engine import cars
from troubleshoot.virtual_engine.engines import ENGINES
from troubleshoot.virtual_engine.readings import readings
from troubleshoot.virtual_engine.scenarios import CLEAR_FLOOD, COOL_START, SCENARIOS, Scenario, run
from troubleshoot.virtual_engine.state import AtRest, resting_state
from troubleshoot.virtual_engine.traces import UnknownScenario, trace


def started(
    engine: str, bursts: list[float], scenario: Scenario, celsius: float, seconds: float = 17.0
) -> tuple[np.ndarray, np.ndarray]:
    """Fuel in the plenum before cranking, g, and seconds of cranking to a start, NaN if none in the time given."""
    count = len(bursts)
    keys = cars.seeds_of(3, count)
    p = cars.build(engine, "points", [[]] * count, keys, spread=False)
    p = replace(p, burst_rpm=np.full(count, 9000.0), burst_time=np.array(bursts))
    zero = np.zeros(count)
    record = run(
        p,
        scenario,
        lambda k: resting_state(k, AtRest(zero, zero, zero)),
        np.full(count, celsius),
        keys,
        names=("film",),
        duration_s=seconds + 2.2,
    )
    before = int(np.argmin(np.abs(record.time - 2.15)))
    return record.channels["film"][before], record.end.start_time - 2.2


def test_a_burst_of_false_speed_at_key_on_floods_the_v8() -> None:
    """Two seconds leave 7.6 g; a shorter burst never starts by cranking on, because cranking adds fuel."""
    fuel, seconds = started("harrow-240", [0.0, 0.6, 0.9, 1.2, 2.0], COOL_START, 10.0)
    assert fuel[-1] == pytest.approx(7.6, abs=0.5)
    assert seconds[0] < 1.3
    assert np.isnan(seconds[1:4]).all()
    assert 8.0 < seconds[4] < 12.0


def test_holding_the_pedal_down_clears_the_flood() -> None:
    _, seconds = started("harrow-240", [0.3, 0.6, 0.9], CLEAR_FLOOD, 10.0, 4.0)
    assert ((seconds > 0.6) & (seconds < 2.2)).all()


def test_a_warm_flooded_engine_starts_after_some_seconds() -> None:
    _, seconds = started("harrow-240", [0.3, 0.6, 0.9, 1.2], COOL_START, 60.0, 8.0)
    assert ((seconds > 2.4) & (seconds < 7.2)).all()


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize("celsius", [0.0, 10.0, 20.0])
def test_healthy_engines_start_in_about_a_second(engine: str, celsius: float) -> None:
    _, seconds = started(engine, [0.0] * 3, COOL_START, celsius, 3.0)
    assert ((seconds > 0.5) & (seconds < 1.3)).all()


def test_healthy_cars_never_stall_and_restart_hot_at_once(batch: Any) -> None:
    found = batch.healthy
    for name in ("start_fail", "cold_stall", "idle_stall", "return_stall", "hot_start_fail"):
        assert not found[name].any(), name
    assert ((found["hot_start_time_s"] > 0.4) & (found["hot_start_time_s"] < 0.9)).all()


@pytest.mark.parametrize("scenario", list(SCENARIOS))
@pytest.mark.parametrize("engine", ENGINES)
def test_every_scenario_gives_a_finite_trace(scenario: str, engine: str) -> None:
    found = trace(engine, "electronic", [], scenario, 8, duration_s=min(SCENARIOS[scenario].duration_s, 5.0))
    assert found.time[0] == 0.0
    assert np.all(np.diff(found.time) > 0)
    assert set(found.channels) == set(found.units)
    for name, values in found.channels.items():
        assert values.shape == found.time.shape
        blank = np.isnan(values) if name == "mixture" else np.zeros(values.shape, bool)
        assert np.isfinite(values[~blank]).all(), name
        assert (found.channels["engine-speed"][blank] < 20.0).all(), name  # a still engine has no mixture


def test_a_pull_climbs_through_the_range_and_enriches() -> None:
    found = trace("harrow-240", "points", [], "pull", 3)
    late = found.time > 1.0
    assert found.channels["engine-speed"][-1] > 5000
    assert np.abs(found.channels["mixture"][late & (found.time < 9)] - 0.87).max() < 0.08
    assert found.channels["manifold-pressure"][late].min() > 90


def test_a_start_trace_shows_cranking_then_running() -> None:
    found = trace("harrow-240", "points", [], "cool-start", 3)
    speed, volts = found.channels["engine-speed"], found.channels["battery-volts"]
    cranking = (found.time > 2.3) & (speed < 300) & (speed > 50)
    assert cranking.any()
    assert volts[cranking].min() < 11.8
    assert speed[-1] > 900
    assert volts[-1] > 13.5


def test_overrun_cuts_the_fuel_and_the_engine_comes_back_to_idle() -> None:
    found = trace("harrow-240", "points", [], "overrun", 3)
    assert found.channels["pulse-width"][(found.time > 2.2) & (found.time < 2.6)].min() == 0.0
    assert 600 < found.channels["engine-speed"][-20:].mean() < 900


def test_the_seed_of_a_trace_is_the_car_of_the_readings() -> None:
    found = trace("harrow-240", "points", [("vacuum_leak", 1.0)], "warm-idle", 77, noise=False, duration_s=12.0)
    again = trace("harrow-240", "points", [("vacuum_leak", 1.0)], "warm-idle", 77, noise=False, duration_s=12.0)
    read = readings("harrow-240", "points", [[("vacuum_leak", 1.0)]] * 2, [77, 78], noise=False, only="steady")
    assert np.array_equal(found.channels["engine-speed"], again.channels["engine-speed"])
    speed = found.channels["engine-speed"][found.time > 6].mean()
    assert speed == pytest.approx(float(read["idle_rpm"][0]), abs=12)
    assert abs(speed - float(read["idle_rpm"][1])) > 12


def test_csv_says_what_was_recorded_and_in_which_unit() -> None:
    found = trace("tarn-six-160", "points", [], "prime", 3)
    lines = list(csv.reader(io.StringIO(found.to_csv())))
    assert lines[0][0] == "time (s)"
    assert "fuel pressure (psi)" in lines[0]
    assert len(lines) == found.time.size + 1
    place = lines[0].index("fuel pressure (psi)")
    assert float(lines[-1][place]) == pytest.approx(found.channels["fuel-pressure"][-1], rel=1e-3)


def test_an_unknown_scenario_is_answered_with_the_nearest() -> None:
    with pytest.raises(UnknownScenario, match="warm-idle"):
        trace("harrow-240", "points", [], "warm idle", 1)
