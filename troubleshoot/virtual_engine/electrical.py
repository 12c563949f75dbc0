"""Electrical: charging, loads, the starter and the voltage the controller gets."""

from __future__ import annotations

from dataclasses import dataclass

from numpy import exp, maximum, minimum, pi, sqrt, where

from troubleshoot.virtual_engine import combustion
from troubleshoot.virtual_engine.parameters import Parameters, Values

CONTROLLER_CURRENT = 4.0
CONTROLLER_WORKS_ABOVE = 6.3  # V
INJECTOR_CURRENT = 4.4
TORQUE_PER_AMP = 9.549  # N.m per A for each V/rpm


def charging(p: Parameters, rpm: Values, load: Values) -> tuple[Values, Values]:
    """Return system volts and alternator current with the engine running."""
    capacity = (
        p.alternator_ok
        * p.alternator_max
        * (1.0 - exp(-maximum(rpm - p.alternator_cut_in_rpm, 0.0) / p.alternator_rpm_scale))
    )
    spare = capacity - load
    held = minimum(maximum(0.5 * spare + 0.5, 0.0), 1.0)
    battery = minimum(p.battery_emf - 0.35 + spare * p.battery_ohm, p.charge_volts)
    return held * p.charge_volts + (1.0 - held) * battery, minimum(capacity, load + 3.0)


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
