"""The charts show the calculation: their points, marks and limits are its values, in either system of units."""

import math
from itertools import pairwise

import pytest

from troubleshoot.calculations.curves import CHARTS, charts_for
from troubleshoot.calculations.registry import calculation
from troubleshoot.calculations.units import convert


def test_every_calculation_with_a_free_input_has_a_chart(sample_name, samples):
    """Charts of all calculations are finite in both systems; only lists and look-ups by whole numbers have none."""
    one = calculation(sample_name)
    for system in ("us", "metric"):
        charts = charts_for(one, samples[sample_name], None, system)
        for chart in charts:
            left, right, low, high = chart.bounds()
            assert left < right
            assert low < high
            assert all(math.isfinite(v) for line in chart.lines for point in line.points for v in point)
            assert any(len(line.points) > 1 for line in chart.lines)
            assert "{" not in "".join(label.label for label in (*chart.levels, *chart.marks))
        if not charts:
            assert all(field.many or field.whole for field in one.inputs)


def test_the_nine_plots_are_there():
    """Coil, points, pump, duty, line pressure, feed volts, vapour margin, leak, before and after."""
    assert {
        "coil-energy-limit-speed",
        "points-float-speed",
        "pump-flow",
        "injector-duty",
        "pressure-along-line",
        "pump-supply-volts",
        "vapour-margin",
        "air-through-hole",
        "mean-gain",
    } <= set(CHARTS)


def test_coil_energy_crosses_the_need_at_the_limit_speed(samples):
    chart, dwell = charts_for(calculation("coil-energy-limit-speed"), samples["coil-energy-limit-speed"], 4500)
    limit = calculation("coil-energy-limit-speed").evaluate(samples["coil-energy-limit-speed"])["engine-speed"].value
    above = [x for x, y in chart.lines[0].points if y >= 20]
    below = [x for x, y in chart.lines[0].points if y < 20]
    assert max(above) <= limit <= min(below)
    assert chart.marks[0].x == pytest.approx(limit)
    assert chart.marks[1].x == 4500
    assert dwell.y.unit == "ms"


def test_the_arm_asks_for_the_spring_at_the_float_speed(samples):
    (chart,) = charts_for(calculation("points-float-speed"), samples["points-float-speed"], 4000)
    mark = chart.marks[0]
    assert mark.y == 12
    near = min(chart.lines[0].points, key=lambda point: abs(point[0] - mark.x))
    assert near[1] == pytest.approx(mark.y, rel=0.05)
    assert any(level.upright and level.at == 4000 for level in chart.levels)


def test_pressure_along_the_line_ends_at_the_rail(samples):
    given = samples["pressure-along-line"]
    result = calculation("pressure-along-line").evaluate(given)
    (chart,) = charts_for(calculation("pressure-along-line"), given)
    values = [y for _, y in chart.lines[0].points]
    assert values[0] == 0
    assert values[2] == pytest.approx(result["inlet-pressure"].value)
    assert values[-1] == pytest.approx(result["rail-pressure"].value)
    assert [words for _, words in chart.x.ticks][-1] == "rail"


def test_voltage_only_falls_along_the_feed(samples):
    (chart,) = charts_for(calculation("pump-supply-volts"), samples["pump-supply-volts"])
    assert all(a[1] >= b[1] for a, b in pairwise(chart.lines[0].points))
    assert chart.lines[0].points[-1][1] == pytest.approx(13.17)


def test_metric_charts_are_the_same_quantities(samples):
    """The points in metric units convert back to those in trade units."""
    one = calculation("vapour-margin")
    (us,), (metric,) = (charts_for(one, samples["vapour-margin"], None, system) for system in ("us", "metric"))
    assert (metric.x.unit, metric.y.unit) == ("degC", "bar")
    for (x, y), (mx, my) in zip(us.lines[0].points, metric.lines[0].points, strict=True):
        assert convert(mx, "degC", "degF") == pytest.approx(x)
        assert convert(my, "bar", "psi") == pytest.approx(y)
    assert "°C" in metric.marks[0].label
    assert "°F" in us.marks[0].label


def test_torque_and_power_of_a_run_cross_at_5252(samples):
    """In lbf·ft and hp the two have the same figure at 5252 rpm (33000/2π)."""
    given = {"before-speeds": [5252.113122, 6000], "before-power": [300, 310], "after-speeds": [5000, 6000]}
    power, torque = charts_for(calculation("mean-gain"), {**given, "after-power": [290, 320]})
    assert torque.lines[0].points[0][1] == pytest.approx(power.lines[0].points[0][1], rel=1e-9)
