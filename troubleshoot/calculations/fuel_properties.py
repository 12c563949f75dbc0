"""Fuel: vapour pressure, density, air-fuel ratio and energy of gasoline, blends and pure fuels."""

import math
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, NamedTuple

from troubleshoot.calculations.definition import calculation
from troubleshoot.calculations.fields import Quantity
from troubleshoot.calculations.refusals import cannot
from troubleshoot.calculations.unit_table import PSI
from troubleshoot.calculations.weather import Altitude, standard_atmosphere

ReidVapourPressure = Annotated[float, Quantity("Reid vapour pressure", "RVP", "psia", 1, 30, (2, 20), "kPa for psi?")]
FuelTemperature = Annotated[float, Quantity("fuel temperature", "T", "degF", -40, 212, (-20, 160), "°C for °F?")]
Slope = Annotated[float, Quantity("slope of the distillation curve", "S", "1", 0.5, 6, (2, 3.5))]


class VapourConstants(NamedTuple):
    """Constants of the vapour-pressure line: ln(psi) = A - B/°R."""

    constant_a: Annotated[float, Quantity("constant A", "A", "1")]
    constant_b: Annotated[float, Quantity("constant B", "B", "degR")]


def _constants(reid: float, slope: float) -> tuple[float, float]:
    """Return A and B (degrees Rankine) of the AP-42 line for a Reid vapour pressure in pascal."""
    root, log = math.sqrt(slope), math.log(reid / PSI)
    return 15.64 - 1.854 * root - (0.8742 - 0.3280 * root) * log, 8742 - 1042 * root - (1049 - 179.4 * root) * log


def true_vapour_pressure(reid: float, temperature: float, slope: float) -> float:
    """Return the vapour pressure in pascal; the equation as printed takes 459.6 as the zero of Fahrenheit."""
    a, b = _constants(reid, slope)
    return PSI * math.exp(a - b / (temperature * 1.8 - 459.67 + 459.6))


@calculation("fuel", "F10", "Gasoline true vapour pressure")
def fuel_vapour_pressure(
    reid_vapour_pressure: ReidVapourPressure, fuel_temperature: FuelTemperature, slope: Slope = 3.0
) -> Annotated[float, Quantity("vapour pressure", "TVP", "psia")]:
    """Give the pressure at which gasoline boils at a temperature.

    Formula: A = 15.64 - 1.854·√S - (0.8742 - 0.3280·√S)·ln(RVP/6894.757)
        B = 8742 - 1042·√S - (1049 - 179.4·√S)·ln(RVP/6894.757)
        TVP = 6894.757·exp(A - B/(1.8·T - 0.07))
    Valid: RVP 2–20 psi, 0–120 °F (extrapolates to about 160 °F); printed in psi and °F as exp(A - B/(T + 459.6)); S =
        3 for motor gasoline. For ethanol blends use the measured RVP (E10 about 1 psi over its base; common practice,
        no source).
    Source: EPA AP-42 chapter 7.1, refined petroleum stocks, at second hand; its Table 7.1-2 agrees.
    Use: US summer gasoline is 7–9 psi RVP, winter up to 15. Feeds vapour-margin.

    >>> round(fuel_vapour_pressure(10 * 6894.757, (80 + 459.67) / 1.8) / 6894.757, 2)
    7.52
    """
    return true_vapour_pressure(reid_vapour_pressure, fuel_temperature, slope)


@calculation("fuel", "F10", "Hottest fuel the pump can draw")
def hottest_fuel(
    altitude: Altitude,
    reid_vapour_pressure: ReidVapourPressure,
    suction: Annotated[float, Quantity("vacuum at the pump inlet", "Δp_s", "inHg", 0, 25, (0, 12))],
    margin: Annotated[float, Quantity("margin over boiling", "Δp", "psi", 0, 10, (0, 5))] = 2 * PSI,
) -> Annotated[float, Quantity("hottest fuel", "T", "degF")]:
    """Give the temperature above which gasoline comes too near to boiling at the pump inlet.

    Formula: H = 6356766·h/(6356766 + h)
        p_b = 101325·(1 - 0.0065·H/288.15)^5.25588
        A = 12.42879 - 0.30609·ln(RVP/6894.757)
        B = 6937.203 - 738.270·ln(RVP/6894.757)
        T = (B/(A - ln((p_b - Δp_s - Δp)/6894.757)) + 0.07)/1.8
    Valid: as fuel-vapour-pressure, with S = 3; tank vented. Weather moves it by some 3 °F, the fuel's class by 20 °F.
    Source: the vapour-pressure line of EPA AP-42 chapter 7.1 solved for the temperature; US Standard Atmosphere 1976.
    Use: Fuel in the return hotter than this boils where the pump draws it. A margin of 2 psi is common practice, no
        source.

    >>> psi = 6894.757
    >>> round(hottest_fuel(0, 9 * psi, 0) * 1.8 - 459.67, 1)
    117.2
    """
    inlet = standard_atmosphere(altitude)[0] - suction - margin
    if inlet <= 0:
        raise cannot("suction", "Nothing is left of the air pressure at this height with this suction.")
    a, b = _constants(reid_vapour_pressure, 3.0)
    return (b / (a - math.log(inlet / PSI)) + 0.07) / 1.8


@calculation("fuel", "F10", "Gasoline vapour pressure constants")
def vapour_pressure_constants(reid_vapour_pressure: ReidVapourPressure, slope: Slope = 3.0) -> VapourConstants:
    """Give the constants of the vapour-pressure line of a gasoline.

    Formula: A = 15.64 - 1.854·√S - (0.8742 - 0.3280·√S)·ln(RVP/6894.757)
        B = (8742 - 1042·√S - (1049 - 179.4·√S)·ln(RVP/6894.757))/1.8
    Valid: RVP 2–20 psi; the table gives B in degrees Rankine, 1.8 times the figure in kelvin.
    Source: EPA AP-42 chapter 7.1, Table 7.1-2 (constants to five figures), as reproduced in three public repositories.
    Use: To draw or check the vapour-pressure line; fuel-vapour-pressure uses them.

    >>> round(vapour_pressure_constants(13 * 6894.757293168).constant_a, 3)
    11.644
    """
    a, b = _constants(reid_vapour_pressure, slope)
    return VapourConstants(a, b * 5 / 9)


class DensityAtTemperature(NamedTuple):
    """Volume factor and density of a fuel at a temperature."""

    volume_factor: Annotated[float, Quantity("volume factor", "VCF", "1")]
    density: Annotated[float, Quantity("density", "ρ", "kg/m^3")]


@calculation("fuel", "F11", "Gasoline density at temperature")
def fuel_density(
    temperature: Annotated[float, Quantity("fuel temperature", "t", "degF", -40, 250, (-0.4, 203), "°C for °F?")],
    density_at_15c: Annotated[
        float, Quantity("density at 15 °C", "ρ_15", "kg/m^3", 653, 770, None, "another product group")
    ] = 745.0,
) -> DensityAtTemperature:
    """Give the density of gasoline at a temperature.

    Formula: Δt = t - 288.15
        α = 346.4228/ρ_15^2 + 0.4388/ρ_15
        VCF = exp(-α·Δt·(1 + 0.8·α·Δt))
        ρ = ρ_15·VCF
    Valid: 653–770 kg/m³ at 15 °C, -18 to 95 °C, Δt from 15 °C; ethanol blends up to E10 within 0.3 %.
    Source: ASTM D1250 / API MPMS 11.1, Table 54B gasoline constants, at second hand.
    Use: Flow tests by volume: about 0.12 % a °C. Fuel at 60 °C is 5.5 % lighter: a small lean shift.

    >>> round(fuel_density(313.15, 745).density, 3)
    722.213
    """
    rise = temperature - 288.15
    alpha = 346.4228 / density_at_15c**2 + 0.4388 / density_at_15c
    factor = math.exp(-alpha * rise * (1 + 0.8 * alpha * rise))
    return DensityAtTemperature(factor, density_at_15c * factor)


Atoms = Annotated[float, Quantity("carbon atoms", "x", "1", 0, 100)]
HydrogenAtoms = Annotated[float, Quantity("hydrogen atoms", "y", "1", 0, 200)]
OxygenAtoms = Annotated[float, Quantity("oxygen atoms", "z", "1", 0, 100)]
CARBON, HYDROGEN, OXYGEN = 12.011, 1.008, 15.999
AIR_PER_OXYGEN = 138.2  # g of dry air for each mole of O2


def _molar_mass(carbon: float, hydrogen: float, oxygen: float) -> float:
    """Return g/mol of CxHyOz (IUPAC standard atomic weights)."""
    return carbon * CARBON + hydrogen * HYDROGEN + oxygen * OXYGEN


@calculation("fuel", "F12", "Stoichiometric air-fuel ratio from formula")
def stoichiometric_ratio(
    carbon: Atoms, hydrogen: HydrogenAtoms, oxygen: OxygenAtoms = 0.0
) -> Annotated[float, Quantity("air-fuel ratio", "AFR", "AFR")]:
    """Give the mass of air that exactly burns a mass of a fuel CxHyOz.

    Formula: O_2 = x + y/4 - z/2
        AFR = O_2·138.2/(12.011·x + 1.008·y + 15.999·z)
    Valid: dry air, complete combustion; gasoline CH1.85 to CH1.92 gives 14.5–14.7, the trade figure is 14.7.
    Source: mass balance; Heywood, Internal Combustion Engine Fundamentals, equation 3.6 and fuel table (from memory).
    Use: Air-fuel ratios only compare on one fuel: work in lambda.

    >>> round(stoichiometric_ratio(8, 18), 2)
    15.12
    """
    need = carbon + hydrogen / 4 - oxygen / 2
    if need <= 0:
        raise cannot("oxygen", "This formula needs no air to burn: check the atoms.")
    return need * AIR_PER_OXYGEN / _molar_mass(carbon, hydrogen, oxygen)


class BlendRatio(NamedTuple):
    """Ethanol by mass, and the air-fuel ratio of the blend."""

    ethanol_by_mass: Annotated[float, Quantity("ethanol by mass", "w", "%")]
    air_fuel_ratio: Annotated[float, Quantity("air-fuel ratio", "AFR", "AFR")]


Ethanol = Annotated[float, Quantity("ethanol by volume", "E", "%", 0, 100)]


def _fraction_for_percent(inputs: Mapping[str, Any], _outputs: Mapping[str, float]) -> Iterator[str]:
    if 0 < inputs["ethanol"] < 0.01:
        yield "Ethanol under 1 %: is this a fraction typed for per cent?"


@calculation("fuel", "F12", "Ethanol blend stoichiometric air-fuel ratio", notes=_fraction_for_percent)
def blend_stoichiometric_ratio(
    ethanol: Ethanol,
    gasoline_density: Annotated[float, Quantity("gasoline density", "ρ_g", "kg/m^3", 600, 900, (690, 790))] = 745.0,
    ethanol_density: Annotated[float, Quantity("ethanol density", "ρ_e", "kg/m^3", 700, 900, (770, 810))] = 789.3,
    gasoline_ratio: Annotated[float, Quantity("gasoline's ratio", "AFR_g", "AFR", 10, 20, (14, 15))] = 14.6,
    ethanol_ratio: Annotated[float, Quantity("ethanol's ratio", "AFR_e", "AFR", 5, 15, (8.9, 9.1))] = 9.0,
) -> BlendRatio:
    """Give the stoichiometric air-fuel ratio of a gasoline and ethanol blend.

    Formula: w = E·ρ_e/(E·ρ_e + (1 - E)·ρ_g)
        AFR = w·AFR_e + (1 - w)·AFR_g
    Valid: blend by volume, no volume change on mixing; shortcuts weighted by volume differ by 0.05.
    Source: mass balance: the air need adds by fuel mass.
    Use: E10 needs 4.2 % more fuel than E0, E85 49 % more by mass. A wideband on the gasoline scale shows 14.7·λ on any
        fuel: work in lambda.

    >>> round(blend_stoichiometric_ratio(0.85).air_fuel_ratio, 4)
    9.7996
    """
    share = ethanol * ethanol_density / (ethanol * ethanol_density + (1 - ethanol) * gasoline_density)
    return BlendRatio(share, share * ethanol_ratio + (1 - share) * gasoline_ratio)


@calculation("fuel", "F13", "Ethanol blend energy by volume", notes=_fraction_for_percent)
def blend_energy(
    ethanol: Ethanol,
    gasoline_energy: Annotated[
        float, Quantity("gasoline's energy", "e_g", "Btu/gal", 80000, 150000, (108000, 120000))
    ] = 115000 * 1055.05585262 / (231 * 0.0254**3),
    ethanol_energy: Annotated[
        float, Quantity("ethanol's energy", "e_e", "Btu/gal", 50000, 110000, (74000, 78000))
    ] = 76000 * 1055.05585262 / (231 * 0.0254**3),
) -> Annotated[float, Quantity("energy", "e", "Btu/gal")]:
    """Give the energy in a volume of a gasoline and ethanol blend.

    Formula: e = (1 - E)·e_g + E·e_e
    Valid: lower heating values, blend by volume.
    Source: end points from the US DOE Alternative Fuels Data Center fuel property table.
    Use: What mileage to expect: E10 3.4 % less, E85 about 29 % less by volume.

    >>> round(blend_energy(0.85) / blend_energy(0.0), 4)
    0.7117
    """
    return (1 - ethanol) * gasoline_energy + ethanol * ethanol_energy


CARBON_DIOXIDE_HEAT, STEAM_HEAT = -393.51e3, -241.826e3  # J/mol, formation, NIST/CODATA


@calculation("fuel", "F13", "Fuel heating value from formation heats")
def fuel_heating_value(
    carbon: Atoms,
    hydrogen: HydrogenAtoms,
    formation_heat: Annotated[float, Quantity("formation heat of the liquid", "H_f", "kJ/mol", -2000, 500)],
    oxygen: OxygenAtoms = 0.0,
) -> Annotated[float, Quantity("heating value", "LHV", "MJ/kg", usual=(15, 50), outside="check the formula")]:
    """Give the lower heating value of a fuel CxHyOz from its heat of formation.

    Formula: M = 12.011·x + 1.008·y + 15.999·z
        LHV = 1000·(H_f + 393510·x + 241826·y/2)/M
    Valid: lower heating value, water as vapour; H_f in J/mol, M in g/mol.
    Source: NIST/CODATA formation heats of CO2 and water vapour (from memory); Heywood prints 26.9 for ethanol and 44.3
        for isooctane (from memory).
    Use: Gasoline 42–44 MJ/kg, ethanol 26.8: the bound on efficiency from fuel flow.

    >>> round(fuel_heating_value(2, 6, -277e3, 1) / 1e6, 2)
    26.82
    """
    mass = _molar_mass(carbon, hydrogen, oxygen)
    if mass <= 0:
        raise cannot("carbon", "This formula has no atoms.")
    return 1000 * (formation_heat - carbon * CARBON_DIOXIDE_HEAT - hydrogen / 2 * STEAM_HEAT) / mass
