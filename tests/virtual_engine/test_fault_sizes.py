"""Fault sizes and physics against the trade, handbooks and arithmetic, each with its source."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from troubleshoot.virtual_engine import sensors
from troubleshoot.virtual_engine.cars import build, seeds_of
from troubleshoot.virtual_engine.fault_sizes import CLEAR, EARLY, GROSS
from troubleshoot.virtual_engine.faults import FAULTS
from troubleshoot.virtual_engine.fuel_supply import KPA_PER_PSI, FuelCircuit
from troubleshoot.virtual_engine.parameters import Parameters
from troubleshoot.virtual_engine.readings import readings
from troubleshoot.virtual_engine.traces import trace

SCALE = (0.0, EARLY, CLEAR, GROSS)


def sized(fault: str, engine: str = "harrow-240", ignition: str = "points") -> dict[str, np.ndarray]:
    """The nominal car: healthy, early, clear, gross; steady readings without noise."""
    faults = [[(fault, s)] if s else [] for s in SCALE]
    return readings(engine, ignition, faults, [5] * 4, noise=False, only="steady", spread=False)


def plain(faults: list[tuple[str, float]] | None = None, **changed: float) -> Parameters:
    from dataclasses import replace

    p = build("harrow-240", "points", [faults or []], seeds_of(1, 1), spread=False)
    return replace(p, **{name: np.array([value]) for name, value in changed.items()})


def rail_psi(p: Parameters, volts: float, demand: float) -> float:
    return float(FuelCircuit.of(p).supply(np.array([volts]), np.array([demand])).rail_kpa[0]) / KPA_PER_PSI


@pytest.mark.parametrize(("volts", "psi"), [(4.5, 0.0), (5.0, 0.0)])
def test_a_twelve_volt_pump_stands_still_below_five_volts(volts: float, psi: float) -> None:
    """Common practice, no source: a 12 V pump stalls at some 5 to 6 V at its terminals."""
    assert rail_psi(plain(pump_supply_ohm=0.0, pump_ground_ohm=0.0), volts, 2.0) == pytest.approx(psi, abs=0.5)
    assert rail_psi(plain(pump_supply_ohm=0.0, pump_ground_ohm=0.0), 8.0, 2.0) > 50.0


def test_a_bypass_regulator_holds_its_pressure_while_anything_is_left_over() -> None:
    """Common practice, no source: what comes back may fall to a trickle before the pressure moves."""
    from dataclasses import replace

    p = plain()
    held = []
    for share in (1.0, 0.7, 0.5, 0.4, 0.36):
        small = replace(
            p, **{n: getattr(p, n) * share for n in ("pump_per_volt", "pump_leakage", "pump_current_slope")}
        )
        found = FuelCircuit.of(small).supply(np.array([13.5]), np.array([49.0]))
        if float(found.returned[0]) > 2.0:
            held.append(float(found.rail_kpa[0]) / KPA_PER_PSI)
    assert len(held) >= 4
    assert max(held) - min(held) < 3.0
    assert min(held) > 54.0


def test_good_at_prime_and_idle_and_low_at_the_top_is_a_badly_fed_small_pump() -> None:
    """The textbook case (common practice, no source): a pump with a tenth to spare and 0.6 ohm in its feed."""
    from dataclasses import replace

    p = plain([("pump_wire_resistance", 1.0)])
    small = replace(
        p,
        pump_per_volt=p.pump_per_volt * 0.37,
        pump_leakage=p.pump_leakage * 0.37,
        pump_current_slope=p.pump_current_slope * 0.6,
        pump_base_current=np.array([2.2]),
    )
    assert rail_psi(small, 12.4, 0.0) > 54.0
    assert rail_psi(small, 13.8, 2.5) > 54.0
    assert rail_psi(small, 13.8, 49.0) < 52.0


def test_ohms_law_of_pump_feed_and_ground() -> None:
    """0.6 ohm and 0.4 ohm with 5 A: about 3 V and 2 V; a tenth of an ohm half a volt."""
    feed, ground = sized("pump_wire_resistance"), sized("pump_ground_resistance")
    assert np.diff(feed["pump_v"])[0] == pytest.approx(-0.1 * feed["pump_a"][1], abs=0.03)
    assert feed["pump_v"][0] - feed["pump_v"][3] == pytest.approx(0.6 * feed["pump_a"][3], abs=0.3)
    assert ground["pump_gnd_mv"][3] - ground["pump_gnd_mv"][0] == pytest.approx(400.0 * 5.5, rel=0.12)
    assert (feed["pump_v"] > 8.0).all()  # such a pump turns


@pytest.mark.parametrize(("fault", "sign"), [("regulator_low", -1), ("regulator_high", 1)])
def test_regulators_are_off_by_four_to_fifteen_psi(fault: str, sign: int) -> None:
    """Common practice, no source."""
    found = sized(fault)["idle_fp_psi"]
    assert sign * (found[1:] - found[0]) == pytest.approx([4.0, 8.0, 15.0], abs=1.5)


def test_coil_primaries_are_off_by_thirty_percent_either_way() -> None:
    high, low = sized("coil_weak"), sized("coil_shorted")
    assert high["coil_prim_ohm"][3] / high["coil_prim_ohm"][0] == pytest.approx(1.3)
    assert low["coil_prim_ohm"][3] / low["coil_prim_ohm"][0] == pytest.approx(0.7)
    for found in (high, low):
        assert (np.diff(found["spark_test_kv"]) <= 1e-9).all() and found["wot_break_rpm"][3] < found["wot_break_rpm"][0]


def test_a_coil_that_fails_hot_is_good_while_cold() -> None:
    """Common practice, no source: it starts and runs, then dies warm."""
    found = sized("coil_fails_hot")
    assert found["crank_spark_kv"][3] == pytest.approx(found["crank_spark_kv"][0])
    assert found["spark_test_kv"][3] < 0.8 * found["spark_test_kv"][0]


def test_soft_advance_springs_leave_a_sound_idle_until_they_are_gross() -> None:
    """Advance comes early; while it begins above idle speed the idle does not know (common practice, no source)."""
    found = sized("advance_springs_weak")
    assert found["idle_timing_deg"][1:3] == pytest.approx([10.0, 10.0], abs=0.3)
    assert found["t1500_timing_deg"][2] > found["t1500_timing_deg"][0] + 6.0
    assert found["idle_timing_deg"][3] > 15.0


@pytest.mark.parametrize(
    ("fault", "ratios"),
    [("cylinder_setting_wrong", (6 / 8, 4 / 6, 4 / 8)), ("cylinder_setting_high", (8 / 6, 6 / 4, 8 / 4))],
)
def test_wrong_pulses_read_by_whole_cylinders(fault: str, ratios: tuple[float, ...]) -> None:
    """Arithmetic: shown speed is true speed times cylinders over cylinders set."""
    found = sized(fault)["wot_rpm_err_pct"][1:]
    assert found == pytest.approx([100.0 * (ratio - 1.0) for ratio in ratios])


def test_points_that_float_read_low_and_points_that_bounce_read_high_at_speed() -> None:
    """Common practice, no source: a missed opening is a lost pulse, a bounce is counted as one more."""
    low, high = sized("points_float"), sized("points_bounce")
    assert low["wot_rpm_err_pct"][3] < -10.0 < 10.0 < high["wot_rpm_err_pct"][3]
    for found in (low, high):
        assert found["rpm_ecu_err_pct"] == pytest.approx([0.0] * 4, abs=1e-9)  # nothing at idle


def test_noise_on_the_speed_wire_jumps_by_hundreds_and_shows_at_key_on() -> None:
    """Common practice, no source: no engine changes by hundreds of rpm from one tenth of a second to the next."""
    found = readings("harrow-240", "points", [[], [("rpm_noise", 0.5)]], [4, 4], noise=False)
    assert found["rpm_key_on"][0] == 0.0 and found["rpm_key_on"][1] > 100.0
    assert found["crank_rpm_ecu"][1] > 1.1 * found["crank_rpm"][1]
    assert found["rpm_jitter_pct"][1] > 15.0 > 1.0 > found["rpm_jitter_pct"][0]


def test_a_starved_suction_side_holds_at_idle_and_falls_at_the_top() -> None:
    """Pressure holds at idle and falls as the engine asks for more (common practice, no source)."""
    found = readings("harrow-240", "points", [[], [("suction_restricted", 1.0)]], [5, 5], noise=False, spread=False)
    assert abs(found["idle_fp_psi"][1] - found["idle_fp_psi"][0]) < 3.0
    assert found["wot_fp_min_psi"][1] < found["wot_fp_min_psi"][0] - 10.0
    assert found["idle_surge_rpm"][1] < 30.0 and found["misfire_idle_pct"][1] < 1.0


def test_a_sensor_near_the_outlet_sees_air_at_idle_and_none_under_load() -> None:
    """Common practice, no source."""
    p = plain([("o2_too_far", 1.0)])
    idle, load = (float(sensors.sensor_error(p, np.array([air]))[0]) for air in (7.0, 80.0))
    assert 1.08 < idle < 1.2
    assert load == pytest.approx(1.0, abs=0.005)


def test_a_well_set_engine_dips_by_no_more_than_a_twelfth_when_it_returns(batch: Any) -> None:
    """0 to 8 % under the target (common practice, no source); single cars a little more."""
    dip = 1.0 - batch.healthy["return_min_rpm"] / 750.0
    assert 0.0 <= float(np.median(dip)) <= 0.08
    assert float(dip.max()) < 0.12


def test_the_controller_shows_the_valve_it_asks_for_and_not_the_one_it_has() -> None:
    """A valve stuck shut on an engine that idles low is asked to open wide, and the other way round."""
    faults = [[], [("iac_stuck_closed", 1.0)], [("iac_stuck_open", 1.0)]]
    found = readings("harrow-240", "points", faults, [5] * 3, noise=False, spread=False)
    assert found["idle_iac_pct"][1] > found["idle_iac_pct"][0] + 10.0
    assert found["idle_iac_pct"][2] < 5.0


def test_plugs_show_what_burned_and_not_what_the_oxygen_sensor_makes_of_it(batch: Any) -> None:
    """Weak spark: sooty or wet. Lean, early or knocking: white. Rich: sooty (common practice, no source)."""
    tan, sooty, white, wet = 0.0, 1.0, 2.0, 3.0
    seen = {fault: batch.nominal[fault]["plug_code"] for fault in FAULTS}
    assert float(batch.nominal_healthy["plug_code"][0]) == tan
    for fault in ("coil_weak", "condenser_bad", "plugs_worn", "ht_leakage", "points_float", "coil_fails_hot"):
        assert seen[fault] != white, fault
    assert seen["plug_wire_off"] == wet and seen["coil_fails_hot"] in (sooty, wet)
    assert {seen[fault] for fault in ("timing_advanced", "low_octane", "ve_high_lean", "injectors_clogged")} == {white}
    assert seen["clt_reads_cold"] == seen["ve_idle_rich"] == sooty


def test_a_battery_reads_by_its_charge() -> None:
    """Lead battery at rest: 12.65 V full, 12.4 three quarters, 12.2 half, 11.9 near empty (handbooks, from memory)."""
    assert sized("battery_weak")["batt_rest_v"] == pytest.approx([12.65, 12.4, 12.2, 11.9], abs=0.02)


def test_a_plug_lead_off_takes_one_cylinder_of_six_or_of_eight() -> None:
    """Arithmetic."""
    for engine, cylinders in (("harrow-240", 8), ("tarn-six-160", 6)):
        assert sized("plug_wire_off", engine)["misfire_idle_pct"][3] == pytest.approx(100.0 / cylinders, abs=0.5)


def test_no_display_stands_below_nought_where_nothing_can_be_below_nought() -> None:
    found = readings("harrow-240", "points", [[("trigger_wire_open", 1.0)]] * 40, 9, only="steady")
    assert (found["crank_rpm_ecu"] == 0.0).all()
    assert (found["rpm_key_on"] == 0.0).all()
    for name in ("crank_rpm", "batt_rest_v", "return_flow_lph", "misfire_idle_pct"):
        assert not (found[name] < 0.0).any()


def test_a_stalled_engine_shows_no_mixture() -> None:
    """There is no exhaust to measure (common practice, no source)."""
    found = trace("harrow-240", "points", [("rpm_dropout_random", 1.0)], "warm-idle", 4, noise=False)
    still = found.channels["engine-speed"] < 1.0
    assert still.any()
    assert np.isnan(found.channels["mixture"][still]).all()
    assert not np.isnan(found.channels["mixture"][~still]).any()


def test_where_a_pull_breaks_up_is_what_breaks_it_up() -> None:
    """A speed shown low throughout is no signal lost; a limit counts turns, a spark fails under load (no source)."""
    low, limit, spark = sized("cylinder_setting_wrong"), sized("rev_limit_low"), sized("ht_leakage")
    assert (low["wot_break_rpm"] > 4000.0).all()
    assert (limit["wot_break_code"][1:] == 1.0).all() and limit["wot_break_code"][0] == 0.0
    assert (spark["wot_break_code"][2:] == 2.0).all()


def test_a_coil_without_feed_has_no_volts_and_no_spare_part_helps() -> None:
    """The planted fault is the feed of the coil unplugged (arithmetic)."""
    found = sized("no_spark")
    assert found["coil_plus_v"][0] > 6.0 and (found["coil_plus_v"][1:] == 0.0).all()
    assert (found["swap_code"] == 0.0).all() and (sized("coil_weak")["swap_code"][2:] == 1.0).all()


def test_a_pickup_too_weak_to_be_counted_triggers_no_spark() -> None:
    """Without a trigger the box gives no spark (common practice, no source)."""
    found = sized("pickup_gap_wide", ignition="electronic")
    counted = found["crank_rpm_ecu"] > 0.0
    assert (found["crank_spark_kv"][~counted] == 0.0).all() and (found["crank_spark_kv"][counted] > 15.0).all()


def test_much_opening_fuel_bogs_a_car() -> None:
    """Common practice, no source: far richer than 10 to 1 it bogs and smokes when opened."""
    from troubleshoot.virtual_engine.complaints import complaints

    found = readings("harrow-240", "points", [[], [("accel_enrich_strong", 1.0)]], [5] * 2, noise=False, spread=False)
    sound = {name: np.repeat(values[:1], 2) for name, values in found.items()}
    assert [set(one) for one in complaints(found, sound)] == [set(), {"tip-in stumble"}]


def test_every_fault_says_its_size_in_units_and_why() -> None:
    assert all(one.sizes and one.basis for one in FAULTS.values())
