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
    carry = carried or _cold_carry(p, rpm)
    offset = sensors.ground_offset(p)
    coolant_ecu = sensors.indicated_coolant(p, coolant_c, offset)
    map_ecu = sensors.indicated_map(p, air.halves, offset)
    rpm_ecu = controller.rpm_seen(p, rpm)
    target = controller.target_lambda(p, rpm_ecu, map_ecu)
    believed_k = controller.believed_charge_k(p, coolant_ecu, air.total)
    efficiency = controller.believed_efficiency(p, rpm_ecu, map_ecu)
    base = controller.fuel_per_turn(p, efficiency, map_ecu, believed_k, target)
    base = base * (1.0 + (controller.warm_up(coolant_ecu) - 1.0) * p.warmup_gain)
    limit = controller.trim_limit(p, map_ecu)
    closed = where((coolant_ecu >= p.trim_clt) & (p.o2_ok > 0.5), 1.0, 0.0)
    rate = rpm_ecu / 60.0
    size, full_size = injector_size(p), p.injectors * p.injector_flow_ecu
    burns = airflow.STOICHIOMETRIC * combustion.evaporated(coolant_c)
    advance = ignition.vacuum_advance(p, air.manifold, throttle)
    timing = ignition.mechanical_timing(p, rpm) + advance
    density = combustion.relative_density(air.manifold, air.charge_k)
    floats = ignition.floating(p, rpm)
    time = ignition.charge_time(p, rpm, ignition.effective_dwell(p, rpm))
    health = ignition.coil_health(p, coolant_c)
    error = sensors.sensor_error(p, air.total)
    circuit = FuelCircuit.of(p)
    trim, load, rail = carry.trim * closed, carry.load, carry.rail
    dry, running = np.zeros_like(rpm), np.zeros(rpm.shape, dtype=bool)
    for _ in range(passes):
        volts, alternator = electrical.charging(p, rpm, load)
        ecu_volts = volts - electrical.CONTROLLER_CURRENT * p.ecu_ohm
        pulse = base * (1.0 + trim) / full_size + controller.believed_dead_time(p, ecu_volts)
        pulse = minimum(pulse, p.duty_limit / maximum(rate, 1e-3))
        pulse = where((rpm_ecu > 0.0) & (ecu_volts > electrical.CONTROLLER_WORKS_ABOVE), pulse, 0.0)
        duty = pulse * rate
        opened = maximum(pulse - opening_delay(p, volts, duty), 0.0) * rate
        demand = size * opened * (1.0 - 0.5 * lost_share(p)) * LPH_PER_GPS
        fuel = circuit.supply(volts, demand, rail)
        rail = fuel.rail_kpa
        injected = size * np.sqrt(rail / 400.0) * opened * vapour_loss(fuel.cavitation)
        given = halves_of(p, injected)
        lam_halves = minimum(air.cylinder / (burns * maximum(given, 1e-9)), 6.0)
        lam = minimum(air.total / (burns * maximum(given[0] + given[1], 1e-9)), 6.0)
        current = ignition.coil_current(p, volts, time, running)
        available = ignition.available_kv(p, current, health, dry)
        needed = ignition.required_kv(p, timing, density, lam)
        no_spark = ignition.spark_misfire(p, needed, available, floats)
        lean = combustion.lean_limit(air.residual_halves, coolant_c, ignition.weakness(needed, available))
        by_mixture = combustion.mixture_misfire(p, lam_halves, lean)
        misfires = 1.0 - (1.0 - by_mixture) * (1.0 - no_spark) * (1.0 - p.fixed_misfire)
        misfire = 0.5 * (misfires[0] + misfires[1])
        lam_read = sensors.lambda_reading(lam, misfire, error)
        wanted = minimum(maximum((1.0 + trim) * lam_read / target - 1.0, -limit), limit)
        next_trim = (0.35 * trim + 0.65 * wanted) * closed
        load = electrical.running_load(p, fuel.current, current, duty)
        trim, used = next_trim, trim
    best = combustion.best_timing(rpm, air.residual, lam)
    spark = combustion.spark_factor(timing - best, p.timing_scatter)
    work = combustion.perfect_charge(air.charge, combustion.mixture_factor(lam_halves), misfires, air.residual_halves)
    indicated = combustion.indicated_scale(p) * spark * (work[0] + work[1])
    lost = 0.95 * (air.exhaust - air.manifold) + combustion.friction(p, rpm, combustion.oil_thickness(coolant_c))
    torque = (indicated - lost) * p.displacement / (4 * np.pi) - volts * alternator / (0.55 * rpm * (np.pi / 30))
    knock = timing - combustion.knock_limit(p, rpm, density, lam, coolant_c)
    return Point(
        rpm=rpm, throttle=throttle, valve=valve, coolant_c=coolant_c, air=air, rpm_ecu=rpm_ecu, map_ecu=map_ecu,
        coolant_ecu=coolant_ecu, throttle_ecu=sensors.indicated_throttle(p, throttle, offset), target=target,
        trim=used, trim_limit=limit, closed_loop=closed, pulse=pulse, duty=duty, injected=given[0] + given[1],
        given=given,
        supply=fuel, volts=volts, ecu_volts=ecu_volts, lam=lam, lam_halves=lam_halves, lam_read=lam_read,
        timing=timing, vacuum_advance=advance, available_kv=available, required_kv=needed, misfire=misfire,
        misfire_halves=misfires, torque=torque, knock=knock, load=load,
    )
