"""Electrical: wire sizes and resistance, voltage drops, and fuses."""

import math
from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Annotated, Any, NamedTuple

from troubleshoot.calculations.definition import calculation
from troubleshoot.calculations.fields import Quantity
from troubleshoot.calculations.quantities import Current, WireTemperature
from troubleshoot.calculations.refusals import cannot

COPPER_CONDUCTIVITY = 58e6  # S/m at 20 degC, International Annealed Copper Standard
Gauge = Annotated[float, Quantity("wire gauge", "n", "AWG", -3, 40, (0, 24), "mm² typed as gauge?", True)]
Length = Annotated[float, Quantity("one-way length", "L", "ft", 0.01, 500, (0.2, 40), "doubled already?")]
WireReturn = Annotated[float, Quantity("return in wire (1) or chassis (0)", "r", "1", 0, 1)]
Drop = Annotated[float, Quantity("voltage drop", "ΔV", "V", usual=(0, 0.5), outside="too much for a pump feed"), "drop"]


def gauge_diameter(gauge: float) -> float:
    """Return the diameter in metres of an American wire gauge (00 is -1, 000 is -2, 0000 is -3)."""
    diameter: float = 0.0254 * 0.005 * 92 ** ((36 - gauge) / 39)
    return diameter


def copper_by_length(area: float, temperature: float) -> float:
    """Return ohms per metre of copper of a cross-section (m2) at a temperature (K)."""
    celsius = temperature - 273.15
    return 1 / (COPPER_CONDUCTIVITY * area) * (234.5 + celsius) / 254.5


def gauge_by_length(gauge: float, temperature: float) -> float:
    """Return ohms per metre of an American wire gauge at a temperature (K)."""
    return copper_by_length(math.pi / 4 * gauge_diameter(gauge) ** 2, temperature)


class WireSize(NamedTuple):
    """Bare size of a wire."""

    diameter: Annotated[float, Quantity("diameter", "d", "in")]
    area: Annotated[float, Quantity("area", "A", "circular_mil")]


@calculation("electrical", "E1", "Wire gauge to diameter")
def wire_diameter(gauge: Gauge) -> WireSize:
    """Give the bare diameter and area of an American wire gauge.

    Formula: d = 0.000127·92^((36 - n)/39)
        A = π/4·d^2
    Valid: gauges 0000 (typed -3) to 40, whole numbers; 0.000127 m is 0.005 in.
    Source: ASTM B258 sizes as printed in an open copper wire table (Lessons In Electric Circuits, reference volume).
    Use: Measure the copper, not the insulation, before trusting a wire's marking.

    >>> round(wire_diameter(10).diameter / 0.0254, 4)
    0.1019
    """
    diameter = gauge_diameter(gauge)
    return WireSize(diameter, math.pi / 4 * diameter**2)


@calculation("electrical", "E1", "Copper wire resistance")
def wire_resistance(
    gauge: Gauge, temperature: WireTemperature = 293.15
) -> Annotated[float, Quantity("resistance", "R_l", "ohm/kft")]:
    """Give the resistance of a length of copper wire by gauge.

    Formula: d = 0.000127·92^((36 - n)/39)
        R_l = 4/(58000000·π·d^2)·(T - 38.65)/254.5
    Valid: -40 to 150 °C, solid copper; 234.5 + t in °C is T - 38.65; stranded wire 2–4 % more.
    Source: annealed copper 1/58 Ω·mm²/m at 20 °C; NEC chapter 9 Table 8 (75 °C) and the standard copper wire table
        (20 °C) as seen in public copies.
    Use: The NEC table gives 75 °C values: at 20 °C expect 82 % of them.

    >>> round(wire_resistance(12) * 304.8, 3)
    1.588
    """
    return gauge_by_length(gauge, temperature)


@calculation("electrical", "E1", "Metric wire resistance")
def metric_wire_resistance(
    area: Annotated[float, Quantity("cross-section", "A", "mm^2", 0.05, 500, (0.35, 70))],
    temperature: WireTemperature = 293.15,
) -> Annotated[float, Quantity("resistance", "R_l", "mohm/m")]:
    """Give the resistance of a length of copper wire by cross-section.

    Formula: R_l = 1/(58000000·A)·(T - 38.65)/254.5
    Valid: ideal copper; the limits of IEC 60228 class 5 and ISO 6722-1 lie 4–15 % higher.
    Source: annealed copper 1/58 Ω·mm²/m; IEC 60228 class 5 maximum (seen in three public copies), ISO 6722-1 (from
        memory).
    Use: Measured resistance well above this means a poor crimp or fewer strands than the marking says.

    >>> round(metric_wire_resistance(4e-6) * 1000, 3)
    4.31
    """
    return copper_by_length(area, temperature)


@calculation("electrical", "E2", "Voltage drop in a wire run")
def wire_drop(
    gauge: Gauge,
    one_way_length: Length,
    current: Current,
    temperature: WireTemperature = 293.15,
    wire_return: WireReturn = 1.0,
) -> Drop:
    """Give the voltage a wire run loses at a current.

    Formula: d = 0.000127·92^((36 - n)/39)
        R_l = 4/(58000000·π·d^2)·(T - 38.65)/254.5
        ΔV = I·R_l·L·(1 + r)
    Valid: r = 1 for out and back in wire of that gauge, 0 with a chassis return.
    Source: Ohm's law; copper as in wire-resistance.
    Use: 13 V or more at the pump running, 0.5 V or less lost in all (common practice, no source).

    >>> round(wire_drop(14, 15 * 0.3048, 10), 4)
    0.7576
    """
    return current * gauge_by_length(gauge, temperature) * one_way_length * (1 + wire_return)


class WireChoice(NamedTuple):
    """The smallest even gauge that will do, and the drop it has."""

    gauge: Annotated[float, Quantity("wire gauge", "n", "AWG", whole=True)]
    drop: Annotated[float, Quantity("voltage drop", "ΔV", "V")]


@calculation("electrical", "E2", "Smallest wire for an allowed drop")
def wire_gauge_for_drop(
    current: Current,
    one_way_length: Length,
    allowed_drop: Annotated[float, Quantity("allowed drop", "ΔV_max", "V", 0.001, 10, (0.05, 1))],
    wire_return: WireReturn = 1.0,
) -> WireChoice:
    """Give the smallest even wire gauge from 20 to 4 that keeps a drop within bounds.

    Formula: ΔV = I·R_l·L·(1 + r) with R_l of copper at 20 °C
        n is the largest even gauge with ΔV at or under ΔV_max
    Valid: copper at 20 °C, even gauges 20 to 4. Check the wire's current limit and its fuse as well.
    Source: Ohm's law; copper as in wire-resistance.
    Use: 8 A, 15 ft out and back, 0.3 V asks for 10 AWG.

    >>> wire_gauge_for_drop(8, 15 * 0.3048, 0.3).gauge
    10.0
    """
    for gauge in range(20, 3, -2):
        drop = current * gauge_by_length(gauge, 293.15) * one_way_length * (1 + wire_return)
        if drop <= allowed_drop:
            return WireChoice(float(gauge), drop)
    raise cannot(
        "allowed_drop",
        "No wire from 20 to 4 AWG keeps the drop so small: allow more, shorten the run, or move the relay closer.",
    )


@calculation("electrical", "E2", "Pump voltage at load")
def pump_supply_volts(
    battery: Annotated[float, Quantity("battery voltage", "V_b", "V", 0.5, 60, (11, 15))],
    current: Current,
    wire: Annotated[float, Quantity("wire resistance", "R_w", "ohm", 0, 100, (0, 2))],
    contacts: Annotated[float, Quantity("contact resistance", "R_c", "ohm", 0, 100, (0, 2))],
    ground: Annotated[float, Quantity("ground resistance", "R_g", "ohm", 0, 100, (0, 2))],
) -> Annotated[
    float,
    Quantity("pump voltage", "V_p", "V", usual=(13, math.inf), outside="13 V or more is wanted running"),
]:
    """Give the voltage a pump really gets.

    Formula: V_p = V_b - I·(R_w + R_c + R_g)
    Valid: measured or estimated under load.
    Source: Kirchhoff's voltage law.
    Use: 13 V or more at the pump's terminals running, drop 0.5 V or less in all (common practice, no source).

    >>> round(pump_supply_volts(13.8, 7, 0.06, 0.02, 0.01), 6)
    13.17
    """
    volts = battery - current * (wire + contacts + ground)
    if volts <= 0:
        raise cannot("current", "These resistances would leave the pump no voltage at that current: check them.")
    return volts


@calculation("electrical", "E2", "Resistance from a drop")
def resistance_from_drop(
    drop: Annotated[float, Quantity("voltage drop", "ΔV", "V", 0, 60)],
    current: Annotated[float, Quantity("current", "I", "A", 0, 2000)],
) -> Annotated[float, Quantity("resistance", "R", "mohm")]:
    """Give the resistance of a connection from the drop across it under load.

    Formula: R = ΔV/I
    Valid: measured with the current flowing.
    Source: Ohm's law.
    Use: Ground strap 0.2 V at 150 A cranking is 1.3 mΩ: good. One connection of 25 mΩ in a pump feed is not.

    >>> round(resistance_from_drop(0.2, 150) * 1000, 5)
    1.33333
    """
    if current < 1e-3:
        raise cannot("current", "A drop cannot show without current: switch the load on.", "1 mA or more")
    return drop / current


BLADE_FUSES = (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 40)


class FuseChoice(NamedTuple):
    """The rating asked for, and the next blade fuse."""

    needed: Annotated[float, Quantity("rating needed", "I_n", "A")]
    fuse: Annotated[float, Quantity("fuse", "F", "A", whole=True)]


WIRE_FOR_FUSE = ((7.5, 20), (10, 18), (15, 16), (20, 14), (30, 12), (40, 10))


def _wire_for_fuse(_inputs: Mapping[str, Any], outputs: Mapping[str, float]) -> Iterator[str]:
    gauge = next(gauge for amps, gauge in WIRE_FOR_FUSE if outputs["fuse"] <= amps)
    yield f"The fuse guards the wire: use {gauge} AWG or thicker with it, never a larger fuse than the wire carries."


@calculation("electrical", "E7", "Fuse for a continuous load", notes=_wire_for_fuse)
def fuse_size(
    load: Annotated[float, Quantity("continuous load", "I", "A", 0.01, 500)],
    continuous_share: Annotated[float, Quantity("share of rating", "s", "%", 10, 100, (60, 100))] = 0.8,
) -> FuseChoice:
    """Give the blade fuse for a load that runs all the time.

    Formula: I_n = I/s
        F is the next blade size at or above I_n
    Valid: blade sizes 1 to 40 A; the fuse must not be larger than the wire carries.
    Source: 80 % continuous rule and blade sizes (common practice, no source; ISO 8820-3 ratings).
    Use: A pump that blows its fuse after minutes draws 1.1–1.6 times the rating: blocked filter or worn pump.

    >>> fuse_size(9)
    FuseChoice(needed=11.25, fuse=15.0)
    """
    needed = load / continuous_share
    for size in BLADE_FUSES:
        if needed <= size * (1 + 1e-12):
            return FuseChoice(needed, float(size))
    raise cannot("load", "No blade fuse is large enough: use a breaker or split the load.", "up to 32 A at 80 %")


class OpeningTime(NamedTuple):
    """The window in which a fuse opens."""

    shortest: Annotated[float, Quantity("shortest time", "t_1", "s")]
    longest: Annotated[float, Quantity("longest time", "t_2", "s")]


# multiple of the rating: shortest and longest opening time, s; ISO 8820-3 type C (from memory)
FUSE_TIMES = ((1.35, 0.75, 600.0), (1.6, 0.25, 50.0), (2.0, 0.15, 5.0), (3.5, 0.04, 0.5), (6.0, 0.0, 0.1))


@calculation("electrical", "E7", "Blade fuse opening time window")
def fuse_opening_time(
    current_multiple: Annotated[float, Quantity("current over rating", "m", "1", 1.35, 6)],
) -> OpeningTime:
    """Give the time window in which a blade fuse opens at a multiple of its rating.

    Formula: t_1, t_2 from the table at m; straight lines in log time between its points
    Valid: 1.35 to 6 times the rating; at 1.1 times it must hold 100 h. At 6 times the table gives only the longest.
    Source: ISO 8820-3 type C (from memory; the 1.35 point is confirmed in a public source): 1.35 0.75–600 s, 1.6
        0.25–50 s, 2 0.15–5 s, 3.5 0.04–0.5 s, 6 up to 0.1 s.
    Use: Blows at once: a short. Blows after minutes: a load slightly too large, or a pump that works too hard.

    >>> fuse_opening_time(2.0)
    OpeningTime(shortest=0.15, longest=5.0)
    """
    for (m0, low0, high0), (m1, low1, high1) in pairwise(FUSE_TIMES):
        if current_multiple <= m1:
            along = (current_multiple - m0) / (m1 - m0)
            shortest = low0 * (low1 / low0) ** along if low1 > 0 else low0 * (1 - along)
            return OpeningTime(shortest, high0 * (high1 / high0) ** along)
    return OpeningTime(*FUSE_TIMES[-1][1:])
