"""What a technician would measure on each car of a batch: 117 readings by name, with instrument noise.

A value that cannot be measured is NaN: running readings of an engine that starts neither cold nor hot,
idle readings of one that stalls, lambda without a sensor, dwell without points.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import numpy as np

from troubleshoot.virtual_engine import operating, trace_readings
from troubleshoot.virtual_engine.bench_readings import COOL_C, cranking_readings, key_off_readings
from troubleshoot.virtual_engine.cars import FaultList, build, instrument_stream, seeds_of
from troubleshoot.virtual_engine.fuel_supply import KPA_PER_PSI
from troubleshoot.virtual_engine.instruments import (
    ELECTRONIC_READINGS,
    LAMBDA_READINGS,
    POINTS_READINGS,
    READINGS,
    Reading,
)
from troubleshoot.virtual_engine.parameters import Flags, Parameters, Values
from troubleshoot.virtual_engine.running_readings import (
    cruise_readings,
    held_speed_readings,
    idle_channels,
    idle_readings,
    pull_readings,
    ten_minute_kpa,
)

__all__ = ["READINGS", "Reading", "measure", "readings"]

CHUNK = 1024
"""Scenarios stepped at once: enough to drown the cost of each call, few enough for the cache."""

STEP_S = 0.01
"""Step of the idle and the quick opening, whose limit cycles and mixture peaks are sharp."""

START_STEP_S = 0.02
"""Step of the starts: times move by less than a tenth of the instrument's noise against half the step."""

STALL_ZERO = ("idle_rpm", "return_min_rpm")
"""Readings that are nought, not missing, when the engine stalls."""

IDLE_READINGS = tuple(
    name
    for name in READINGS
    if READINGS[name].running
    and name not in ("clt_true_c", "sens_gnd_mv", "idle_stall", "return_hang_s", "return_stall")
    and not name.startswith(("t1500", "t3000", "cruise", "wot", "tip", "vac_adv", "cold", "timing", "dwell", "clt"))
    and name not in STALL_ZERO
)
"""Readings that need an engine which holds its idle."""

Only = Literal["steady", "all"]


def readings(
    engine: str,
    ignition: str,
    faults: Sequence[FaultList],
    seed: int | Sequence[int],
    noise: bool = True,
    only: Only = "all",
    visit: int = 0,
    spread: bool = True,
) -> dict[str, Values]:
    """Return the readings of one car per list of (fault, severity), each an array in the scenarios' order.

    `seed` fixes the cars: one number (each scenario gets its own car from it by its place) or one a scenario.
    The same seed gives the same car whatever its faults, so a repair is the same call with a fault left out;
    `visit` draws fresh noise on the same car. `only="steady"` leaves out readings that need a running trace.
    """
    keys = seeds_of(seed, len(faults))
    values = measure(build(engine, ignition, faults, keys, spread), keys, only, visit)
    if noise:
        add_noise(values, keys, visit)
    return values


def measure(p: Parameters, keys: Sequence[tuple[int, ...]], only: Only = "all", visit: int = 0) -> dict[str, Values]:
    """Return the readings of cars already built, one noise key each, without instrument noise."""
    parts = [
        _chunk(p.part(first, min(first + CHUNK, p.size)), keys[first : first + CHUNK], only, visit)
        for first in range(0, p.size, CHUNK)
    ]
    names = [name for name in READINGS if READINGS[name].steady or only == "all"]
    return {name: np.concatenate([part[name] for part in parts]) if parts else np.zeros(0) for name in names}


def _chunk(p: Parameters, keys: Sequence[tuple[int, ...]], only: Only, visit: int) -> dict[str, Values]:
    idle = operating.idle(p, p.thermostat_c)
    values = _steady_values(p, idle)
    if only == "steady":
        cannot_run = (p.pump_on < 0.5) | (p.spark_on < 0.5) | (p.signal_on < 0.5)
        return blank(p, values, cannot_run, idle.stalled)
    return _all_values(p, values, idle, keys, visit)


def _all_values(
    p: Parameters, values: dict[str, Values], idle: operating.Idle, keys: Sequence[tuple[int, ...]], visit: int
) -> dict[str, Values]:
    """Return steady readings completed, and idle readings replaced, by those of the running traces."""
    ran = trace_readings.warm_idle(p, idle, keys, visit, STEP_S)
    values |= idle_readings(p, ran.averages)
    values |= ran.values
    values |= trace_readings.tip_in(p, keys, visit, STEP_S)
    values |= trace_readings.cool_start(p, keys, visit, START_STEP_S)
    rail = np.where(ran.stalled, idle.at.supply.rail_kpa, ran.averages["rail"])
    values["fp_10min_psi"] = ten_minute_kpa(p, rail) / KPA_PER_PSI
    values |= trace_readings.hot_restart(p, rail, keys, visit, START_STEP_S)
    values["plug_code"] = trace_readings.plug_code(values, (values["crank_inj_pulse"] > 0.5) & (p.pump_on > 0.5))
    cannot_run = (values["start_fail"] > 0.5) & (values["hot_start_fail"] > 0.5)
    return blank(p, values, cannot_run, ran.stalled)


def _steady_values(p: Parameters, idle: operating.Idle) -> dict[str, Values]:
    """Return all readings that need no running trace, without noise and without blanks."""
    warm = p.thermostat_c
    low, high = operating.no_load(p, 1500.0, warm), operating.no_load(p, 3000.0, warm)
    cruise = operating.cruise(p, operating.CRUISE_RPM, 0.245, warm)
    pull = operating.pull(p, warm)
    values = key_off_readings(p)
    values |= cranking_readings(operating.cranking(p, np.full(p.size, COOL_C)))
    values |= idle_readings(p, idle_channels(idle.at))
    values |= held_speed_readings(p, low, high)
    values |= cruise_readings(cruise)
    values |= pull_readings(p, pull, cruise.misfire)
    values["idle_stall"] = idle.stalled.astype(float)
    return values


def blank(p: Parameters, values: dict[str, Values], cannot_run: Flags, stalled: Flags) -> dict[str, Values]:
    """Return the readings with NaN where nothing can be measured, noughts where an engine stalls."""
    shown = {}
    for name, value in values.items():
        out = np.array(value, dtype=float)
        if name in STALL_ZERO:
            out[stalled] = 0.0
        if name in IDLE_READINGS:
            out[stalled] = np.nan
        if READINGS[name].running:
            out[cannot_run] = np.nan
        if name in LAMBDA_READINGS:
            out[p.o2_ok < 0.5] = np.nan
        if (name in POINTS_READINGS) | (name in ELECTRONIC_READINGS):
            out[(p.points > 0.5) == (name in ELECTRONIC_READINGS)] = np.nan
        shown[name] = out
    return shown


def add_noise(values: dict[str, Values], keys: Sequence[tuple[int, ...]], visit: int) -> None:
    """Add each instrument's noise in place, from each scenario's own stream in the table's order."""
    if not keys:
        return
    draws = np.stack([instrument_stream(key, visit).standard_normal(len(READINGS)) for key in keys], axis=1)
    for place, (name, reading) in enumerate(READINGS.items()):
        if name in values and reading.noise_sd > 0.0:
            values[name] += reading.noise_sd * draws[place]
