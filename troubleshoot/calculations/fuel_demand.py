"""Fuel: what an engine asks for, by mass and by volume."""

from typing import Annotated

from troubleshoot.calculations.definition import calculation
from troubleshoot.calculations.fields import Quantity
from troubleshoot.calculations.quantities import FuelDensity, FuelFlow, FuelPerPower, Power


@calculation("fuel", "F1", "Fuel mass demand")
def fuel_mass_demand(
    power: Power, bsfc: FuelPerPower = 0.5 * 0.45359237 / (745.6998715822702 * 3600)
) -> Annotated[float, Quantity("fuel flow", "ṁ", "lb/h"), "fuel"]:
    """Give the fuel an engine burns at a power.

    Formula: ṁ = P·BSFC
    Valid: naturally aspirated gasoline at full throttle, BSFC 0.42–0.60 lb/hp·h; about 1.45 times that on E85.
    Source: definition of brake specific fuel consumption.
    Use: What the pump must deliver at pressure, with 20 % in hand (common practice, no source).

    >>> round(fuel_mass_demand(400 * 745.6998715822702) * 3600 / 0.45359237, 6)
    200.0
    """
    return power * bsfc


@calculation("fuel", "F1", "Fuel volume demand")
def fuel_volume_demand(
    fuel: FuelFlow, density: FuelDensity = 745.0
) -> Annotated[float, Quantity("volume", "Q", "gal/h")]:
    """Give the volume of fuel that a mass of fuel is.

    Formula: Q = ṁ/ρ
    Valid: liquid fuel; gasoline 720–775 kg/m³ at 15 °C.
    Source: mass over density.
    Use: Compare with the pump's flow at the pressure and voltage it really has.

    >>> round(fuel_volume_demand(112.5 * 0.45359237 / 3600, 745) * 3600e3, 4)
    68.4955
    """
    return fuel / density
