"""Faults at full severity against healthy cars, and what their drivers say."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from troubleshoot.virtual_engine.complaints import COMPLAINTS, complaints
from troubleshoot.virtual_engine.engines import ENGINES
from troubleshoot.virtual_engine.faults import FAULTS, onset
from troubleshoot.virtual_engine.instruments import READINGS

HEALTHY: dict[str, Any] = json.loads((Path(__file__).parent / "data" / "healthy_table.json").read_text("utf-8"))


def test_healthy_cars_read_within_three_deviations_of_the_healthy_table(batch: Any) -> None:
    column = ENGINES.index(batch.engine)
    for reading, pair in HEALTHY["readings"].items():
        if pair[column] is None:
            assert np.isnan(batch.healthy[reading]).all(), reading
            continue
        median, deviation = pair[column]
        values = batch.healthy[reading]
        noise = READINGS[reading].noise_sd
        # The table rounds to three figures and includes instrument noise; yes/no readings have no spread.
        allowed = 3.0 * deviation + 0.006 * abs(median)
        assert abs(float(np.median(values)) - median) <= allowed / 1.5, reading
        assert np.mean(np.abs(values - median) <= allowed) >= 0.95, reading
        assert float(np.std(values)) <= 1.6 * np.sqrt(max(deviation**2 - noise**2, 0.0)) + 0.5 * noise + 1e-9, reading


def test_every_fault_at_full_severity_departs_from_healthy(batch: Any) -> None:
    """Some reading lies more than five spreads away, or turns unmeasurable."""
    for fault in FAULTS:
        far = []
        for reading in READINGS:
            if reading in ("plug_code",):
                continue
            usual = batch.healthy[reading]
            value = batch.nominal[fault][reading]
            if np.isnan(value) != np.isnan(usual).all():
                if "points" in FAULTS[fault].applies_to:
                    far.append(reading)
                continue
            if np.isnan(value):
                continue
            spread = max(float(np.hypot(np.std(usual), READINGS[reading].noise_sd)), 1e-3)
            if abs(value - float(np.median(usual))) > 5 * spread:
                far.append(reading)
        assert far, f"{fault} looks healthy"


def test_every_fault_with_an_onset_gives_its_driver_a_complaint(batch: Any) -> None:
    for fault in FAULTS:
        if onset(fault, batch.engine) in (None, 1.0):
            continue
        values = {reading: np.array([value]) for reading, value in batch.nominal[fault].items()}
        assert complaints(values, batch.nominal_healthy)[0], fault


def test_healthy_cars_give_no_complaint(batch: Any) -> None:
    """Nineteen of twenty healthy cars satisfy their driver: thresholds lie outside the build spread."""
    found = complaints(batch.healthy, batch.healthy)
    electronic = {reading: np.array([value]) for reading, value in batch.electronic[""].items()}
    assert complaints(electronic, electronic) == [()]
    content = sum(not one for one in found)
    assert content >= 0.95 * len(found), [one for one in found if one]


@pytest.mark.parametrize(
    ("fault", "expected"),
    [
        ("pump_dead", "no start"),
        ("no_spark", "no start"),
        ("vacuum_leak", "high idle"),
        ("iac_stuck_open", "hanging idle"),
        ("overcharging", "overcharging"),
        ("alternator_dead", "not charging"),
        ("ve_high_lean", "lean top end"),
        ("air_filter_clogged", "weak"),
        ("low_octane", "knock"),
        ("o2_dead", "no closed loop"),
        ("rev_limit_low", "breaks up"),
        ("cylinder_setting_wrong", "controller speed wrong"),
        ("clt_reads_cold", "rich or smoke"),
        ("timing_advanced", "knock"),
        ("points_float", "breaks up"),
        ("accel_enrich_weak", "tip-in stumble"),
        ("tach_self_test_burst", "long cold crank"),
        ("booster_hose_off", "surge"),
        ("advance_springs_weak", "surge"),
        ("plug_wire_off", "idle misfire"),
    ],
)
def test_the_driver_complains_of_what_the_fault_is_known_for(batch: Any, fault: str, expected: str) -> None:
    """Trade knowledge: common practice, no source."""
    values = {reading: np.array([value]) for reading, value in batch.nominal[fault].items()}
    assert expected in COMPLAINTS
    if (batch.engine, fault) == ("tarn-six-160", "rev_limit_low"):
        assert batch.nominal[fault]["wot_break_rpm"] == 3200.0
    assert expected in complaints(values, batch.nominal_healthy)[0]


def test_a_plain_vacuum_leak_raises_idle_and_neither_surges_nor_goes_lean_at_speed(batch: Any) -> None:
    """Speed-density control sees leak air as any other: the pressure it meters by rises with it."""
    leak = batch.nominal["vacuum_leak"]
    assert leak["idle_rpm"] > 1.5 * 750
    assert leak["idle_surge_rpm"] < 45
    assert leak["wot_lam_5000"] == pytest.approx(float(batch.nominal_healthy["wot_lam_5000"][0]), abs=0.01)
    assert leak["t3000_lam"] == pytest.approx(1.0, abs=0.02)


def test_trim_hides_a_fuel_fault_until_its_authority_is_used_up() -> None:
    from troubleshoot.virtual_engine.readings import readings

    found = readings(
        "harrow-240",
        "points",
        [[("injectors_clogged", s / 10)] for s in range(11)],
        1,
        noise=False,
        only="steady",
        spread=False,
    )
    hidden = found["idle_trim_pct"] < 24
    assert hidden[:4].all()
    assert not hidden[-1]
    assert np.abs(found["idle_lam"][hidden] - 0.97).max() < 0.01
    assert found["idle_lam"][-1] > 1.1


def test_no_reading_is_infinite(batch: Any) -> None:
    for values in (*batch.cars.values(), batch.healthy, batch.nominal_healthy):
        assert not any(np.isinf(value).any() for value in values.values())
