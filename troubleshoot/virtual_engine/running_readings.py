"""Readings of a warm engine in steady running: idle, held speed, cruise, the pull, ten minutes after."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy import exp, maximum, where

from troubleshoot.virtual_engine import combustion, controller, electrical, ignition, sensors
from troubleshoot.virtual_engine.fuel_supply import KPA_PER_PSI, LPH_PER_GPS
from troubleshoot.virtual_engine.operating import PULL_RPM
from troubleshoot.virtual_engine.parameters import Flags, Parameters, Values
from troubleshoot.virtual_engine.steady import Point

KPA_PER_INHG = 3.386
HP_PER_KW = 1.341
KW_PER_NM_RPM = np.pi / 30.0 / 1000.0

FLAT_LAMBDA = 1.0
"""Leaner than this at full throttle it goes flat."""

USUAL_LIMIT = (5600.0, 5400.0)
CLEAN = 0.93
"""Speed limit as the eight and the six are set up, and from which share of it a pull counts as clean."""


def idle_channels(at: Point) -> dict[str, Values]:
    """Return the channels of a steady idle, named as in a recorded trace."""
    return {
        "rpm": at.rpm,
        "map": at.air.manifold,
        "lambda": at.lam_read,
        "lambda_true": at.lam,
        "trim": at.trim,
        "closed_loop": at.closed_loop,
        "valve": at.valve,
        "valve_asked": at.asked,
        "rail": at.supply.rail_kpa,
        "outlet": at.supply.outlet_kpa,
        "pump_volts": at.supply.pump_volts,
        "pump_amps": at.supply.current,
        "inlet": at.supply.inlet_kpa,
        "returned": at.supply.returned,
        "volts": at.volts,
        "duty": at.duty,
        "pulse": at.pulse,
        "advance": at.timing,
        "misfire_a": at.misfire_halves[0],
        "misfire_b": at.misfire_halves[1],
        "lambda_a": at.lam_halves[0],
        "lambda_b": at.lam_halves[1],
        "map_ecu": at.map_ecu,
        "rpm_ecu": at.rpm_ecu,
        "throttle_ecu": at.throttle_ecu,
        "air": at.air.total,
        "available_kv": at.available_kv,
        "clt": at.coolant_ecu,
    }


def idle_readings(p: Parameters, idle: Mapping[str, Values]) -> dict[str, Values]:
    """Return the idle readings from steady or averaged channels."""
    a, b = idle["misfire_a"], idle["misfire_b"]
    misfire = 0.5 * (a + b)
    tail = idle["lambda_true"] * sensors.misfire_air(misfire)
    worst = (1.0 - p.cylinders * p.fixed_misfire) * (1.0 - 3.0 * p.compression_loss)
    work_a = combustion.mixture_factor(idle["lambda_a"]) * (1.0 - a)
    work_b = combustion.mixture_factor(idle["lambda_b"]) * (1.0 - b)
    return {
        "idle_rpm": idle["rpm"],
        "idle_vac_inhg": (p.ambient_kpa - idle["map"]) / KPA_PER_INHG,
        "idle_lam": idle["lambda"],
        "idle_lam_tail": np.clip(tail, sensors.LAMBDA_LOW, sensors.LAMBDA_HIGH),
        "idle_trim_pct": 100.0 * idle["trim"],
        "cl_active": where(idle["closed_loop"] > 0.5, 1.0, 0.0),
        "idle_iac_pct": 100.0 * idle["valve_asked"],
        "idle_fp_psi": idle["rail"] / KPA_PER_PSI,
        "fp_before_filter_psi": idle["outlet"] / KPA_PER_PSI,
        "pump_v": idle["pump_volts"],
        "pump_a": idle["pump_amps"],
        "pump_inlet_inhg": (p.ambient_kpa - idle["inlet"]) / KPA_PER_INHG,
        "return_flow_lph": idle["returned"],
        "batt_run_v": idle["volts"],
        "ripple_v": electrical.ripple(p, idle["rpm"]),
        "ecu_v": idle["volts"] - 4.0 * p.ecu_ohm,
        "inj_feed_v": idle["volts"] - 4.4 * p.injector_feed_ohm * (0.25 + 0.75 * idle["duty"]),
        "idle_pw_ms": 1000.0 * idle["pulse"],
        "clt_ind_c": idle["clt"],
        "idle_timing_deg": idle["advance"],
        "spark_test_kv": where(p.spark_on > 0.5, idle["available_kv"], 0.0),
        "bal_worst_drop_pct": 100.0 * maximum(worst * (1.0 - 0.8 * np.maximum(a, b)), 0.0),
        "half_diff_pct": 100.0 * (work_a - work_b),
        "misfire_idle_pct": 100.0 * misfire,
        "map_ind_kpa": idle["map_ecu"],
        "rpm_ecu_err_pct": 100.0 * (controller.rpm_seen(p, idle["rpm"]) / maximum(idle["rpm"], 1.0) - 1.0),
        "tps_idle_pct": 100.0 * idle["throttle_ecu"],
        "o2_step_s": sensors.transport_delay(p, idle["rpm"], idle["air"]) + p.o2_lag,
        "return_line_psi": p.return_resistance * idle["returned"] ** 2 / KPA_PER_PSI,
        "fp_10min_psi": ten_minute_kpa(p, idle["rail"]) / KPA_PER_PSI,
    }


def ten_minute_kpa(p: Parameters, rail_kpa: Values) -> Values:
    """Return what is left of the rail pressure ten minutes after key off, kPa gauge."""
    return rail_kpa * exp(-600.0 * (p.bleed_rate + p.check_valve_rate + p.injector_leak_rate))


def held_speed_readings(p: Parameters, low: Point, high: Point) -> dict[str, Values]:
    """Return the readings at 1500 and 3000 rpm without load."""
    return {
        "t1500_timing_deg": low.timing - low.vacuum_advance,
        "t3000_timing_deg": high.timing - high.vacuum_advance,
        "t3000_vac_inhg": (p.ambient_kpa - high.air.manifold) / KPA_PER_INHG,
        "t3000_lam": high.lam_read,
        "t3000_backp_psi": (high.air.exhaust - p.ambient_kpa) / KPA_PER_PSI,
        "t3000_batt_v": high.volts,
        "vac_adv_deg": high.vacuum_advance,
    }


def cruise_readings(at: Point) -> dict[str, Values]:
    """Return the readings at a 2000 rpm cruise."""
    return {
        "cruise_lam": at.lam_read,
        "cruise_trim_pct": 100.0 * at.trim,
        "cruise_fp_psi": at.supply.rail_kpa / KPA_PER_PSI,
        "cruise_mis_pct": 100.0 * at.misfire,
        "cruise_plate_pct": 100.0 * at.throttle,
        "cruise_fuel_lph": at.injected * LPH_PER_GPS,
    }


def pull_readings(p: Parameters, pull: Point, light_misfire: Values) -> dict[str, Values]:
    """Return the readings of the pull through the range at full throttle."""
    speeds = np.array(PULL_RPM)

    def grid(values: Values) -> Values:
        return values.reshape(speeds.size, p.size)

    def at(values: Values, rpm: float) -> Values:
        row: Values = grid(values)[PULL_RPM.index(rpm)]
        return row

    to_5000 = speeds <= 5000.0
    knock_range = (speeds >= 1750.0) & (speeds <= 4000.0)
    power = grid(pull.torque) * speeds[:, None] * (KW_PER_NM_RPM * HP_PER_KW)
    power = where(grid(pull.rpm_ecu) > p.rev_limit, 0.0, power)
    peak_hp, peak_rpm = _peak(speeds, power)
    breaks = _break_speed(p, speeds, grid(pull.misfire), grid(pull.rpm_ecu), light_misfire)
    lean = grid(pull.lam)[to_5000].max(axis=0) > FLAT_LAMBDA
    choked = at(pull.air.manifold, 4500.0) < 0.93 * p.ambient_kpa
    return {
        "wot_break_rpm": breaks.speed,
        "wot_break_code": where(breaks.speed < breaks.clean, where(breaks.by_speed, 1.0, 2.0), 2.0 * (lean | choked)),
        "wot_peak_hp": peak_hp,
        "wot_peak_rpm": peak_rpm,
        "wot_lam_2500": at(pull.lam_read, 2500.0),
        "wot_lam_peak": at(pull.lam_read, 4250.0),
        "wot_lam_5000": at(pull.lam_read, 5000.0),
        "wot_trim_4500_pct": 100.0 * at(pull.trim, 4500.0),
        "wot_fp_min_psi": grid(pull.supply.rail_kpa)[to_5000].min(axis=0) / KPA_PER_PSI,
        "wot_pump_v": at(pull.supply.pump_volts, 4500.0),
        "wot_duty_max_pct": 100.0 * grid(pull.duty)[to_5000].max(axis=0),
        "wot_map_kpa": at(pull.air.manifold, 4500.0),
        "wot_mis_4500_pct": 100.0 * at(pull.misfire, 4500.0),
        "wot_timing_4500": at(pull.timing, 4500.0),
        "wot_knock_deg": grid(pull.knock)[knock_range].max(axis=0),
        "wot_rpm_err_pct": 100.0 * (at(pull.rpm_ecu, 4500.0) / 4500.0 - 1.0),
        "wot_backp_psi": (at(pull.air.exhaust, 4000.0) - p.ambient_kpa) / KPA_PER_PSI,
        "wot_dwell_4500": where(p.points > 0.5, ignition.effective_dwell(p, np.full(p.size, 4500.0)), np.nan),
    }


def _peak(speeds: Values, power: Values) -> tuple[Values, Values]:
    """Return the largest power, never below zero, and its speed by a parabola through the best three."""
    best = np.argmax(power, axis=0)
    middle = np.clip(best, 1, speeds.size - 2)
    columns = np.arange(power.shape[1])
    left, centre, right = (power[middle + shift, columns] for shift in (-1, 0, 1))
    bend = left - 2.0 * centre + right
    shift = where(bend < -1e-9, 0.5 * (left - right) / where(bend < -1e-9, bend, -1.0), 0.0)
    shift = where(best == middle, np.clip(shift, -1.0, 1.0), best - middle)
    step = speeds[1] - speeds[0]
    return maximum(power[best, columns], 0.0), speeds[middle] + shift * step


@dataclass(frozen=True, slots=True)
class _Breaks:
    """Where a pull breaks up, from where on it counts as clean, and whether it would break up there without load."""

    speed: Values
    clean: Values
    by_speed: Flags


def _break_speed(p: Parameters, speeds: Values, misfire: Values, seen: Values, light: Values) -> _Breaks:
    """Return where the pull breaks up: misfire, rev limit, valve float or a signal that is lost on the way up.

    A speed shown wrong by one share throughout is no signal lost; it breaks up where that meets the limit or misfires.
    """
    limit = light + 0.08
    over = misfire > limit
    first = np.argmax(over, axis=0)
    columns = np.arange(p.size)
    before = maximum(first - 1, 0)
    low, high = misfire[before, columns], misfire[first, columns]
    part = where(first > 0, np.clip((limit - low) / maximum(high - low, 1e-9), 0.0, 1.0), 1.0)
    by_misfire = where(over.any(axis=0), speeds[before] + part * (speeds[first] - speeds[before]), speeds[-1])
    lost = (seen > p.rev_limit) | (seen < 0.85 * p.pulse_scale * speeds[:, None])
    by_signal = where(lost.any(axis=0), speeds[np.argmax(lost, axis=0)], speeds[-1])
    turning = np.minimum(by_signal, np.minimum(p.rev_limit, p.valve_float_rpm + 150.0))
    found = maximum(np.minimum(by_misfire, turning), speeds[0])
    bounces = (p.points > 0.5) & (ignition.floating(p, found) > 0.0)
    usual = np.where(p.cylinders > 7.0, *USUAL_LIMIT)
    return _Breaks(found, CLEAN * usual, (turning <= found) | bounces)
