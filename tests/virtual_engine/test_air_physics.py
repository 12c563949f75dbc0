"""Air, combustion and balances against gas dynamics, reference libraries and published ranges."""

from __future__ import annotations

import numpy as np
import pytest
from fluids.safety_valve import API520_A_g
from scipy.integrate import solve_ivp

from troubleshoot.virtual_engine import airflow, cars, combustion, engines, operating, steady
from troubleshoot.virtual_engine.scenarios import PULL, WARM_IDLE, Scenario, run
from troubleshoot.virtual_engine.state import running_state

GAMMA = 1.4
SIMPLIFICATION = 0.7071 / 0.6847  # choked value of the simplified over the exact function, carried by the area
WARM = np.array([85.0])


def exact_share(ratio: np.ndarray) -> np.ndarray:
    """Isentropic orifice, as a share of choked flow (any gas dynamics text)."""
    p = np.maximum(ratio, 0.5283)
    top = np.sqrt(p ** (2 / GAMMA) - p ** ((GAMMA + 1) / GAMMA))
    best = 0.5283
    return top / np.sqrt(best ** (2 / GAMMA) - best ** ((GAMMA + 1) / GAMMA))


def test_flow_function_stays_within_3_5_percent_of_the_exact_isentropic_orifice() -> None:
    ratio = np.linspace(0.05, 0.98, 400)
    psi, _ = airflow.flow_function(ratio)
    absolute = exact_share(ratio) * 0.6847
    assert np.abs(psi / absolute - 1).max() < 0.035


@pytest.mark.parametrize(("ratio", "share"), [(0.843, 0.7463800567), (0.784, 0.8416091567), (0.5283, 1.0)])
def test_flow_share_meets_the_printed_isentropic_table(ratio: float, share: float) -> None:
    """A*/A at the printed p/p0, isentropic flow table for gamma 1.4 (NACA 1135 family)."""
    psi, _ = airflow.flow_function(np.array([ratio]))
    assert float(psi[0]) / 0.7071 == pytest.approx(share, rel=0.03)


def test_choked_flow_agrees_with_the_relief_valve_standard() -> None:
    """API 520 critical gas sizing, as coded in fluids: the area for our flow is our area."""
    area_cm2 = np.array([0.3])
    flow, slope = airflow.flow(area_cm2, np.array([100.5]), np.array([30.0]), np.array([293.0]))
    needed = API520_A_g(
        m=float(flow[0]) / 1000,
        T=293.0,
        Z=1.0,
        MW=28.97,
        k=GAMMA,
        P1=100.5e3,
        P2=30e3,
        Kd=1.0,
    )
    assert needed * 1e4 == pytest.approx(0.3 * SIMPLIFICATION, rel=0.01)
    assert float(slope[0]) == 0.0


def test_flow_slope_is_the_derivative_of_the_flow() -> None:
    down, area, up, warm = np.array([60.0, 75.0, 95.0, 99.9]), np.full(4, 5.0), np.full(4, 100.5), np.full(4, 293.0)
    step = 1e-5
    high, _ = airflow.flow(area, up, down + step, warm)
    low, _ = airflow.flow(area, up, down - step, warm)
    _, slope = airflow.flow(area, up, down, warm)
    assert slope == pytest.approx((high - low) / (2 * step), rel=1e-4)


@pytest.mark.parametrize("engine", engines.ENGINES)
def test_both_halves_balance_after_the_air_is_solved(engine: str) -> None:
    """What enters a half leaves it, to a thousandth of a gram a second, whatever leaks and tilts."""
    names = ("vacuum_leak", "vacuum_leak_half", "exhaust_blocked", "booster_hose_off", "halves_uneven_fuel")
    several = [[(name, 1.0)] for name in names]
    p = cars.build(engine, "points", several, cars.seeds_of(5, 5))
    for rpm, throttle in ((750.0, 0.0), (2000.0, 0.12), (4500.0, 1.0)):
        speed, opening, valve = np.full(5, rpm), np.full(5, throttle), np.full(5, 0.15)
        air = steady.balance_air(p, speed, opening, valve, p.thermostat_c)
        areas, leaks = airflow.inlet_areas(p, opening, valve)
        inflow, _ = airflow.flow(areas + leaks, p.ambient_kpa, air.halves, p.ambient_k)
        across, _ = airflow.slot_flow(p, air.halves, air.charge_k)
        assert np.abs(inflow[0] - air.cylinder[0] - across).max() < 1e-3
        assert np.abs(inflow[1] - air.cylinder[1] + across).max() < 1e-3


def test_manifold_fills_like_the_differential_equation_at_a_frozen_speed() -> None:
    """Stepped filling after opening the throttle against scipy's integrator of the same balance."""
    p = engines.engine("harrow-240")
    start = steady.point(p, np.array([1500.0]), np.array([0.07]), np.array([0.1]), WARM)
    held = Scenario(
        "held",
        "throttle opened at a frozen speed",
        0.4,
        lambda _t, _s, _r: np.array([0.2]),
        9,
        imposed_rpm=lambda _t: 1500.0,
    )
    record = run(
        p, held, lambda k: running_state(k, start), WARM, [(1,)], dt=0.002, every=1, names=("map",), quiet=True
    )
    areas = airflow.plate_areas(p, np.array([0.2]))

    def slope(_time: float, y: np.ndarray) -> list[float]:
        halves = np.array([[y[0]], [y[0]]])
        at_valve = areas + 0.5 * p.idle_valve_area * start.valve
        inflow, _ = airflow.flow(airflow.in_series(at_valve, 0.5 * p.cleaner_area), p.ambient_kpa, halves, p.ambient_k)
        charge_k = airflow.charge_k(p, WARM, y[1:2])
        exhaust = airflow.exhaust_pressure(p, y[1:2])
        curve = airflow.breathing_curve(p, np.array([1500.0]))
        ev = airflow.volumetric_efficiency(p, curve, exhaust, halves)
        drawn = 0.5 * p.displacement * 1500 / 120 * ev * halves / (airflow.GAS * charge_k)
        capacity = 0.5 * p.manifold_volume / (airflow.GAS * charge_k)
        total = float(drawn.sum())
        return [float(((inflow - drawn)[0] / capacity)[0]), (total - y[1]) / 0.004]

    moments = record.time[1:60:5]
    begin = [float(start.air.manifold[0]), float(start.air.total[0])]
    solved = solve_ivp(slope, (0, 0.4), begin, t_eval=moments, rtol=1e-7)
    found = record.channels["map"][1:60:5, 0]
    span = found[-1] - float(start.air.manifold[0])
    assert span > 15
    assert np.abs(found - solved.y[0]).max() < 0.05 * span


def test_full_throttle_torque_and_fuel_are_those_of_ordinary_engines() -> None:
    """Brake mean pressure 750-1050 kPa and 270-370 g/kWh rich at full throttle: ranges for naturally
    aspirated spark-ignition engines in Heywood (1988), figures quoted from memory."""
    for engine in engines.ENGINES:
        pull = operating.pull(engines.engine(engine), WARM)
        litres = float(engines.engine(engine).displacement[0])
        bmep = pull.torque * 4 * np.pi / litres
        at = int(np.argmax(bmep))
        assert 750 < bmep[at] < 1050
        power_kw = pull.torque * pull.rpm * np.pi / 30000
        assert 270 < pull.injected[at] * 3600 / power_kw[at] < 370


def test_residual_gas_is_large_at_idle_and_small_at_full_throttle() -> None:
    """Heywood (1988), from memory: about a fifth at idle, 4 to 8 % at full throttle."""
    p = engines.engine("harrow-240")
    assert 0.15 < float(operating.idle(p, WARM).at.air.residual[0]) < 0.30
    assert 0.03 < float(operating.pull(p, WARM).air.residual[8]) < 0.08


def test_work_never_exceeds_a_sound_share_of_the_fuel_burnt() -> None:
    """Energy goes one way: brake power stays below 40 % of the heat of the fuel, friction is positive."""
    p = engines.engine("harrow-240")
    pull = operating.pull(p, WARM)
    heat_kw = pull.injected * combustion.HEATING_VALUE
    assert (pull.torque * pull.rpm * np.pi / 30000 < 0.40 * heat_kw).all()
    assert (combustion.friction(p, pull.rpm, combustion.oil_thickness(np.array([10.0]))) > 0).all()
    assert float(combustion.oil_thickness(np.array([85.0]))[0]) == pytest.approx(1.0)


@pytest.mark.parametrize("engine", engines.ENGINES)
def test_stepped_idle_settles_where_the_steady_solution_is(engine: str) -> None:
    """Two ways to the same idle: within 10 rpm, half a kPa and a hundredth of lambda, faults included."""
    several = [
        [],
        [("vacuum_leak", 0.6)],
        [("timing_retarded", 0.7)],
        [("regulator_low", 0.8)],
        [("tps_misset", 0.5)],
        [("iac_stuck_open", 0.4)],
        [("clt_reads_cold", 0.6)],
        [("plug_wire_off", 1.0)],
        [("cam_retarded", 0.8)],
        [("air_filter_clogged", 1.0)],
        [("return_restricted", 1.0)],
        [("points_gap_closed", 1.0)],
    ]
    count = len(several)
    p = cars.build(engine, "points", several, cars.seeds_of(11, count))
    idle = operating.idle(p, p.thermostat_c)
    record = run(
        p,
        WARM_IDLE,
        lambda k: running_state(k, idle.at),
        p.thermostat_c,
        cars.seeds_of(11, count),
        duration_s=14.0,
        names=("rpm", "map", "lambda"),
        quiet=True,
    )
    assert np.abs(record.window("rpm", 8, 14).mean(axis=0) - idle.at.rpm).max() < 10
    assert np.abs(record.window("map", 8, 14).mean(axis=0) - idle.at.air.manifold).max() < 0.5
    assert np.abs(record.window("lambda", 8, 14).mean(axis=0) - idle.at.lam_read).max() < 0.012


def test_halving_the_step_does_not_move_the_answer_to_a_load_knock() -> None:
    p = engines.engine("harrow-240")
    idle = operating.idle(p, WARM)
    found = []
    for dt in (0.01, 0.005):
        record = run(
            p,
            WARM_IDLE,
            lambda k: running_state(k, idle.at),
            WARM,
            [(1,)],
            dt=dt,
            every=round(0.05 / dt),
            names=("rpm",),
            quiet=True,
            duration_s=3.0,
        )
        found.append(record.channels["rpm"][:, 0])
    assert np.abs(found[0] - found[1]).max() < 4.0


def test_stepping_is_stable_at_full_throttle_with_a_step_thirty_times_the_filling_time() -> None:
    p = engines.engine("harrow-240")
    wide = np.ones(1)
    start = steady.point(p, np.array([4500.0]), wide, np.array([0.15]), WARM)
    held = Scenario("held", "full throttle", 1.0, PULL.throttle, 9, imposed_rpm=lambda _t: 4500.0)
    record = run(p, held, lambda k: running_state(k, start), WARM, [(1,)], dt=0.02, every=1, quiet=True)
    assert np.abs(record.channels["map"][10:, 0] - float(start.air.manifold[0])).max() < 0.2
    assert float(record.channels["torque"][-1, 0]) == pytest.approx(float(start.torque[0]), abs=1.5)
