"""Faults as named changes of parameters by a severity between 0 and 1; a fault never touches a reading.

The tables with sizes and basis: `faults_fuel_electrical`, `faults_ignition_signal`, `faults_sensors_air`,
`faults_set_up`.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from types import MappingProxyType

from troubleshoot.problems import TroubleshootError
from troubleshoot.virtual_engine.engines import HARROW, nominal
from troubleshoot.virtual_engine.fault_onsets import ONSETS
from troubleshoot.virtual_engine.fault_sizes import Fault
from troubleshoot.virtual_engine.faults_fuel_electrical import ELECTRICAL, FUEL, SETTINGS
from troubleshoot.virtual_engine.faults_ignition_signal import IGNITION, SIGNAL
from troubleshoot.virtual_engine.faults_sensors_air import AIR, SENSORS
from troubleshoot.virtual_engine.faults_set_up import SET_UP

FAULTS: Mapping[str, Fault] = MappingProxyType(
    {one.id: one for one in (*FUEL, *ELECTRICAL, *IGNITION, *SIGNAL, *SENSORS, *AIR, *SETTINGS, *SET_UP)}
)
"""Every fault by its id."""


class UnknownFault(TroubleshootError):
    """There is no such fault in the virtual engine."""


def severity_of(name: str, parameter: str, change: float) -> float:
    """Return the severity at which a fault changes a parameter of the nominal V8 by this much, at most 1.

    Raises `UnknownFault`.
    """
    ignition = "points" if "points" in fault(name).applies_to else "electronic"
    healthy = nominal(HARROW, ignition)[parameter]
    low, high = 0.0, 1.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        less = abs(fault(name).changes[parameter](healthy, middle) - healthy) < abs(change)
        low, high = (middle, high) if less else (low, middle)
    return high


def onset(name: str, engine: str) -> float | None:
    """Return the severity from which the driver of the nominal car notices a fault; None: not with this fault alone.

    Raises `UnknownFault`.
    """
    return ONSETS.get(fault(name).id, (None, None))["six" in engine]


TIES: tuple[frozenset[str], ...] = (
    frozenset({"cl_gain_high", "plenum_pulse_map"}),
    frozenset({"ecu_feed_drop_crank", "ecu_off_in_start"}),
    frozenset({"suction_restricted", "hot_fuel_vapour"}),
    frozenset({"o2_slow", "o2_too_far"}),
)
"""Faults that no reading of this model separates reliably: naming one of them is naming the other."""

TIES_SIX: tuple[frozenset[str], ...] = (*TIES, frozenset({"vacuum_leak", "vacuum_leak_half"}))
"""The same for the six, whose open plenum has no real halves."""


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
