"""A population of cars: ranges, outside facts, healthy drivers content, the same seed the same car."""

from __future__ import annotations

import numpy as np
import pytest

from troubleshoot.virtual_engine.cars import build, seeds_of
from troubleshoot.virtual_engine.complaints import complaints
from troubleshoot.virtual_engine.engines import ENGINES, nominal
from troubleshoot.virtual_engine.population import (
    AIR_C,
    EVENLY,
    NEED_LPH,
    PUMP_NEED,
    pump_of,
    settle,
    standard_kpa,
)
from troubleshoot.virtual_engine.readings import readings

START = nominal("harrow-240", "points")


@pytest.mark.parametrize(("height", "kpa"), [(0.0, 101.325), (500.0, 95.46), (1000.0, 89.88), (1500.0, 84.56)])
def test_the_barometer_is_that_of_the_standard_atmosphere(height: float, kpa: float) -> None:
    """ICAO standard atmosphere, printed table: 954.6, 898.8 and 845.6 hPa at 500, 1000 and 1500 m."""
    assert standard_kpa(height) == pytest.approx(kpa, abs=0.02)


def test_cars_stay_within_the_ranges_and_use_them() -> None:
    made = [settle(START, (seed,)) for seed in range(400)]
    for name, share in EVENLY.items():
        ratio = np.array([values[name] / START[name] for values, _ in made])
        assert ratio.min() >= 1.0 - share - 1e-9 and ratio.max() <= 1.0 + share + 1e-9
        assert ratio.max() - ratio.min() > 1.8 * share
    air = np.array([day.air_c for _, day in made])
    assert air.min() >= AIR_C[0] and air.max() <= AIR_C[1] and np.ptp(air) > 33.0
    stoichiometric = np.array([values["stoichiometric"] for values, _ in made])
    assert 14.1 <= stoichiometric.min() < 14.2 and 14.6 < stoichiometric.max() <= 14.7


@pytest.mark.parametrize("engine", ENGINES)
@pytest.mark.parametrize("times", PUMP_NEED)
def test_a_pump_gives_the_flow_it_was_made_for(engine: str, times: float) -> None:
    """By the pump's own line at 13.7 V against the set pressure."""
    start = nominal(engine, "points")
    wanted = times * NEED_LPH[int(start["cylinders"])]
    made = start | pump_of(start, wanted)
    amps = made["pump_base_current"] + made["pump_current_slope"] * made["regulator_kpa"]
    ohm = made["pump_ohm"] + made["pump_supply_ohm"] + made["pump_ground_ohm"]
    flow = made["pump_per_volt"] * (13.7 - amps * ohm) - made["pump_leakage"] * made["regulator_kpa"]
    assert flow == pytest.approx(wanted, rel=0.01)
    assert 2.0 < amps < 8.0  # such pumps draw 3 to 7 A (common practice, no source)


@pytest.mark.parametrize("engine", ENGINES)
def test_what_an_engine_burns_at_most_is_what_its_pumps_are_measured_by(engine: str) -> None:
    """Fuel at full throttle, 4500 rpm, from air and mixture of the steady point."""
    from troubleshoot.virtual_engine import operating

    p = build(engine, "points", [[]], seeds_of(1, 1), spread=False)
    burned = float(operating.pull(p, p.thermostat_c).injected.max()) * 3600.0 / 745.0
    assert NEED_LPH[int(p.cylinders[0])] == pytest.approx(burned, rel=0.08)


@pytest.mark.parametrize("engine", ENGINES)
def test_healthy_drivers_of_the_population_are_content(engine: str) -> None:
    """Nineteen of twenty cars give no complaint even against a yardstick that knows no car's past."""
    found = readings(engine, "points", [[]] * 60, 12, noise=False, drawn=True)
    said = complaints(found, found, own=True)
    assert said == [()] * 60
    from troubleshoot.virtual_engine.complaints import _notice

    noticed = np.array(list(_notice(found, found, True).values())).any(axis=0)
    assert noticed.mean() <= 0.08


def test_a_seed_gives_the_same_car_with_and_without_a_fault() -> None:
    faults = [[], [("vacuum_leak", 0.8)]]
    pair = readings("harrow-240", "points", faults, [31, 31], noise=False, only="steady", drawn=True)
    for name in ("batt_rest_v", "barometer_kpa", "air_c", "coil_prim_ohm", "crank_batt_v"):
        assert pair[name][0] == pair[name][1]


@pytest.mark.parametrize(("fault", "least"), [("pump_wire_resistance", 3), ("pump_worn", 40)])
def test_weak_supplies_hold_at_idle_and_fall_at_the_top(fault: str, least: int) -> None:
    """The textbook case: right at prime and idle, low when the engine asks for fuel (common practice, no source)."""
    count = 120
    found = readings("harrow-240", "points", [[(fault, 1.0)]] * count, 8, noise=False, only="steady", drawn=True)
    low = found["wot_fp_min_psi"] < 53.0
    assert low.sum() >= least
    assert (found["idle_fp_psi"][low] > 54.0).all()
    assert (found["fp_prime_psi"][low] > 54.0).mean() > 0.9
