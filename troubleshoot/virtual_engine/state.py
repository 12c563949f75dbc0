"""What changes from step to step, and what stays the same through one running scenario."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy import exp, maximum, minimum, pi

from troubleshoot.virtual_engine import airflow, combustion, controller, ignition, sensors
from troubleshoot.virtual_engine.delay import DelayLine
from troubleshoot.virtual_engine.fuel_supply import FuelCircuit, injector_size, lost_share, vapour_kpa
from troubleshoot.virtual_engine.parameters import Flags, Parameters, Values
from troubleshoot.virtual_engine.steady import Point

NOISES = 5
"""Normal draws a step: signal jitter, manifold pulses, vapour, spark timing, combustion."""

JITTER, PULSE, VAPOUR, SPARK, WORK = range(NOISES)

SEALED_S = 0.01
"""The charge of a cylinder is sealed about this long before it counts: it belongs to an older pressure."""


@dataclass(slots=True)
class State:
    """The state of a batch in time; halves have a leading axis of two."""

    rpm: Values
    halves: Values
    air: Values
    film: Values
    trim: Values
    trim_integral: Values
    valve: Values  # where it is
    valve_asked: Values  # where the controller asks it to be
    valve_integral: Values
    dash: Values
    rpm_seen: Values
    rpm_idle: Values
    map_seen: Values
    o2: Values
    rail: Values
    vapour: Values
    wet: Values
    timing: Values
    accel: Values
    after_start: Values
    run_time: Values
    running: Flags
    stalled: Flags
    run_mode: Flags
    cut: Flags
    lost_signal: Flags
    noise_on: Flags
    low_time: Values
    held_time: Values
    turns: Values
    map_noise: Values
    spark_noise: Values
    load: Values
    throttle: Values
    throttle_ecu: Values
    start_time: Values


@dataclass(frozen=True, slots=True)
class Constants:
    """Everything worked out once before stepping a batch."""

    p: Parameters
    dt: float
    coolant_c: Values
    offset: Values
    coolant_ecu: Values
    warm_up: Values
    crank_fuel: Values
    run_up: Values
    after_start: Values
    idle_target: Values
    idle_base: Values
    idle_low: Values
    idle_high: Values
    closes_loop: Flags
    burns: Values
    clearance: Values
    charge_scale: Values
    capacity: Values
    leaks: Values
    residual_scale: Values
    indicated: Values
    torque_per_kpa: Values
    friction: tuple[Values, Values, Values]
    cold: Values
    misfire_width: Values
    coil_health: Values
    fuel: FuelCircuit
    injector_size: Values
    demand_scale: Values
    full_size_ecu: Values
    map_gain: Values
    rpm_gain: Values
    idle_gain: Values
    o2_gain: Values
    inertia_gain: Values
    charge_new: float
    noisy: bool
    dropping: bool
    random_loss: bool
    sticking: bool
    bursting: bool


def constants(p: Parameters, coolant_c: Values, dt: float, extra_inertia: float = 0.0) -> Constants:
    """Work out the constants of a batch at a coolant temperature and step length."""
    offset = sensors.ground_offset(p)
    coolant_ecu = sensors.indicated_coolant(p, coolant_c, offset)
    base = controller.idle_base(coolant_ecu)
    low, high = controller.idle_range(p, base)
    multiple = controller.crank_multiple(coolant_ecu)
    thick = combustion.oil_thickness(coolant_c)
    return Constants(
        p=p,
        dt=dt,
        coolant_c=coolant_c,
        offset=offset,
        coolant_ecu=coolant_ecu,
        warm_up=1.0 + (controller.warm_up(coolant_ecu) - 1.0) * p.warmup_gain,
        crank_fuel=controller.crank_fuel(p, multiple),
        run_up=p.run_up * (multiple - 1.0),
        after_start=0.10 + 0.32 * np.clip((70.0 - coolant_ecu) / 80.0, 0.0, 1.0),
        idle_target=controller.idle_target(p, coolant_ecu),
        idle_base=base,
        idle_low=low,
        idle_high=high,
        closes_loop=(coolant_ecu >= p.trim_clt) & (p.o2_ok > 0.5),
        burns=p.stoichiometric * combustion.evaporated(coolant_c),
        clearance=1.0 / (p.compression_ratio - 1.0),
        charge_scale=0.5 * p.displacement / airflow.GAS,
        capacity=0.5 * p.manifold_volume / airflow.GAS / dt,
        leaks=airflow.leak_areas(p),
        residual_scale=p.displacement / (p.compression_ratio - 1.0) / (airflow.GAS * 1050.0),
        indicated=combustion.indicated_scale(p),
        torque_per_kpa=p.displacement / (4.0 * pi),
        friction=(p.friction_0 * (0.45 + 0.55 * thick), 1e-3 * p.friction_1 * thick, 1e-6 * p.friction_2),
        cold=np.clip((80.0 - coolant_c) / 100.0 + 0.6 * p.film_cold, 0.0, 1.0),
        misfire_width=np.sqrt(0.03**2 + (0.55 * p.lambda_spread) ** 2),
        coil_health=ignition.coil_health(p, coolant_c),
        fuel=FuelCircuit.of(p),
        injector_size=injector_size(p),
        demand_scale=injector_size(p) * (1.0 - 0.5 * lost_share(p)) * 3600.0 / 745.0,
        full_size_ecu=p.injectors * p.injector_flow_ecu,
        map_gain=1.0 - exp(-dt / p.map_lag),
        rpm_gain=1.0 - exp(-dt / p.rpm_filter),
        idle_gain=1.0 - exp(-dt / p.idle_filter),
        o2_gain=1.0 - exp(-dt / p.o2_lag),
        inertia_gain=30.0 / pi * dt / (p.inertia + extra_inertia),
        charge_new=1.12 * max(0.0, 1.0 - SEALED_S / dt),
        noisy=bool(((p.signal_noise > 0.0) & (p.noise_gain > 0.0)).any()),
        dropping=bool(((p.dropout_high > 0.0) | (p.float_reads != 0.0)).any()),
        random_loss=bool((p.dropout_random > 0.0).any()),
        sticking=bool((p.advance_stick > 0.0).any()),
        bursting=bool((p.burst_time > 0.0).any()),
    )


def film_share(k: Constants, halves: Values) -> Values:
    """Return the share of injected fuel that wets the walls of each half."""
    return minimum(maximum(k.p.film_share * (0.6 + 0.006 * halves) + 0.38 * k.cold, 0.0), 0.93)


def film_time(k: Constants, halves: Values, rpm: Values) -> Values:
    """Return the time in which the wall film dries, s."""
    return k.p.film_time * (0.5 + 0.007 * halves) * ((1.0 + 3.0 * k.cold) / (1.0 + rpm * (1 / 4000.0)))


def running_state(k: Constants, at: Point) -> State:
    """Return the state of an engine settled at a steady point, closed loop and enrichments settled."""
    p, count = k.p, k.p.size
    zero, no, yes = np.zeros(count), np.zeros(count, dtype=bool), np.ones(count, dtype=bool)
    opened = at.throttle_ecu > 0.02
    integral = at.asked - k.idle_base - np.where(opened, p.dashpot, 0.0)
    return State(
        rpm=at.rpm.copy(),
        halves=at.air.halves.copy(),
        air=at.air.total.copy(),
        film=film_share(k, at.air.halves) * at.given * film_time(k, at.air.halves, at.rpm),
        trim=at.trim.copy(),
        trim_integral=at.trim.copy(),
        valve=np.where(p.idle_stuck >= 0.0, p.idle_stuck, at.valve),
        valve_asked=at.asked.copy(),
        valve_integral=np.clip(integral, -p.idle_span, p.idle_span),
        dash=np.where(opened, p.dashpot, 0.0),
        rpm_seen=at.rpm_ecu.copy(),
        rpm_idle=at.rpm_ecu.copy(),
        map_seen=at.map_ecu.copy(),
        o2=at.lam_read.copy(),
        rail=at.supply.rail_kpa.copy(),
        vapour=zero.copy(),
        wet=zero.copy(),
        timing=at.timing.copy(),
        accel=zero.copy(),
        after_start=zero.copy(),
        run_time=zero + 100.0,
        running=yes.copy(),
        stalled=no.copy(),
        run_mode=yes.copy(),
        cut=no.copy(),
        lost_signal=no.copy(),
        noise_on=no.copy(),
        low_time=zero.copy(),
        held_time=zero + 1.0,
        turns=zero + 100.0,
        map_noise=zero.copy(),
        spark_noise=zero.copy(),
        load=at.load.copy(),
        throttle=at.throttle.copy(),
        throttle_ecu=at.throttle_ecu.copy(),
        start_time=zero * np.nan,
    )


@dataclass(frozen=True, slots=True)
class AtRest:
    """What a start begins with besides a cold engine: rail pressure, fuel that leaked in, vapour."""

    rail_kpa: Values
    leaked_g: Values
    vapour: Values


def hot_soak(p: Parameters, idle_kpa: Values, after_kpa: Values) -> AtRest:
    """Return what ten minutes of heat soak leave: pressure, fuel leaked into the plenum, vapour in the line."""
    total = p.bleed_rate + p.check_valve_rate + p.injector_leak_rate
    fallen = 1.0 - np.where(idle_kpa > 1.0, after_kpa / maximum(idle_kpa, 1.0), 1.0)
    vapour = np.clip((vapour_kpa(p.reid_psi, np.full(p.size, 70.0)) - after_kpa - 100.0) / 60.0, 0.0, 1.0)
    return AtRest(after_kpa, 14.0 * p.injector_leak_rate / total * fallen, vapour)


def resting_state(k: Constants, rest: AtRest) -> State:
    """Return the state at key on, prime just delivered."""
    p, count = k.p, k.p.size
    zero, no = np.zeros(count), np.zeros(count, dtype=bool)
    prime = controller.prime_fuel(p, controller.crank_multiple(k.coolant_ecu)) * (1.0 - 0.92 * rest.vapour)
    still = p.ambient_kpa - 0.5
    halves = np.stack((still, still))
    wet = minimum(rest.leaked_g / 8.0, 1.0)
    free = np.clip(k.idle_base + 0.15, k.idle_low, k.idle_high)
    return State(
        rpm=zero.copy(),
        halves=halves,
        air=zero.copy(),
        film=np.stack((prime + rest.leaked_g,) * 2) * 0.5,
        trim=zero.copy(),
        trim_integral=zero.copy(),
        valve=np.where(p.idle_stuck >= 0.0, p.idle_stuck, free),
        valve_asked=free,
        valve_integral=zero.copy(),
        dash=zero.copy(),
        rpm_seen=zero.copy(),
        rpm_idle=zero.copy(),
        map_seen=sensors.indicated_map(p, halves, k.offset),
        o2=zero + 1.0,
        rail=rest.rail_kpa.copy(),
        vapour=rest.vapour.copy(),
        wet=wet,
        timing=ignition.mechanical_timing(p, zero),
        accel=zero.copy(),
        after_start=k.after_start.copy(),
        run_time=zero.copy(),
        running=no.copy(),
        stalled=no.copy(),
        run_mode=no.copy(),
        cut=no.copy(),
        lost_signal=no.copy(),
        noise_on=no.copy(),
        low_time=zero.copy(),
        held_time=zero.copy(),
        turns=zero.copy(),
        map_noise=zero.copy(),
        spark_noise=zero.copy(),
        load=zero + 15.0,
        throttle=zero.copy(),
        throttle_ecu=sensors.indicated_throttle(p, zero, k.offset),
        start_time=zero * np.nan,
    )


@dataclass(frozen=True, slots=True)
class Lines:
    """The delay lines of a batch: work between intake and crank, lambda between valve and sensor."""

    work: DelayLine
    o2: DelayLine
