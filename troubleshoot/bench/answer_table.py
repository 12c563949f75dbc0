"""Which readings of the virtual engine answer which check, and in what unit: the one list of the adapter.

A check that is not in this table is answered "can't measure"; the tests hold the table against the trees.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class NumberAnswer:
    """A check answered with a number: the sum of readings times signs, plus an offset, in `unit`."""

    unit: str
    terms: Mapping[str, float]
    plus: float = 0.0


@dataclass(frozen=True)
class ChoiceAnswer:
    """A check answered with a choice: the first outcome whose upper limit the reading does not reach."""

    reading: str
    outcomes: tuple[tuple[float, str], ...]


def _plain(unit: str, reading: str, times: float = 1.0, plus: float = 0.0) -> NumberAnswer:
    return NumberAnswer(unit, {reading: times}, plus)


def _less(unit: str, first: str, second: str) -> NumberAnswer:
    return NumberAnswer(unit, {first: 1.0, second: -1.0})


NUMBERS: dict[str, NumberAnswer] = {
    # electrical
    "battery-rest-volts": _plain("V", "batt_rest_v"),
    "battery-cranking-volts": _plain("V", "crank_batt_v"),
    "starter-cable-drop": _less("V", "crank_batt_v", "crank_starter_v"),
    "cranking-speed": _plain("rpm", "crank_rpm"),
    "controller-cranking-volts": _plain("V", "crank_ecu_v"),
    "charging-volts-idle": _plain("V", "batt_run_v"),
    "charging-volts-held": _plain("V", "t3000_batt_v"),
    "supply-ripple": _plain("V", "ripple_v"),
    "controller-feed-drop": _less("V", "batt_run_v", "ecu_v"),
    "injector-feed-drop": _less("V", "batt_run_v", "inj_feed_v"),
    "sensor-ground-drop": _plain("mV", "sens_gnd_mv"),
    "pump-volts-key-on": _plain("V", "pump_v_key_on"),
    "pump-volts-running": _plain("V", "pump_v"),
    "pump-volts-under-load": _plain("V", "wot_pump_v"),
    "pump-ground-drop": _plain("mV", "pump_gnd_mv"),
    "pump-current": _plain("A", "pump_a"),
    "key-on-wire-in-run": _plain("V", "key_on_wire_v"),
    "start-terminal-volts": _plain("V", "start_terminal_v"),
    "starter-current": _plain("A", "starter_a"),
    # settings, as the screen shows them
    "idle-target-look": _plain("rpm", "set_idle_rpm"),
    "speed-limit-look": _plain("rpm", "set_limit_rpm"),
    "opening-delay-look": _plain("ms", "set_delay_ms"),
    # fuel
    "pressure-at-prime": _plain("psi", "fp_prime_psi"),
    "pressure-cranking": _plain("psi", "crank_fp_psi"),
    "pressure-at-idle": _plain("psi", "idle_fp_psi"),
    "pressure-when-lean": _plain("psi", "wot_fp_min_psi"),
    "pressure-after-ten-minutes": _plain("psi", "fp_10min_psi"),
    "filter-drop": _less("psi", "fp_before_filter_psi", "idle_fp_psi"),
    "return-line-pressure": _plain("psi", "return_line_psi"),
    "suction-vacuum": _plain("inHg", "pump_inlet_inhg"),
    "delivery-into-can": _plain("L/h", "delivery_lph"),
    "pressure-return-clamped": _plain("psi", "clamped_psi"),
    "fuel-temperature": _plain("degC", "fuel_temp_c"),
    "injector-duty-top": _plain("%", "wot_duty_max_pct"),
    "idle-pulse-width": _plain("ms", "idle_pw_ms"),
    # ignition
    "break-up-speed": _plain("rpm", "wot_break_rpm"),
    "spark-cranking": _plain("kV", "crank_spark_kv"),
    "spark-idle": _plain("kV", "spark_test_kv"),
    "dwell-at-idle": _plain("deg dist", "dwell_deg"),
    "dwell-drift": _plain("deg dist", "dwell_drift_deg"),
    "dwell-at-speed": _plain("deg dist", "wot_dwell_4500"),
    "timing-at-idle": _plain("deg crank", "idle_timing_deg"),
    "base-timing-hose-off": _plain("deg crank", "idle_timing_deg"),
    "timing-at-1500": _plain("deg crank", "t1500_timing_deg"),
    "timing-at-3000": _plain("deg crank", "t3000_timing_deg"),
    "timing-wander": _plain("deg crank", "timing_wander_deg"),
    "vacuum-advance-added": _plain("deg crank", "vac_adv_deg"),
    "coil-primary-resistance": _plain("ohm", "coil_prim_ohm"),
    "coil-plus-volts": _plain("V", "coil_plus_v"),
    "coil-plus-volts-straight": _plain("V", "coil_plus_v"),
    "condenser-capacity": _plain("uF", "condenser_uf"),
    "plug-gap": _plain("mm", "plug_gap_mm"),
    "spring-tension": _plain("ozf", "points_spring_ozf"),
    # rpm signal
    "rpm-shown-at-key-on": _plain("rpm", "rpm_key_on"),
    "rpm-shown-cranking": _plain("rpm", "crank_rpm_ecu"),
    "rpm-shown-error": _plain("%", "rpm_ecu_err_pct"),
    "rpm-shown-error-high": _plain("%", "wot_rpm_err_pct"),
    "rpm-jitter": _plain("%", "rpm_jitter_pct"),
    "signal-wire-resistance": _plain("ohm", "trig_wire_ohm"),
    "pickup-output": _plain("mV", "pickup_mv_crank"),
    # air
    "barometer-here": _plain("kPa abs", "barometer_kpa"),
    "idle-speed": _plain("rpm", "idle_rpm"),
    "idle-swing": _plain("rpm", "idle_surge_rpm"),
    "hunt-period": _plain("s", "hunt_period_s"),
    "load-step-dip": _plain("rpm", "load_dip_rpm"),
    "idle-vacuum": _plain("inHg", "idle_vac_inhg"),
    "vacuum-flutter": _plain("inHg", "vac_flutter_inhg"),
    "idle-valve-position": _plain("%", "idle_iac_pct"),
    "leak-search": _plain("rpm", "spray_drop_rpm"),
    "breather-pinch": _plain("rpm", "pcv_pinch_rpm"),
    "throttle-plate-full": _plain("%", "wot_plate_pct"),
    "manifold-pressure-full": _plain("kPa abs", "wot_map_kpa"),
    "throttle-plate-gap": _plain("mm", "thr_plate_gap_mm"),
    "return-dip": _plain("rpm", "return_min_rpm"),
    "return-hang": _plain("s", "return_hang_s"),
    "half-balance": _plain("%", "half_diff_pct"),
    # mixture
    "idle-mixture": _plain("lambda", "idle_lam"),
    "idle-mixture-tailpipe": _plain("lambda", "idle_lam_tail"),
    "idle-mixture-swing": _plain("lambda", "idle_lam_swing"),
    "idle-correction": _plain("%", "idle_trim_pct"),
    "cruise-mixture": _plain("lambda", "cruise_lam"),
    "cruise-correction": _plain("%", "cruise_trim_pct"),
    "held-mixture": _plain("lambda", "t3000_lam"),
    "mixture-full-low": _plain("lambda", "wot_lam_2500"),
    "mixture-at-top": _plain("lambda", "wot_lam_5000"),
    "correction-at-top": _plain("%", "wot_trim_4500_pct"),
    "mixture-when-opened": _plain("lambda", "tip_lam_out"),
    "hesitation-time": _plain("s", "tip_delay_s"),
    "cold-mixture": _plain("lambda", "cold_lam_10s"),
    "oxygen-response": _plain("s", "o2_step_s"),
    # sensors and exhaust
    "throttle-closed-shown": _plain("%", "tps_idle_pct"),
    "throttle-sensor-volts": _plain("V", "tps_closed_v"),
    "coolant-shown": _plain("degF", "clt_ind_c", 1.8, 32.0),
    "coolant-error": NumberAnswer("degF", {"clt_ind_c": 1.8, "clt_true_c": -1.8}),
    "coolant-thermometer": _plain("degF", "clt_true_c", 1.8, 32.0),
    "coolant-cold-soak": _plain("degF", "clt_soak_err_c", 1.8),
    "map-at-key-on": _less("kPa", "map_key_on_kpa", "barometer_kpa"),
    "exhaust-back-pressure": _plain("psi", "wot_backp_psi"),
    "air-shown": NumberAnswer("degF", {"air_c": 0.0}),
    # engine
    "compression-lowest": _plain("psi", "comp_min_psi"),
    "cylinder-balance": _plain("%", "bal_worst_drop_pct"),
    "cold-idle-lowest": _plain("rpm", "cold_rpm_min"),
    "start-time": _plain("s", "start_time_s"),
    "hot-start-time": _plain("s", "hot_start_time_s"),
    "peak-power-speed": _plain("rpm", "wot_peak_rpm"),
    "peak-power-change": _plain("%", "peak_power_change_pct"),
    "cruise-fuel-use": _plain("%", "cruise_fuel_change_pct"),
}
"""Checks answered with a number."""

ALWAYS = float("inf")


def _codes(reading: str, *outcomes: str) -> ChoiceAnswer:
    """Return the answer of a reading that is a code: 0 the first outcome, 1 the second, and so on."""
    last = len(outcomes) - 1
    return ChoiceAnswer(reading, tuple((ALWAYS if n == last else n + 0.5, one) for n, one in enumerate(outcomes)))


def _sound(outcome: str) -> ChoiceAnswer:
    """Return the answer of a look at what no fault of the engine touches: the same on every car."""
    return ChoiceAnswer("barometer_kpa", ((ALWAYS, outcome),))


CHOICES: dict[str, ChoiceAnswer] = {
    "pump-runs-at-key-on": ChoiceAnswer("prime_fuel_sound", ((0.5, "silent"), (ALWAYS, "runs"))),
    "injector-drip": ChoiceAnswer("drip_seen", ((0.5, "dry"), (ALWAYS, "drips"))),
    "injector-pulse-cranking": ChoiceAnswer("crank_inj_pulse", ((0.5, "none"), (ALWAYS, "pulses"))),
    "fuel-in-plenum": ChoiceAnswer("fuel_wet_g", ((1.5, "dry"), (ALWAYS, "wet"))),
    "plugs-wet": ChoiceAnswer("wet_plugs", ((0.25, "dry"), (ALWAYS, "wet"))),
    "plug-reading": ChoiceAnswer(
        "plug_code", ((0.5, "tan"), (1.5, "sooty"), (2.5, "white"), (3.5, "wet"), (ALWAYS, "unburnt"))
    ),
    "secondary-dark-look": ChoiceAnswer("ht_arc_seen", ((0.5, "dark"), (ALWAYS, "glow"))),
    "throttle-sweep": ChoiceAnswer("tps_sweep_gap", ((0.5, "smooth"), (ALWAYS, "gap"))),
    "misfire-idle": ChoiceAnswer("misfire_idle_pct", ((1.0, "none"), (15.0, "some"), (ALWAYS, "many"))),
    "misfire-held": ChoiceAnswer("cruise_mis_pct", ((1.0, "none"), (15.0, "some"), (ALWAYS, "many"))),
    "misfire-top": ChoiceAnswer("wot_mis_4500_pct", ((1.5, "none"), (20.0, "some"), (ALWAYS, "many"))),
    "knock-heard": ChoiceAnswer("wot_knock_deg", ((0.5, "none"), (5.0, "light"), (ALWAYS, "heavy"))),
    "feedback-active": ChoiceAnswer("cl_active", ((0.5, "never"), (ALWAYS, "comes-in"))),
    "display-at-key-on": _codes(
        "display_code",
        "sensible",
        "dark",
        "coolant-cold",
        "coolant-hot",
        "manifold-off",
        "throttle-open",
        "rpm-there",
        "volts-low",
        "all-odd",
    ),
    "engine-data-look": ChoiceAnswer("set_pulses", ((0.99, "wrong-pulses"), (1.01, "right"), (ALWAYS, "wrong-pulses"))),
    "fuel-table-look": _codes(
        "fuel_table_code", "smooth", "lean-idle", "rich-idle", "lean-cruise", "rich-cruise", "lean-high", "rich-high"
    ),
    "idle-gain-look": ChoiceAnswer("set_idle_gain", ((0.5, "slow"), (2.0, "usual"), (ALWAYS, "quick"))),
    "feedback-gain-look": ChoiceAnswer("set_trim_gain", ((0.5, "slow"), (2.0, "usual"), (ALWAYS, "quick"))),
    "opening-fuel-look": ChoiceAnswer("set_opening_fuel", ((0.75, "weak"), (1.35, "usual"), (ALWAYS, "strong"))),
    "cranking-fuel-look": ChoiceAnswer("set_crank_fuel", ((0.8, "lean"), (1.3, "usual"), (ALWAYS, "rich"))),
    "warm-up-fuel-look": ChoiceAnswer("set_warmup_fuel", ((0.75, "lean"), (1.35, "usual"), (ALWAYS, "rich"))),
    "injector-size-look": ChoiceAnswer("injectors_feed", ((1.0, "too-small"), (ALWAYS, "enough"))),
    "map-hose-look": _codes("map_hose_code", "sound", "split", "blocked"),
    "vacuum-advance-port": _codes("vac_port_code", "ported", "manifold", "not-holding"),
    "oxygen-sensor-place": _codes("o2_place_code", "well-placed", "too-far"),
    "exhaust-leak-search": _codes("exhaust_leak_seen", "none", "found"),
    "drive-idle-valve": _codes("idle_valve_moves", "does-not-move", "follows"),
    "injector-spray": _codes("spray_code", "even", "one-dead", "uneven"),
    "leak-down-clamped": _codes("leak_down_code", "holds-anyway", "supply", "return", "neither"),
    "leak-under-pressure": ChoiceAnswer("leak_down_code", ((0.5, "dry"), (ALWAYS, "falls"))),
    "idle-valve-blocked": _codes("idle_covered_code", "falls", "no-change", "still-high"),
    "substitute-ignition": _codes("swap_code", "no-change", "coil", "condenser"),
    "spark-while-refusing": _codes("hot_spark_code", "strong", "weak", "none"),
    "break-up-moves-with-load": _codes("wot_break_code", "no-break-up", "same-speed", "only-with-load"),
    # sound on every car of the engine
    "clear-flood-shown": _sound("no-mode"),
    "crankcase-leak-look": _sound("pushed-up"),
    "fuel-level-look": _sound("enough"),
    "fuses-look": _sound("all-good"),
    "icing-look": _sound("dry"),
    "injector-connector-look": _sound("right"),
    "kickdown-cable-look": _sound("right"),
    "neutral-switch-try": _sound("no-change"),
    "plug-range-look": _sound("right"),
    "pump-place-look": _sound("right"),
    "purge-hose-pinch": _sound("no-change"),
    "regulator-hose-look": _sound("dry"),
    "relay-hot": _sound("cool"),
    "rotor-phasing": _sound("within"),
    "suction-hose-look": _sound("round"),
    "relay-swap": _sound("no-change"),
    "tank-cap-off": _sound("no-change"),
    "throttle-return-look": _sound("snaps-shut"),
    "tank-vent-look": _sound("right"),
}
"""Checks answered with a choice: limits in the unit of the reading, outcomes as the trees name them."""

CHANGES: dict[str, str] = {
    "peak_power_change_pct": "wot_peak_hp",
    "cruise_fuel_change_pct": "cruise_fuel_lph",
}
"""Readings compared with the same car before anything was wrong: name of the change in percent -> reading."""
