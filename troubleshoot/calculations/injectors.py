"""Fuel: flow, duty and pulse width of the injectors, and the pressure across them."""

import math
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, NamedTuple

from troubleshoot.calculations.definition import calculation
from troubleshoot.calculations.fields import Quantity
from troubleshoot.calculations.quantities import (
    Barometer,
    DeadTime,
    EngineSpeed,
    FuelFlow,
    FuelPerPower,
    InjectorFlow,
    Injectors,
    ManifoldPressure,
    PulsesPerTurn,
    PulseWidth,
)
from troubleshoot.calculations.refusals import cannot

RailPressure = Annotated[float, Quantity("rail pressure, gauge", "p_r", "psi", 0, 150, (5, 90), "kPa for psi?")]


def _ratio_notes(inputs: Mapping[str, Any], _outputs: Mapping[str, float]) -> Iterator[str]:
    if not 0.5 <= inputs["pressure_actual"] / inputs["pressure_rated"] <= 2:
        yield "Beyond half or twice the rated pressure the spray and the opening delay change: take it as rough."


@calculation("fuel", "F2", "Injector flow at another pressure", notes=_ratio_notes)
def injector_flow_at_pressure(
    flow: InjectorFlow,
    pressure_rated: Annotated[
        float, Quantity("rated pressure difference", "p_1", "psi", 0.5, 300, (8, 120), "kPa for psi?")
    ],
    pressure_actual: Annotated[
        float, Quantity("actual pressure difference", "p_2", "psi", 0.5, 300, (5, 120), "no flow at zero; kPa for psi?")
    ],
) -> Annotated[float, Quantity("actual flow", "q_2", "lb/h"), "flow-actual"]:
    """Give the flow of an injector at a pressure other than the one it is rated at.

    Formula: q_2 = q·√(p_2/p_1)
    Valid: pressure ratio 0.5–2; pressures are the rail less the pressure at the nozzle.
    Source: orifice: flow goes with the square root of the pressure difference.
    Use: A rail at 40 instead of 58 psi costs 17 % of the fuel at every pulse width: lean everywhere.

    >>> pound_an_hour, psi = 0.45359237 / 3600, 6894.757293168
    >>> round(injector_flow_at_pressure(80 * pound_an_hour, 43.5 * psi, 50 * psi) / pound_an_hour, 4)
    85.769
    """
    return flow * math.sqrt(pressure_actual / pressure_rated)


class Duty(NamedTuple):
    """Share of the time the injector is commanded open, and the share in which fuel flows."""

    duty: Annotated[
        float,
        Quantity("duty", "DC", "%", usual=(0, 85), outside="injectors too small or pressure low; no control over 90 %"),
    ]
    flow_duty: Annotated[float, Quantity("flow duty", "DC_f", "%")]


def _duty_notes(inputs: Mapping[str, Any], outputs: Mapping[str, float]) -> Iterator[str]:
    if outputs["duty"] > 1:
        yield "Over 100 %: the injector is open all the time, out of fuel."
    if inputs["pulse_width"] < inputs["dead_time"]:
        yield "The pulse is shorter than the dead time: the flow is zero."


@calculation("fuel", "F3", "Injector duty cycle", notes=_duty_notes)
def injector_duty(
    pulse_width: PulseWidth,
    engine_speed: EngineSpeed,
    dead_time: DeadTime = 0.001,
    pulses_per_turn: PulsesPerTurn = 1.0,
) -> Duty:
    """Give how much of the time an injector is open.

    Formula: T = 60/(N·e)
        DC = PW/T
        DC_f = max(PW - t_d, 0)/T
    Valid: e pulses each crank turn: 0.5 once a cycle, 1 once a turn, n/2 every spark. Flow duty is never below zero.
    Source: pulse width over period; flow duty takes the dead time off.
    Use: Over 85 % at peak power the injectors are too small or the pressure is low (common practice, no source).

    >>> injector_duty(0.008, 6000, 0.001, 1)
    Duty(duty=0.8, flow_duty=0.7)
    """
    period = 60 / (engine_speed * pulses_per_turn)
    return Duty(pulse_width / period, max(pulse_width - dead_time, 0.0) / period)


def _pulse_notes(inputs: Mapping[str, Any], outputs: Mapping[str, float]) -> Iterator[str]:
    period = 60 / (inputs["engine_speed"] * inputs["pulses_per_turn"])
    if outputs["pulse-width"] > period:
        yield "The pulse is longer than the time there is for it: these injectors cannot feed this flow."
    if outputs["pulse-width"] < 0.0015:
        yield "Under about 1.5 ms an injector is not linear: idle control is rough (common practice)."


@calculation("fuel", "F3", "Pulse width for a fuel flow", notes=_pulse_notes)
def injector_pulse_width(
    fuel: FuelFlow,
    injectors: Injectors,
    flow_each: InjectorFlow,
    engine_speed: EngineSpeed,
    pulses_per_turn: PulsesPerTurn = 1.0,
    dead_time: DeadTime = 0.001,
) -> Annotated[float, Quantity("pulse width", "PW", "ms")]:
    """Give the pulse each injector needs for the engine's fuel flow.

    Formula: T = 60/(N·e)
        PW = ṁ/(n_i·q)·T + t_d
    Valid: injector flow at the pressure there really is; e pulses each crank turn.
    Source: fuel per pulse over injector flow, plus the opening delay.
    Use: A controller that shows far more than this pulse is making up for low pressure or a leak.

    >>> pulse = injector_pulse_width(6 * 0.45359237 / 3600, 4, 80 * 0.45359237 / 3600, 700, 1, 0.0009)
    >>> round(pulse * 1000, 5)
    2.50714
    """
    return fuel / (injectors * flow_each) * 60 / (engine_speed * pulses_per_turn) + dead_time


@calculation("fuel", "F4", "Most power the injectors can feed")
def injector_power_limit(
    injectors: Injectors,
    flow_each: InjectorFlow,
    duty_limit: Annotated[
        float, Quantity("duty limit", "DC", "%", 1.5, 100, (60, 90), "a fraction for per cent?")
    ] = 0.85,
    bsfc: FuelPerPower = 0.5 * 0.45359237 / (745.6998715822702 * 3600),
) -> Annotated[float, Quantity("power", "P", "hp")]:
    """Give the brake power above which the injectors run out.

    Formula: P = n_i·q·DC/BSFC
    Valid: flow at the pressure there really is.
    Source: flow times duty over brake specific fuel consumption.
    Use: Before chasing a lean top end: can the hardware do it at all?

    >>> round(injector_power_limit(8, 30 * 0.45359237 / 3600) / 745.6998715822702, 6)
    408.0
    """
    return injectors * flow_each * duty_limit / bsfc


PressureDifference = Annotated[float, Quantity("pressure difference", "Δp", "psi"), "difference"]


@calculation("fuel", "F5", "Injector pressure, fixed regulator, spraying below the blades")
def injector_pressure_below_blades(
    rail_pressure: RailPressure, barometer: Barometer, manifold_pressure: ManifoldPressure
) -> PressureDifference:
    """Give the pressure that drives an injector spraying under the throttle with a regulator vented to air.

    Formula: Δp = p_r + p_b - p_m
    Valid: rail gauge against the outside; barometer and manifold pressure absolute; unblown engine.
    Source: gauge pressure plus manifold vacuum.
    Use: Without a manifold reference idle vacuum adds about 7.4 psi: 6 % more fuel than the table thinks.

    >>> round(injector_pressure_below_blades(58 * 6894.757293168, 101325, 50e3) / 6894.757293168, 5)
    65.44406
    """
    if manifold_pressure > 1.1 * barometer:
        raise cannot(
            "manifold_pressure",
            "Manifold pressure is above the barometer, which an unblown engine cannot have: gauge typed for absolute?",
            "up to the barometer",
        )
    return rail_pressure + barometer - manifold_pressure


@calculation("fuel", "F5", "Injector pressure, spraying above the blades")
def injector_pressure_above_blades(
    rail_pressure: RailPressure,
    air_cleaner_vacuum: Annotated[
        float, Quantity("air-cleaner drop", "p_a", "inH2O", 0, 100, (0, 20), "inHg for inH₂O?")
    ] = 0.0,
) -> PressureDifference:
    """Give the pressure that drives an injector spraying above the throttle blades, the usual throttle body.

    Formula: Δp = p_r + p_a
    Valid: manifold vacuum does not reach a nozzle above the blades; only the air cleaner's drop counts.
    Source: pressure balance at the nozzle.
    Use: Such a throttle body wants a fixed regulator vented to air; a vacuum hose on it makes idle lean.

    >>> round(injector_pressure_above_blades(58 * 6894.757293168, 2 * 249.08891) / 6894.757293168, 4)
    58.0723
    """
    return rail_pressure + air_cleaner_vacuum


class ReferencedRail(NamedTuple):
    """What the gauge shows and what the injector feels with a vacuum hose on the regulator."""

    rail_pressure: Annotated[float, Quantity("rail pressure, gauge", "p_r", "psi")]
    difference: Annotated[float, Quantity("pressure difference", "Δp", "psi")]


@calculation("fuel", "F5", "Rail gauge reading with a manifold-referenced regulator")
def rail_pressure_with_vacuum_hose(
    set_pressure: Annotated[float, Quantity("set pressure, hose off", "p_s", "psi", 1, 150, (5, 90), "kPa for psi?")],
    manifold_vacuum: Annotated[float, Quantity("manifold vacuum", "v", "inHg", 0, 30, (0, 26))],
) -> ReferencedRail:
    """Give what the gauge should show when manifold vacuum pulls on the regulator.

    Formula: p_r = p_s - v
        Δp = p_s
    Valid: injectors spraying into the manifold; the gauge reads against outside air.
    Source: the regulator holds rail less manifold constant.
    Use: Gauge that does not fall by half a psi an inch of mercury: hose off, split, or regulator not referenced.

    >>> round(rail_pressure_with_vacuum_hose(43.5 * 6894.757293168, 18 * 3386.3886).rail_pressure / 6894.757293168, 4)
    34.6592
    """
    return ReferencedRail(set_pressure - manifold_vacuum, set_pressure)


@calculation("electrical", "E8", "Injector opening delay, R-L model")
def injector_opening_delay(
    voltage: Annotated[float, Quantity("voltage at the injector", "V", "V", 0.5, 60, (6, 16))],
    resistance: Annotated[
        float, Quantity("injector resistance", "R", "ohm", 0.1, 100, (10, 18), "a low-resistance one is driven unlike")
    ],
    inductance: Annotated[float, Quantity("injector inductance", "L", "mH", 0.05, 100, (1, 30))],
    pull_in_current: Annotated[float, Quantity("pull-in current", "I_p", "A", 0.01, 20, (0.1, 5))],
) -> Annotated[float, Quantity("delay", "t", "ms")]:
    """Give the electrical part of the time an injector takes to open.

    Formula: t = -(L/R)·ln(1 - I_p·R/V)
    Valid: high-resistance injectors (12–16 Ω); a real injector adds a mechanical part and more with pressure. Usual
        totals (from memory): 8 V 2.0–2.6 ms, 10 V 1.4–1.7, 12 V 1.0–1.2, 14 V 0.75–0.9.
    Source: time for the current of an R-L circuit to reach pull-in.
    Use: Idle lean when the lights come on but fine at load points to the dead-time-against-voltage table.

    >>> round(injector_opening_delay(14, 12, 0.012, 0.5) * 1000, 6)
    0.559616
    """
    if pull_in_current * resistance >= voltage:
        raise cannot(
            "voltage",
            f"The injector will not open at this voltage: it needs over {pull_in_current * resistance:.3g} V.",
            f"over {pull_in_current * resistance:.3g} V",
        )
    return -inductance / resistance * math.log(1 - pull_in_current * resistance / voltage)


@calculation("electrical", "E8", "Mixture error from a wrong dead time")
def dead_time_error(
    pulse_width: PulseWidth,
    dead_time_set: Annotated[float, Quantity("dead time set", "t_s", "ms", 0, 10, (0, 3), "µs for ms?")],
    dead_time_true: Annotated[float, Quantity("true dead time", "t_t", "ms", 0, 10, (0, 3), "µs for ms?")],
) -> Annotated[float, Quantity("fuel error", "e", "%", usual=(-15, 15), outside="enough to see at the sensor")]:
    """Give the mixture error a wrong dead time makes; minus is lean.

    Formula: e = (PW - t_t)/(PW - t_s) - 1
    Valid: pulse width above the dead time set.
    Source: true open time over assumed open time.
    Use: The error is large at idle and vanishes at load: that pattern points to the dead time, not to the table.

    >>> round(dead_time_error(0.0024, 0.0009, 0.0012), 6)
    -0.2
    """
    if pulse_width <= max(dead_time_set, dead_time_true):
        raise cannot("pulse_width", "Pulse width is not above the dead time: no fuel flows.", "above the dead time")
    return (pulse_width - dead_time_true) / (pulse_width - dead_time_set) - 1
