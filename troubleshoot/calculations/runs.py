"""Dyno: power and torque, before and after, and whether fuel and power go together."""

import math
from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Annotated, Any, NamedTuple

from troubleshoot.calculations.definition import calculation
from troubleshoot.calculations.fields import Quantity
from troubleshoot.calculations.quantities import EngineSpeed, FuelFlow, FuelPerPower, Power
from troubleshoot.calculations.refusals import cannot

Torque = Annotated[float, Quantity("torque", "T", "lbf*ft", 0, 5000)]


@calculation("dyno", "D1", "Power from torque")
def power_from_torque(torque: Torque, engine_speed: EngineSpeed) -> Annotated[float, Quantity("power", "P", "hp")]:
    """Give the power of a torque at an engine speed.

    Formula: P = T·2·π·N/60
    Valid: any; in trade units hp = lbf·ft·rpm/5252.113, kW = N·m·rpm/9549.297.
    Source: exact: 33000/2π = 5252.113122 and 60000/2π = 9549.296586.
    Use: In hp and lbf·ft on one scale the curves must cross at 5252 rpm: a printout that does not is mis-scaled.

    >>> round(power_from_torque(400, 4000) / 1000, 3)
    167.552
    """
    return torque * 2 * math.pi * engine_speed / 60


@calculation("dyno", "D1", "Torque from power")
def torque_from_power(
    power: Annotated[float, Quantity("power", "P", "hp", 0, 5000)], engine_speed: EngineSpeed
) -> Annotated[float, Quantity("torque", "T", "lbf*ft")]:
    """Give the torque of a power at an engine speed.

    Formula: T = P·60/(2·π·N)
    Valid: any.
    Source: exact, as power-from-torque.
    Use: To put a power curve and a torque curve on one sheet.

    >>> round(torque_from_power(300 * 745.6998715822702, 5252.113122) / 1.3558179483314, 4)
    300.0
    """
    return power * 60 / (2 * math.pi * engine_speed)


@calculation("dyno", "D1", "Horsepower to watts")
def horsepower_to_watts(
    power: Annotated[float, Quantity("power", "hp", "hp", 0, 100000)],
) -> Annotated[float, Quantity("power", "P", "W"), "watts"]:
    """Give a power in watts.

    Formula: 745.6998716 W for each hp
    Valid: mechanical horsepower of 550 ft·lbf/s; the metric horsepower is 735.5 W.
    Source: exact definitions (NIST SP 811); scipy.constants 1.17.1 and pint 0.25.3 agree.
    Use: Dyno sheets from elsewhere.

    >>> round(horsepower_to_watts(745.6998715822702), 4)
    745.6999
    """
    return power


class MeanGain(NamedTuple):
    """The shared range of two runs and the mean gain over it."""

    from_speed: Annotated[float, Quantity("from engine speed", "N_1", "rpm")]
    to_speed: Annotated[float, Quantity("to engine speed", "N_2", "rpm")]
    mean_gain: Annotated[float, Quantity("mean gain", "ΔP", "hp")]


def sorted_run(speeds: tuple[float, ...], powers: tuple[float, ...], run: str) -> list[tuple[float, float]]:
    """Return the points of a run in order of speed, repeats averaged; refuse lists of different length."""
    if len(speeds) != len(powers):
        raise cannot(f"{run}_power", f"The {run} run has {len(speeds)} speeds and {len(powers)} powers: one for each.")
    by_speed: dict[float, list[float]] = {}
    for speed, power in zip(speeds, powers, strict=True):
        by_speed.setdefault(speed, []).append(power)
    if len(by_speed) < 2:
        raise cannot(f"{run}_speeds", f"The {run} run needs points at two speeds or more.")
    return [(speed, sum(powers) / len(powers)) for speed, powers in sorted(by_speed.items())]


def area_under(points: list[tuple[float, float]], low: float, high: float) -> float:
    """Return the area under straight lines through the points from `low` to `high`, both within them."""
    total = 0.0
    for (x0, y0), (x1, y1) in pairwise(points):
        a, b = max(x0, low), min(x1, high)
        if b > a:
            slope = (y1 - y0) / (x1 - x0)
            total += (b - a) * (y0 + slope * ((a + b) / 2 - x0))
    return total


def _run_notes(inputs: Mapping[str, Any], _outputs: Mapping[str, float]) -> Iterator[str]:
    for run in ("before", "after"):
        speeds = inputs[f"{run}_speeds"]
        if list(speeds) != sorted(set(speeds)):
            yield f"The {run} run was put in order of speed and repeated speeds were averaged."
    yield "A gain inside the scatter of three runs (1–2 %) is no change (common practice)."


@calculation("dyno", "D2", "Mean gain between two runs", notes=_run_notes)
def mean_gain(
    before_speeds: Annotated[tuple[float, ...], Quantity("engine speeds before", "N_b", "rpm", 1, 20000)],
    before_power: Annotated[tuple[float, ...], Quantity("power before", "P_b", "hp", 0, 5000)],
    after_speeds: Annotated[tuple[float, ...], Quantity("engine speeds after", "N_a", "rpm", 1, 20000)],
    after_power: Annotated[tuple[float, ...], Quantity("power after", "P_a", "hp", 0, 5000)],
) -> MeanGain:
    """Give the mean change of power over the range two runs share.

    Formula: ΔP = ∫(P_a(N) - P_b(N))dN/(N_2 - N_1) over N_1 to N_2, the range N_b and N_a share
    Valid: same gear, weather correction, temperatures and smoothing; straight lines between the points.
    Source: area between straight-line curves over the shared range.
    Use: Report the mean, not the peak.

    >>> mean_gain((3000, 4000, 5000), (200, 260, 280), (3000, 4000, 5000), (195, 262, 290))
    MeanGain(from_speed=3000, to_speed=5000, mean_gain=2.25)
    """
    before = sorted_run(before_speeds, before_power, "before")
    after = sorted_run(after_speeds, after_power, "after")
    low, high = max(before[0][0], after[0][0]), min(before[-1][0], after[-1][0])
    if high <= low:
        raise cannot("after_speeds", "The two runs share no range of engine speed.")
    return MeanGain(low, high, (area_under(after, low, high) - area_under(before, low, high)) / (high - low))


@calculation("dyno", "D3", "Specific fuel consumption from a run")
def bsfc(
    fuel: FuelFlow, power: Power
) -> Annotated[
    float,
    Quantity(
        "specific fuel consumption",
        "BSFC",
        "lb/(hp*h)",
        usual=(0.40, 0.65),
        outside="low: fuel flow or power wrong; high: rich, dyno low, or fuel leaking back",
    ),
    "bsfc",
]:
    """Give the fuel burnt for each unit of work.

    Formula: BSFC = ṁ/P
    Valid: full-throttle gasoline 0.42–0.60 lb/hp·h (255–365 g/kW·h) at the crank; wheel power reads 12–20 % higher.
    Source: definition.
    Use: Under 0.40 the fuel flow is low or the power optimistic; over 0.65 rich, dyno low, or fuel leaking back.

    >>> round(bsfc(160 * 0.45359237 / 3600, 330 * 745.6998715822702) * 3.6e9, 3)
    294.922
    """
    return fuel / power


def _too_good(_inputs: Mapping[str, Any], outputs: Mapping[str, float]) -> Iterator[str]:
    if outputs["efficiency"] > 0.40:
        yield "Over 40 % is not to be had from such an engine: fuel flow or power is wrong."


@calculation("dyno", "D3", "Brake thermal efficiency", notes=_too_good)
def thermal_efficiency(
    bsfc: FuelPerPower,
    heating_value: Annotated[float, Quantity("heating value", "LHV", "MJ/kg", 5, 150, (25, 46))] = 43.4e6,
) -> Annotated[float, Quantity("efficiency", "η", "%")]:
    """Give how much of the fuel's energy becomes work.

    Formula: η = 1/(BSFC·LHV)
    Valid: lower heating value; with BSFC in g/kW·h and LHV in MJ/kg it is 3600/(BSFC·LHV).
    Source: energy balance.
    Use: A check on readings: a gasoline engine lies between 20 and 35 %.

    >>> round(thermal_efficiency(300 / 3.6e9), 6)
    0.276498
    """
    efficiency = 1 / (bsfc * heating_value)
    if efficiency >= 1:
        raise cannot("bsfc", "That would be more work than the fuel holds: check fuel flow and power.")
    return efficiency
