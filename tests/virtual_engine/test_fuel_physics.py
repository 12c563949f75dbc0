"""Fuel supply, wall film and sensors against root finders, published correlations and conservation."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from troubleshoot.virtual_engine import cars, engines, operating, sensors
from troubleshoot.virtual_engine.faults import FAULTS
from troubleshoot.virtual_engine.fuel_supply import FuelCircuit, pump_line, suction_limit, vapour_kpa
from troubleshoot.virtual_engine.parameters import Parameters
from troubleshoot.virtual_engine.scenarios import WARM_IDLE, run
from troubleshoot.virtual_engine.state import constants, film_time, running_state
from troubleshoot.virtual_engine.stepper import wall_film

FUEL_FAULTS = [
    "fuel_filter_clogged",
    "suction_restricted",
    "pump_wire_resistance",
    "pump_ground_resistance",
    "pump_worn",
    "regulator_low",
    "regulator_high",
    "return_restricted",
    "hot_fuel_vapour",
]


def by_root_finding(p: Parameters, i: int, volts: float, demand: float) -> float:
    """Rail pressure where pump, filter, line, regulator and injectors meet, searched in the pressure itself."""
    top, slope = (float(x[i]) for x in pump_line(p, np.full(p.size, volts)))
    limit = float(suction_limit(p)[i])
    filt, line = float(p.filter_resistance[i]), 10 * float(p.line_resistance[i])
    opens, rises, back = float(p.regulator_kpa[i]), float(p.regulator_slope[i]), float(p.return_resistance[i])
    relief = float(p.relief_kpa[i])
    if limit <= 0.0:
        return 0.0  # the fuel boils before the pump: nothing reaches the rail

    def returned(rail: float) -> float:
        over = rail - opens
        if over <= 0:
            return 0.0
        return (-rises + np.sqrt(rises**2 + 4 * back * over)) / (2 * back)

    def excess(rail: float) -> float:
        wanted = demand * np.sqrt(rail / 400) + returned(rail)
        outlet = rail + filt * wanted**2 + line * wanted
        from_pump = top - slope * outlet if outlet <= relief else -1e9 * (outlet - relief)
        return min(from_pump, limit) - wanted

    return float(brentq(excess, 1e-9, 2000.0, xtol=1e-10))


@pytest.mark.parametrize("engine", engines.ENGINES)
def test_closed_form_of_the_fuel_supply_agrees_with_a_root_finder(engine: str) -> None:
    rng = np.random.default_rng(4)
    several = []
    for _ in range(300):
        pair = rng.choice(FUEL_FAULTS, 2, replace=False)
        several.append([(str(name), float(rng.uniform(0, 1))) for name in pair])
    p = cars.build(engine, "points", several, cars.seeds_of(8, 300))
    volts, demand = rng.uniform(9, 15, 300), rng.uniform(0.5, 60, 300)
    worst = 0.0
    for place in range(300):
        one = p.take(np.array([place]))
        settled = FuelCircuit.of(one).supply(volts[place : place + 1], demand[place : place + 1], rounds=3)
        expected = by_root_finding(one, 0, float(volts[place]), float(demand[place]))
        worst = max(worst, abs(float(settled.rail_kpa[0]) - expected))
    assert worst < 0.1  # kPa


def test_pump_flow_is_injected_plus_returned() -> None:
    p = cars.build("harrow-240", "points", [[("pump_worn", s / 10)] for s in range(10)], cars.seeds_of(2, 10))
    demand = np.linspace(1, 60, 10)
    settled = FuelCircuit.of(p).supply(np.full(10, 13.5), demand)
    injected = demand * np.sqrt(settled.rail_kpa / 400)
    assert settled.flow == pytest.approx(injected + settled.returned, abs=0.05)
    assert (settled.outlet_kpa >= settled.rail_kpa).all()


@pytest.mark.parametrize(("reid", "degf", "psia"), [(9, 80, 6.72773888), (9, 100, 9.566583495)])
def test_vapour_pressure_is_the_ap_42_correlation(reid: float, degf: float, psia: float) -> None:
    """US EPA AP-42 chapter 7, petrol equation with slope 3, worked by hand with its rounded 459.6 degR."""
    found = vapour_kpa(np.array([float(reid)]), np.array([(degf - 32) / 1.8]))
    assert float(found[0]) / 6.895 == pytest.approx(psia, rel=4e-3)


@pytest.mark.parametrize(("degf", "psia"), [(40, 3.4), (60, 5.2), (80, 7.4), (100, 10.5)])
def test_vapour_pressure_meets_the_printed_table_for_rvp_10(degf: float, psia: float) -> None:
    """AP-42 table 7.1-2, gasoline of Reid vapour pressure 10 (figures from memory)."""
    found = vapour_kpa(np.array([10.0]), np.array([(degf - 32) / 1.8]))
    assert float(found[0]) / 6.895 == pytest.approx(psia, rel=0.03)


def test_pump_line_is_flow_per_volt_less_leakage() -> None:
    """Straight pump line: 19.9 L/h a volt less 0.15 L/h a kPa, less what the wiring drops."""
    p = engines.engine("harrow-240")
    top, slope = pump_line(p, np.array([13.5]))
    ohm, amps_at_400 = 0.53, 1.2 + 0.0105 * 400
    expected = 19.9 * (13.5 - amps_at_400 * ohm) - 0.15 * 400
    assert float(top[0] - slope[0] * 400) == pytest.approx(expected, rel=1e-9)


def test_no_pump_means_no_pressure_no_flow_no_current() -> None:
    p = cars.build("harrow-240", "points", [[("pump_dead", 1.0)]], cars.seeds_of(1, 1))
    settled = FuelCircuit.of(p).supply(np.array([12.4]), np.array([0.0]))
    assert (settled.rail_kpa, settled.flow, settled.current, settled.pump_volts) == (0, 0, 0, 0)


def test_wall_film_keeps_the_mass_of_fuel() -> None:
    """Injected less burnt equals what the film gained, at idle and at a crawl where part stays behind."""
    p = engines.engine("harrow-240")
    warm = np.array([85.0])
    k = constants(p, warm, 0.01)
    state = running_state(k, operating.idle(p, warm).at)
    for rpm in (750.0, 60.0, 0.0):
        state.rpm = np.array([rpm])
        before, given, out = state.film.sum(), 0.0, 0.0
        for moment in range(200):
            dose = np.array([[0.2 + 0.001 * moment], [0.3]])
            given += float(dose.sum()) * 0.01
            out += float(wall_film(k, state, dose).sum()) * 0.01
        assert given - out == pytest.approx(float(state.film.sum() - before), abs=1e-9)
        if rpm == 0.0:
            assert out == 0.0


def test_film_time_constant_lies_in_the_published_range() -> None:
    """Single-point injection: about 0.25 to 1 s (Hendricks & Sorenson, SAE 900616, recalled)."""
    for engine in engines.ENGINES:
        p = engines.engine(engine)
        k = constants(p, np.array([85.0]), 0.01)
        assert 0.2 < float(film_time(k, np.array([[40.0], [40.0]]), np.array([750.0]))[0, 0]) < 1.0


def test_fuel_injected_at_steady_idle_is_what_the_air_needs() -> None:
    """Lambda is air over 14.7 times fuel: the trace's own air, fuel and lambda agree."""
    p = engines.engine("harrow-240")
    warm = np.array([85.0])
    idle = operating.idle(p, warm)
    record = run(p, WARM_IDLE, lambda k: running_state(k, idle.at), warm, [(1,)], quiet=True, duration_s=0.9)
    air, fuel = float(idle.at.air.total[0]), float(idle.at.injected[0])
    assert air / (14.7 * fuel * 1.0048) == pytest.approx(float(record.channels["lambda_true"][-1, 0]), rel=2e-3)


def test_thermistor_follows_the_beta_equation_and_inverts() -> None:
    celsius = np.array([-20.0, 0.0, 25.0, 60.0, 85.0, 110.0])
    ohm = sensors.thermistor_ohm(celsius)
    assert ohm[2] == pytest.approx(2250.0)
    beta = np.log(ohm[1] / ohm[4]) / (1 / 273.15 - 1 / 358.15)
    assert beta == pytest.approx(3480.0)
    assert sensors.thermistor_c(ohm) == pytest.approx(celsius, abs=1e-6)


def test_a_lifted_sensor_ground_reads_cold() -> None:
    """28 mV of ground lift makes a warm engine read about 2 degC low; more lift, colder."""
    p = engines.engine("harrow-240")
    warm = np.array([85.0])
    reads = [float(sensors.indicated_coolant(p, warm, np.array([lift]))[0]) for lift in (0.0, 0.028, 0.2, 0.5)]
    assert reads[0] == pytest.approx(85.0, abs=1e-3)
    assert 1.0 < reads[0] - reads[1] < 3.0
    assert reads == sorted(reads, reverse=True)


def test_misfires_read_lean_never_rich() -> None:
    shares = np.linspace(0, 0.5, 11)
    read = sensors.lambda_reading(np.full(11, 0.95), shares, np.ones(11))
    assert (np.diff(read) > 0).all()


def test_every_fuel_fault_of_this_file_exists() -> None:
    assert set(FUEL_FAULTS) <= set(FAULTS)
