"""One step in time of a batch of engines: volts, signal, air, fuel, film, spark, work, loops.

Mean-value model after Hendricks & Sorenson (SAE 900616). The manifold is stepped implicitly because at full
throttle it fills in under a millisecond; everything else is explicit.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy import exp, log, maximum, minimum, pi, sqrt, where

from troubleshoot.virtual_engine import airflow, combustion, controller, electrical, sensors
from troubleshoot.virtual_engine.firing import Intake, make_spark, make_work
from troubleshoot.virtual_engine.fuel_supply import Supply, halves_of, vapour_loss
from troubleshoot.virtual_engine.loops import change_mode, idle_loop, trim_loop
from troubleshoot.virtual_engine.parameters import Draws, Flags, Values
from troubleshoot.virtual_engine.state import (
    JITTER,
    PULSE,
    VAPOUR,
    Constants,
    Lines,
    State,
    film_share,
    film_time,
)

NOISE_BURST_S = 0.12
"""How long noise on the speed signal lasts at a time (engineering estimate): it comes and goes, it does not hum."""


@dataclass(frozen=True, slots=True)
class Drive:
    """What the outside does in a step: time since key on, starter wanted, load torque, imposed speed."""

    time: float
    starter: bool
    plates: Values  # area of each half at the driver's throttle, breather included
    load: Values | None  # None: fan and drag only
    imposed_rpm: float | None
    uniform: Draws  # for random loss of signal


@dataclass(frozen=True, slots=True)
class Step:
    """What a step worked out besides the state, for recording."""

    volts: Values
    ecu_volts: Values
    target: Values
    pulse: Values
    duty: Values
    supply: Supply
    lam: Values
    lam_halves: Values
    timing: Values
    available_kv: Values
    misfires: Values
    torque: Values
    closed_loop: Flags


def _volts(k: Constants, s: State, starter: bool) -> tuple[Values, Values, Values, Flags]:
    """Return system volts, controller volts, alternator or starter torque on the crank, who is cranking."""
    p = k.p
    volts, current = electrical.charging(p, s.rpm, s.load)
    drag = volts * current / (0.55 * pi / 30.0) / maximum(s.rpm, 20.0)
    torque = -drag
    ecu = volts - electrical.CONTROLLER_CURRENT * p.ecu_ohm
    cranking = (s.held_time < 0.35) & starter
    if s.rpm.min() < 50.0:
        still = s.rpm < 50.0
        volts = where(still, p.battery_emf - 0.25, volts)
        ecu = where(still, volts - electrical.CONTROLLER_CURRENT * p.ecu_ohm, ecu)
        torque = where(still, 0.0, torque)
    if cranking.any():
        start = electrical.starter(p, s.rpm)
        volts = where(cranking, start.battery_volts, volts)
        ecu = where(cranking, start.ecu_volts, ecu)
        torque = where(cranking, start.torque, torque)
    s.held_time = where(s.rpm > 480.0, s.held_time + k.dt, where(s.held_time < 0.35, 0.0, s.held_time))
    return volts, ecu, torque, cranking


def _signal(k: Constants, s: State, awake: Flags, time: float, xi: Values, uniform: Draws) -> None:
    """Update the speed the controller reads."""
    p, rpm = k.p, s.rpm
    seen = rpm * p.pulse_scale
    if k.noisy or k.dropping or k.random_loss:
        extra = controller.float_pulses(p, rpm)
        lost = controller.lost_pulses(p, rpm)
        swing = 1.2 * (abs(extra) + lost + p.dropout_random)
        jitter = where(swing > 0.0036, swing * xi[JITTER] * sqrt(0.01 / k.dt), 0.0)
        seen = seen * maximum(1.0 + extra - lost + jitter, 0.0)
    if k.noisy:
        share = minimum(p.signal_noise, 0.9)
        begins = 1.0 - uniform < share / (1.0 - share) * (k.dt / NOISE_BURST_S)
        s.noise_on = where(s.noise_on, uniform >= k.dt / NOISE_BURST_S, begins) & (share > 0.0)
        seen = seen * where(s.noise_on, 1.0 + p.noise_gain * maximum(1.0 + 0.5 * xi[JITTER], 0.0), 1.0)
    if k.random_loss:
        share = p.dropout_random
        begins = uniform < share / (1.0 - share) * (k.dt / 0.08)
        ends = uniform < k.dt / 0.08
        s.lost_signal = where(s.lost_signal, ~ends, begins)
        seen = where(s.lost_signal, 0.0, seen)
    seen = where((rpm > p.signal_lowest_rpm) & (p.signal_on > 0.5), seen, 0.0)
    if k.bursting and time < 2.1:
        seen = where((time < p.burst_time) & ~s.running, p.burst_rpm, seen)
    seen = where(awake, seen, 0.0)
    s.rpm_seen = s.rpm_seen + (seen - s.rpm_seen) * k.rpm_gain
    s.rpm_idle = s.rpm_idle + (seen - s.rpm_idle) * k.idle_gain


def _manifold(k: Constants, s: State, plates: Values) -> tuple[Values, Values, Values, Values]:
    """Step both halves; return charge per cycle and flow of each half, exhaust pressure, charge temperature."""
    p, halves, rpm = k.p, s.halves, s.rpm
    idle = p.idle_valve_area * s.valve
    behind = plates + np.stack((idle * p.idle_air_split, idle * (1.0 - p.idle_air_split)))
    areas = airflow.in_series(behind, 0.5 * p.cleaner_area) + k.leaks
    exhaust = airflow.exhaust_pressure(p, s.air)
    charge_k = airflow.charge_k(p, k.coolant_c, s.air)
    curve = airflow.breathing_curve(p, rpm)
    charge = (k.charge_scale / charge_k) * airflow.volumetric_efficiency(p, curve, exhaust, halves) * halves
    per_cycle = rpm * (1.0 / 120.0)
    draw = charge * per_cycle
    inflow, slope = airflow.flow(areas, p.ambient_kpa, halves, p.ambient_k)
    across, joined = airflow.slot_flow(p, halves, charge_k)
    d = k.capacity / charge_k + 1.12 * draw / halves - slope + joined
    net = inflow - draw
    first, second = net[0] - across, net[1] + across
    det = d[0] * d[1] - joined * joined
    change = np.stack(((d[1] * first + joined * second) / det, (d[0] * second + joined * first) / det))
    new = minimum(maximum(halves + minimum(maximum(change, -60.0), 60.0), 8.0), p.ambient_kpa + 1.0)
    if k.charge_new > 0.0:
        charge = charge * (1.0 + k.charge_new * (new / halves - 1.0))
    s.halves = new
    draw = charge * per_cycle
    s.air = 0.5 * (s.air + draw[0] + draw[1])
    return charge, draw, exhaust, charge_k


def _map_sensor(k: Constants, s: State, xi: Values) -> None:
    """Update the manifold pressure the controller reads, intake pulses and lag included."""
    p = k.p
    keep = exp(-k.dt / 0.12)
    s.map_noise = keep * s.map_noise + float(np.sqrt(1.0 - keep * keep)) * xi[PULSE]
    pulse = p.map_pulse * minimum(maximum(1500.0 / maximum(s.rpm, 20.0), 0.1), 1.0) * s.map_noise
    pressure = p.map_source * s.halves[0] + (1.0 - p.map_source) * s.halves[1]
    output = sensors.map_output(p, pressure + where(s.rpm > 20.0, pulse, 0.0), k.offset)
    s.map_seen = s.map_seen + (output - s.map_seen) * k.map_gain


def _pulse(k: Constants, s: State, ecu: Values, awake: Flags) -> tuple[Values, Values, Values]:
    """Return target lambda, commanded pulse and pulses per second."""
    p, rpm = k.p, s.rpm_seen
    target = controller.target_lambda(p, rpm, s.map_seen)
    believed = controller.believed_charge_k(p, k.coolant_ecu, s.air)
    fuel = controller.fuel_per_turn(p, controller.believed_efficiency(p, rpm, s.map_seen), s.map_seen, believed, target)
    rich = s.after_start
    if s.run_time.min() < 8.0:
        rich = rich + where(s.running & (s.run_time < 8.0), k.run_up * exp(s.run_time * (-1.0 / 0.8)), 0.0)
    fuel = fuel * k.warm_up * (1.0 + s.trim) * (1.0 + rich * p.after_start_gain) * (1.0 + s.accel)
    if not s.run_mode.all():
        cranked = where((s.turns >= p.sync_turns) & (s.throttle_ecu <= 0.8), k.crank_fuel, 0.0)
        fuel = where(s.run_mode | (rpm > 7000.0), fuel, cranked)
    cut = s.cut | (s.running & (rpm > p.rev_limit))
    fuel = where(cut | ~awake, 0.0, maximum(fuel, 0.0))
    rate = rpm * (1.0 / 60.0)
    dead = p.dead_time_ecu * 1e-3 * exp(1.6 * log(13.5 / maximum(ecu, 4.0)))
    pulse = where(fuel > 0.0, fuel / k.full_size_ecu + dead, 0.0)
    return target, minimum(pulse, p.duty_limit / maximum(rate, 1e-3)), rate


def _fuel(
    k: Constants, s: State, volts: Values, pulse: Values, rate: Values, time: float, xi: Values
) -> tuple[Values, Supply]:
    """Step the rail; return the fuel injected into each half, g/s, and the state of the supply."""
    p = k.p
    duty = pulse * rate
    reach = maximum(volts - 4.4 * p.injector_feed_ohm * (0.25 + 0.75 * duty), 0.5)
    delay = p.injector_delay * exp(1.6 * log(13.5 / reach))
    opened = maximum(pulse - delay, 0.0) * rate
    fuel = k.fuel.supply(volts, k.demand_scale * opened, s.rail, rounds=1)
    pumping = (s.rpm_seen > 40.0) | (time < 2.0)
    lag = 0.10 + 0.25 * s.vapour
    follow = s.rail + (fuel.rail_kpa - s.rail) * (k.dt / (lag + k.dt))
    if pumping.all() and p.pump_on.all():
        s.rail = follow
    else:
        pumping = pumping & (p.pump_on > 0.5)
        s.rail = where(pumping, follow, maximum(s.rail - (2.0 + 400.0 * opened) * k.dt, 0.0))
    injected = k.injector_size * sqrt(s.rail * (1.0 / 400.0)) * opened * vapour_loss(fuel.starved)
    if fuel.starved.max() > 0.15:
        uneven = maximum(1.0 + 0.3 * fuel.starved * xi[VAPOUR], 0.0)
        injected = injected * where(fuel.starved > 0.15, uneven, 1.0)
    if s.vapour.any():
        clears = s.vapour * exp(where(pumping, fuel.flow, 0.0) * (-k.dt / 3600.0 / 0.12))
        s.vapour = where(clears > 1e-6, clears, 0.0)
        injected = injected * (1.0 - 0.92 * s.vapour)
    return halves_of(p, injected), fuel


def wall_film(k: Constants, s: State, given: Values) -> Values:
    """Step the wall film of each half; return the fuel that reaches the cylinders, g/s (mass is kept)."""
    wets = film_share(k, s.halves) * given
    turning = minimum(s.rpm * (1.0 / 120.0), 1.0)
    leaves = s.film * (turning / film_time(k, s.halves, s.rpm))
    arrives = (given - wets) * turning
    s.film = maximum(s.film + (given - arrives - leaves) * k.dt, 0.0)
    return arrives + leaves


def step(k: Constants, s: State, lines: Lines, drive: Drive, xi: Values) -> Step:
    """Advance the state by one step and return what else was worked out."""
    p, rpm = k.p, s.rpm
    volts, ecu, electric, cranking = _volts(k, s, drive.starter)
    awake = ecu > electrical.CONTROLLER_WORKS_ABOVE
    _signal(k, s, awake, drive.time, xi, drive.uniform)
    charge, draw, exhaust, charge_k = _manifold(k, s, drive.plates)
    _map_sensor(k, s, xi)
    change_mode(k, s)
    target, pulse, rate = _pulse(k, s, ecu, awake)
    given, fuel = _fuel(k, s, volts, pulse, rate, drive.time, xi)
    burnt = maximum(wall_film(k, s, given), 1e-9)
    lam_halves = minimum(maximum(draw / (k.burns * burnt), 0.02), 6.0)
    lam = minimum(maximum((draw[0] + draw[1]) / (k.burns * (burnt[0] + burnt[1])), 0.02), 6.0)
    intake = Intake(charge, exhaust, charge_k, 0.5 * (s.halves[0] + s.halves[1]), lam, lam_halves)
    spark = make_spark(k, s, intake, volts, cranking, xi)
    work = make_work(k, s, lines, intake, spark, cranking, xi)
    load = combustion.load_torque(p, rpm) if drive.load is None else drive.load
    _turn(k, s, work.even + work.uneven + electric - load, drive)

    misfire = 0.5 * (work.misfires[0] + work.misfires[1])
    lines.o2.push(sensors.lambda_reading(lam, misfire, sensors.sensor_error(p, s.air)))
    s.o2 = s.o2 + (lines.o2.read(sensors.transport_delay(p, rpm, s.air)) - s.o2) * k.o2_gain
    duty = pulse * rate
    pumping = where((s.rpm_seen > 40.0) | (drive.time < 2.0), fuel.current, 0.0)
    s.load = electrical.running_load(p, pumping, spark.current, duty)
    closed = trim_loop(k, s, target)
    idle_loop(k, s)
    return Step(
        volts,
        ecu,
        target,
        pulse,
        duty,
        fuel,
        lam,
        lam_halves,
        spark.timing,
        spark.available_kv,
        work.misfires,
        work.even + where(cranking, 0.0, electric),
        closed,
    )


def _turn(k: Constants, s: State, torque: Values, drive: Drive) -> None:
    """Step the crank and note when the engine starts running and when it stalls."""
    if drive.imposed_rpm is not None:
        s.rpm = np.full_like(s.rpm, drive.imposed_rpm)
    else:
        s.rpm = maximum(s.rpm + torque * k.inertia_gain, 0.0)
    begins = ~s.running & (s.rpm >= 480.0)
    if begins.any():
        s.start_time = where(begins & np.isnan(s.start_time), drive.time, s.start_time)
        s.running = s.running | begins
        s.run_time = where(begins, 0.0, s.run_time)
    dies = s.running & (s.rpm < 180.0)
    if dies.any():
        s.stalled, s.running = s.stalled | dies, s.running & ~dies
        s.after_start = where(dies, k.after_start, s.after_start)
