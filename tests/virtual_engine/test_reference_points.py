"""Reference points of the nominal V8, worked out beforehand by a separate scalar calculation."""

from __future__ import annotations

import numpy as np
import pytest

from troubleshoot.virtual_engine import engines, operating, steady
from troubleshoot.virtual_engine.electrical import rectified

# rpm, idle valve, throttle, then: manifold kPa, air g/s, lambda, trim, pulse ms, duty, rail kPa, pump L/h,
# kV available, kV needed, residual share, torque N.m, knock deg. Coolant 85 degC.
REFERENCE = [
    (750, 0.1936, 0, 39.33, 7.158, 0.9699, -0.0289, 3.768, 0.0471, 403.73, 161.82, 28.0, 7.997, 0.2036, 7.0, -57.9),
    (
        2500,
        0.15,
        1,
        99.376,
        78.830,
        0.8700,
        -0.0146,
        11.459,
        0.4775,
        399.11,
        162.98,
        26.078,
        14.885,
        0.0484,
        266.57,
        -7.446,
    ),
    (
        4500,
        0.15,
        1,
        98.190,
        130.303,
        0.8696,
        -0.0185,
        10.642,
        0.7982,
        396.15,
        163.73,
        18.846,
        13.576,
        0.0561,
        207.42,
        -8.033,
    ),
]
# Half of the last printed digit, a little more where trim settles by repetition.
DIGITS = (0.006, 0.0006, 0.0002, 0.0001, 0.0006, 0.0001, 0.006, 0.006, 0.001, 0.0006, 0.0001, 0.006, 0.06)


@pytest.mark.parametrize("row", REFERENCE, ids=lambda row: f"{row[0]} rpm")
def test_the_nominal_v8_meets_the_reference_points_to_the_digits_given(row: tuple[float, ...]) -> None:
    p = engines.engine("harrow-240")
    rpm, valve, throttle = (np.array([float(value)]) for value in row[:3])
    at = steady.point(p, rpm, throttle, valve, np.array([85.0]), passes=30)
    found = (
        at.air.manifold,
        at.air.total,
        at.lam,
        at.trim,
        at.pulse * 1e3,
        at.duty,
        at.supply.rail_kpa,
        at.supply.flow,
        at.available_kv,
        at.required_kv,
        at.air.residual,
        at.torque,
        at.knock,
    )
    for value, expected, digit in zip(found, row[3:], DIGITS, strict=True):
        assert float(value[0]) == pytest.approx(expected, abs=digit)


def test_the_idle_controller_finds_the_reference_valve_position() -> None:
    at = operating.idle(engines.engine("harrow-240"), np.array([85.0])).at
    assert float(at.rpm[0]) == pytest.approx(750.0, abs=0.1)
    assert float(at.valve[0]) == pytest.approx(0.1936, abs=0.0002)


@pytest.mark.parametrize(("lost", "mean", "factor"), [(0.0, 1.0, 0.042), (2.0, 2 / 3, 0.483)])
def test_ripple_factors_of_a_three_phase_bridge_and_of_one_that_lost_a_phase(
    lost: float, mean: float, factor: float
) -> None:
    """4.2 % and, as a single-phase bridge, 48.3 % of the mean: textbooks of rectifiers, from memory."""
    shape = rectified(np.linspace(0.0, 1.0, 3600, endpoint=False), np.asarray(lost))
    assert np.std(shape) / mean == pytest.approx(factor, abs=0.001)
