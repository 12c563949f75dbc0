"""Air: what an engine breathes, and what a throttle body of a rating passes."""

import math
from collections.abc import Iterator, Mapping
from typing import Annotated, Any

from troubleshoot.calculations.definition import calculation
from troubleshoot.calculations.fields import Quantity
from troubleshoot.calculations.quantities import (
    ChargeTemperature,
    Displacement,
    EngineSpeed,
    FuelFlow,
    Lambda,
    ManifoldPressure,
    StoichiometricRatio,
    VolumetricEfficiency,
)

DRY_AIR = 287.055  # J/(kg K), specific gas constant


@calculation("air", "A1", "Theoretical airflow")
def airflow_demand(
    displacement: Displacement, engine_speed: EngineSpeed, volumetric_efficiency: VolumetricEfficiency = 0.80
) -> Annotated[float, Quantity("airflow", "V̇", "ft^3/min")]:
    """Give the volume of air an engine draws.

    Formula: V̇ = V_d·N/120·VE
    Valid: four-stroke; VE 70–95 % for street engines. In trade units cfm = CID·N·VE/3456.
    Source: geometry: a four-stroke fills once in two turns; 3456 = 2·1728.
    Use: Throttle-body size: its rating (at 1.5 inHg) at or above the need; much bigger hurts idle control.

    >>> round(airflow_demand(302 * 0.0254**3, 5500, 0.8) * 60 / 0.3048**3, 2)
    384.49
    """
    return displacement * engine_speed / 60 / 2 * volumetric_efficiency


@calculation("air", "A2", "Speed-density air mass")
def air_mass_flow(
    displacement: Displacement,
    engine_speed: EngineSpeed,
    manifold_pressure: ManifoldPressure,
    charge_temperature: ChargeTemperature,
    volumetric_efficiency: VolumetricEfficiency = 0.80,
) -> Annotated[float, Quantity("air flow", "ṁ", "lb/h"), "air"]:
    """Give the mass of air an engine draws from manifold pressure and temperature.

    Formula: ṁ = VE·p_m/(287.055·T)·V_d·N/120
    Valid: four-stroke, VE referred to manifold density (referred to outside air it is smaller at part load).
    Source: ideal gas, dry air 287.055 J/(kg·K); agrees with CoolProp 8.0.0 air.
    Use: Times fuel-air ratio it is the fuel the controller should give.

    >>> round(air_mass_flow(5.735e-3, 3000, 95e3, 313.15, 0.8) * 3600, 2)
    436.39
    """
    return speed_density(displacement, engine_speed, manifold_pressure, charge_temperature) * volumetric_efficiency


def speed_density(displacement: float, engine_speed: float, pressure: float, temperature: float) -> float:
    """Return the mass of air swept each second at manifold density, kg/s (SI; engine speed in rpm)."""
    return pressure / (DRY_AIR * temperature) * displacement * engine_speed / 120


def _efficiency_notes(_inputs: Mapping[str, Any], outputs: Mapping[str, float]) -> Iterator[str]:
    if outputs["volumetric-efficiency"] > 1.3:
        yield "Over 130 %: wrong displacement, injector size or pressure entered."


@calculation("air", "A2", "Volumetric efficiency from measured fuel and lambda", notes=_efficiency_notes)
def volumetric_efficiency(
    fuel: FuelFlow,
    lambda_: Lambda,
    displacement: Displacement,
    engine_speed: EngineSpeed,
    manifold_pressure: ManifoldPressure,
    charge_temperature: ChargeTemperature,
    stoichiometric_ratio: StoichiometricRatio = 14.7,
) -> Annotated[float, Quantity("volumetric efficiency", "VE", "%", usual=(30, 130), outside="check the entries")]:
    """Give how well the cylinders fill, from the fuel burnt and the mixture measured.

    Formula: VE = ṁ·AFR_st·λ/(p_m/(287.055·T)·V_d·N/120)
    Valid: four-stroke, manifold density; sensor believed, no exhaust leak or misfire.
    Source: air from fuel times air-fuel ratio, over swept volume at manifold density.
    Use: Wrong by one factor everywhere: displacement, injector size or pressure entry. Wrong at high speed only: real
        breathing, or the pump.

    >>> round(volumetric_efficiency(6 * 0.45359237 / 3600, 1.0, 5.735e-3, 700, 40e3, 318.15), 4)
    0.7584
    """
    swept = speed_density(displacement, engine_speed, manifold_pressure, charge_temperature)
    return fuel * stoichiometric_ratio * lambda_ / swept


def _large_drop(inputs: Mapping[str, Any], _outputs: Mapping[str, float]) -> Iterator[str]:
    if max(inputs["drop"], inputs["drop_new"]) > 10e3:
        yield "At a drop this large the air's compression counts: the square-root rule gives too much."


@calculation("air", "A5", "Airflow rating at another test drop", notes=_large_drop)
def airflow_at_drop(
    airflow: Annotated[float, Quantity("airflow", "V̇_1", "ft^3/min", 1, 5000)],
    drop: Annotated[float, Quantity("drop", "Δp_1", "inHg", 0.05, 15, (0.3, 4), "inH₂O for inHg?")],
    drop_new: Annotated[float, Quantity("new drop", "Δp_2", "inHg", 0.05, 15, (0.3, 4), "inH₂O for inHg?")],
) -> Annotated[float, Quantity("airflow", "V̇_2", "ft^3/min"), "airflow-new"]:
    """Give the airflow rating at another pressure drop, so that ratings can be compared.

    Formula: V̇_2 = V̇_1·√(Δp_2/Δp_1)
    Valid: small drops; from 1.5 to 3.0 inHg the compressible answer is 2.9 % under √2.
    Source: square-root rule for incompressible flow; four-barrels are rated at 1.5 inHg, two-barrels at 3.0 inHg,
        benches at 28 inH₂O (common practice).
    Use: Compare like with like: a "500 cfm" two-barrel is 354 cfm on the four-barrel scale. Wide-open manifold vacuum
        over 1.5 inHg is a restriction (throttle, filter).

    >>> round(airflow_at_drop(750 * 0.3048**3 / 60, 1.5 * 3386.389, 3 * 3386.389) * 60 / 0.3048**3, 2)
    1060.66
    """
    return airflow * math.sqrt(drop_new / drop)
