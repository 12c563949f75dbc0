"""The two invented engines, in either ignition, as nominal parameter values.

Most figures are engineering estimates chosen so that the healthy engine looks right; forms after
Hendricks & Sorenson (SAE 900616), Heywood (1988) and Guzzella & Onder (2010) are named where used.
"""

from __future__ import annotations

import difflib

import numpy as np

from troubleshoot.problems import TroubleshootError
from troubleshoot.virtual_engine.parameters import FIELDS, Parameters

HARROW = "harrow-240"
TARN = "tarn-six-160"
ENGINES: tuple[str, ...] = (HARROW, TARN)
IGNITIONS: tuple[str, ...] = ("points", "electronic")

_BREATHING: dict[str, float] = {
    "cylinders": 8,
    "displacement": 3.93,
    "compression_ratio": 8.6,
    "ve_peak": 0.845,
    "ve_peak_rpm": 3100,
    "ve_fall_low": 0.16,
    "ve_fall_high": 0.34,
    "ve_peak_ecu": 0.845,
    "ve_peak_rpm_ecu": 3100,
    "ve_fall_low_ecu": 0.16,
    "ve_fall_high_ecu": 0.34,
    "breathing": 1,
    "valve_float_rpm": 5700,
    "cam_retard": 0,
    "overlap": 1.15,
    "manifold_volume": 4.6,
    "slot_area": 0.10,
    "ambient_k": 293,
    "ambient_kpa": 100.5,
    "cleaner_area": 26,
    "throttle_area": 24,
    "stop_area": 0.175,
    "breather_area": 0.030,
    "idle_valve_area": 0.45,
    "plate_limit": 1,
    "idle_air_split": 0.5,
    "throttle_imbalance": 0,
    "fuel_imbalance": 0,
    "leak_area": 0,
    "leak_area_b": 0,
    "exhaust_leak": 0,
    "back_pressure": 8.0e-4,
    "friction_0": 82,
    "friction_1": 14,
    "friction_2": 5.2,
    "efficiency": 0.362,
    "inertia": 0.26,
    "idle_load": 7.0,
    "compression_loss": 0,
    "fixed_misfire": 0,
    "plugs_dead": 0,
    "film_share": 0.40,
    "film_time": 0.70,
    "film_cold": 0,
    "lambda_spread": 0.035,
}
_FUEL: dict[str, float] = {
    "pump_per_volt": 19.9,
    "pump_leakage": 0.15,
    "pump_base_current": 1.2,
    "pump_current_slope": 0.0105,
    "pump_ohm": 0.45,
    "pump_supply_ohm": 0.06,
    "pump_ground_ohm": 0.02,
    "pump_stall_volts": 5.2,
    "pump_on": 1,
    "relief_kpa": 760,
    "suction_resistance": 2.5e-4,
    "suction_lift": 0.25,
    "fuel_c": 28,
    "reid_psi": 9.0,
    "stoichiometric": 14.7,
    "filter_resistance": 4e-4,
    "line_resistance": 2.5e-4,
    "regulator_kpa": 384,
    "regulator_slope": 0.06,
    "return_resistance": 4e-4,
    "injectors": 4,
    "injector_flow": 3.50,
    "injector_factor": 1,
    "injectors_lost": 0,
    "drip": 0,
    "injector_delay": 1.0e-3,
    "duty_limit": 0.95,
    "injector_feed_ohm": 0.03,
    "bleed_rate": 2.8e-4,
    "check_valve_rate": 0,
    "injector_leak_rate": 0,
}
_ELECTRICAL: dict[str, float] = {
    "battery_emf": 12.65,
    "battery_ohm": 0.009,
    "starter_cable_ohm": 0.004,
    "starter_ohm": 0.023,
    "starter_back_emf": 0.0326,
    "starter_efficiency": 0.80,
    "charge_volts": 14.2,
    "alternator_max": 62,
    "alternator_cut_in_rpm": 420,
    "alternator_rpm_scale": 700,
    "alternator_ok": 1,
    "diodes_lost": 0,
    "base_load": 9,
    "ecu_ohm": 0.03,
    "ecu_crank_ohm": 0.03,
    "ecu_dead_in_start": 0,
    "ground_ohm": 0.002,
    "ground_current": 14,
}
_IGNITION: dict[str, float] = {
    "points": 1,
    "dwell": 30,
    "dwell_reference": 30,
    "dwell_scatter": 0.25,
    "coil_ohm": 1.5,
    "ballast_ohm": 1.4,
    "coil_henry": 8e-3,
    "coil_efficiency": 0.60,
    "secondary_farad": 95e-12,
    "secondary_limit_kv": 28,
    "points_float_rpm": 6300,
    "float_reads": 0,
    "condenser_loss": 0,
    "coil_hot_loss": 0,
    "ht_factor": 1,
    "plug_gap": 0.90,
    "plug_wear": 1,
    "plug_heat": 0,
    "spark_on": 1,
    "base_advance": 10,
    "centrifugal_max": 22,
    "centrifugal_start_rpm": 900,
    "centrifugal_end_rpm": 3000,
    "vacuum_advance_max": 11,
    "vacuum_advance_start": 20,
    "vacuum_advance_full": 45,
    "vacuum_advance_ok": 1,
    "vacuum_from_manifold": 0,
    "timing_scatter": 0.8,
    "advance_stick": 0,
    "trigger_retard": 0,
    "octane": 91,
    "signal_on": 1,
    "signal_lowest_rpm": 60,
    "pulse_scale": 1,
    "signal_noise": 0,
    "noise_gain": 0,
    "dropout_rpm": 6500,
    "dropout_high": 0,
    "dropout_random": 0,
    "burst_rpm": 0,
    "burst_time": 0,
}
_SENSORS: dict[str, float] = {
    "thermostat_c": 85,
    "soak_c": 10,
    "clt_series_ohm": 0,
    "clt_parallel_ohm": 1e9,
    "map_gain": 1,
    "map_offset": 0,
    "map_leak": 0,
    "map_lag": 0.025,
    "map_source": 0.5,
    "map_pulse": 0.35,
    "tps_closed": 0.60,
    "tps_dead": 0,
    "o2_ok": 1,
    "o2_lag": 0.12,
    "o2_skew": 1,
    "o2_far": 0,
    "exhaust_volume": 1.6,
}
STARTING_FILE: dict[str, float] = {
    "injector_flow_ecu": 3.50,
    "dead_time_ecu": 1.0,
    "ve_idle": 1,
    "ve_mid": 1,
    "ve_high": 1,
    "ve_cruise": 1,
    "warmup_gain": 1,
    "after_start_gain": 1,
    "run_up": 0.03,
    "crank_gain": 1,
    "accel_gain": 1,
    "lambda_idle": 0.97,
    "lambda_cruise": 1.00,
    "lambda_full": 0.87,
    "trim_p": 0.10,
    "trim_i": 0.45,
    "trim_limit": 0.25,
    "trim_limit_full": 0.10,
    "trim_clt": 71.1,
    "idle_speed": 750,
    "idle_p": 1.2e-4,
    "idle_i": 1.5e-4,
    "idle_dead_band": 20,
    "idle_slew": 0.6,
    "idle_span": 0.25,
    "idle_stuck": -1,
    "idle_stick": 0,
    "dashpot": 0.14,
    "rpm_filter": 0.06,
    "idle_filter": 0.15,
    "overrun_cut_rpm": 2000,
    "overrun_resume_rpm": 1400,
    "overrun_cut": 1,
    "rev_limit": 5600,
    "sync_turns": 1.5,
}
_TARN_DIFFERS: dict[str, float] = {
    "cylinders": 6,
    "displacement": 2.62,
    "compression_ratio": 8.4,
    "ve_peak": 0.83,
    "ve_peak_rpm": 2700,
    "ve_fall_low": 0.14,
    "ve_fall_high": 0.36,
    "ve_peak_ecu": 0.83,
    "ve_peak_rpm_ecu": 2700,
    "ve_fall_low_ecu": 0.14,
    "ve_fall_high_ecu": 0.36,
    "valve_float_rpm": 5500,
    "overlap": 0.85,
    "manifold_volume": 2.9,
    "slot_area": 9.0,
    "cleaner_area": 15,
    "throttle_area": 12,
    "stop_area": 0.125,
    "breather_area": 0.020,
    "idle_valve_area": 0.32,
    "back_pressure": 1.7e-3,
    "friction_0": 86,
    "friction_1": 15,
    "friction_2": 6.0,
    "inertia": 0.17,
    "idle_load": 4.5,
    "film_share": 0.46,
    "film_time": 0.80,
    "lambda_spread": 0.05,
    "pump_per_volt": 17.0,
    "injectors": 2,
    "injector_flow": 3.90,
    "injector_flow_ecu": 3.90,
    "alternator_max": 55,
    "dwell": 38,
    "dwell_reference": 38,
    "points_float_rpm": 6400,
    "base_advance": 8,
    "centrifugal_max": 24,
    "exhaust_volume": 1.2,
    "rev_limit": 5400,
}
_ELECTRONIC_DIFFERS: dict[str, float] = {"points": 0, "ballast_ohm": 0.35, "coil_ohm": 0.85, "coil_henry": 6e-3}


class UnknownEngine(TroubleshootError):
    """There is no such engine or ignition in the virtual garage."""


def nominal(name: str, ignition: str = "points") -> dict[str, float]:
    """Return the nominal values of an engine by parameter name; raises `UnknownEngine`."""
    if name not in ENGINES:
        near = difflib.get_close_matches(name, ENGINES, 1, 0.0)
        advice = f"Use {near[0]!r} or another of {', '.join(ENGINES)}."
        raise UnknownEngine(f"There is no virtual engine called {name!r}.", advice)
    if ignition not in IGNITIONS:
        raise UnknownEngine(f"There is no ignition called {ignition!r}.", f"Use one of {', '.join(IGNITIONS)}.")
    values = _BREATHING | _FUEL | _ELECTRICAL | _IGNITION | _SENSORS | STARTING_FILE
    if name == TARN:
        values |= _TARN_DIFFERS
    if ignition == "electronic":
        values |= _ELECTRONIC_DIFFERS
    return {field: float(values[field]) for field in FIELDS}


def engine(name: str, ignition: str = "points") -> Parameters:
    """Return one nominal engine as a record of length one; raises `UnknownEngine`."""
    return Parameters.from_table({field: np.array([value]) for field, value in nominal(name, ignition).items()})
