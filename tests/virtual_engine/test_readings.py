"""Readings as a whole: seeds, batches, blanks, monotone answers to a growing fault, repairs."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from troubleshoot.virtual_engine.cars import SeverityRefused
from troubleshoot.virtual_engine.engines import ENGINES
from troubleshoot.virtual_engine.faults import FAULTS
from troubleshoot.virtual_engine.instruments import (
    ELECTRONIC_READINGS,
    LAMBDA_READINGS,
    POINTS_READINGS,
    READINGS,
    REFUSING_READINGS,
)
from troubleshoot.virtual_engine.readings import SIGNED, readings

ALWAYS = [
    name
    for name, one in READINGS.items()
    if one.steady and not one.running and name not in (*POINTS_READINGS, *ELECTRONIC_READINGS)
]


def growing(fault: str, engine: str = "harrow-240") -> dict[str, np.ndarray]:
    """One car with a fault that grows."""
    severities = [[(fault, float(s))] for s in np.linspace(0.1, 1.0, 7)]
    return readings(engine, "points", severities, [7] * 7, noise=False, only="steady")


@pytest.mark.parametrize(
    ("fault", "reading", "sign"),
    [
        ("pump_wire_resistance", "pump_v", -1),
        ("fuel_filter_clogged", "wot_fp_min_psi", -1),
        ("vacuum_leak", "idle_rpm", 1),
        ("regulator_low", "idle_fp_psi", -1),
        ("regulator_high", "idle_fp_psi", 1),
        ("exhaust_blocked", "wot_backp_psi", 1),
        ("exhaust_blocked", "wot_peak_hp", -1),
        ("air_filter_clogged", "wot_map_kpa", -1),
        ("timing_retarded", "idle_vac_inhg", -1),
        ("suction_restricted", "pump_inlet_inhg", 1),
        ("alternator_dead", "t3000_batt_v", -1),
        ("sensor_ground_offset", "clt_ind_c", -1),
        ("battery_weak", "crank_rpm", -1),
        ("starter_cable", "crank_starter_v", -1),
        ("injectors_clogged", "cruise_trim_pct", 1),
        ("low_octane", "wot_knock_deg", 1),
        ("return_restricted", "return_line_psi", 1),
        ("coil_weak", "spark_test_kv", -1),
        ("cam_retarded", "idle_vac_inhg", -1),
    ],
)
@pytest.mark.parametrize("engine", ENGINES)
def test_readings_move_one_way_as_the_fault_grows(fault: str, reading: str, sign: int, engine: str) -> None:
    values = growing(fault, engine)[reading]
    steps = np.diff(values[~np.isnan(values)]) * sign
    room = 1e-3 * max(1.0, float(np.nanmax(np.abs(values))))
    assert (steps >= -room).all()
    assert steps.sum() > 0


@pytest.mark.parametrize("engine", ENGINES)
def test_a_wider_plug_gap_breaks_the_pull_up_sooner(engine: str) -> None:
    """As long as the engine still pulls cleanly at light load, which is what breaking up is measured against."""
    severities = [[("plugs_worn", float(s))] for s in np.linspace(0.0, 0.6, 7)]
    found = readings(engine, "points", severities, [7] * 7, noise=False, only="steady")
    clean = found["wot_break_rpm"][found["cruise_mis_pct"] < 3.0]
    assert clean.size >= 3
    assert (np.diff(clean) <= 1e-6).all()
    assert clean[-1] < clean[0] - 300


def test_a_leaking_check_valve_lengthens_the_hot_start(batch: Any) -> None:
    times = batch.leaking_check_valve["hot_start_time_s"]
    assert (np.diff(times) >= -0.05).all()
    assert times[-1] > 2 * times[0]


def test_a_scenario_reads_the_same_alone_or_in_a_crowd_and_the_same_again() -> None:
    names = ("vacuum_leak", "hot_fuel_vapour", "rpm_dropout_random", "pump_dead")
    faults = [[], *([(name, 0.6)] for name in names)]
    crowd = readings("tarn-six-160", "points", faults, [11, 12, 13, 14, 15])
    alone = readings("tarn-six-160", "points", [faults[3]], [14])
    # A car that starts hot refuses nothing, and breaker points have no pickup.
    not_there = ("idle_rpm", "cold_rpm_min", *ELECTRONIC_READINGS, *REFUSING_READINGS)
    for name in READINGS:
        assert alone[name][0] == pytest.approx(crowd[name][3], rel=1e-9, abs=1e-9, nan_ok=True), name
        assert name in not_there or np.isfinite(crowd[name][0])
    other = readings("tarn-six-160", "points", [faults[3]], [15], only="steady")
    assert other["batt_rest_v"] != alone["batt_rest_v"]


def test_a_repair_is_the_same_car_without_the_fault() -> None:
    """The car of a seed does not change with its faults: what no fault touches reads the same to the digit."""
    both = readings("harrow-240", "points", [[("vacuum_leak", 0.8)], []], [21, 21], noise=False, only="steady")
    assert both["batt_rest_v"][0] == both["batt_rest_v"][1]
    assert both["idle_rpm"][0] > 1000 > both["idle_rpm"][1]


def test_another_visit_draws_fresh_noise_on_the_same_car() -> None:
    first, second = (readings("harrow-240", "points", [[]], 5, only="steady", visit=visit) for visit in (0, 1))
    exact = readings("harrow-240", "points", [[]], 5, only="steady", noise=False)
    assert first["batt_rest_v"] != second["batt_rest_v"]
    for noisy in (first, second):
        assert abs(noisy["batt_rest_v"] - exact["batt_rest_v"]) < 6 * READINGS["batt_rest_v"].noise_sd


def test_two_faults_may_sit_in_one_car() -> None:
    found = readings(
        "harrow-240", "points", [[("vacuum_leak", 1.0), ("overcharging", 0.8)]], 5, noise=False, only="steady"
    )
    assert found["idle_rpm"][0] > 1000
    assert found["t3000_batt_v"][0] > 15.5


def test_instrument_noise_has_the_stated_spread() -> None:
    noisy = readings("harrow-240", "points", [[]] * 300, 4, only="steady")
    exact = readings("harrow-240", "points", [[]] * 300, 4, only="steady", noise=False)
    for name, values in noisy.items():
        error = values - exact[name]
        if name not in SIGNED and (exact[name] < 4 * READINGS[name].noise_sd).any():
            assert (values >= 0.0).all(), name  # cut at nought: no spread to be had
            continue
        if READINGS[name].noise_sd > 0 and not np.isnan(error).any():
            assert 0.8 < np.std(error) / READINGS[name].noise_sd < 1.2, name
            assert abs(np.mean(error)) < 0.25 * READINGS[name].noise_sd, name
        elif READINGS[name].noise_sd == 0:
            assert np.array_equal(values, exact[name], equal_nan=True), name


def test_blanks_follow_the_rules(batch: Any) -> None:
    """Dead engines have no running readings, blind ones no lambda, either ignition only its own."""
    plain = {name: float(value[0]) for name, value in batch.nominal_healthy.items()}
    cases = {
        "points": (plain, batch.nominal["pump_dead"], batch.nominal["o2_dead"]),
        "electronic": (batch.electronic[""], batch.electronic["pump_dead"], batch.electronic["o2_dead"]),
    }
    for ignition, (healthy, dead, blind) in cases.items():
        for name, one in READINGS.items():
            kind = name in (POINTS_READINGS if ignition == "electronic" else ELECTRONIC_READINGS)
            starts = name in REFUSING_READINGS
            assert np.isnan(healthy[name]) == (kind or starts), (ignition, name)
            assert np.isnan(dead[name]) == (one.running or kind), (ignition, name)
            assert np.isnan(blind[name]) == (name in LAMBDA_READINGS or kind or starts), (ignition, name)
        assert dead["start_fail"] == dead["hot_start_fail"] == 1.0
        assert (dead["start_time_s"], dead["hot_start_time_s"]) == (10.8, 9.0)


def test_an_engine_that_stalls_has_no_idle_readings_but_an_idle_speed_of_nought(batch: Any) -> None:
    found = batch.nominal["rpm_dropout_random"]
    assert (found["idle_rpm"], found["idle_stall"]) == (0.0, 1.0)
    assert np.isnan(found["idle_vac_inhg"])


def test_steady_readings_are_a_part_of_all_and_agree_with_them(batch: Any) -> None:
    steady = readings(batch.engine, "points", [[("regulator_low", 1.0)]], 5, noise=False, only="steady", spread=False)
    full = batch.nominal["regulator_low"]
    assert set(full) == set(READINGS)
    assert set(steady) == {name for name, one in READINGS.items() if one.steady}
    for name in ("wot_lam_5000", "cruise_lam", "fp_prime_psi", "crank_rpm", "t3000_lam"):
        assert float(steady[name][0]) == pytest.approx(full[name], rel=1e-9)
    assert float(steady["idle_rpm"][0]) == pytest.approx(full["idle_rpm"], abs=10)
    assert float(steady["idle_lam"][0]) == pytest.approx(full["idle_lam"], abs=0.015)


def test_a_wrong_number_of_seeds_is_refused() -> None:
    with pytest.raises(SeverityRefused, match="2 seeds for 1"):
        readings("harrow-240", "points", [[]], [1, 2])


def test_no_cars_give_no_readings() -> None:
    assert all(value.size == 0 for value in readings("harrow-240", "points", [], 1, only="steady").values())


ELECTRONIC_FAULTS = [name for name in FAULTS if "electronic" in FAULTS[name].applies_to]


@settings(max_examples=20, deadline=None)
@given(
    names=st.lists(st.sampled_from(ELECTRONIC_FAULTS), min_size=1, max_size=3),
    severity=st.floats(0.0, 1.0),
    seed=st.integers(0, 2**31),
    engine=st.sampled_from(ENGINES),
)
def test_any_car_with_any_faults_can_be_read(names: list[str], severity: float, seed: int, engine: str) -> None:
    found = readings(engine, "electronic", [[(name, severity) for name in names]], seed, only="steady")
    assert not any(np.isinf(value).any() for value in found.values())
    assert not any(np.isnan(found[name]).any() for name in ALWAYS)


@pytest.mark.slow
@pytest.mark.parametrize("engine", ENGINES)
def test_ten_thousand_random_cars_have_no_blank_where_none_is_allowed(engine: str) -> None:
    rng = np.random.default_rng(6)
    for ignition in ("points", "electronic"):
        names = [name for name in FAULTS if ignition in FAULTS[name].applies_to]
        faults = [
            [(str(name), float(rng.uniform(0, 1))) for name in rng.choice(names, rng.integers(0, 3), replace=False)]
            for _ in range(2500)
        ]
        found = readings(engine, ignition, faults, 17, noise=False, only="steady")
        lost = np.array(
            [any(name in ("pump_dead", "no_spark", "trigger_wire_open") for name, _ in several) for several in faults]
        )
        stalls = np.nan_to_num(found["idle_stall"], nan=1.0) > 0.5
        blind = np.array([any(name == "o2_dead" for name, _ in several) for several in faults])
        for name, values in found.items():
            assert not np.isinf(values).any(), name
            if (name in POINTS_READINGS) == (ignition == "points") and name not in ELECTRONIC_READINGS:
                allowed = lost | (stalls & READINGS[name].running)
                if name in LAMBDA_READINGS:
                    allowed = allowed | blind
                if name not in POINTS_READINGS:
                    assert not np.isnan(values[~allowed]).any(), name


@pytest.mark.slow
@pytest.mark.parametrize("engine", ENGINES)
def test_double_faults_run_through_all_traces_without_a_floating_point_fault(engine: str) -> None:
    """No overflow, no division by nought, nothing invalid, no infinity; running readings go blank together."""
    rng = np.random.default_rng(12)
    names = [name for name, one in FAULTS.items() if "points" in one.applies_to]
    faults = [
        [(str(name), float(rng.uniform(0, 1))) for name in rng.choice(names, 2, replace=False)] for _ in range(200)
    ]
    with np.errstate(divide="raise", over="raise", invalid="raise"):
        found = readings(engine, "points", faults, 23, noise=False)
    starts = (found["start_fail"] < 0.5) | (found["hot_start_fail"] < 0.5)
    for name, values in found.items():
        assert not np.isinf(values).any(), name
        if READINGS[name].running:
            assert np.isnan(values[~starts]).all(), name
    for name in ("wot_peak_hp", "cruise_trim_pct", "t3000_batt_v", "idle_rpm", "return_min_rpm", "tip_delay_s"):
        assert not np.isnan(found[name][starts]).any(), name
    assert ((found["misfire_idle_pct"] >= 0) | np.isnan(found["misfire_idle_pct"])).all()
    assert (found["wot_peak_hp"][starts] >= 0).all()
