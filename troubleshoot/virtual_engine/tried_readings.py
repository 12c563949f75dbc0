"""What comes of a try: the idle valve's port covered, a load put on, the return pinched, an ignition part exchanged.

Each try is worked out by the same balances as the readings it stands beside.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy import maximum, where

from troubleshoot.virtual_engine import operating
from troubleshoot.virtual_engine.fuel_supply import KPA_PER_PSI, FuelCircuit
from troubleshoot.virtual_engine.parameters import Parameters, Values

GEAR_LOAD_NM = 15.0
"""Torque that lamps, fan and a selected gear take at idle."""

CAUGHT = 0.5
"""Share of the fall under a load that a free idle valve catches."""

NOTICED_FALL = 60.0
STILL_HIGH_RPM = 850.0
PINCHED = 50.0
"""Resistance of a pinched return hose, kPa/(L/h)2: hardly anything passes."""

TIRED_COIL, FAILS_HOT, TIRED_CONDENSER = 0.48, 0.25, 0.15
"""From here on a good coil or condenser makes a difference that is seen."""

HOT_C = 92.0
NO_SPARK_KV, WEAK_SPARK_KV = 3.0, 15.0
"""A spark while cranking is called none and weak below these (weak: common practice, no source)."""

SOLENOID_LOSS = 0.5


def idle_tries(p: Parameters, idle: operating.Idle) -> dict[str, Values]:
    """Return the answers to tries on an idling engine."""
    return {"idle_covered_code": _covered(p, idle), "load_dip_rpm": _load_dip(p, idle)}


def tried_readings(p: Parameters) -> dict[str, Values]:
    """Return the answers to tries on a still and a cranking engine."""
    hot = operating.cranking(p, np.full(p.size, HOT_C))
    pinched = FuelCircuit.of(replace(p, return_resistance=np.full(p.size, PINCHED)))
    cold = operating.cranking(p, p.soak_c).starter
    return {
        "clamped_psi": pinched.supply(p.battery_emf - 0.25, np.zeros(p.size)).rail_kpa * p.pump_on / KPA_PER_PSI,
        "swap_code": _exchanged(p),
        "hot_spark_code": where(hot.available_kv < NO_SPARK_KV, 2.0, where(hot.available_kv < WEAK_SPARK_KV, 1.0, 0.0)),
        "starter_a": cold.amps,
        "start_terminal_v": cold.battery_volts - SOLENOID_LOSS,
    }


def _covered(p: Parameters, idle: operating.Idle) -> Values:
    """Return what idle does with the valve's air port covered: 0 falls, 1 no change, 2 still high."""
    covered = operating.idle(replace(p, idle_valve_area=np.zeros(p.size)), p.thermostat_c)
    left = where(covered.stalled, 0.0, covered.at.rpm)
    return where(left > STILL_HIGH_RPM, 2.0, where(idle.at.rpm - left < NOTICED_FALL, 1.0, 0.0))


def _load_dip(p: Parameters, idle: operating.Idle) -> Values:
    """Return how far idle falls when a load comes on: what the valve as it stands does not hold, half of it caught."""
    loaded = replace(p, idle_load=p.idle_load + GEAR_LOAD_NM, idle_stuck=np.clip(idle.at.valve, 0.0, 1.0))
    after = operating.idle(loaded, p.thermostat_c)
    fall = maximum(idle.at.rpm - where(after.stalled, 300.0, after.at.rpm), 0.0)
    return fall * where(p.idle_stuck >= 0.0, 1.0, 1.0 - CAUGHT)


def _exchanged(p: Parameters) -> Values:
    """Return which known good part makes it go: 0 none, 1 coil, 2 condenser; a feed that is off stays off."""
    coil = (p.coil_efficiency < TIRED_COIL) | (p.coil_hot_loss > FAILS_HOT)
    condenser = (p.condenser_loss > TIRED_CONDENSER) & (p.points > 0.5)
    return where(p.spark_on < 0.5, 0.0, where(condenser, 2.0, where(coil, 1.0, 0.0)))
