"""What a technician would measure on each car of a batch: readings by name, with instrument noise.

A value that cannot be measured is NaN: running readings of an engine that starts neither cold nor hot,
idle readings of one that stalls, lambda without a sensor, dwell without points.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np

from troubleshoot.virtual_engine import combustion, operating, trace_readings
from troubleshoot.virtual_engine.bench_readings import cranking_readings, key_off_readings
from troubleshoot.virtual_engine.cars import FaultList, build, instrument_stream, seeds_of
from troubleshoot.virtual_engine.fuel_supply import KPA_PER_PSI
from troubleshoot.virtual_engine.instruments import (
    ELECTRONIC_READINGS,
    LAMBDA_READINGS,
    POINTS_READINGS,
    READINGS,
    REFUSING_READINGS,
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
from troubleshoot.virtual_engine.seen_readings import display_code, seen_readings, still_readings
from troubleshoot.virtual_engine.steady import Point
from troubleshoot.virtual_engine.tried_readings import idle_tries, tried_readings

__all__ = ["READINGS", "Reading", "measure", "readings"]

CHUNK = 1024
"""Scenarios stepped at once: enough to drown the cost of each call, few enough for the cache."""

STEP_S = 0.01
"""Step of the idle and the quick opening, whose limit cycles and mixture peaks are sharp."""

START_STEP_S = 0.02
"""Step of the starts: times move by less than a tenth of the instrument's noise against half the step."""

STALL_ZERO = ("idle_rpm", "return_min_rpm")
"""Readings that are zero, not missing, when the engine stalls."""

COUNTED = ("rpm_key_on", "crank_rpm_ecu", "crank_rpm", "idle_rpm", "return_min_rpm", "cold_rpm_min", "crank_spark_kv")
"""Readings of counted pulses or sparks: where there are none the display stands at zero."""

SIGNED = frozenset({
    "clt_soak_err_c", "idle_trim_pct", "clt_ind_c", "idle_timing_deg", "half_diff_pct", "rpm_ecu_err_pct",
    "tps_idle_pct", "t1500_timing_deg", "t3000_timing_deg", "vac_adv_deg", "cruise_trim_pct", "wot_trim_4500_pct",
    "wot_timing_4500", "air_c", "wot_knock_deg", "wot_rpm_err_pct", "spray_drop_rpm", "pcv_pinch_rpm",
})  # fmt: skip
"""Readings that may be below zero; every other display ends at zero, so that none shows -0.13 rpm."""

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
    drawn: bool = False,
) -> dict[str, Values]:
    """Return the readings of one car per list of (fault, severity), each an array in the scenarios' order.

    `seed` fixes the cars: one number (each scenario gets its own car from it by its place) or one a scenario.
    The same seed gives the same car whatever its faults, so a repair is the same call with a fault left out;
    `visit` draws fresh noise on the same car. `only="steady"` leaves out readings that need a running trace.
    `drawn` settles each car in a population round the file (`population`).
    """
    keys = seeds_of(seed, len(faults))
    values = measure(build(engine, ignition, faults, keys, spread, drawn), keys, only, visit)
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


class Cars(NamedTuple):
    """Cars of one kind, each with its faults and the seed that makes it."""

    engine: str
    ignition: str
    faults: Sequence[FaultList]
    seeds: Sequence[int]
    drawn: bool = False

    @property
    def keys(self) -> list[tuple[int, ...]]:
        """Return the noise key of each car."""
        return seeds_of(self.seeds, len(self.faults))


def measure_together(groups: Sequence[Cars]) -> list[dict[str, Values]]:
    """Return what `measure` finds of each group, all run side by side: some hundred cars cost little more than one."""
    if not groups:
        return []
    built = [build(one.engine, one.ignition, one.faults, one.keys, drawn=one.drawn) for one in groups]
    values = measure(Parameters.joined(built), [key for one in groups for key in one.keys])
    ends = np.cumsum([part.size for part in built]).tolist()
    return [
        {name: column[end - part.size : end].copy() for name, column in values.items()}
        for part, end in zip(built, ends, strict=True)
    ]


def _chunk(p: Parameters, keys: Sequence[tuple[int, ...]], only: Only, visit: int) -> dict[str, Values]:
    warm = _warm(p)
    values = _steady_values(p, warm)
    if only == "steady":
        cannot_run = (p.pump_on < 0.5) | (p.spark_on < 0.5) | (p.signal_on < 0.5)
        return blank(p, values, cannot_run, warm.idle.stalled)
    return _all_values(p, values, warm, keys, visit)


def _all_values(
    p: Parameters, values: dict[str, Values], warm: Warm, keys: Sequence[tuple[int, ...]], visit: int
) -> dict[str, Values]:
    """Return steady readings completed, and idle readings replaced, by those of the running traces."""
    idle = warm.idle
    ran = trace_readings.warm_idle(p, idle, keys, visit, STEP_S)
    values |= idle_readings(p, ran.averages)
    values |= ran.values | idle_tries(p, idle)
    values |= trace_readings.tip_in(p, keys, visit, STEP_S)
    values |= trace_readings.cool_start(p, keys, visit, START_STEP_S)
    rail = np.where(ran.stalled, idle.at.supply.rail_kpa, ran.averages["rail"])
    values["fp_10min_psi"] = ten_minute_kpa(p, rail) / KPA_PER_PSI
    values |= trace_readings.hot_restart(p, rail, keys, visit, START_STEP_S)
    for name in REFUSING_READINGS:
        values[name] = np.where(values["hot_start_fail"] > 0.5, values[name], np.nan)
    values["plug_code"] = trace_readings.plug_code(p, values, _burned(p, values, warm, ran))
    cannot_run = (values["start_fail"] > 0.5) & (values["hot_start_fail"] > 0.5)
    return blank(p, values, cannot_run, ran.stalled)


@dataclass(frozen=True, slots=True)
class Warm:
    """The steady points of a warm engine from which its readings are taken."""

    idle: operating.Idle
    low: Point
    high: Point
    cruise: Point
    pull: Point


def _warm(p: Parameters) -> Warm:
    warm = p.thermostat_c
    return Warm(
        operating.idle(p, warm),
        operating.no_load(p, 1500.0, warm),
        operating.no_load(p, 3000.0, warm),
        operating.cruise(p, operating.CRUISE_RPM, 0.245, warm),
        operating.pull(p, warm),
    )


def _steady_values(p: Parameters, warm: Warm) -> dict[str, Values]:
    """Return all readings that need no running trace, without noise and without blanks."""
    values = key_off_readings(p)
    values |= seen_readings(p) | still_readings(p) | tried_readings(p)
    values["display_code"] = display_code(p, values)
    values |= cranking_readings(operating.cranking(p, p.soak_c))
    values |= idle_readings(p, idle_channels(warm.idle.at))
    values |= held_speed_readings(p, warm.low, warm.high)
    values |= cruise_readings(warm.cruise)
    values |= pull_readings(p, warm.pull, warm.cruise.misfire)
    values["idle_stall"] = warm.idle.stalled.astype(float)
    return values


def _burned(p: Parameters, values: dict[str, Values], warm: Warm, ran: trace_readings.IdleRun) -> trace_readings.Burned:
    """Return what the plugs went through; an engine that does not idle has burnt nothing there."""
    cruise, count = warm.cruise, p.size
    best = combustion.best_timing(cruise.rpm, cruise.air.residual, cruise.lam)
    idles = ~ran.stalled
    misfire = 0.5 * (ran.averages["misfire_a"] + ran.averages["misfire_b"])
    burns = warm.pull.lam * (warm.pull.misfire < 0.5) * (warm.pull.rpm <= 5000.0)
    return trace_readings.Burned(
        np.where(idles, ran.averages["lambda_true"], cruise.lam),
        cruise.lam,
        burns.reshape(-1, count).max(axis=0),
        np.maximum(np.where(idles, misfire, 0.0), cruise.misfire),
        cruise.timing - best,
        values["wot_knock_deg"],
        (values["crank_inj_pulse"] > 0.5) & (p.pump_on > 0.5),
    )


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
        if name not in values or reading.noise_sd == 0.0:
            continue
        shown = values[name] + reading.noise_sd * draws[place]
        if name in COUNTED:
            shown = np.where(values[name] == 0.0, 0.0, shown)
        values[name] = shown if name in SIGNED else np.maximum(shown, 0.0)
