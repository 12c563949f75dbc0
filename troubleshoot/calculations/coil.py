"""Ignition: current and energy in the coil primary, and the engine speed at which they fall short."""

import math
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, NamedTuple

from troubleshoot.calculations.definition import calculation
from troubleshoot.calculations.fields import Quantity
from troubleshoot.calculations.quantities import DwellAngle, PrimaryInductance, PrimaryResistance, Supply
from troubleshoot.calculations.refusals import cannot


class CoilCurrent(NamedTuple):
    """Primary current after the closed time, and the time constant it rises with."""

    current: Annotated[float, Quantity("primary current", "i", "A", usual=(0, 8), outside="coil or points would burn")]
    time_constant: Annotated[float, Quantity("time constant", "τ", "ms")]


@calculation("ignition", "I4", "Coil primary current")
def coil_current(
    supply: Supply,
    primary_resistance: PrimaryResistance,
    primary_inductance: PrimaryInductance,
    closed_time: Annotated[float, Quantity("closed time", "t", "ms", 0, 60000, (0.2, 1000), "µs for ms?")],
) -> CoilCurrent:
    """Give the current in the coil primary when the points have been closed for a time.

    Formula: τ = L/R
        i = V/R·(1 - exp(-t/τ))
    Valid: iron not saturated, constant voltage, contact open long enough between sparks for the current to reach zero.
        R is coil, ballast and leads together.
    Source: first-order R-L rise; 63.2 % of V/R at one time constant.
    Use: A usual points coil has 3–4 Ω in all when hot, 6–10 mH, 3.5–4.5 A at the most (common practice, no source).

    >>> round(coil_current(14, 3, 0.008, 0.010).current, 5)
    4.55692
    """
    tau = primary_inductance / primary_resistance
    return CoilCurrent(supply / primary_resistance * (1 - math.exp(-closed_time / tau)), tau)


@calculation("ignition", "I5", "Coil energy at break")
def coil_energy(
    primary_inductance: PrimaryInductance,
    current: Annotated[float, Quantity("primary current", "i", "A", 0, 100, (0, 12))],
) -> Annotated[float, Quantity("energy", "E", "mJ", usual=(20, 300), outside="an engine needs 20–30 mJ stored")]:
    """Give the energy stored in the coil at the moment the points open.

    Formula: E = L·i^2/2
    Valid: energy stored, not delivered; 40–60 % of it reaches the plug (from memory).
    Source: magnetic energy of an inductance.
    Use: Weak spark at speed: compare with the need, about 20–30 mJ stored for a healthy engine (from memory).

    >>> round(coil_energy(0.006, 6.0), 6)
    0.108
    """
    return primary_inductance * current**2 / 2


def _moves_with_voltage(_inputs: Mapping[str, Any], _outputs: Mapping[str, float]) -> Iterator[str]:
    yield "An electrical limit moves with the battery voltage; points float moves with the spring only."


@calculation("ignition", "I6", "Engine speed where coil energy falls short", notes=_moves_with_voltage)
def coil_energy_limit_speed(
    supply: Supply,
    primary_resistance: PrimaryResistance,
    primary_inductance: PrimaryInductance,
    dwell_angle: DwellAngle,
    energy_needed: Annotated[float, Quantity("energy needed", "E", "mJ", 0.1, 1000, (5, 150))] = 0.020,
) -> Annotated[float, Quantity("engine speed", "N", "rpm")]:
    """Give the engine speed above which the coil no longer has time to store the energy a spark needs.

    Formula: i = √(2·E/L)
        t = -(L/R)·ln(1 - i·R/V)
        N = θ/(3·t)
    Valid: i < V/R; otherwise the coil never reaches that energy at any speed.
    Source: inverse of the first-order R-L rise.
    Use: Separates an electrical limit, which moves with battery voltage (14 V to 12 V costs about 1200 rpm on a usual
        coil), from points float, which moves with the spring only.

    >>> round(coil_energy_limit_speed(14, 3, 0.008, 30, 0.020), 2)
    5748.82
    """
    needed = math.sqrt(2 * energy_needed / primary_inductance)
    if needed * primary_resistance >= supply:
        raise cannot(
            "supply",
            "This coil never reaches that energy at any speed: "
            f"it needs {needed:.3g} A and the circuit lets {supply / primary_resistance:.3g} A flow at most.",
            f"over {needed * primary_resistance:.3g} V",
        )
    time = -primary_inductance / primary_resistance * math.log(1 - needed * primary_resistance / supply)
    return dwell_angle / (3 * time)
