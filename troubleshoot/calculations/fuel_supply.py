"""Fuel: pump, line, filter, the margin before fuel boils at the pump inlet, and leak-down of the rail."""

import math
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, NamedTuple

from troubleshoot.calculations.definition import calculation
from troubleshoot.calculations.fields import Quantity
from troubleshoot.calculations.fuel_properties import FuelTemperature, ReidVapourPressure, true_vapour_pressure
from troubleshoot.calculations.quantities import Barometer, Current, FuelDensity, PumpFlow, Volts
from troubleshoot.calculations.refusals import cannot
from troubleshoot.calculations.unit_table import PSI

PumpPressure = Annotated[float, Quantity("pressure, gauge", "p", "psi", 0, 200, (0, 100), "kPa for psi?")]


@calculation("fuel", "F6", "Pump flow at pressure and voltage")
def pump_flow(
    flow_per_volt: Annotated[float, Quantity("flow gained per volt", "a", "gal/(h*V)", 0.1, 200, (2, 40))],
    flow_lost_per_psi: Annotated[float, Quantity("flow lost to pressure", "b", "gal/(h*psi)", 0, 50, (0.05, 5))],
    voltage: Volts,
    pressure: PumpPressure,
) -> Annotated[float, Quantity("flow", "Q", "gal/h")]:
    """Give what an electric pump delivers at a pressure and the voltage at its terminals.

    Formula: Q = a·V - b·p
    Valid: near the working point, 9–15 V; fit a and b to two or more points of the pump sheet.
    Source: straight-line model: speed goes with voltage, leakage with pressure; two fitted constants.
    Use: 12.0 V instead of 13.5 V loses about 16 % on a usual pump: why the supply, 13 V or more running, is checked
        first.

    >>> gph, psi = 231 * 0.0254**3 / 3600, 6894.757293168
    >>> round(pump_flow(10 * gph, 0.8 * gph / psi, 12.0, 50 * psi) / gph, 6)
    80.0
    """
    flow = flow_per_volt * voltage - flow_lost_per_psi * pressure
    if flow < 0:
        most = flow_per_volt * voltage / flow_lost_per_psi / PSI
        raise cannot(
            "pressure",
            "The pump cannot reach that pressure at that voltage; "
            f"it stops at {most:.3g} psi, {most * PSI / 1000:.3g} kPa.",
            f"up to {most:.3g} psi",
        )
    return flow


@calculation("fuel", "F6", "Pump flow from a timed test")
def pump_flow_test(
    volume: Annotated[float, Quantity("volume caught", "v", "gal", 0.01, 20)],
    time: Annotated[float, Quantity("time", "t", "s", 1, 3600)],
) -> Annotated[float, Quantity("flow", "Q", "gal/h")]:
    """Give the flow when a volume of fuel is caught through the return in a time.

    Formula: Q = v/t
    Valid: pressure and voltage as in running; catch fuel in a closed can outdoors, no sparks, extinguisher at hand.
    Source: volume over time; one gallon takes 3600/Q seconds with Q in gal/h.
    Use: Compare with the demand at full power, with 20 % in hand (common practice, no source).

    >>> gallon = 231 * 0.0254**3
    >>> round(pump_flow_test(gallon, 60) / gallon * 3600, 6)
    60.0
    """
    return volume / time


class PumpPower(NamedTuple):
    """Power the pump puts into the fuel, and its share of the electrical power."""

    hydraulic_power: Annotated[float, Quantity("hydraulic power", "P", "W")]
    efficiency: Annotated[
        float, Quantity("efficiency", "η", "%", usual=(12, 45), outside="below 12 % a worn or by-passing pump")
    ]


@calculation("fuel", "F6", "Pump power and efficiency")
def pump_efficiency(pressure: PumpPressure, flow: PumpFlow, voltage: Volts, current: Current) -> PumpPower:
    """Give how much of its electrical power a pump turns into pressure and flow.

    Formula: P = p·Q
        η = P/(V·I)
    Valid: readings taken together; pressure above the inlet.
    Source: pressure times flow over volts times amps.
    Use: 20–30 % is normal; below 12 % the pump is worn or by-passing (common practice, no source).

    >>> gph, psi = 231 * 0.0254**3 / 3600, 6894.757293168
    >>> round(pump_efficiency(50 * psi, 60 * gph, 13, 7).efficiency, 6)
    0.239006
    """
    power = pressure * flow
    if power > voltage * current:
        raise cannot("current", "The pump cannot deliver more power than it takes: check flow, volts and amps.")
    return PumpPower(power, power / (voltage * current))


class LineDrop(NamedTuple):
    """Kind of flow in a line, and the pressure it costs."""

    reynolds: Annotated[float, Quantity("Reynolds number", "Re", "1")]
    drop: Annotated[float, Quantity("pressure drop", "Δp", "psi")]


def _transition(_inputs: Mapping[str, Any], outputs: Mapping[str, float]) -> Iterator[str]:
    if 2000 < outputs["reynolds"] < 4000:
        yield "Between Re 2000 and 4000 the drop is uncertain by ±30 %; the turbulent value is given."


@calculation("fuel", "F7", "Fuel line pressure drop", notes=_transition)
def fuel_line_drop(
    flow: PumpFlow,
    inside_diameter: Annotated[
        float, Quantity("inside diameter", "D", "in", 0.04, 4, (0.12, 1), "inches for millimetres?")
    ],
    length: Annotated[float, Quantity("length", "L", "ft", 0.01, 200)],
    density: FuelDensity = 740.0,
    viscosity: Annotated[float, Quantity("viscosity", "μ", "mPa*s", 0.05, 50, (0.3, 2))] = 0.00055,
    roughness: Annotated[float, Quantity("wall roughness", "ε", "um", 0, 500, (0, 100))] = 1.5e-6,
) -> LineDrop:
    """Give the pressure a length of line costs at a flow.

    Formula: v = 4·Q/(π·D^2)
        Re = ρ·v·D/μ
        f = friction(Re, ε/D)
        Δp = f·L/D·ρ·v^2/2
    Valid: liquid only. friction is 64/Re below Re 2000; above, Colebrook 1/√f = -2·log10(ε/(3.7·D) + 2.51/(Re·√f));
        between 2000 and 4000 uncertain by 30 %. Gasoline 0.5–0.6 mPa·s at 20 °C.
    Source: Darcy-Weisbach with Colebrook's friction factor (public hydraulics texts; library fluids agrees).
    Use: 5/16 in supply line at 200 L/h loses 1.3 psi in 5 m: matters on the suction side, little after the pump. A
        return that is too small raises rail pressure at idle.

    >>> drop = fuel_line_drop(200e-3 / 3600, 0.0079, 5)
    >>> round(drop.reynolds), round(drop.drop)
    (12047, 8944)
    """
    speed = 4 * flow / (math.pi * inside_diameter**2)
    reynolds = density * speed * inside_diameter / viscosity
    factor = friction_factor(reynolds, roughness / inside_diameter)
    return LineDrop(reynolds, factor * length / inside_diameter * density * speed**2 / 2)


def friction_factor(reynolds: float, relative_roughness: float) -> float:
    """Return Darcy's friction factor: laminar up to Re 2000, Colebrook above."""
    return 64 / reynolds if reynolds <= 2000 else colebrook(reynolds, relative_roughness)


def colebrook(reynolds: float, relative_roughness: float) -> float:
    """Return Colebrook's friction factor, by Newton steps on 1/√f from Haaland's explicit value."""
    root = -1.8 * math.log10((relative_roughness / 3.7) ** 1.11 + 6.9 / reynolds)
    for _ in range(6):
        inside = relative_roughness / 3.7 + 2.51 * root / reynolds
        miss = root + 2 * math.log10(inside)
        root = root - miss / (1 + 2 * 2.51 / (reynolds * inside * math.log(10)))
    factor: float = 1 / root**2
    return factor


class LinePressure(NamedTuple):
    """Gauge pressure on both sides of the pump: at its inlet, and at the rail."""

    inlet_pressure: Annotated[
        float, Quantity("pump inlet pressure, gauge", "p_i", "psi", usual=(-3, math.inf), outside="the pump starves")
    ]
    rail_pressure: Annotated[float, Quantity("rail pressure, gauge", "p_r", "psi")]


@calculation("fuel", "F7", "Pressure along the line from tank to rail")
def pressure_along_line(
    pump_pressure: Annotated[float, Quantity("pump outlet pressure, gauge", "p_o", "psi", 0, 200, (5, 100))],
    filter_drop: Annotated[float, Quantity("filter drop", "Δp_f", "psi", 0, 100, (0, 2), "change the filter")] = 0.0,
    line_drop: Annotated[float, Quantity("supply line drop", "Δp_l", "psi", 0, 100, (0, 5))] = 0.0,
    lift: Annotated[float, Quantity("tank to pump, up", "h_1", "in", -120, 240, (-48, 48))] = 0.0,
    strainer_drop: Annotated[float, Quantity("strainer drop", "Δp_s", "psi", 0, 15)] = 0.0,
    suction_drop: Annotated[float, Quantity("suction line drop", "Δp_u", "psi", 0, 15)] = 0.0,
    rail_height: Annotated[float, Quantity("pump to rail, up", "h_2", "in", -120, 240, (-48, 48))] = 0.0,
    density: FuelDensity = 740.0,
) -> LinePressure:
    """Give the pressure that is left at the rail, and at the pump inlet, after the drops on the way.

    Formula: p_i = -Δp_s - Δp_u - ρ·9.80665·h_1
        p_r = p_o - Δp_f - Δp_l - ρ·9.80665·h_2
    Valid: tank vented; drops at the flow there is; no more drop than pressure.
    Source: pressure balance along the line.
    Use: Measured step by step it shows where the pressure goes: strainer, filter, line or pump.

    >>> psi = 6894.757293168
    >>> round(pressure_along_line(58 * psi, 1.5 * psi, 1.3 * psi).rail_pressure / psi, 4)
    55.2
    """
    head = density * 9.80665
    rail = pump_pressure - filter_drop - line_drop - head * rail_height
    if rail < 0:
        raise cannot("pump_pressure", "The drops take more than the pump's pressure: check them.")
    return LinePressure(-strainer_drop - suction_drop - head * lift, rail)


@calculation("fuel", "F8", "Filter drop at another flow")
def filter_drop_at_flow(
    drop: Annotated[float, Quantity("drop", "Δp_1", "psi", 0, 100)],
    flow: Annotated[float, Quantity("flow", "Q_1", "gal/h", 0.01, 2000)],
    flow_new: Annotated[float, Quantity("new flow", "Q_2", "gal/h", 0.01, 2000)],
    exponent: Annotated[float, Quantity("exponent", "x", "1", 1, 2)] = 1.0,
) -> Annotated[float, Quantity("new drop", "Δp_2", "psi", usual=(0, 2), outside="change the filter"), "drop-new"]:
    """Give the drop of a filter at another flow.

    Formula: Δp_2 = Δp_1·(Q_2/Q_1)^x
    Valid: same fuel and temperature; x = 1 for clean media, 2 for a blockage that acts like an orifice.
    Source: power law: 1 for laminar media, 2 for an orifice.
    Use: Pressure good at idle that falls with load: measure before and after the filter. Over 1–2 psi across the
        pressure filter at full flow, change it (common practice, no source).

    >>> round(filter_drop_at_flow(2.0, 60e-6, 90e-6, 2), 6)
    4.5
    """
    dropped: float = drop * (flow_new / flow) ** exponent
    return dropped


class InletMargin(NamedTuple):
    """Pressure at the pump inlet, the fuel's vapour pressure, and what is left between them."""

    inlet_pressure: Annotated[float, Quantity("inlet pressure, absolute", "p_in", "psia")]
    vapour_pressure: Annotated[float, Quantity("vapour pressure", "TVP", "psia")]
    margin: Annotated[
        float,
        Quantity("margin", "Δp", "psi", usual=(2, math.inf), outside="vapour lock or a whining pump when hot"),
    ]


@calculation("fuel", "F9", "Pump inlet pressure and vapour margin")
def vapour_margin(
    barometer: Barometer,
    lift: Annotated[float, Quantity("lift to the pump", "h", "in", -120, 240, (-48, 48), "up is plus, flooded minus")],
    line_drop: Annotated[float, Quantity("suction line drop", "Δp_l", "psi", 0, 15)],
    strainer_drop: Annotated[float, Quantity("strainer drop", "Δp_s", "psi", 0, 15)],
    reid_vapour_pressure: ReidVapourPressure,
    fuel_temperature: FuelTemperature,
    density: FuelDensity = 740.0,
) -> InletMargin:
    """Give how far the fuel at the pump inlet is from boiling.

    Formula: p_in = p_b - ρ·9.80665·h - Δp_l - Δp_s
        TVP = vapour(RVP, T)
        Δp = p_in - TVP
    Valid: tank vented (otherwise take the tank vacuum off the barometer); vapour as in fuel-vapour-pressure.
    Source: absolute pressure at the inlet less the vapour pressure of EPA AP-42 chapter 7.1.
    Use: Under 2 psi: vapour lock or a whining pump when hot; below zero certain (common practice, no source). Altitude
        with winter fuel and a hot tank is the classic.

    >>> psi = 6894.757293168
    >>> margin = vapour_margin(101325, -0.3, 0.5 * psi, 0.3 * psi, 9 * psi, (80 + 459.67) / 1.8)
    >>> round(margin.margin / psi, 4)
    7.484
    """
    inlet = barometer - density * 9.80665 * lift - line_drop - strainer_drop
    if inlet <= 0:
        raise cannot("lift", "The fuel column breaks: no suction is possible with this lift and these drops.")
    vapour = true_vapour_pressure(reid_vapour_pressure, fuel_temperature, 3.0)
    return InletMargin(inlet, vapour, inlet - vapour)


class LeakDown(NamedTuple):
    """How fast a shut-down rail loses its pressure."""

    rate: Annotated[float, Quantity("rate", "r", "psi/min")]
    lost: Annotated[float, Quantity("share lost", "s", "%", usual=(0, 20), outside="check valve, regulator, injector")]
    time_constant: Annotated[float, Quantity("time constant", "τ", "min")]


@calculation("fuel", "F15", "Rail leak-down")
def rail_leak_down(
    pressure_start: Annotated[float, Quantity("pressure at start", "p_0", "psi", 0.5, 200, (5, 100), "kPa for psi?")],
    pressure_end: Annotated[float, Quantity("pressure at end", "p_1", "psi", 0, 200, (0, 100), "kPa for psi?")],
    time: Annotated[float, Quantity("time", "t", "min", 0.05, 1440, (0.5, 120), "seconds for minutes?")],
) -> LeakDown:
    """Give how fast the rail loses pressure with engine and pump off.

    Formula: r = (p_0 - p_1)/t
        s = (p_0 - p_1)/p_0
        τ = -t/ln(p_1/p_0)
    Valid: exponential decay through a fixed leak. A hot engine first rises (heat soak): start after the peak. Without
        a check valve the test means nothing.
    Source: exponential decay through a fixed leak.
    Use: 80 % held for 10 minutes is good; zero in seconds is the check valve or regulator. Pinch the return: if it
        still falls, injector or check valve (common practice, no source).

    >>> leak = rail_leak_down(45 * 6894.757293168, 40 * 6894.757293168, 600)
    >>> round(leak.lost, 6), round(leak.time_constant / 60, 4)
    (0.111111, 84.9019)
    """
    if pressure_end <= 0:
        raise cannot(
            "pressure_end", "Pressure fell to less than the gauge shows: a fast leak, no time constant.", "above 0"
        )
    if pressure_end >= pressure_start:
        raise cannot(
            "pressure_end", "Pressure did not fall: heat soak; wait for the peak and start again.", "below the start"
        )
    return LeakDown(
        (pressure_start - pressure_end) / time,
        (pressure_start - pressure_end) / pressure_start,
        -time / math.log(pressure_end / pressure_start),
    )
