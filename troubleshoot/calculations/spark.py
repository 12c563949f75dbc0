"""Ignition: the rpm signal, total timing, and the voltage a plug gap asks for."""

import math
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, NamedTuple

from troubleshoot.calculations.definition import calculation
from troubleshoot.calculations.fields import Quantity
from troubleshoot.calculations.quantities import Cylinders, EngineSpeed
from troubleshoot.calculations.refusals import cannot
from troubleshoot.calculations.straight_line import between_points


@calculation("ignition", "I9", "Tach frequency to engine speed")
def engine_speed_from_frequency(
    frequency: Annotated[float, Quantity("frequency", "f", "Hz", 0.01, 1e6)],
    pulses_per_turn: Annotated[
        float, Quantity("pulses per crank turn", "p", "1", 0.1, 120, (0.5, 60), "n/2 for one pulse a spark")
    ],
) -> Annotated[
    float,
    Quantity("engine speed", "N", "rpm", usual=(0, 9000), outside="an impossible speed is noise or point bounce"),
]:
    """Give the engine speed that a pulse frequency on the rpm wire means.

    Formula: N = 60·f/p
    Valid: p pulses each crank turn: n/2 on a four-stroke with one coil; lost-spark or coil-per-cylinder as counted.
    Source: counting: one spark a cylinder every two turns.
    Use: 600 Hz on the rpm wire reads 9000 rpm on an eight, 12000 on a six, 18000 on a four: an impossible speed is
        noise, or points that bounce (double triggering shows near exactly twice the speed).

    >>> engine_speed_from_frequency(600, 3)
    12000.0
    """
    return 60 * frequency / pulses_per_turn


@calculation("ignition", "I9", "Engine speed to spark frequency")
def spark_frequency(
    engine_speed: EngineSpeed, cylinders: Cylinders
) -> Annotated[float, Quantity("frequency", "f", "Hz")]:
    """Give the frequency a good rpm signal has at an engine speed.

    Formula: f = N·n/120
    Valid: four-stroke, one coil.
    Source: counting: one spark a cylinder every two turns.
    Use: What a meter on the rpm wire should show.

    >>> spark_frequency(750, 6)
    37.5
    """
    return engine_speed * cylinders / 120


def _timing_notes(inputs: Mapping[str, Any], outputs: Mapping[str, float]) -> Iterator[str]:
    if max(inputs["curve_advances"]) > 36:
        yield "Centrifugal advance over 36° at the crank (18 at the distributor): are these crank degrees?"
    if not -10 <= outputs["total"] <= 60:
        yield "A total outside -10 to 60° is hardly possible: check each part."


@calculation("ignition", "I10", "Total ignition timing", notes=_timing_notes)
def total_timing(
    initial: Annotated[float, Quantity("initial advance", "a_0", "deg crank", -30, 60, (0, 20))],
    engine_speed: EngineSpeed,
    curve_speeds: Annotated[tuple[float, ...], Quantity("curve: engine speeds", "N_k", "rpm", 0, 20000)],
    curve_advances: Annotated[tuple[float, ...], Quantity("curve: centrifugal advance", "a_k", "deg crank", 0, 90)],
    vacuum_advance: Annotated[float, Quantity("vacuum advance", "a_v", "deg crank", 0, 60, (0, 30))] = 0.0,
) -> Annotated[float, Quantity("total advance", "a", "deg crank"), "total"]:
    """Give the total spark advance at an engine speed from initial, centrifugal and vacuum advance.

    Formula: a_c by straight lines through the points (N_k, a_k) of the curve, at N
        a = a_0 + a_c + a_v
    Valid: all in crank degrees (distributor degrees count double, distributor rpm half); straight lines between the
        points of the centrifugal curve, its ends held.
    Source: sum of the three advances in crank degrees.
    Use: Usual: initial 6–14°, all in by 2500–3200 rpm at 32–38° without vacuum, 45–54° at cruise with it (common
        practice, no source). Distributor and controller must not both advance.

    >>> total_timing(10.0, 3500, (1000, 3000), (0.0, 22.0), 16.0)
    48.0
    """
    if len(curve_speeds) != len(curve_advances):
        raise cannot(
            "curve_advances",
            f"The curve has {len(curve_speeds)} speeds and {len(curve_advances)} advances: give one for each.",
        )
    if len(set(curve_speeds)) != len(curve_speeds):
        raise cannot("curve_speeds", "The curve has the same engine speed twice: give each speed once.")
    return (
        initial + between_points(engine_speed, sorted(zip(curve_speeds, curve_advances, strict=True))) + vacuum_advance
    )


@calculation("ignition", "I10", "Timing with all the mechanical advance in")
def timing_all_in(
    initial: Annotated[float, Quantity("initial advance", "a_0", "deg crank", -30, 60, (0, 20))],
    mechanical_advance: Annotated[float, Quantity("mechanical advance, all in", "a_c", "deg crank", 0, 60, (10, 30))],
) -> Annotated[float, Quantity("timing without vacuum", "a", "deg crank")]:
    """Give the timing without vacuum once the mechanical advance is all in.

    Formula: a = a_0 + a_c
    Valid: all in crank degrees (distributor degrees count double); at and above the speed where the weights are out.
    Source: sum of the two advances in crank degrees.
    Use: The figure a timing light should show with the hose off and plugged; most engines want 32–38° (common practice,
        no source).

    >>> timing_all_in(10.0, 22.0)
    32.0
    """
    return initial + mechanical_advance


@calculation("ignition", "I11", "Breakdown voltage of the plug gap")
def spark_voltage_needed(
    gap: Annotated[float, Quantity("plug gap", "d", "in", 0.002, 6, (0.015, 0.08), "thousandths typed as inches?")],
    pressure: Annotated[
        float, Quantity("pressure at the spark", "p", "psia", 1, 1500, (7.25, 600), "gauge for absolute?")
    ],
    temperature: Annotated[float, Quantity("gas temperature", "T", "degF", -60, 2000)],
) -> Annotated[float, Quantity("voltage", "V", "kV")]:
    """Give the voltage at which a gap in air breaks down.

    Formula: δ = p/101325·293.15/T
        V = 1000·(24.22·100·d·δ + 6.08·√(100·d·δ))
    Valid: uniform field in air, 0.1–150 mm·atm; p absolute at the moment of the spark; printed with d in cm and V in
        kV as 24.22·δ·d + 6.08·√(δ·d). Plugs are sharp and hot: 10–30 % less. Low by 3–5 % against the sphere-gap table.
    Source: uniform-field formula for air, Kuffel and Zaengl (from memory); sphere-gap table of IEC 60052 as reproduced
        publicly.
    Use: The need rises with gap, compression and load: a miss only under load with a wide gap is need above supply.
        0.9 mm asks about 7.5 kV at part load, 12 kV at full load.

    >>> round(spark_voltage_needed(0.0009, 800e3, 600.15) / 1000, 4)
    11.9886
    """
    density_gap = pressure / 101325 * 293.15 / temperature * gap * 100
    return 1000 * (24.22 * density_gap + 6.08 * math.sqrt(density_gap))


class BreakdownMinimum(NamedTuple):
    """The lowest voltage at which any gap breaks down, and where."""

    voltage: Annotated[float, Quantity("voltage", "V", "V")]
    pressure_times_gap: Annotated[float, Quantity("pressure times gap", "pd", "Torr*cm")]


@calculation("ignition", "I11", "Lowest breakdown voltage (Paschen minimum)")
def lowest_breakdown_voltage(
    ionisation_constant: Annotated[float, Quantity("ionisation constant", "A", "1/(cm*Torr)", 0.1, 100)] = 15
    / (0.01 * 101325 / 760),
    voltage_constant: Annotated[float, Quantity("voltage constant", "B", "V/(cm*Torr)", 10, 2000)] = 365
    / (0.01 * 101325 / 760),
    electron_yield: Annotated[float, Quantity("electrons freed at the cathode, each ion", "γ", "1", 1e-6, 1)] = 0.01,
) -> BreakdownMinimum:
    """Give the voltage under which no gap sparks, whatever its width: the Paschen minimum.

    Formula: V = e·B/A·ln(1 + 1/γ)
        pd = e/A·ln(1 + 1/γ)
    Valid: uniform field; constants vary by author (measured minimum in air about 327 V at 0.57 Torr·cm). For colour,
        not for diagnosis.
    Source: Paschen's law with Townsend constants for air, Lieberman and Lichtenberg (from memory).
    Use: Shows that a spark is decided by gap times pressure, and that low voltage never jumps.

    >>> round(lowest_breakdown_voltage().voltage, 4)
    305.2665
    """
    log = math.log(1 + 1 / electron_yield)
    return BreakdownMinimum(math.e * voltage_constant / ionisation_constant * log, math.e / ionisation_constant * log)
