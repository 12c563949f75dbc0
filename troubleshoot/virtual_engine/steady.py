"""Steady running: the balance of air, fuel, spark, volts and trim at a given speed and opening."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy import maximum, minimum, where

from troubleshoot.virtual_engine import airflow, combustion, controller, electrical, ignition, sensors
from troubleshoot.virtual_engine.fuel_supply import (
    LPH_PER_GPS,
    FuelCircuit,
    Supply,
    halves_of,
    injector_size,
    lost_share,
    opening_delay,
    vapour_loss,
)
from troubleshoot.virtual_engine.parameters import Parameters, Values

NEWTON_STEPS = 10
FOLLOW = 0.85
PASSES = 8


@dataclass(frozen=True, slots=True)
class Air:
    """Air through the engine at one speed, opening and valve position."""

    halves: Values  # manifold pressure of each half, kPa
    cylinder: Values  # flow into the cylinders of each half, g/s
    total: Values  # g/s
    exhaust: Values  # kPa
    charge_k: Values
    residual: Values  # kg residual gas per kg charge of the engine
    residual_halves: Values
    charge: Values  # g per cycle of each half

    @property
    def manifold(self) -> Values:
        """Return the mean manifold pressure, kPa."""
        mean: Values = 0.5 * (self.halves[0] + self.halves[1])
        return mean


def balance_air(
    p: Parameters, rpm: Values, throttle: Values, valve: Values, coolant_c: Values, steps: int = NEWTON_STEPS
) -> Air:
    """Solve the manifold pressures where inflow meets the cylinders' draw (Newton on two halves)."""
    areas, leaks = airflow.inlet_areas(p, throttle, valve)
    both = areas + leaks
    curve = airflow.breathing_curve(p, rpm)
    draw = 0.5 * p.displacement * rpm / (120.0 * airflow.GAS)
    start = where(throttle > 0.3, 85.0, 40.0)
    halves = np.stack((start, start))
    total = draw * start / p.ambient_k
    for _ in range(steps):
        exhaust = airflow.exhaust_pressure(p, total)
        charge_k = airflow.charge_k(p, coolant_c, total)
        cylinder = draw * airflow.volumetric_efficiency(p, curve, exhaust, halves) * halves / charge_k
        total = total + FOLLOW * (cylinder[0] + cylinder[1] - total)
        inflow, slope = airflow.flow(both, p.ambient_kpa, halves, p.ambient_k)
        across, k = airflow.slot_flow(p, halves, charge_k)
        d = 1.12 * cylinder / halves - slope + k
        ra, rb = inflow[0] - cylinder[0] - across, inflow[1] - cylinder[1] + across
        det = d[0] * d[1] - k * k
        step = np.stack(((d[1] * ra + k * rb) / det, (d[0] * rb + k * ra) / det))
        halves = minimum(maximum(halves + minimum(maximum(step, -25.0), 25.0), 8.0), p.ambient_kpa + 1.0)
    exhaust = airflow.exhaust_pressure(p, total)
    charge_k = airflow.charge_k(p, coolant_c, total)
    cylinder = draw * airflow.volumetric_efficiency(p, curve, exhaust, halves) * halves / charge_k
    charge = 120.0 * cylinder / rpm
    whole = combustion.residual_share(p, rpm, exhaust, 0.5 * (halves[0] + halves[1]), charge[0] + charge[1])
    each = combustion.residual_share(p, rpm, exhaust, halves, 2.0 * charge)
    return Air(halves, cylinder, cylinder[0] + cylinder[1], exhaust, charge_k, whole, each, charge)


@dataclass(frozen=True, slots=True)
class Point:
    """Everything about an engine in steady running."""

    rpm: Values
    throttle: Values
    valve: Values
    asked: Values  # where the controller asks the idle valve to be
    coolant_c: Values
    air: Air
    rpm_ecu: Values
    map_ecu: Values
    coolant_ecu: Values
    throttle_ecu: Values
    target: Values
    trim: Values
    trim_limit: Values
    closed_loop: Values
    pulse: Values  # s commanded
    duty: Values
    injected: Values  # g/s, both halves, drips included
    given: Values  # g/s to each half
    supply: Supply
    volts: Values
    ecu_volts: Values
    lam: Values
    lam_halves: Values
    lam_read: Values
    timing: Values
    vacuum_advance: Values
    available_kv: Values
    required_kv: Values
    misfire: Values
    misfire_halves: Values
    torque: Values  # N.m at the flywheel
    knock: Values  # deg above the knock limit
    load: Values = field(repr=False)  # A


@dataclass(frozen=True, slots=True)
class Carried:
    """What the passes carry over: trim, electrical load, rail pressure."""

    trim: Values
    load: Values
    rail: Values


def _cold_carry(p: Parameters, rpm: Values) -> Carried:
    zero = np.zeros_like(rpm)
    return Carried(zero, zero + 18.0, zero + p.regulator_kpa)


@dataclass(frozen=True, slots=True)
class _Settled:
    """What no longer changes at a point once its air is known."""

    rpm_ecu: Values
    map_ecu: Values
    coolant_ecu: Values
    target: Values
    trim_limit: Values
    closed_loop: Values
    base_fuel: Values  # g per turn before trim
    burns: Values  # g of air that burn a gram of fuel
    vacuum_advance: Values
    timing: Values
    density: Values
    floats: Values
    charge_time: Values
    coil_health: Values
    sensor_error: Values
    circuit: FuelCircuit


def _settle(p: Parameters, rpm: Values, throttle: Values, coolant_c: Values, air: Air) -> _Settled:
    offset = sensors.ground_offset(p)
    coolant_ecu = sensors.indicated_coolant(p, coolant_c, offset)
    map_ecu = sensors.indicated_map(p, air.halves, offset)
    rpm_ecu = controller.rpm_seen(p, rpm)
    target = controller.target_lambda(p, rpm_ecu, map_ecu)
    believed_k = controller.believed_charge_k(p, coolant_ecu, air.total)
    efficiency = controller.believed_efficiency(p, rpm_ecu, map_ecu)
    fuel = controller.fuel_per_turn(p, efficiency, map_ecu, believed_k, target)
    advance = ignition.vacuum_advance(p, air.manifold, throttle)
    return _Settled(
        rpm_ecu=rpm_ecu,
        map_ecu=map_ecu,
        coolant_ecu=coolant_ecu,
        target=target,
        trim_limit=controller.trim_limit(p, map_ecu),
        closed_loop=where((coolant_ecu >= p.trim_clt) & (p.o2_ok > 0.5), 1.0, 0.0),
        base_fuel=fuel * (1.0 + (controller.warm_up(coolant_ecu) - 1.0) * p.warmup_gain),
        burns=p.stoichiometric * combustion.evaporated(coolant_c),
        vacuum_advance=advance,
        timing=ignition.mechanical_timing(p, rpm) + advance,
        density=combustion.relative_density(air.manifold, air.charge_k),
        floats=ignition.floating(p, rpm),
        charge_time=ignition.charge_time(p, rpm, ignition.effective_dwell(p, rpm)),
        coil_health=ignition.coil_health(p, coolant_c),
        sensor_error=sensors.sensor_error(p, air.total),
        circuit=FuelCircuit.of(p),
    )


@dataclass(frozen=True, slots=True)
class _Round:
    """One round of fuel, spark, volts and trim at a point."""

    volts: Values
    ecu_volts: Values
    alternator: Values
    pulse: Values
    duty: Values
    supply: Supply
    given: Values
    lam: Values
    lam_halves: Values
    lam_read: Values
    available_kv: Values
    required_kv: Values
    misfires: Values
    trim: Values  # used in this round
    carried: Carried  # for the next


def _fuel(
    p: Parameters, known: _Settled, carry: Carried, volts: Values, ecu_volts: Values
) -> tuple[Values, Values, Supply, Values]:
    """Return commanded pulse, duty, the supply's state and the fuel into each half, g/s."""
    rate = known.rpm_ecu * (1.0 / 60.0)
    dead_time = controller.believed_dead_time(p, ecu_volts)
    pulse = known.base_fuel * (1.0 + carry.trim) / (p.injectors * p.injector_flow_ecu) + dead_time
    pulse = minimum(pulse, p.duty_limit / maximum(rate, 1e-3))
    pulse = where((known.rpm_ecu > 0.0) & (ecu_volts > electrical.CONTROLLER_WORKS_ABOVE), pulse, 0.0)
    duty = pulse * rate
    opened = injector_size(p) * maximum(pulse - opening_delay(p, volts, duty), 0.0) * rate
    fuel = known.circuit.supply(volts, opened * (1.0 - 0.5 * lost_share(p)) * LPH_PER_GPS, carry.rail)
    injected = np.sqrt(fuel.rail_kpa / 400.0) * opened * vapour_loss(fuel.starved)
    return pulse, duty, fuel, halves_of(p, injected)


def _round(p: Parameters, rpm: Values, coolant_c: Values, air: Air, known: _Settled, carry: Carried) -> _Round:
    """Return what follows from the trim, load and rail pressure carried in."""
    volts, alternator = electrical.charging(p, rpm, carry.load)
    ecu_volts = volts - electrical.CONTROLLER_CURRENT * p.ecu_ohm
    pulse, duty, fuel, given = _fuel(p, known, carry, volts, ecu_volts)
    lam_halves = minimum(air.cylinder / (known.burns * maximum(given, 1e-9)), 6.0)
    lam = minimum(air.total / (known.burns * maximum(given[0] + given[1], 1e-9)), 6.0)
    running = np.zeros(rpm.shape, dtype=bool)
    current = ignition.coil_current(p, volts, known.charge_time, running)
    available = ignition.available_kv(p, current, known.coil_health, np.zeros_like(rpm))
    needed = ignition.required_kv(p, known.timing, known.density, lam)
    no_spark = ignition.spark_misfire(p, needed, available, known.floats)
    lean = combustion.lean_limit(air.residual_halves, coolant_c, ignition.weakness(needed, available))
    by_mixture = combustion.mixture_misfire(p, lam_halves, lean)
    misfires = 1.0 - (1.0 - by_mixture) * (1.0 - no_spark) * (1.0 - p.fixed_misfire)
    lam_read = sensors.lambda_reading(lam, 0.5 * (misfires[0] + misfires[1]), known.sensor_error)
    limit = known.trim_limit
    wanted = minimum(maximum((1.0 + carry.trim) * lam_read / known.target - 1.0, -limit), limit)
    trim = (0.35 * carry.trim + 0.65 * wanted) * known.closed_loop
    after = Carried(trim, electrical.running_load(p, fuel.current, current, duty), fuel.rail_kpa)
    return _Round(
        volts,
        ecu_volts,
        alternator,
        pulse,
        duty,
        fuel,
        given,
        lam,
        lam_halves,
        lam_read,
        available,
        needed,
        misfires,
        carry.trim,
        after,
    )


def _torque(p: Parameters, rpm: Values, coolant_c: Values, air: Air, timing: Values, at: _Round) -> Values:
    """Return the torque at the flywheel, N.m."""
    off_best = timing - combustion.best_timing(rpm, air.residual, at.lam)
    mixture = combustion.mixture_factor(at.lam_halves)
    work = combustion.perfect_charge(air.charge, mixture, at.misfires, air.residual_halves)
    spark = combustion.spark_factor(off_best, p.timing_scatter)
    indicated = combustion.indicated_scale(p) * spark * (work[0] + work[1])
    lost = 0.95 * (air.exhaust - air.manifold) + combustion.friction(p, rpm, combustion.oil_thickness(coolant_c))
    electric: Values = at.volts * at.alternator / (0.55 * rpm * (np.pi / 30))
    torque: Values = (indicated - lost) * p.displacement / (4 * np.pi) - electric
    return torque


def point(
    p: Parameters,
    rpm: Values,
    throttle: Values,
    valve: Values,
    coolant_c: Values,
    passes: int = PASSES,
    carried: Carried | None = None,
    steps: int = NEWTON_STEPS,
) -> Point:
    """Solve one steady running point; fuel, spark, volts and trim settle in `passes` rounds."""
    air = balance_air(p, rpm, throttle, valve, coolant_c, steps)
    known = _settle(p, rpm, throttle, coolant_c, air)
    carry = carried or _cold_carry(p, rpm)
    at = _round(p, rpm, coolant_c, air, known, Carried(carry.trim * known.closed_loop, carry.load, carry.rail))
    for _ in range(passes - 1):
        at = _round(p, rpm, coolant_c, air, known, at.carried)
    return Point(
        rpm=rpm,
        throttle=throttle,
        valve=valve,
        asked=valve,
        coolant_c=coolant_c,
        air=air,
        rpm_ecu=known.rpm_ecu,
        map_ecu=known.map_ecu,
        coolant_ecu=known.coolant_ecu,
        throttle_ecu=sensors.indicated_throttle(p, throttle, sensors.ground_offset(p)),
        target=known.target,
        trim=at.trim,
        trim_limit=known.trim_limit,
        closed_loop=known.closed_loop,
        pulse=at.pulse,
        duty=at.duty,
        injected=at.given[0] + at.given[1],
        given=at.given,
        supply=at.supply,
        volts=at.volts,
        ecu_volts=at.ecu_volts,
        lam=at.lam,
        lam_halves=at.lam_halves,
        lam_read=at.lam_read,
        timing=known.timing,
        vacuum_advance=known.vacuum_advance,
        available_kv=at.available_kv,
        required_kv=at.required_kv,
        misfire=0.5 * (at.misfires[0] + at.misfires[1]),
        misfire_halves=at.misfires,
        torque=_torque(p, rpm, coolant_c, air, known.timing, at),
        knock=known.timing - combustion.knock_limit(p, rpm, known.density, at.lam, coolant_c),
        load=at.carried.load,
    )
