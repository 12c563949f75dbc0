"""Coil, dwell, breakdown and charging against circuit theory and common values of the trade."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from troubleshoot.virtual_engine import cars, electrical, engines, ignition

NOT_CRANKING = np.array([False])


def coil(ohm: float, henry: float, supply: float, seconds: float) -> float:
    nominal = engines.engine("harrow-240")
    p = replace(nominal, coil_ohm=np.array([ohm]), ballast_ohm=np.array([0.0]), coil_henry=np.array([henry]))
    return float(ignition.coil_current(p, np.array([supply + 0.3]), np.array([seconds]), NOT_CRANKING)[0])


@pytest.mark.parametrize(
    ("supply", "seconds", "amps"),
    [(14, 0.010, 4.556917186), (14, 1.6666666667e-3, 2.16878), (12, 2.6666666667e-3, 2.528482235)],
)
def test_coil_current_is_the_first_order_rise(supply: float, seconds: float, amps: float) -> None:
    """R-L rise, 63.2 % of V/R after one time constant (3 ohm, 8 mH); 0.3 V is lost in the contacts."""
    assert coil(3.0, 8e-3, supply, seconds) == pytest.approx(amps, rel=1e-5)


def test_coil_current_is_the_solution_of_the_circuit_equation() -> None:
    solved = solve_ivp(lambda _t, i: (12.0 - 2.9 * i) / 8e-3, (0, 0.004), [0.0], rtol=1e-9, atol=1e-12)
    assert coil(2.9, 8e-3, 12.0, 0.004) == pytest.approx(float(solved.y[0, -1]), rel=1e-6)


def test_available_voltage_is_that_of_the_stored_energy() -> None:
    """Half L i squared, less losses, charges the secondary capacitance: E = C U^2 / 2."""
    p = replace(engines.engine("harrow-240"), secondary_limit_kv=np.array([99.0]))
    amps = np.array([4.5569])
    energy = 0.5 * 8e-3 * 4.5569**2
    assert energy == pytest.approx(0.08306135, rel=1e-6)
    expected = np.sqrt(2 * 0.60 * energy / 95e-12) / 1000
    found = ignition.available_kv(p, amps, ignition.coil_health(p, np.array([20.0])), np.array([0.0]))
    assert float(found[0]) == pytest.approx(expected, rel=1e-9)


def test_points_close_for_dwell_over_six_times_distributor_speed() -> None:
    """30 degrees of dwell at 2500 engine rpm (1250 at the distributor) last 4 ms."""
    p = engines.engine("harrow-240")
    assert float(ignition.charge_time(p, np.array([2500.0]), p.dwell)[0]) == pytest.approx(0.004)


def test_points_lose_dwell_only_above_their_float_speed() -> None:
    p = engines.engine("harrow-240")
    dwell = [float(ignition.effective_dwell(p, np.array([rpm]))[0]) for rpm in (3000.0, 6300.0, 6750.0, 7200.0, 9000.0)]
    assert dwell[0] == dwell[1] == 30.0
    assert dwell[2] == pytest.approx(30 * (1 - 0.85 * 0.5))
    assert dwell[3] == dwell[4] == pytest.approx(4.5)


def test_one_degree_of_dwell_moves_the_spark_one_crank_degree() -> None:
    p = engines.engine("harrow-240")
    wider = replace(p, dwell=p.dwell + 1.0)
    rpm = np.array([750.0])
    assert ignition.mechanical_timing(wider, rpm) == pytest.approx(ignition.mechanical_timing(p, rpm) - 1.0)


def test_breakdown_of_a_uniform_centimetre_of_standard_air_is_thirty_kilovolts() -> None:
    """24.2 x + 6.1 sqrt(x), x in relative density times centimetres: about 30 kV (high-voltage textbooks)."""
    p = replace(engines.engine("harrow-240"), plug_gap=np.array([10.0]), plug_wear=np.array([1 / 0.78]))
    still = replace(p, compression_ratio=np.array([1.0 + 1e-9]))
    found = ignition.required_kv(still, np.array([0.0]), np.array([1.0]), np.array([1.0]))
    assert float(found[0]) == pytest.approx(30.3, abs=0.05)


def test_wider_gap_and_denser_charge_need_more_voltage() -> None:
    p = engines.engine("tarn-six-160")
    angle, stoichiometric = np.array([20.0]), np.array([1.0])
    needs = [
        float(ignition.required_kv(replace(p, plug_gap=np.array([gap])), angle, np.array([rho]), stoichiometric)[0])
        for gap, rho in ((0.6, 0.5), (0.9, 0.5), (0.9, 0.9), (1.6, 0.9))
    ]
    assert needs == sorted(needs)


def test_pump_volts_follow_kirchhoff() -> None:
    """Battery less current times wire and ground (13.8 V, 7 A, 0.09 ohm: 13.8 - 7 x 0.09 = 13.17 V)."""
    assert pytest.approx(13.17) == 13.8 - 7 * 0.09
    from troubleshoot.virtual_engine.fuel_supply import FuelCircuit

    p = cars.build("harrow-240", "points", [[("pump_wire_resistance", 0.5)]], cars.seeds_of(3, 1))
    settled = FuelCircuit.of(p).supply(np.array([13.8]), np.array([2.5]))
    drop = settled.current * (p.pump_supply_ohm + p.pump_ground_ohm)
    assert settled.pump_volts == pytest.approx(13.8 - drop)


def test_alternator_holds_its_setting_until_the_load_passes_its_capacity() -> None:
    p = engines.engine("harrow-240")
    rpm = np.array([3000.0])
    held, current = electrical.charging(p, rpm, np.array([20.0]))
    assert float(held[0]) == pytest.approx(14.2)
    assert float(current[0]) == pytest.approx(23.0)
    sagging, current = electrical.charging(p, rpm, np.array([80.0]))
    assert float(sagging[0]) < 12.3
    assert float(current[0]) < 62.0


def test_cranking_speed_is_where_starter_torque_meets_drag() -> None:
    """The closed form against the torque balance itself."""
    from troubleshoot.virtual_engine import combustion

    several = [[], [("battery_weak", 0.5)], [("starter_cable", 0.5)], [("battery_weak", 1.0)]]
    for engine in engines.ENGINES:
        p = cars.build(engine, "points", several, cars.seeds_of(9, 4))
        cold = np.full(4, 10.0)
        rpm = electrical.cranking_speed(p, cold)
        drag = (combustion.friction(p, rpm, combustion.oil_thickness(cold)) + 3.0) * p.displacement / (4 * np.pi)
        drag = drag + combustion.load_torque(p, rpm)
        turning = rpm > 1.0
        assert electrical.starter(p, rpm).torque[turning] == pytest.approx(drag[turning], rel=1e-6)
