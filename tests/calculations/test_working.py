"""The working shown is the calculation: worked from the printed formula, it comes to the same result."""

import pytest

from troubleshoot.calculations.registry import calculation
from troubleshoot.calculations.working import steps

# formulas that are, wholly or at the end, a look-up, a conversion or a curve given in words
IN_WORDS = {
    "total-timing", "wire-gauge-for-drop", "fuse-size", "fuse-opening-time", "battery-charge",
    "lowest-cranking-voltage",
    "alternator-budget", "sensor-resistance", "exhaust-dew-point", "mean-gain", "horsepower-to-watts",
    "fahrenheit-to-celsius", "celsius-to-fahrenheit", "pressure-to-kilopascal",
}  # fmt: skip


def test_the_printed_formula_gives_the_result(sample_name, samples):
    """Each result stands in the working under its symbol, with the value the function gives."""
    calc = calculation(sample_name)
    answer = calc.answer(samples[sample_name])
    inside = {}
    for parameter, field in zip(calc.parameters, calc.inputs, strict=True):
        given = answer.inputs[field.name]
        inside[parameter] = (
            tuple(field.to_inside(one.value) for one in given) if field.many else field.to_inside(given.value)
        )
    worked = steps(calc, inside)
    values = {step.formula.partition(" = ")[0]: step.value for step in worked}
    if sample_name in IN_WORDS:
        assert any(step.value is None for step in worked)
        return
    for field in calc.outputs:
        want = field.to_inside(answer.outputs[field.name].value)
        assert values[field.symbol] == pytest.approx(want, rel=3e-6), (field.name, worked)


def test_numbers_are_put_in():
    worked = steps(calculation("dwell-time"), {"dwell_angle": 30.0, "engine_speed": 4500.0})
    assert worked == [("t = θ/(3·N)", "t = 30/(3·4500)", pytest.approx(30 / 13500))]


def test_words_are_never_executed():
    """A formula is parsed as arithmetic only; anything else is shown as words."""
    calc = calculation("dwell-time")

    def spoiled(dwell_angle, engine_speed):
        """Give nothing.

        Formula: t = __import__("os").getcwd()
            t = open(θ)
        """

    worked = steps(calc._replace(function=spoiled), {"dwell_angle": 30.0, "engine_speed": 4500.0})
    assert [step.value for step in worked] == [None, None]
