"""Faults as named changes of parameters by a severity between 0 and 1; a fault never touches a reading."""

from __future__ import annotations

import difflib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from troubleshoot.problems import TroubleshootError

Change = Callable[[float, float], float]
"""From the healthy value and the severity to the faulty value."""

BOTH = frozenset({"points", "electronic"})
POINTS = frozenset({"points"})
ELECTRONIC = frozenset({"electronic"})
GROUPS: Mapping[str, str] = MappingProxyType(
    {
        "F": "fuel",
        "E": "electrical",
        "I": "ignition",
        "R": "speed signal",
        "S": "sensors",
        "A": "air and mechanical",
        "C": "controller settings",
    }
)


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault: what it changes, and the severity from which a driver notices (None: never alone)."""

    id: str
    group: str
    core: bool
    onset_v8: float | None
    onset_six: float | None
    applies_to: frozenset[str]
    changes: Mapping[str, Change] = field(repr=False)

    def onset(self, engine: str) -> float | None:
        """Return the onset for an engine by name."""
        return self.onset_six if "six" in engine else self.onset_v8


class UnknownFault(TroubleshootError):
    """There is no such fault in the virtual engine."""


def plus(amount: float) -> Change:
    """Add an amount at full severity."""
    return lambda value, s: value + amount * s


def towards(goal: float) -> Change:
    """Move towards a goal, reached at full severity."""
    return lambda value, s: value + (goal - value) * s


def power(factor: float) -> Change:
    """Multiply geometrically, by the factor at full severity."""
    return lambda value, s: value * float(factor**s)


def scaled(part: float) -> Change:
    """Multiply by one plus a part at full severity."""
    return lambda value, s: value * (1.0 + part * s)


def fixed(goal: float) -> Change:
    """Take a value whatever the severity."""
    return lambda _value, _s: goal


_FAULTS: dict[str, Fault] = {}


def _fault(
    name: str,
    group: str,
    onset_v8: float | None,
    onset_six: float | None,
    changes: Mapping[str, Change],
    core: bool = True,
    applies_to: frozenset[str] = BOTH,
) -> None:
    _FAULTS[name] = Fault(name, GROUPS[group], core, onset_v8, onset_six, applies_to, MappingProxyType(dict(changes)))


_fault("fuel_filter_clogged", "F", 0.9, None, {"filter_resistance": power(1600)})
_fault("suction_restricted", "F", 0.6, 0.6, {"suction_resistance": power(160)})
_fault(
    "hot_fuel_vapour",
    "F",
    0.8,
    0.8,
    {
        "reid_psi": lambda value, s: value + 2.0 * min(1.0, 1.5 * s),
        "suction_lift": lambda value, s: value + 0.45 * min(1.0, 2.0 * s),
        "suction_resistance": lambda value, s: value * float(6.0 ** min(1.0, 2.0 * s)),
        "fuel_c": plus(9.0),
    },
)
_fault("pump_wire_resistance", "F", 0.9, 0.9, {"pump_supply_ohm": plus(2.2)})
_fault("pump_ground_resistance", "F", 0.9, 0.9, {"pump_ground_ohm": plus(2.2)})
_fault("pump_worn", "F", None, 1.0, {"pump_leakage": scaled(2.6), "pump_per_volt": scaled(-0.15)})
_fault("regulator_low", "F", 0.8, 0.8, {"regulator_kpa": scaled(-0.45)})
_fault("regulator_high", "F", 0.9, 0.9, {"regulator_kpa": scaled(0.55)})
_fault("return_restricted", "F", 1.0, None, {"return_resistance": power(40)})
_fault("check_valve_leak", "F", 0.7, 0.7, {"check_valve_rate": lambda _value, s: 0.0005 * float(40.0**s)})
_fault("injector_drip", "F", 0.5, 0.4, {"drip": plus(0.16), "injector_leak_rate": plus(0.02)})
_fault("injectors_clogged", "F", 0.5, 0.4, {"injector_factor": scaled(-0.40)})
_fault("one_injector_weak", "F", 0.8, 0.4, {"injectors_lost": plus(0.8)}, core=False)
_fault("pump_dead", "F", 0.1, 0.1, {"pump_on": fixed(0.0)})
_fault("battery_weak", "E", 0.5, 0.7, {"battery_emf": plus(-0.75), "battery_ohm": plus(0.030)})
_fault("starter_cable", "E", 0.4, 0.7, {"starter_cable_ohm": plus(0.045)}, core=False)
_fault("alternator_dead", "E", 0.7, 0.7, {"alternator_ok": towards(0.0)})
_fault("overcharging", "E", 0.4, 0.4, {"charge_volts": plus(2.3)}, core=False)
_fault("sensor_ground_offset", "E", 0.2, 0.2, {"ground_ohm": plus(0.035)})
_fault("ecu_feed_drop_crank", "E", 0.8, 0.8, {"ecu_crank_ohm": plus(1.6)})
_fault("injector_feed_drop", "E", 0.8, 0.8, {"injector_feed_ohm": plus(2.2)})
_fault("ecu_off_in_start", "E", 0.1, 0.1, {"ecu_dead_in_start": fixed(1.0)}, core=False)
_fault("points_gap_closed", "I", 0.9, 0.9, {"dwell": plus(13.0)}, applies_to=POINTS)
_fault("points_gap_wide", "I", 0.3, 0.4, {"dwell": plus(-15.0)}, applies_to=POINTS)
_fault("points_float", "I", 0.4, 0.6, {"points_float_rpm": towards(2900.0)}, applies_to=POINTS)
_fault("distributor_worn", "I", 0.6, 0.6, {"dwell_scatter": plus(3.2), "timing_scatter": plus(5.5)})
_fault("condenser_bad", "I", 0.3, 0.7, {"condenser_loss": towards(1.0)}, core=False, applies_to=POINTS)
_fault("coil_weak", "I", 0.3, 0.7, {"coil_efficiency": scaled(-0.60), "coil_ohm": scaled(0.6)})
_fault("coil_fails_hot", "I", 0.3, 0.5, {"coil_hot_loss": towards(0.93)})
_fault("coil_feed_resistance", "I", 0.4, 0.7, {"ballast_ohm": plus(3.2)}, core=False)
_fault("plugs_worn", "I", 0.2, 0.4, {"plug_gap": plus(0.75), "plug_wear": plus(0.30)})
_fault("ht_leakage", "I", 0.2, 0.5, {"ht_factor": towards(0.45)})
_fault("timing_retarded", "I", 0.6, 0.9, {"base_advance": plus(-14.0)})
_fault("timing_advanced", "I", 0.3, 0.4, {"base_advance": plus(14.0)})
_fault("advance_stuck", "I", 0.4, 0.5, {"centrifugal_max": towards(0.0)}, core=False)
_fault(
    "advance_springs_weak",
    "I",
    0.8,
    0.8,
    {
        "centrifugal_start_rpm": plus(-250.0),
        "centrifugal_end_rpm": lambda _value, s: 850.0 + 700.0 * (1.0 - s),
    },
)
_fault("vacuum_advance_dead", "I", None, None, {"vacuum_advance_ok": towards(0.0), "leak_area": plus(0.02)}, core=False)
_fault("no_spark", "I", 0.1, 0.1, {"spark_on": fixed(0.0), "signal_on": fixed(0.0)})
_fault("pickup_gap_wide", "I", 0.6, 0.8, {"signal_lowest_rpm": plus(240.0)}, applies_to=ELECTRONIC)
_fault(
    "pickup_polarity",
    "I",
    0.5,
    0.6,
    {"trigger_retard": plus(6.0), "timing_scatter": plus(2.5)},
    core=False,
    applies_to=ELECTRONIC,
)
_fault("plug_wire_off", "I", 0.1, 0.1, {"fixed_misfire": fixed(0.125)}, core=False)
_fault("trigger_wire_open", "R", 0.1, 0.1, {"signal_on": fixed(0.0)})
_fault("tach_self_test_burst", "R", 0.1, 0.3, {"burst_rpm": fixed(9000.0), "burst_time": plus(2.0)})
_fault("rpm_noise", "R", 0.1, 0.1, {"signal_noise": plus(0.40)})
_fault("rpm_dropout_high", "R", 0.5, 0.6, {"dropout_rpm": towards(2800.0), "dropout_high": plus(0.7)})
_fault("rpm_dropout_random", "R", 0.1, 0.1, {"dropout_random": plus(0.16)}, core=False)
_fault("cylinder_setting_wrong", "R", 0.1, 0.1, {"pulse_scale": fixed(4.0 / 3.0)}, core=False)
_fault("clt_reads_cold", "S", 0.1, 0.1, {"clt_series_ohm": plus(2200.0)})
_fault(
    "clt_reads_hot",
    "S",
    0.1,
    0.1,
    {
        "clt_parallel_ohm": lambda _value, s: 220.0 * float(20.0 ** (1.0 - s)),
    },
    core=False,
)
_fault("thermostat_open", "S", 0.4, 0.4, {"thermostat_c": towards(50.0)})
_fault("map_hose_leak", "S", 0.2, 0.2, {"map_leak": towards(0.75)}, core=False)
_fault("map_hose_restricted", "S", 0.1, 0.1, {"map_lag": plus(0.7)})
_fault("map_reads_low", "S", 0.6, 0.5, {"map_gain": towards(0.75)})
_fault("tps_misset", "S", 0.2, 0.2, {"tps_closed": plus(0.40)})
_fault("tps_dead_spot", "S", 0.6, 0.7, {"tps_dead": towards(1.0)}, core=False)
_fault("exhaust_leak_o2", "S", 0.6, 0.4, {"exhaust_leak": plus(0.45)})
_fault("o2_slow", "S", None, None, {"o2_lag": plus(2.5)})
_fault("o2_dead", "S", 0.1, 0.1, {"o2_ok": fixed(0.0)})
_fault("o2_too_far", "S", None, None, {"o2_far": plus(1.5)}, core=False)
_fault("o2_skewed_rich", "S", 1.0, 0.9, {"o2_skew": towards(0.84)}, core=False)
_fault("vacuum_leak", "A", 0.4, 0.3, {"leak_area": plus(0.32)})
_fault("vacuum_leak_half", "A", 0.9, 0.6, {"leak_area_b": plus(0.16)}, core=False)
_fault(
    "booster_hose_off",
    "A",
    0.1,
    0.1,
    {
        "leak_area": lambda _value, s: 0.35 + 0.35 * s,
        "overrun_cut_rpm": fixed(1700.0),
        "overrun_resume_rpm": fixed(1250.0),
    },
)
_fault("throttle_not_closing", "A", 0.4, 0.3, {"stop_area": plus(0.36)})
_fault("throttle_not_opening", "A", 0.7, 0.6, {"plate_limit": towards(0.28)})
_fault("air_filter_clogged", "A", 0.7, 0.7, {"cleaner_area": power(0.22)})
_fault("exhaust_blocked", "A", 0.5, 0.6, {"back_pressure": power(16)})
_fault("pcv_stuck_open", "A", 0.8, 0.6, {"breather_area": plus(0.16)}, core=False)
_fault("iac_stuck_closed", "A", 0.1, 0.1, {"idle_stuck": lambda _value, s: 0.12 * (1.0 - s)})
_fault("iac_stuck_open", "A", 0.1, 0.1, {"idle_stuck": lambda _value, s: 0.25 + 0.55 * s})
_fault(
    "iac_gain_high",
    "C",
    0.1,
    0.1,
    {
        "idle_p": lambda value, s: value * (8.0 + 5.0 * s),
        "idle_i": lambda value, s: value * (8.0 + 5.0 * s),
    },
    core=False,
)
_fault(
    "low_compression_cyl",
    "A",
    0.3,
    0.2,
    {
        "compression_loss": plus(0.05),
        "breathing": plus(-0.03),
        "fixed_misfire": plus(0.06),
    },
)
_fault("cam_retarded", "A", 0.6, 0.8, {"cam_retard": plus(15.0)}, core=False)
_fault("valve_float", "A", 0.4, 0.4, {"valve_float_rpm": towards(3400.0)}, core=False)
_fault("halves_uneven_fuel", "A", 0.4, 0.2, {"fuel_imbalance": lambda value, s: value + 0.10 + 0.22 * s})
_fault("plenum_pulse_map", "A", 0.5, 0.5, {"map_pulse": plus(4.5), "fuel_imbalance": plus(0.12)}, core=False)
_fault("manifold_heat_blocked", "A", 1.0, 0.6, {"film_cold": towards(1.0)}, core=False)
_fault("accel_enrich_weak", "C", 0.6, 0.5, {"accel_gain": towards(0.0)})
_fault("low_octane", "A", 0.4, 0.5, {"octane": plus(-10.0)})
_fault("ve_idle_lean", "C", 0.6, 0.6, {"ve_idle": towards(0.66)})
_fault("ve_idle_rich", "C", 0.3, 0.3, {"ve_idle": towards(1.75)})
_fault("ve_high_lean", "C", 0.7, 0.6, {"ve_high": towards(0.70)}, core=False)
_fault("cl_gain_high", "C", 0.5, 0.6, {"trim_i": lambda value, s: value * 8.0 * float(2.0**s), "trim_p": scaled(2.0)})
_fault("idle_target_low", "C", 0.3, 0.4, {"idle_speed": plus(-230.0), "dashpot": towards(0.0)}, core=False)
_fault("crank_fuel_lean", "C", 0.8, 0.7, {"crank_gain": towards(0.25)}, core=False)
_fault("crank_fuel_rich", "C", 0.5, 0.6, {"crank_gain": towards(3.5)}, core=False)
_fault("warmup_lean", "C", 0.5, 0.3, {"warmup_gain": towards(-0.1), "after_start_gain": towards(-0.3)})
_fault("dead_time_wrong", "C", 0.8, 0.9, {"dead_time_ecu": towards(0.10)}, core=False)
_fault("rev_limit_low", "C", 0.2, 0.3, {"rev_limit": towards(3200.0)})

FAULTS: Mapping[str, Fault] = MappingProxyType(_FAULTS)

TIES: tuple[frozenset[str], ...] = (
    frozenset({"cl_gain_high", "plenum_pulse_map"}),
    frozenset({"ecu_feed_drop_crank", "ecu_off_in_start"}),
    frozenset({"suction_restricted", "hot_fuel_vapour"}),
    frozenset({"o2_slow", "o2_too_far"}),
)
"""Faults that no reading of this model separates reliably: naming one of them is naming the other."""

TIES_SIX: tuple[frozenset[str], ...] = (*TIES, frozenset({"vacuum_leak", "vacuum_leak_half"}))
"""The same for the six, whose open plenum has no real halves."""

MILD: frozenset[str] = frozenset(
    {
        "crank_fuel_lean",
        "crank_fuel_rich",
        "accel_enrich_weak",
        "low_octane",
        "manifold_heat_blocked",
    }
)
"""Faults whose mild form cannot be told from a healthy engine."""


def ties(engine: str) -> tuple[frozenset[str], ...]:
    """Return the groups of indistinguishable faults of an engine by name."""
    return TIES_SIX if "six" in engine else TIES


def fault(name: str) -> Fault:
    """Return a fault by its id; raises `UnknownFault` with the nearest spelling."""
    found = FAULTS.get(name)
    if found is None:
        near = difflib.get_close_matches(name, FAULTS, 1, 0.0)
        raise UnknownFault(f"There is no fault called {name!r} in the virtual engine.", f"Did you mean {near[0]!r}?")
    return found
