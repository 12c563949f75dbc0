"""What is read off the controller's screen, seen on a part, or measured on the fuel line with the engine still.

Settings are shown as they are set. Where something begins to be seen is an engineering estimate.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy import where

from troubleshoot.virtual_engine import sensors
from troubleshoot.virtual_engine.electrical import CONTROLLER_CURRENT, CONTROLLER_WORKS_ABOVE
from troubleshoot.virtual_engine.engines import STARTING_FILE
from troubleshoot.virtual_engine.fuel_supply import FuelCircuit
from troubleshoot.virtual_engine.parameters import Parameters, Values

STEP_IN_TABLE = 0.10
"""Cells off by this share of their neighbours are seen as a step in the table."""

LB_PER_HOUR = 7.937
"""Pounds an hour in one g/s."""

HP_PER_LB_PER_HOUR = 0.85 / 0.5
"""Injectors at 85 % duty and half a pound of petrol for each hp and hour (common practice, no source)."""

RATED_HP = (130.0, 75.0)
"""Rated power of the eight and of the six."""

MAKER_SPRING_OZF = 20.0
"""Middle of the 17 to 23 ozf that makers ask for (common practice, no source)."""

FLOAT_RPM = 6350.0
"""Speed at which points with that spring float."""


def seen_readings(p: Parameters) -> dict[str, Values]:
    """Return the settings as the screen shows them, and what a person sees on hoses, ports, pipes and sprays."""
    rated = where(p.cylinders > 7.0, *RATED_HP)
    warmup = np.sqrt(p.warmup_gain * p.after_start_gain)
    lost = p.check_valve_rate + p.injector_leak_rate
    by_pump = where(p.check_valve_rate >= p.injector_leak_rate, 1.0, 3.0)
    uneven = (p.injectors_lost > 0.15) | (p.injector_factor < 0.85)
    return {
        "set_idle_rpm": p.idle_speed,
        "set_limit_rpm": p.rev_limit,
        "set_delay_ms": p.dead_time_ecu,
        "set_pulses": p.pulse_scale,
        "set_idle_gain": p.idle_i / STARTING_FILE["idle_i"],
        "set_trim_gain": p.trim_i / STARTING_FILE["trim_i"],
        "set_opening_fuel": p.accel_gain,
        "set_crank_fuel": p.crank_gain,
        "set_warmup_fuel": warmup,
        "fuel_table_code": _table(p),
        "injectors_feed": p.injectors * p.injector_flow * LB_PER_HOUR * HP_PER_LB_PER_HOUR / rated,
        "map_hose_code": where(p.map_leak > 0.05, 1.0, where(p.map_lag > 0.05, 2.0, 0.0)),
        "o2_place_code": where(p.o2_far > 0.35, 1.0, 0.0),
        "exhaust_leak_seen": where(p.exhaust_leak > 0.05, 1.0, 0.0),
        "vac_port_code": where(p.vacuum_advance_ok < 0.75, 2.0, where(p.vacuum_from_manifold > 0.5, 1.0, 0.0)),
        "points_spring_ozf": MAKER_SPRING_OZF * (p.points_float_rpm / FLOAT_RPM) ** 2,
        "idle_valve_moves": where(p.idle_stuck >= 0.0, 0.0, 1.0),
        "spray_code": where(p.injectors_lost > 0.6, 1.0, where(uneven, 2.0, 0.0)),
        "leak_down_code": where(lost > 0.0002, by_pump, 0.0),
    }


def _table(p: Parameters) -> Values:
    """Return which part of the fuel table stands out most: 0 none, idle 1 lean 2 rich, cruise 3 and 4, top 5 and 6."""
    parts = np.stack((p.ve_idle, p.ve_cruise, p.ve_high))
    off = np.abs(np.log(parts))
    most = np.argmax(off, axis=0)
    columns = np.arange(p.size)
    code = 2.0 * most + where(parts[most, columns] < 1.0, 1.0, 2.0)
    return where(off[most, columns] > STEP_IN_TABLE, code, 0.0)


def still_readings(p: Parameters) -> dict[str, Values]:
    """Return the controller's feed and the pump's delivery at key-on, engine still."""
    volts = p.battery_emf - 0.25
    return {
        "key_on_wire_v": volts - CONTROLLER_CURRENT * p.ecu_ohm,
        "delivery_lph": FuelCircuit.of(p).supply(volts, np.zeros(p.size)).flow,
    }


def display_code(p: Parameters, values: Mapping[str, Values]) -> Values:
    """Return what is furthest out on the display at key-on, each by its own limit; 0 where nothing is.

    1 dark, 2 coolant cold, 3 coolant hot, 4 manifold pressure, 5 throttle, 6 a speed, 7 volts, 8 several a little.
    Limits: 8 degC, 2 kPa, 2 % of throttle, 50 rpm, 1 V (common practice, no source); dark where it cannot work.
    """
    coolant = values["clt_soak_err_c"] / 8.0
    shares = np.stack((
        where(values["key_on_wire_v"] < CONTROLLER_WORKS_ABOVE, 99.0, 0.0),
        -coolant,
        coolant,
        np.abs(values["map_key_on_kpa"] - p.ambient_kpa) / 2.0,
        100.0 * np.abs(sensors.indicated_throttle(p, np.zeros(p.size), 0.25 * sensors.ground_offset(p))) / 2.0,
        values["rpm_key_on"] / 50.0,
        (p.battery_emf - values["key_on_wire_v"]) / 1.0,
        where(sensors.ground_offset(p) > 0.10, 1.5, 0.0),
    ))  # fmt: skip
    return where(shares.max(axis=0) > 1.0, 1.0 + np.argmax(shares, axis=0), 0.0)
