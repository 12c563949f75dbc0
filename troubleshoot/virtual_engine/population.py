"""A population of cars round one file: what differs from car to car and from day to day while the file stays nominal.

Every range is an engineering estimate but where a source stands beside it. Draws come from a stream of their own, so
that build spread, combustion noise and instruments of a seed stay the same with and without a population.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from troubleshoot.virtual_engine.parameters import FIELDS

_COLUMN = {name: place for place, name in enumerate(FIELDS)}

EVENLY = MappingProxyType(
    {
        "ve_peak": 0.08,
        "ve_peak_rpm": 0.06,
        "overlap": 0.25,  # camshafts of one name
        "coil_ohm": 0.10,
        "coil_henry": 0.10,
        "coil_efficiency": 0.10,
        "injector_delay": 0.15,
        "map_gain": 0.010,
        "o2_skew": 0.010,
        "throttle_area": 0.05,
        "friction_0": 0.06,
    }
)
"""Parameters drawn evenly within this share on either side of the file's value."""

DWELL_SHARE = 0.10
"""Dwell within this share on either side; timing is set after it, so the reference moves along."""

COOLANT_OHM = 16.0
"""Tolerance of the coolant sensor in ohm at running temperature, about 2 degC."""

THROTTLE_VOLTS = 0.010
"""Tolerance of the throttle sensor's closed volts; it is zeroed on the car."""

PUMP_NEED = (1.1, 4.0)
"""Pumps are fitted with this many times what the engine burns at most: a fifth of them with little to spare."""

PUMP_TOLERANCE = 0.10
"""A pump gives what it is rated for within this share."""

CURRENT_WITH_SIZE = 0.4
"""Current of a pump under pressure goes with this power of its flow: small motors lose more in themselves."""

NEED_LPH = {8: 50.0, 6: 31.0}
"""What each engine burns at most, L/h, by cylinders (its own full throttle)."""

AIR_C = (0.0, 35.0)
HEIGHT_M = (0.0, 1500.0)
WEATHER_KPA = 1.0
ETHANOL_SHARE = (0.0, 0.10)
REST_VOLTS = (12.35, 12.72)
"""Batteries that still start the car: about two thirds charged to full."""

_POPULATION = 7


@dataclass(frozen=True, slots=True)
class Day:
    """What can be known of a car without testing it: the pump's rating, and today's barometer and air."""

    pump_rating_lph: float
    barometer_kpa: float
    air_c: float
    reid_psi: float


def standard_kpa(height_m: float) -> float:
    """Return the pressure of the standard atmosphere at a height (ICAO standard atmosphere, below 11 km)."""
    return float(101.325 * (1.0 - 2.25577e-5 * height_m) ** 5.25588)


def summer_or_winter_reid(air_c: float) -> float:
    """Return the Reid pressure sold for a season, psi: 13 in frost to 8 in heat (fuel standards, from memory)."""
    return float(np.interp(air_c, (0.0, 15.0, 30.0), (13.0, 10.0, 8.0)))


def settle(start: Mapping[str, float], key: tuple[int, ...]) -> tuple[dict[str, float], Day]:
    """Return what replaces a car's file values in this population, by parameter, and what its driver can know."""
    rng = np.random.default_rng((*key, _POPULATION))
    made = {name: start[name] * (1.0 + share * rng.uniform(-1.0, 1.0)) for name, share in EVENLY.items()}
    dwell = 1.0 + DWELL_SHARE * rng.uniform(-1.0, 1.0)
    made |= {"dwell": start["dwell"] * dwell, "dwell_reference": start["dwell_reference"] * dwell}
    made["clt_series_ohm"] = COOLANT_OHM * rng.uniform(-1.0, 1.0)
    made["tps_closed"] = start["tps_closed"] + THROTTLE_VOLTS * rng.uniform(-1.0, 1.0)
    ratio = float(np.exp(rng.uniform(*np.log(PUMP_NEED))))
    rating = ratio * NEED_LPH[int(start["cylinders"])] / (1.0 + PUMP_TOLERANCE * rng.uniform(-1.0, 1.0))
    made |= pump_of(start, ratio * NEED_LPH[int(start["cylinders"])])
    air = rng.uniform(*AIR_C)
    barometer = standard_kpa(rng.uniform(*HEIGHT_M)) + WEATHER_KPA * rng.uniform(-1.0, 1.0)
    ethanol = rng.uniform(*ETHANOL_SHARE)
    reid = summer_or_winter_reid(air) + min(1.0, 20.0 * ethanol)
    made |= {"ambient_k": air + 273.15, "soak_c": air, "ambient_kpa": barometer}
    made |= {"fuel_c": min(air + 8.0, 40.0), "reid_psi": reid}
    made["stoichiometric"] = 14.7 - 5.7 * ethanol  # petrol 14.7, ethanol 9.0 g of air a gram, by mass
    made["octane"] = start["octane"] + 20.0 * ethanol * rng.uniform(0.5, 1.0)
    made["battery_emf"] = rng.uniform(*REST_VOLTS)
    made["battery_ohm"] = start["battery_ohm"] * (1.0 + 0.012 * max(25.0 - air, 0.0))
    return made, Day(rating, barometer, air, reid)


def pump_of(start: Mapping[str, float], flow_lph: float) -> dict[str, float]:
    """Return the pump that gives this flow at 13.7 V against the set pressure: the file's pump made smaller or larger.

    Flow and leakage go with the displacement; current less than in proportion, for small pumps lose more in the motor.
    """
    amps = start["pump_base_current"] + start["pump_current_slope"] * start["regulator_kpa"]
    ohm = start["pump_ohm"] + start["pump_supply_ohm"] + start["pump_ground_ohm"]
    flow = start["pump_per_volt"] * (13.7 - amps * ohm) - start["pump_leakage"] * start["regulator_kpa"]
    size = flow_lph / flow
    for _ in range(8):
        slope = start["pump_current_slope"] * size**CURRENT_WITH_SIZE
        amps = start["pump_base_current"] + slope * start["regulator_kpa"]
        flow = start["pump_per_volt"] * (13.7 - amps * ohm) - start["pump_leakage"] * start["regulator_kpa"]
        size = flow_lph / flow
    return {
        "pump_per_volt": start["pump_per_volt"] * size,
        "pump_leakage": start["pump_leakage"] * size,
        "pump_current_slope": start["pump_current_slope"] * size**CURRENT_WITH_SIZE,
    }


def put(table: np.ndarray, start: Mapping[str, float], keys: Sequence[tuple[int, ...]]) -> None:
    """Settle every car of a table (parameters by cars) in the population, in place."""
    for place, key in enumerate(keys):
        for name, value in settle(start, key)[0].items():
            table[_COLUMN[name], place] = value
