"""Readings that need a running trace: idle with a blip, a quick opening, a cool start, a hot restart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy import maximum, where

from troubleshoot.virtual_engine import operating, scenarios, sensors
from troubleshoot.virtual_engine.fuel_supply import KPA_PER_PSI
from troubleshoot.virtual_engine.parameters import Flags, Parameters, Values
from troubleshoot.virtual_engine.running_readings import KPA_PER_INHG, idle_channels, ten_minute_kpa
from troubleshoot.virtual_engine.scenarios import (
    BLIP_SHUT_S,
    STARTER_COOL_S,
    STARTER_HOT_S,
    TIP_S,
    run,
)
from troubleshoot.virtual_engine.state import AtRest, hot_soak, resting_state, running_state
from troubleshoot.virtual_engine.steady import point

HOT_C = 92.0
NO_COOL_START_S = 10.8
NO_HOT_START_S = 9.0
NEVER_BACK_S = 4.9
NEVER_ROSE_S = 2.0
OPENED_RICH, OPENED_LEAN = 0.90, 1.02
"""Between these a well-set engine stays for most of a quick opening (engineering estimate)."""

STATISTICS = (4.0, 14.0)
QUIET_BELOW_RPM = 25.0

Keys = Sequence[tuple[int, ...]]


@dataclass(frozen=True, slots=True)
class IdleRun:
    """Readings of the warm idle run, averaged channels for the steady ones, and who stalled."""

    values: dict[str, Values]
    averages: dict[str, Values]
    stalled: Flags


def warm_idle(p: Parameters, idle: operating.Idle, keys: Keys, visit: int, dt: float) -> IdleRun:
    """Run the warm idle with a load knock and a blip, and read it."""
    record = run(
        p,
        scenarios.WARM_IDLE,
        lambda k: running_state(k, idle.at),
        p.thermostat_c,
        keys,
        visit=visit,
        dt=dt,
        every=max(1, round(0.05 / dt)),
        names=[*idle_channels(idle.at)],
    )
    averages = {name: record.window(name, *STATISTICS).mean(axis=0) for name in record.channels}
    averages["clt"] = sensors.indicated_coolant(p, p.thermostat_c, sensors.ground_offset(p))
    rpm = record.window("rpm", *STATISTICS)
    stalled = rpm[-1] < 180.0
    surge = swing(rpm)
    back = record.window("rpm", BLIP_SHUT_S, 21.0)
    target = operating.warm_target(p)
    near = back <= target + 200.0
    hang = where(near.any(axis=0), np.argmax(near, axis=0) * 0.05, NEVER_BACK_S)
    ratio = record.window("rpm_ecu", *STATISTICS) / maximum(rpm, 20.0)
    rate = where(surge >= QUIET_BELOW_RPM, _surge_rate(rpm), 0.0)
    values = {
        "idle_surge_rpm": surge,
        "idle_surge_hz": rate,
        "hunt_period_s": where(rate > 0.0, 1.0 / maximum(rate, 0.1), 0.0),
        "rpm_jitter_pct": 100.0 * ratio.std(axis=0),
        "idle_lam_swing": swing(record.window("lambda", *STATISTICS)),
        "vac_flutter_inhg": 2.0 * record.window("map", *STATISTICS).std(axis=0) / KPA_PER_INHG,
        "return_min_rpm": where(back.min(axis=0) < 180.0, 0.0, back.min(axis=0)),
        "return_hang_s": hang,
        "return_stall": (back[-1] < 180.0).astype(float),
        "idle_stall": stalled.astype(float),
    }
    return IdleRun(values, averages, stalled)


def swing(values: Values) -> Values:
    """Return half of the 3-97 % band of each column after taking out its straight-line drift."""
    count = values.shape[0]
    place = np.linspace(-1.0, 1.0, count)[:, None]
    level = values - values.mean(axis=0)
    level = level - place * ((place * level).sum(axis=0) / (place * place).sum())
    low, high = np.percentile(level, (3.0, 97.0), axis=0)
    half: Values = 0.5 * (high - low)
    return half


def _surge_rate(rpm: Values) -> Values:
    """Return the strongest frequency of each column between 0.2 and 3 Hz (20 samples a second)."""
    level = (rpm - rpm.mean(axis=0)) * np.hanning(rpm.shape[0])[:, None]
    power = np.abs(np.fft.rfft(level, n=320, axis=0))
    rates = np.fft.rfftfreq(320, 0.05)
    band = (rates >= 0.2) & (rates <= 3.0)
    strongest: Values = rates[band][np.argmax(power[band], axis=0)]
    return strongest


def tip_in(p: Parameters, keys: Keys, visit: int, dt: float) -> dict[str, Values]:
    """Open the throttle quickly at a light 1500 rpm cruise and read lambda and the torque's delay."""
    cruise = operating.cruise(p, operating.TIP_IN_RPM, 0.12, p.thermostat_c)
    goal = point(p, cruise.rpm, np.full(p.size, 0.45), cruise.valve, p.thermostat_c).torque
    record = run(
        p,
        scenarios.TIP_IN,
        lambda k: running_state(k, cruise),
        p.thermostat_c,
        keys,
        visit=visit,
        dt=dt,
        every=1,
        names=("lambda_true", "torque"),
        load=cruise.torque,
    )
    after = record.time >= TIP_S
    torque = record.channels["torque"][after]
    rises = torque >= cruise.torque + 0.75 * (goal - cruise.torque)
    delay = where(rises.any(axis=0), record.time[after][np.argmax(rises, axis=0)] - TIP_S, NEVER_ROSE_S)
    opened = record.window("lambda_true", TIP_S, TIP_S + 1.2)
    leanest, richest = opened.max(axis=0), opened.min(axis=0)
    return {
        "tip_lam_peak": leanest,
        "tip_lam_out": where(OPENED_RICH / richest > leanest / OPENED_LEAN, richest, leanest),
        "tip_delay_s": delay,
    }


def cool_start(p: Parameters, keys: Keys, visit: int, dt: float) -> dict[str, Values]:
    """Start a car that stood overnight, fuel as cold as the rest, and read the start, the run-up and the plugs."""
    p = replace(p, fuel_c=np.minimum(p.fuel_c, p.soak_c + 8.0))
    zero = np.zeros(p.size)
    record = run(
        p,
        scenarios.COOL_START,
        lambda k: resting_state(k, AtRest(zero, zero, zero)),
        p.soak_c,
        keys,
        visit=visit,
        dt=dt,
        every=max(1, round(0.05 / dt)),
        names=("rpm", "lambda_true", "rail", "film"),
    )
    started = record.end.start_time - STARTER_COOL_S
    none = np.isnan(started)
    rpm, from_s = record.channels["rpm"], record.time[:, None] - where(none, 99.0, started + STARTER_COOL_S)
    settled = where(from_s >= 1.2, rpm, np.inf).min(axis=0)
    stalled = record.end.stalled
    lowest = where(stalled | (settled < 180.0), 0.0, where(np.isfinite(settled), settled, rpm[-1]))
    mixture = record.window("lambda_true", STARTER_COOL_S + 9.3, STARTER_COOL_S + 10.7).mean(axis=0)
    just_before = int(np.argmin(abs(record.time - (STARTER_COOL_S - 0.05))))
    while_cranking = int(np.argmin(abs(record.time - (STARTER_COOL_S + 0.35))))
    return {
        "fuel_wet_g": record.channels["film"][just_before],
        "crank_fp_psi": record.channels["rail"][while_cranking] / KPA_PER_PSI,
        "start_time_s": where(none, NO_COOL_START_S, started),
        "start_fail": none.astype(float),
        "cold_lam_10s": where(none, np.nan, mixture),
        "cold_rpm_min": where(none, np.nan, lowest),
        "cold_stall": stalled.astype(float),
        "wet_plugs": record.end.wet,
    }


def hot_restart(p: Parameters, idle_kpa: Values, keys: Keys, visit: int, dt: float) -> dict[str, Values]:
    """Restart ten minutes after stopping hot, and read the time it takes."""
    rest = hot_soak(p, idle_kpa, ten_minute_kpa(p, idle_kpa))
    record = run(
        p,
        scenarios.HOT_RESTART,
        lambda k: resting_state(k, rest),
        np.full(p.size, HOT_C),
        keys,
        visit=visit,
        dt=dt,
        every=100,
        names=("rpm",),
    )
    started = record.end.start_time - STARTER_HOT_S
    none = np.isnan(started)
    return {
        "hot_start_time_s": where(none, NO_HOT_START_S, started),
        "hot_start_fail": none.astype(float),
    }


@dataclass(frozen=True, slots=True)
class Burned:
    """What the plugs went through: true mixture, misfires and timing of a run, idle to full throttle."""

    lam_idle: Values
    lam_cruise: Values
    lam_full: Values  # leanest of the pull to 5000 rpm
    misfire: Values  # worst of idle and cruise
    early_deg: Values  # timing ahead of the best at a cruise
    knock_deg: Values  # worst of the pull
    injects: Flags


def plug_code(p: Parameters, values: dict[str, Values], ran: Burned) -> Values:
    """Return how the plugs look: 0 tan, 1 sooty, 2 white, 3 wet, 4 dry and unburnt.

    Soot comes of a rich mixture, of firings missed (half-burnt fuel) and of plugs too cold; white, glazed or
    blistered insulators of a lean mixture, early timing, knock and plugs too hot (common practice, no source;
    where each begins is an engineering estimate). A plug without spark is wet. What the oxygen sensor makes of the
    air of a missed spark leaves no mark on a plug.
    """
    no_start = (values["start_fail"] > 0.5) & (values["hot_start_fail"] > 0.5)
    rich = np.fmin(ran.lam_idle, ran.lam_cruise)
    soot = maximum(0.85 - rich, 0.0) / 0.06 + ran.misfire / 0.06 - 0.8 * p.plug_heat
    lean = maximum(np.fmax(ran.lam_full - 0.99, 0.6 * (ran.lam_cruise - 1.10)), 0.0)
    early = maximum(ran.early_deg - 8.0, 0.0)
    heat = lean / 0.06 + early / 4.0 + maximum(ran.knock_deg - 1.0, 0.0) / 3.0 + p.plug_heat
    wet = (values["wet_plugs"] > 0.35) | (ran.misfire > 0.40) | (p.plugs_dead > 0.5)
    running = where(soot > maximum(heat, 1.0), 1.0, where(heat > 1.0, 2.0, 0.0))
    return where(no_start, where(ran.injects, 3.0, 4.0), where(wet, 3.0, running))
