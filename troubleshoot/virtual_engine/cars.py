"""Random cars: build-to-build spread first, then the faults, then arrays side by side."""

from __future__ import annotations

import math
from collections.abc import Sequence
from types import MappingProxyType

import numpy as np

from troubleshoot.problems import TroubleshootError
from troubleshoot.virtual_engine.engines import nominal
from troubleshoot.virtual_engine.faults import UnknownFault, fault
from troubleshoot.virtual_engine.parameters import FIELDS, Parameters
from troubleshoot.virtual_engine.population import put

SPREAD_LIMIT = 2.2
"""Build spread is cut at this many standard deviations: no car leaves the works worse."""

SPREAD_RELATIVE = MappingProxyType(
    {
        "ve_peak": 0.012,
        "friction_0": 0.03,
        "overlap": 0.05,
        "pump_per_volt": 0.03,
        "pump_leakage": 0.05,
        "filter_resistance": 0.3,
        "suction_resistance": 0.2,
        "regulator_kpa": 0.012,
        "injector_flow": 0.012,
        "injector_delay": 0.03,
        "battery_ohm": 0.12,
        "battery_emf": 0.004,
        "starter_cable_ohm": 0.2,
        "charge_volts": 0.007,
        "pump_supply_ohm": 0.25,
        "pump_ground_ohm": 0.3,
        "coil_ohm": 0.04,
        "ballast_ohm": 0.06,
        "coil_henry": 0.05,
        "coil_efficiency": 0.05,
        "plug_gap": 0.05,
        "dwell": 0.02,
        "map_gain": 0.005,
        "stop_area": 0.06,
        "breather_area": 0.15,
        "cleaner_area": 0.08,
        "back_pressure": 0.15,
        "film_time": 0.12,
        "film_share": 0.06,
        "ground_ohm": 0.4,
        "exhaust_volume": 0.15,
        "o2_lag": 0.15,
        "inertia": 0.05,
        "base_load": 0.08,
        "efficiency": 0.01,
        "return_resistance": 0.2,
        "bleed_rate": 0.3,
        "alternator_max": 0.05,
        "points_float_rpm": 0.03,
    }
)
SPREAD_ABSOLUTE = MappingProxyType(
    {
        "base_advance": 1.0,
        "thermostat_c": 1.5,
        "tps_closed": 0.004,
        "map_offset": 0.4,
        "fuel_imbalance": 0.015,
        "throttle_imbalance": 0.03,
        "ve_idle": 0.02,
        "ve_high": 0.015,
        "ve_cruise": 0.015,
        "fuel_c": 2.0,
        "centrifugal_max": 0.7,
        "lambda_spread": 0.004,
        "octane": 0.7,
        "plug_wear": 0.03,
        "centrifugal_start_rpm": 25.0,
        "exhaust_leak": 0.006,
    }
)
_COLUMN = {name: place for place, name in enumerate(FIELDS)}
_SPREAD = (*SPREAD_RELATIVE, *SPREAD_ABSOLUTE)
_CAR, _PROCESS, _INSTRUMENT = range(3)

FaultList = Sequence[tuple[str, float]]


class SeverityRefused(TroubleshootError):
    """A severity outside 0..1."""


def seeds_of(seed: int | Sequence[int], count: int) -> list[tuple[int, ...]]:
    """Return one seed key per scenario: its own seed if given, else the common seed and its place."""
    if isinstance(seed, int):
        return [(seed, place) for place in range(count)]
    if len(seed) != count:
        raise SeverityRefused(f"{len(seed)} seeds for {count} scenarios.", "Give one seed each, or one for all.")
    return [(int(one),) for one in seed]


def _car_stream(key: tuple[int, ...]) -> np.random.Generator:
    """Return the stream that draws a scenario's car."""
    return np.random.default_rng((*key, _CAR))


def process_stream(key: tuple[int, ...], scenario: int, visit: int) -> np.random.Generator:
    """Return the stream of combustion and signal noise of one running scenario."""
    return np.random.default_rng((*key, _PROCESS, scenario, visit))


def instrument_stream(key: tuple[int, ...], visit: int) -> np.random.Generator:
    """Return the stream of instrument noise."""
    return np.random.default_rng((*key, _INSTRUMENT, visit))


def build(
    engine: str,
    ignition: str,
    faults: Sequence[FaultList],
    keys: Sequence[tuple[int, ...]],
    spread: bool = True,
    drawn: bool = False,
) -> Parameters:
    """Return the cars of a batch: nominal engine, build spread from each key, then each list of faults.

    With `drawn` each car is first settled in a population round the nominal engine (`population`).

    Raises `UnknownEngine`, `UnknownFault` or `SeverityRefused`.
    """
    start = nominal(engine, ignition)
    table = np.tile(np.array([start[name] for name in FIELDS])[:, None], (1, len(faults)))
    if drawn:
        put(table, start, keys)
    if spread and len(faults):
        draws = np.stack([_car_stream(key).standard_normal(len(_SPREAD)) for key in keys], axis=1)
        _spread(table, np.clip(draws, -SPREAD_LIMIT, SPREAD_LIMIT))
    for column, several in enumerate(faults):
        for name, severity in several:
            _apply(table, column, name, severity, ignition)
    dead, missing = table[_COLUMN["plugs_dead"]], table[_COLUMN["fixed_misfire"]]
    missing[:] = 1.0 - (1.0 - missing) * (1.0 - dead / table[_COLUMN["cylinders"]])
    return Parameters.from_table({name: table[place] for place, name in enumerate(FIELDS)})


def _spread(table: np.ndarray, draws: np.ndarray) -> None:
    for place, name in enumerate(_SPREAD):
        row = table[_COLUMN[name]]
        if name in SPREAD_RELATIVE:
            row *= 1.0 + SPREAD_RELATIVE[name] * draws[place]
        else:
            row += SPREAD_ABSOLUTE[name] * draws[place]
    leak = table[_COLUMN["exhaust_leak"]]
    np.maximum(leak, 0.0, out=leak)


def _apply(table: np.ndarray, column: int, name: str, severity: float, ignition: str) -> None:
    one = fault(name)
    if not (math.isfinite(severity) and 0.0 <= severity <= 1.0):
        raise SeverityRefused(f"{name}: a severity of {severity} makes no sense.", "Give a severity from 0 to 1.")
    if ignition not in one.applies_to:
        needed = " or ".join(sorted(one.applies_to))
        raise UnknownFault(f"{name} cannot happen with {ignition} ignition.", f"It needs {needed}.")
    for parameter, change in one.changes.items():
        place = _COLUMN[parameter]
        table[place, column] = change(float(table[place, column]), severity)
