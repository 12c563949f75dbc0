"""The uncertainty of a result, by first order (JCGM 100:2008, 5.1.2), against an independent reference.

The `uncertainties` package carries exact derivatives through each operation of the formula itself (its functions are
put in place of `math`), while `evaluate` takes central differences: two routes that share only the formula.
"""

import importlib
import math
import pkgutil
import types

import pytest
from uncertainties import UFloat, nominal_value, std_dev, ufloat, umath

import troubleshoot.calculations
from troubleshoot.calculations.registry import calculation
from troubleshoot.calculations.unit_table import UNITS
from troubleshoot.calculations.units import Measured, read_quantity

pytestmark = pytest.mark.filterwarnings("ignore::FutureWarning")  # comparisons of such numbers, by their values

WITH_DERIVATIVES = types.SimpleNamespace(
    **{
        name: getattr(umath, name) if hasattr(umath, name) else getattr(math, name)
        for name in dir(math)
        if not name.startswith("_")
    }
)


@pytest.fixture
def exact_derivatives(monkeypatch):
    """Let every module of formulas calculate with numbers that carry their derivatives."""
    for found in pkgutil.iter_modules(troubleshoot.calculations.__path__):
        module = importlib.import_module(f"troubleshoot.calculations.{found.name}")
        if hasattr(module, "math") and found.name not in ("evaluation", "definition", "units", "numbers_typed"):
            monkeypatch.setattr(module, "math", WITH_DERIVATIVES)


def spread_of(field, value: float) -> float:
    """Give every input about one per cent, or a small step where the value is zero."""
    return 0.01 * abs(value) or 0.01


def test_agrees_with_exact_derivatives(sample_name, samples, exact_derivatives):
    calc = calculation(sample_name)
    measured_inputs: dict = {}
    exact_inputs: dict = {}
    for parameter, field in zip(calc.parameters, calc.inputs, strict=True):
        given = samples[sample_name].get(field.name, field.default)
        values = list(given) if field.many else [given]
        spreads = [0.0 if field.whole else spread_of(field, value) for value in values]
        factor = UNITS[field.unit].factor
        readings = [Measured(v, s, field.unit, "") for v, s in zip(values, spreads, strict=True)]
        exact = [
            ufloat(field.to_inside(v), s * factor) if s else field.to_inside(v)
            for v, s in zip(values, spreads, strict=True)
        ]
        measured_inputs[field.name] = readings if field.many else readings[0]
        exact_inputs[parameter] = tuple(exact) if field.many else exact[0]

    result = calc.function(**exact_inputs)
    exact_results = tuple(result) if isinstance(result, tuple) else (result,)
    outputs = calc.evaluate(measured_inputs)
    for field, exact in zip(calc.outputs, exact_results, strict=True):
        got = outputs[field.name]
        assert field.to_inside(got.value) == pytest.approx(nominal_value(exact), rel=1e-9, abs=1e-12)
        if field.whole or not isinstance(exact, UFloat):
            continue
        factor = UNITS[field.unit].factor
        assert got.uncertainty * factor == pytest.approx(std_dev(exact), rel=1e-5, abs=1e-9 * abs(nominal_value(exact)))


def test_product_by_hand():
    """P = p·Q with 2 % and 3 %: relative uncertainties add in squares (JCGM 100, 5.1.6)."""
    got = calculation("pump-efficiency").evaluate(
        {
            "pressure": read_quantity("50 ± 1 psi", "psi"),
            "flow": read_quantity("60 gal/h ± 3 %", "gal/h"),
            "voltage": 13.0,
            "current": 7.0,
        }
    )["hydraulic-power"]
    assert got.uncertainty / got.value == pytest.approx(math.hypot(0.02, 0.03), rel=1e-6)


def test_difference_by_hand():
    """A difference of two readings of ±0.5 psi carries 0.5·√2, whatever it comes to."""
    got = calculation("injector-pressure-above-blades").evaluate(
        {
            "rail-pressure": Measured(58.0, 0.5, "psi", ""),
            "air-cleaner-vacuum": Measured(0.0, 0.5 / 0.0361273, "inH2O", ""),
        }
    )["difference"]
    assert got.uncertainty == pytest.approx(0.5 * math.sqrt(2), rel=1e-4)


def test_unstated_uncertainty_stays_unstated(samples):
    assert calculation("dwell-time").evaluate(samples["dwell-time"])["dwell-time"].uncertainty is None


def test_the_unit_typed_does_not_matter():
    """±7 kPa on 310 kPa is the same reading as its figures in psi."""
    calc = calculation("injector-flow-at-pressure")
    rated = {"flow": 80.0, "pressure-rated": 43.5}
    psi = read_quantity("310 ± 7 kPa", "psi")
    kpa = read_quantity("310 ± 7 kPa", "kPa")
    one, other = (calc.evaluate({**rated, "pressure-actual": reading})["flow-actual"] for reading in (psi, kpa))
    assert one.value == pytest.approx(other.value)
    assert one.uncertainty == pytest.approx(other.uncertainty)


def test_shares_of_the_variance_add_up():
    """The answer says which reading the uncertainty comes from: shares of all inputs make one."""
    answer = calculation("vapour-margin").answer(
        {
            "barometer": Measured(29.0, 0.05, "inHg abs", ""),
            "lift": Measured(10, 0.5, "in", ""),
            "line-drop": 0.5,
            "strainer-drop": Measured(0.3, 0.1, "psi", ""),
            "reid-vapour-pressure": Measured(9, 0.5, "psia", ""),
            "fuel-temperature": Measured(100, 3, "degF", ""),
        }
    )
    shares = answer.shares["margin"]
    assert sum(shares.values()) == pytest.approx(1)
    assert max(shares, key=lambda name: shares[name]) == "reid-vapour-pressure"


def test_at_the_edge_of_what_has_an_answer():
    """Where one side of a reading has no answer the slope is taken from the other side."""
    got = calculation("flow-share-of-choked").evaluate({"pressure-ratio": Measured(1.0, 1e-3, "1", "")})["share"]
    assert got.uncertainty is not None
    assert math.isfinite(got.uncertainty)
