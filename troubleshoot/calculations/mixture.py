"""Fuel: lambda, air-fuel ratio and the correction that follows from them."""

from collections.abc import Iterator, Mapping
from typing import Annotated, Any

from troubleshoot.calculations.definition import calculation
from troubleshoot.calculations.fields import Quantity
from troubleshoot.calculations.quantities import Lambda, StoichiometricRatio

MeasuredRatio = Annotated[
    float,
    Quantity("air-fuel ratio", "AFR", "AFR", 1, 60, (8, 25), "sensor out of range or in air: do not correct by it"),
]


@calculation("fuel", "F14", "Air-fuel ratio to lambda")
def lambda_from_ratio(
    air_fuel_ratio: MeasuredRatio, stoichiometric_ratio: StoichiometricRatio = 14.7
) -> Annotated[float, Quantity("lambda", "λ", "lambda", usual=(0.65, 1.6), outside="outside a wideband's range")]:
    """Give lambda, the mixture as a multiple of the ideal one; over 1 is lean.

    Formula: λ = AFR/AFR_st
    Valid: 0.65–1.6 for a wideband sensor in range; equivalence ratio is 1/λ.
    Source: definition.
    Use: Targets on gasoline: idle 0.92–1.00, cruise 0.98–1.05, full throttle 0.84–0.90 (common practice, no source).

    >>> round(lambda_from_ratio(12.8), 6)
    0.870748
    """
    return air_fuel_ratio / stoichiometric_ratio


@calculation("fuel", "F14", "Lambda to air-fuel ratio")
def ratio_from_lambda(
    lambda_: Lambda, stoichiometric_ratio: StoichiometricRatio = 14.7
) -> Annotated[float, Quantity("air-fuel ratio", "AFR", "AFR")]:
    """Give the air-fuel ratio that a lambda is on a fuel.

    Formula: AFR = λ·AFR_st
    Valid: same fuel as the stoichiometric ratio.
    Source: definition.
    Use: A gauge set to gasoline shows 14.7·λ whatever the fuel.

    >>> round(ratio_from_lambda(0.9), 2)
    13.23
    """
    return lambda_ * stoichiometric_ratio


def _correction_notes(inputs: Mapping[str, Any], _outputs: Mapping[str, float]) -> Iterator[str]:
    if inputs["wanted_ratio"] < 0.7 * 14.7:
        yield "The wanted mixture is richer than λ 0.7 on gasoline: is it meant?"


@calculation("fuel", "F14", "Fuel correction from measured mixture", notes=_correction_notes)
def fuel_correction(
    measured_ratio: Annotated[
        float, Quantity("measured air-fuel ratio", "AFR_m", "AFR", 5, 30, (8, 25), "do not correct from it")
    ],
    wanted_ratio: Annotated[float, Quantity("wanted air-fuel ratio", "AFR_w", "AFR", 5, 25, (8, 20))],
) -> Annotated[
    float,
    Quantity("fuel change", "c", "%", usual=(-15, 15), outside="look for hardware: pressure, leak, wrong entries"),
]:
    """Give how much fuel to add (plus) or take (minus) to reach a mixture.

    Formula: c = AFR_m/AFR_w - 1
    Valid: same airflow, sensor in range and believed; ratios on one scale (lambda works as well).
    Source: fuel needed goes with measured over wanted at the same airflow.
    Use: A learned correction beyond ±15 % means hardware (pressure, leak, wrong displacement or injector size), not
        tuning (common practice, no source).

    >>> round(fuel_correction(14.7, 13.23), 6)
    0.111111
    """
    return measured_ratio / wanted_ratio - 1
