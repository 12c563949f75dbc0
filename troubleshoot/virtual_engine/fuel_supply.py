"""Fuel supply: pump line, suction and vapour, filter, bypass regulator, injectors, wall film.

Rail pressures are kPa gauge, pump flows L/h, injected flows g/s.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy import exp, log10, maximum, minimum, sqrt, where

from troubleshoot.virtual_engine.parameters import Parameters, Values

KPA_PER_PSI = 6.895
FUEL_DENSITY = 745.0  # g/L
LPH_PER_GPS = 3600.0 / FUEL_DENSITY
HEAD_PER_M = 7.31  # kPa of petrol per metre of lift


@dataclass(frozen=True, slots=True)
class Supply:
    """What the pump and regulator settle at."""

    rail_kpa: Values
    flow: Values  # L/h through the pump
    returned: Values  # L/h
    outlet_kpa: Values  # before the filter, gauge
    inlet_kpa: Values  # at the pump inlet, absolute
    current: Values
    pump_volts: Values
    cavitation: Values  # 0..1
    starved: Values  # 0..1, cavitation that reaches the injectors


def vapour_kpa(reid_psi: Values, fuel_c: Values) -> Values:
    """Return the vapour pressure of petrol, kPa absolute (correlation of US EPA AP-42 chapter 7, slope 3)."""
    rankine = (fuel_c + 273.15) * 1.8
    root, grade = float(np.sqrt(3.0)), log10(reid_psi)
    exponent = (
        (0.7553 - 413.0 / rankine) * root * grade
        - (1.854 - 1042.0 / rankine) * root
        + (2416.0 / rankine - 2.013) * grade
        - 8742.0 / rankine
        + 15.64
    )
    return KPA_PER_PSI * exp(exponent)


def suction_limit(p: Parameters) -> Values:
    """Return the pump flow at which the inlet pressure falls to the vapour pressure, L/h."""
    margin = p.ambient_kpa - HEAD_PER_M * p.suction_lift - vapour_kpa(p.reid_psi, p.fuel_c)
    return sqrt(maximum(margin, 0.0) / p.suction_resistance)


def turning(p: Parameters, volts: Values) -> Values:
    """Return 1 where the pump turns, 0 where its volts at set pressure no longer turn it, sloping over 0.8 V.

    A 12 V pump stands still below 5 to 6 V at its terminals (common practice, no source).
    """
    amps = p.pump_base_current + p.pump_current_slope * p.regulator_kpa
    at_pump = volts - amps * (p.pump_supply_ohm + p.pump_ground_ohm)
    return minimum(maximum((at_pump - p.pump_stall_volts) * (1 / 0.8), 1e-6), 1.0)


def pump_line(p: Parameters, volts: Values) -> tuple[Values, Values]:
    """Return the shut-off pressure, kPa, and the flow at no pressure, L/h, wire resistance included."""
    ohm = p.pump_ohm + p.pump_supply_ohm + p.pump_ground_ohm
    top = maximum(p.pump_per_volt * (volts - p.pump_base_current * ohm), 0.001) * turning(p, volts)
    return top, p.pump_per_volt * p.pump_current_slope * ohm + p.pump_leakage


@dataclass(frozen=True, slots=True)
class FuelCircuit:
    """The fuel circuit of a batch with everything that stays constant worked out once."""

    p: Parameters
    limit: Values  # L/h at which the pump cavitates
    open_a: Values
    line: Values  # kPa per L/h

    @classmethod
    def of(cls, p: Parameters) -> FuelCircuit:
        """Prepare the circuit of a batch."""
        return cls(p, suction_limit(p), p.filter_resistance + p.return_resistance, 10.0 * p.line_resistance)

    def _balance(
        self, top: Values, slope: Values, demand: Values, start: Values, rounds: int
    ) -> tuple[Values, Values, Values]:
        """Return rail pressure, pump flow and return flow against a pump line top - slope*flow."""
        p = self.p
        share = maximum(demand * 0.05, 1e-9)  # L/h per root kPa
        shut_b = share * (slope + self.line)
        shut_a = 1.0 + p.filter_resistance * share * share
        root = (sqrt(shut_b * shut_b + 4.0 * shut_a * top) - shut_b) / (2.0 * shut_a)
        root = minimum(root, self.limit / share)
        shut_kpa, shut_flow = minimum(root * root, p.regulator_kpa), share * root
        rail, flow, back = start, shut_flow, np.zeros_like(shut_flow)
        for _ in range(rounds):
            injected = share * sqrt(maximum(rail, 0.0))
            b = slope + self.line + p.regulator_slope - 2.0 * p.return_resistance * injected
            c = p.regulator_kpa + injected * (p.return_resistance * injected - p.regulator_slope) - top
            wide = minimum((sqrt(maximum(b * b - 4.0 * self.open_a * c, 0.0)) - b) / (2.0 * self.open_a), self.limit)
            opened = wide > injected
            back = where(opened, wide - injected, 0.0)
            rail = where(opened, p.regulator_kpa + back * (p.regulator_slope + p.return_resistance * back), shut_kpa)
            flow = where(opened, wide, shut_flow)
        return rail, flow, back

    def supply(self, volts: Values, demand: Values, start: Values | None = None, rounds: int = 3) -> Supply:
        """Return what pump and regulator settle at for an injector demand at 400 kPa, L/h."""
        p = self.p
        top, slope = pump_line(p, volts)
        shut_off = top / slope
        first = p.regulator_kpa if start is None else start
        rail, flow, back = self._balance(shut_off, 1.0 / slope, demand, first, rounds)
        outlet = rail + flow * (p.filter_resistance * flow + self.line)
        relieved = outlet > p.relief_kpa
        if relieved.any():
            held = self._balance(p.relief_kpa, np.zeros_like(slope), demand, first, rounds)
            rail, flow, back = (where(relieved, new, old) for new, old in zip(held, (rail, flow, back), strict=True))
            outlet = rail + flow * (p.filter_resistance * flow + self.line)
        wanted = maximum(p.pump_per_volt * (volts - 2.5) - p.pump_leakage * maximum(outlet, 100.0), 1.0)
        cavitation = minimum(maximum(1.15 - self.limit / wanted, 0.0), 1.0)
        current = (p.pump_base_current + p.pump_current_slope * outlet) * where(cavitation > 0.2, 0.9, 1.0)
        share = minimum(back / (0.15 * flow + 2.0), 1.0)  # what is left over: bubbles go home through the return
        starved = cavitation * (1.0 - share)
        on = p.pump_on
        at_pump = (volts - current * (p.pump_supply_ohm + p.pump_ground_ohm)) * on
        inlet = p.ambient_kpa - HEAD_PER_M * p.suction_lift - p.suction_resistance * (flow * on) ** 2
        return Supply(
            rail * on, flow * on, back * on, outlet * on, inlet, current * on, at_pump, cavitation * on, starved * on
        )


def opening_delay(p: Parameters, volts: Values, duty: Values) -> Values:
    """Return the true opening delay of the injectors, s, at the volts that reach them."""
    reach = maximum(volts - 4.4 * p.injector_feed_ohm * (0.25 + 0.75 * duty), 0.5)
    return p.injector_delay * (13.5 / reach) ** 1.6


def injector_size(p: Parameters) -> Values:
    """Return the flow of all injectors held open at 400 kPa, g/s."""
    return p.injectors * p.injector_flow * p.injector_factor


def lost_share(p: Parameters) -> Values:
    """Return the share of half A's injectors that give nothing."""
    return p.injectors_lost / (p.injectors * 0.5)


def halves_of(p: Parameters, injected: Values) -> Values:
    """Return what each half gets of an injected flow, drips included, g/s."""
    half = 0.5 * injected
    drip = 0.5 * p.drip
    return np.stack(
        (
            half * (1.0 - lost_share(p)) * (1.0 + p.fuel_imbalance) + drip,
            half * (1.0 - p.fuel_imbalance) + drip,
        )
    )


def vapour_loss(starved: Values) -> Values:
    """Return the factor on injected flow when vapour reaches the injectors (engineering estimate)."""
    return where(starved > 0.15, 1.0 - 0.25 * starved, 1.0)
