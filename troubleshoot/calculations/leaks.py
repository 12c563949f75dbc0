"""Air: flow through a throttle or a hole, where it chokes, and what an idle leak does."""

import math
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, NamedTuple

from troubleshoot.calculations.airflow import DRY_AIR, speed_density
from troubleshoot.calculations.definition import calculation
from troubleshoot.calculations.fields import Quantity
from troubleshoot.calculations.quantities import (
    AirTemperature,
    Barometer,
    ChargeTemperature,
    Displacement,
    EngineSpeed,
    ManifoldPressure,
    VolumetricEfficiency,
)
from troubleshoot.calculations.refusals import cannot

AIR_GAMMA = 1.4
Gamma = Annotated[float, Quantity("ratio of specific heats", "γ", "1", 1.01, 1.7, (1.2, 1.67))]
Hole = Annotated[float, Quantity("hole diameter", "d", "in", 0.004, 6, (0.02, 1), "inches for millimetres?")]
DischargeCoefficient = Annotated[
    float, Quantity("discharge coefficient", "C_d", "1", 0.1, 1, (0.55, 0.98), "0.6 sharp, 0.8 drilled, 0.95 rounded")
]
STANDARD_BAROMETER = 29.92 * 3386.388640341


def critical_ratio(gamma: float) -> float:
    """Return the pressure ratio below which the flow is choked."""
    ratio: float = (2 / (gamma + 1)) ** (gamma / (gamma - 1))
    return ratio


def flow_function(ratio: float, gamma: float) -> float:
    """Return Ψ of the isentropic nozzle, constant below the critical ratio; zero at ratio 1."""
    if ratio >= 1:
        return 0.0
    held = max(ratio, critical_ratio(gamma))
    return math.sqrt(2 * gamma / (gamma - 1) * (held ** (2 / gamma) - held ** ((gamma + 1) / gamma)))


def hole_flow(hole: float, coefficient: float, outside: float, temperature: float, manifold: float) -> float:
    """Return the mass flow of air through a round hole, kg/s (SI)."""
    area = math.pi / 4 * hole**2
    speed = flow_function(manifold / outside, AIR_GAMMA)
    return coefficient * area * outside / math.sqrt(DRY_AIR * temperature) * speed


@calculation("air", "A3", "Throttle flow as a share of choked flow")
def flow_share_of_choked(
    pressure_ratio: Annotated[float, Quantity("pressure ratio, after over before", "r", "1", 0, 1)], gamma: Gamma = 1.4
) -> Annotated[float, Quantity("share of choked flow", "s", "%"), "share"]:
    """Give how much of its choked flow an opening passes at a pressure ratio.

    Formula: r_c = (2/(γ + 1))^(γ/(γ - 1))
        x = max(r, r_c)
        Ψ = √(2·γ/(γ - 1)·(x^(2/γ) - x^((γ + 1)/γ)))
        Ψ_c = √(2·γ/(γ - 1)·(r_c^(2/γ) - r_c^((γ + 1)/γ)))
        s = Ψ/Ψ_c
    Valid: r from 0 to 1; below r_c (0.528 for air) the flow is choked and the share is 100 %.
    Source: isentropic flow; A*/A of the printed table for γ = 1.4 (NACA 1135 family) at the printed p/p0.
    Use: At half a bar of vacuum the throttle is nearly choked: more vacuum adds no air.

    >>> round(flow_share_of_choked(0.843), 4)
    0.7464
    """
    return flow_function(pressure_ratio, gamma) / flow_function(critical_ratio(gamma), gamma)


@calculation("air", "A3", "Choking pressure ratio")
def choking_ratio(gamma: Gamma = 1.4) -> Annotated[float, Quantity("pressure ratio", "r_c", "1")]:
    """Give the pressure ratio below which the flow through an opening no longer rises.

    Formula: r_c = (2/(γ + 1))^(γ/(γ - 1))
    Valid: ideal gas; γ = 1.4 for air.
    Source: gas-dynamics texts; library fluids 1.3.1 P_critical_flow agrees.
    Use: Manifold pressure under 53 % of the barometer (about 53 kPa at sea level): leaks and idle air are choked.

    >>> round(choking_ratio(), 4)
    0.5283
    """
    return critical_ratio(gamma)


def _flow_notes(inputs: Mapping[str, Any], _outputs: Mapping[str, float]) -> Iterator[str]:
    if inputs["manifold_pressure"] / inputs["outside_pressure"] < critical_ratio(AIR_GAMMA):
        yield "The hole is choked: its flow does not depend on vacuum, so its share shrinks as the engine speeds up."


def _check_direction(outside: float, manifold: float) -> None:
    """Refuse a manifold pressure above the outside."""
    if manifold > outside:
        raise cannot(
            "manifold_pressure",
            "Manifold pressure is above the outside: the flow reverses. Gauge typed for absolute?",
            "up to the outside pressure",
        )


@calculation("air", "A3", "Air through a hole", notes=_flow_notes)
def air_through_hole(
    hole: Hole,
    manifold_pressure: ManifoldPressure,
    discharge_coefficient: DischargeCoefficient = 0.8,
    outside_pressure: Barometer = STANDARD_BAROMETER,
    outside_temperature: AirTemperature = 293.15,
) -> Annotated[float, Quantity("air flow", "ṁ", "lb/h"), "air"]:
    """Give the air that a hole lets into the manifold.

    Formula: x = max(p_m/p_b, 0.5282818)
        Ψ = √(2·1.4/0.4·(x^(2/1.4) - x^(2.4/1.4)))
        ṁ = C_d·π/4·d^2·p_b/√(287.055·T_o)·Ψ
    Valid: air, γ = 1.4, round hole; C_d 0.6 sharp edge, 0.8 drilled, 0.95 rounded.
    Source: isentropic orifice, choked below 0.528; agrees with the API 520 gas formula in fluids 1.3.1.
    Use: A choked leak is constant, so it leans the idle and hardly the rest: lean at idle only means a leak.

    >>> round(air_through_hole(0.003175, 40e3, 0.8, 101325, 293.15) * 3600, 3)
    5.454
    """
    _check_direction(outside_pressure, manifold_pressure)
    return hole_flow(hole, discharge_coefficient, outside_pressure, outside_temperature, manifold_pressure)


class LeakShare(NamedTuple):
    """A leak as a share of the engine's air, and what it does to lambda if it is not metered."""

    leak_share: Annotated[
        float, Quantity("leak share", "s", "%", usual=(0, 50), outside="the engine would not stay at this idle")
    ]
    lambda_factor: Annotated[float, Quantity("lambda factor", "k", "1")]


def _leak_notes(_inputs: Mapping[str, Any], _outputs: Mapping[str, float]) -> Iterator[str]:
    yield (
        "A controller that meters by manifold pressure fuels the leak: idle speed rises, mixture stays. "
        "The lambda factor holds for throttle-angle or airflow metering, and for the cylinders next to the leak."
    )


@calculation("air", "A4", "Idle air leak as a share of engine air", notes=_leak_notes)
def idle_leak_share(
    hole: Hole,
    displacement: Displacement,
    engine_speed: EngineSpeed,
    manifold_pressure: ManifoldPressure,
    charge_temperature: ChargeTemperature,
    volumetric_efficiency: VolumetricEfficiency = 0.80,
    discharge_coefficient: DischargeCoefficient = 0.8,
    outside_pressure: Barometer = STANDARD_BAROMETER,
    outside_temperature: AirTemperature = 293.15,
) -> LeakShare:
    """Give how much of the idling engine's air comes through a leak.

    Formula: x = max(p_m/p_b, 0.5282818)
        Ψ = √(2·1.4/0.4·(x^(2/1.4) - x^(2.4/1.4)))
        ṁ_l = C_d·π/4·d^2·p_b/√(287.055·T_o)·Ψ
        ṁ_e = VE·p_m/(287.055·T)·V_d·N/120
        s = ṁ_l/ṁ_e
        k = 1/(1 - s)
    Valid: share up to about 50 %; beyond that the engine would not stay at the assumed idle.
    Source: choked hole over speed-density airflow; lambda factor if the controller does not see the leak air.
    Use: A 1/8 in hole on a 350 in³ engine at idle is 13 % of its air.

    >>> leak = idle_leak_share(0.003175, 5.735e-3, 700, 40e3, 318.15, 0.8, 0.8, 101325, 293.15)
    >>> round(leak.leak_share, 4), round(leak.lambda_factor, 4)
    (0.1292, 1.1484)
    """
    _check_direction(outside_pressure, manifold_pressure)
    leak = hole_flow(hole, discharge_coefficient, outside_pressure, outside_temperature, manifold_pressure)
    swept = speed_density(displacement, engine_speed, manifold_pressure, charge_temperature)
    share = leak / (swept * volumetric_efficiency)
    if share >= 1:
        raise cannot(
            "manifold_pressure",
            "The leak alone is more than the engine's air: it would race. Check the manifold pressure.",
        )
    return LeakShare(share, 1 / (1 - share))
