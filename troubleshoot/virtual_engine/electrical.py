"""Electrical: charging, loads, the starter and the voltage the controller gets."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy import exp, maximum, minimum, pi, sqrt, where

from troubleshoot.virtual_engine import combustion
from troubleshoot.virtual_engine.parameters import Parameters, Values

CONTROLLER_CURRENT = 4.0
CONTROLLER_WORKS_ABOVE = 6.3  # V
INJECTOR_CURRENT = 4.4
TORQUE_PER_AMP = 9.549  # N.m per A for each V/rpm
LEADS_OHM = 0.07
"""The battery's leads at the frequencies of the ripple."""
DIODE_TAKES = 0.25
"""Share of the current that goes with each diode of a phase: an open pair leaves about a half."""
IDLE_CURRENT = 11.0
"""What pump, coil, injectors and the battery's charge add to the base load at idle, A."""


def charging(p: Parameters, rpm: Values, load: Values) -> tuple[Values, Values]:
    """Return system volts and alternator current with the engine running."""
    capacity = (1.0 - DIODE_TAKES * p.diodes_lost) * _capacity(p, rpm)
    spare = capacity - load
    held = minimum(maximum(0.5 * spare + 0.5, 0.0), 1.0)
    battery = minimum(p.battery_emf - 0.35 + spare * p.battery_ohm, p.charge_volts)
    return held * p.charge_volts + (1.0 - held) * battery, minimum(capacity, load + 3.0)


def _capacity(p: Parameters, rpm: Values) -> Values:
    """Return the most that the alternator gives at a speed with all its diodes, A."""
    turned = 1.0 - exp(-maximum(rpm - p.alternator_cut_in_rpm, 0.0) / p.alternator_rpm_scale)
    return p.alternator_ok * p.alternator_max * turned


def rectified(turns: Values, lost: Values) -> Values:
    """Return the current of a three-phase bridge about its mean, over the mean of a whole one, at turns of the field.

    `lost` is the diodes of one phase that do not conduct, 0 to 2 (textbook of rectifiers for none, one and two; a
    diode lost in part is an engineering estimate). Both broadcast.
    """
    one, two, three = (np.sin(2.0 * pi * (turns + shift / 3.0)) for shift in range(3))
    upper, lower = maximum(two, three), minimum(two, three)
    first, second = minimum(lost, 1.0), minimum(maximum(lost - 1.0, 0.0), 1.0)
    drive = first * upper + (1.0 - first) * maximum(one, upper) - second * lower - (1.0 - second) * minimum(one, lower)
    made: Values = (drive - drive.mean(axis=0)) * pi / (3.0 * sqrt(3.0))
    return made


def ripple(p: Parameters, rpm: Values) -> Values:
    """Return the alternating volts at the battery of an idling engine, root of the mean square."""
    amperes = minimum(_capacity(p, rpm), p.base_load + IDLE_CURRENT)
    shape = rectified(np.linspace(0.0, 1.0, 72, endpoint=False)[:, None], p.diodes_lost)
    volts: Values = (LEADS_OHM + p.battery_ohm) * amperes * np.std(shape, axis=0)
    return volts


def running_load(p: Parameters, pump_current: Values, coil_current: Values, duty: Values) -> Values:
    """Return the electrical load with the engine running, A."""
    return p.base_load + pump_current + where(p.points > 0.5, 0.55, 0.3) * coil_current + INJECTOR_CURRENT * duty


@dataclass(frozen=True, slots=True)
class Starter:
    """Cranking volts and torque at a speed."""

    battery_volts: Values
    starter_volts: Values
    ecu_volts: Values
    torque: Values
    amps: Values


def starter(p: Parameters, rpm: Values) -> Starter:
    """Return what battery and starter give at a cranking speed."""
    circuit = p.battery_ohm + p.starter_cable_ohm + p.starter_ohm
    current = maximum(p.battery_emf - p.starter_back_emf * rpm, 0.0) / circuit
    volts = p.battery_emf - (current + 12.0) * p.battery_ohm
    ecu = where(p.ecu_dead_in_start > 0.5, 0.0, volts - CONTROLLER_CURRENT * p.ecu_crank_ohm)
    torque = p.starter_efficiency * TORQUE_PER_AMP * p.starter_back_emf * current
    return Starter(volts, volts - current * p.starter_cable_ohm, ecu, torque, current)


def cranking_speed(p: Parameters, coolant_c: Values) -> Values:
    """Return the speed at which starter torque meets friction and load (a quadratic, solved in closed form)."""
    thickness = combustion.oil_thickness(coolant_c)
    per_kpa = p.displacement / (4.0 * pi)
    still = (p.friction_0 * (0.45 + 0.55 * thickness) + 3.0) * per_kpa + 0.6 * p.idle_load
    linear = p.friction_1 * thickness * 1e-3 * per_kpa + p.idle_load * 0.4 / 750.0
    square = p.friction_2 * 1e-6 * per_kpa
    circuit = p.battery_ohm + p.starter_cable_ohm + p.starter_ohm
    pull = p.starter_efficiency * TORQUE_PER_AMP * p.starter_back_emf / circuit
    b = linear + pull * p.starter_back_emf
    spare = maximum(pull * p.battery_emf - still, 0.0)
    return minimum(2.0 * spare / (b + sqrt(b * b + 4.0 * square * spare)), 450.0)
