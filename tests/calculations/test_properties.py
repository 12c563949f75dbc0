"""What must hold for any input: finite or refused by name, monotonic where physics says so, inverses that undo."""

import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from troubleshoot.calculations.refusals import CalculationRefused
from troubleshoot.calculations.registry import calculation, calculations
from troubleshoot.calculations.units import Measured, convert, convert_difference, dimension_of

COMMON = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def values(field, narrow=False):
    """Draw allowed values of a field in its unit; evenly in logarithm where the range is wide."""
    low, high = field.low, field.high
    if narrow and field.usual:
        low, high = max(low, field.usual[0]), min(high, field.usual[1])
    if field.whole:
        return st.integers(math.ceil(low), math.floor(high)).map(float)
    if low > 0 and high / low > 100:
        return st.floats(math.log(low), math.log(high)).map(lambda x: min(max(math.exp(x), low), high))
    return st.floats(low, high)


def any_inputs(calc):
    """Draw a whole set of allowed inputs."""
    return st.fixed_dictionaries(
        {f.name: st.lists(values(f), min_size=1, max_size=6) if f.many else values(f) for f in calc.inputs}
    )


@COMMON
@given(data=st.data())
def test_any_allowed_input_gives_a_finite_number_or_a_sentence(sample_name, data):
    """Within the ranges: finite real results, or a refusal in one sentence; never NaN, infinity or a complex number."""
    calc = calculation(sample_name)
    inputs = data.draw(any_inputs(calc))
    try:
        answer = calc.answer(inputs)
    except CalculationRefused as refused:
        assert refused.sentence
        assert "\n" not in refused.sentence
        return
    for got in answer.outputs.values():
        assert isinstance(got.value, float | int)
        assert math.isfinite(got.value)
    assert all(note.endswith((".", ")", "?")) for note in answer.notes)


@COMMON
@given(data=st.data())
def test_uncertainty_of_any_allowed_input_is_finite(sample_name, data):
    calc = calculation(sample_name)
    inputs = data.draw(any_inputs(calc))
    uncertain = {
        f.name: [Measured(v, 0.02 * abs(v), f.unit, "") for v in inputs[f.name]]
        if f.many
        else Measured(inputs[f.name], 0.02 * abs(inputs[f.name]), f.unit, "")
        for f in calc.inputs
    }
    try:
        outputs = calc.evaluate(uncertain)
    except CalculationRefused:
        return
    for got in outputs.values():
        assert got.uncertainty is None or (math.isfinite(got.uncertainty) and got.uncertainty >= 0)


def test_out_of_range_is_refused_by_field(sample_name, samples):
    """Too low, too high, not a number and infinite: each names the field, the value and the range."""
    calc = calculation(sample_name)
    for field in calc.inputs:
        span = field.high - field.low
        for bad in (field.low - 0.01 * span - 1, field.high + 0.01 * span + 1, math.nan, math.inf, -math.inf):
            given_value = [bad] if field.many else bad
            with pytest.raises(CalculationRefused) as refused:
                calc.evaluate({**samples[sample_name], field.name: given_value})
            assert refused.value.field == field.name
            assert refused.value.allowed in refused.value.sentence
            assert refused.value.value in refused.value.sentence


def test_the_unit_of_the_input_alters_nothing(sample_name, samples):
    """The same readings in metric units give the same results."""
    calc = calculation(sample_name)
    metric: dict = {}
    for field in calc.inputs:
        given_value = samples[sample_name].get(field.name, field.default)
        readings = [
            Measured(convert(v, field.unit, field.metric_unit), None, field.metric_unit, "")
            for v in (given_value if field.many else [given_value])
        ]
        metric[field.name] = readings if field.many else readings[0]
    trade = calc.evaluate(samples[sample_name])
    for name, got in calc.evaluate(metric).items():
        assert got.value == pytest.approx(trade[name].value, rel=1e-9, abs=1e-9)


RISES = [
    ("dwell-percent", "dwell-angle", "dwell-percent"),
    ("dwell-time", "dwell-angle", "dwell-time"),
    ("coil-current", "supply", "current"),
    ("coil-current", "closed-time", "current"),
    ("coil-energy", "current", "energy"),
    ("coil-energy-limit-speed", "supply", "engine-speed"),
    ("coil-energy-limit-speed", "dwell-angle", "engine-speed"),
    ("points-float-speed", "spring-force", "engine-speed"),
    ("valve-float-speed", "spring-force-open", "engine-speed"),
    ("spark-voltage-needed", "gap", "voltage"),
    ("spark-voltage-needed", "pressure", "voltage"),
    ("injector-flow-at-pressure", "pressure-actual", "flow-actual"),
    ("injector-duty", "engine-speed", "duty"),
    ("injector-duty", "pulse-width", "flow-duty"),
    ("injector-pulse-width", "fuel", "pulse-width"),
    ("pump-flow", "voltage", "flow"),
    ("fuel-line-drop", "length", "drop"),
    ("filter-drop-at-flow", "flow-new", "drop-new"),
    ("vapour-margin", "barometer", "margin"),
    ("fuel-vapour-pressure", "fuel-temperature", "vapour-pressure"),
    ("fuel-vapour-pressure", "reid-vapour-pressure", "vapour-pressure"),
    ("rail-leak-down", "pressure-end", "time-constant"),
    ("airflow-demand", "engine-speed", "airflow"),
    ("air-mass-flow", "manifold-pressure", "air"),
    ("air-through-hole", "hole", "air"),
    ("idle-leak-share", "hole", "leak-share"),
    ("airflow-at-drop", "drop-new", "airflow-new"),
    ("water-saturation-pressure", "temperature", "pressure"),
    ("power-factor-j1349", "temperature", "factor"),
    ("wire-resistance", "gauge", "resistance"),
    ("wire-resistance", "temperature", "resistance"),
    ("wire-drop", "current", "drop"),
    ("battery-charge", "resting-voltage", "state-of-charge"),
    ("lowest-cranking-voltage", "battery-temperature", "voltage"),
    ("sensor-voltage", "sensor", "voltage"),
    ("lambda-with-dead-cylinders", "dead", "shown-lambda"),
    ("exhaust-dew-point", "pressure", "dew-point"),
    ("power-from-torque", "engine-speed", "power"),
]
FALLS = [
    ("dwell-time", "engine-speed", "dwell-time"),
    ("timing-change-from-dwell", "dwell-after", "timing-change"),
    ("coil-current", "primary-resistance", "current"),
    ("points-float-speed", "cylinders", "engine-speed"),
    ("points-float-speed", "arm-inertia", "engine-speed"),
    ("spark-voltage-needed", "temperature", "voltage"),
    ("injector-pressure-below-blades", "manifold-pressure", "difference"),
    ("pump-flow", "pressure", "flow"),
    ("fuel-line-drop", "inside-diameter", "drop"),
    ("vapour-margin", "fuel-temperature", "margin"),
    ("vapour-margin", "lift", "margin"),
    ("fuel-density", "temperature", "density"),
    ("blend-stoichiometric-ratio", "ethanol", "air-fuel-ratio"),
    ("air-through-hole", "manifold-pressure", "air"),
    ("barometer-at-altitude", "altitude", "barometer"),
    ("vacuum-at-altitude", "altitude", "vacuum"),
    ("humid-air-density", "relative-humidity", "density"),
    ("dry-air-pressure", "temperature", "dry-pressure"),
    ("power-factor-iso-1585", "dry-pressure", "factor"),
    ("metric-wire-resistance", "area", "resistance"),
    ("pump-supply-volts", "current", "pump-voltage"),
    ("sensor-resistance", "temperature", "resistance"),
    ("sensor-temperature", "resistance", "temperature"),
    ("fuse-opening-time", "current-multiple", "longest"),
    ("injector-opening-delay", "voltage", "delay"),
    ("exhaust-dew-point", "lambda", "dew-point"),
    ("mixture-reading-delay", "exhaust-flow", "pipe-delay"),
]


# where most of the allowed range has no answer, or the same one: the part in which there is something to see
SPANS = {
    ("coil-current", "closed-time"): (0.1, 15),
    ("pump-flow", "voltage"): (5, 18),
    ("rail-leak-down", "pressure-end"): (1, 44),
    ("idle-leak-share", "hole"): (0.01, 0.3),
    ("battery-charge", "resting-voltage"): (11.5, 12.9),
    ("air-through-hole", "manifold-pressure"): (30, 101),
    ("injector-opening-delay", "voltage"): (7, 18),
    ("vacuum-at-altitude", "altitude"): (-1000, 15000),
}


@settings(max_examples=12, deadline=None)
@pytest.mark.parametrize(
    ("name", "moved", "output", "sign"), [(*row, 1) for row in RISES] + [(*row, -1) for row in FALLS]
)
@given(data=st.data())
def test_monotonic(name, moved, output, sign, samples, data):
    """More of the one never gives less of the other, over the whole allowed range."""
    calc = calculation(name)
    field = calc.field(moved)
    span = SPANS.get((name, moved))
    drawn = st.floats(*span) if span else values(field)
    pair = sorted((data.draw(drawn), data.draw(drawn)))
    results = []
    for value in pair:
        try:
            results.append(calc.evaluate({**samples[name], moved: value})[output].value)
        except CalculationRefused:
            assert span is None, "a span is where there is an answer"
            return
    assert sign * (results[1] - results[0]) >= -1e-9 * abs(results[0])


INVERSES = [
    # first, its output, second, the input that output feeds, the second's output, the input of the first it gives back
    ("dwell-percent", "dwell-percent", "dwell-angle", "dwell-percent", "dwell-angle", "dwell-angle"),
    ("spark-frequency", "frequency", "engine-speed-from-frequency", "frequency", "engine-speed", "engine-speed"),
    ("torque-from-power", "torque", "power-from-torque", "torque", "power", "power"),
    ("lambda-from-ratio", "lambda", "ratio-from-lambda", "lambda", "air-fuel-ratio", "air-fuel-ratio"),
    ("sensor-resistance", "resistance", "sensor-temperature", "resistance", "temperature", "temperature"),
    ("fahrenheit-to-celsius", "celsius", "celsius-to-fahrenheit", "celsius", "fahrenheit", "fahrenheit"),
]


@settings(max_examples=40, deadline=None)
@pytest.mark.parametrize("row", INVERSES, ids=lambda row: row[0])
@given(data=st.data())
def test_inverses_undo(row, samples, data):
    first, output, second, fed, back, start = row
    one, other = calculation(first), calculation(second)
    value = data.draw(values(one.field(start)))
    shared = samples[first] | ({"cylinders": 8.0} if first == "spark-frequency" else {})
    try:
        there = one.evaluate({**shared, start: value})[output]
        again = other.evaluate(
            {
                **{k: v for k, v in shared.items() if k in {f.name for f in other.inputs} and k != fed},
                **({"pulses-per-turn": 4.0} if first == "spark-frequency" else {}),
                fed: there,
            }
        )
    except CalculationRefused:
        return
    assert again[back].value == pytest.approx(value, rel=1e-6, abs=1e-6)


@given(st.floats(9, 16), st.floats(2, 5), st.floats(4, 15), st.floats(20, 45), st.floats(5, 60))
def test_at_the_limit_speed_the_coil_holds_just_the_energy_needed(volts, ohms, millihenry, dwell, millijoule):
    """Speed to dwell time to current to energy comes back to the energy asked for."""
    coil = {"supply": volts, "primary-resistance": ohms, "primary-inductance": millihenry}
    try:
        limit = calculation("coil-energy-limit-speed").evaluate(
            {**coil, "dwell-angle": dwell, "energy-needed": millijoule}
        )
        time = calculation("dwell-time").evaluate({"dwell-angle": dwell, "engine-speed": limit["engine-speed"].value})
    except CalculationRefused:
        return
    current = calculation("coil-current").evaluate({**coil, "closed-time": time["dwell-time"]})["current"]
    energy = calculation("coil-energy").evaluate({"primary-inductance": millihenry, "current": current})["energy"]
    assert energy.value == pytest.approx(millijoule, rel=1e-9)


@given(st.floats(0.5, 300), st.floats(0.5, 300), st.floats(10, 200))
def test_injector_flow_there_and_back(first, second, flow):
    calc = calculation("injector-flow-at-pressure")
    there = calc.evaluate({"flow": flow, "pressure-rated": first, "pressure-actual": second})["flow-actual"]
    try:
        back = calc.evaluate({"flow": there, "pressure-rated": second, "pressure-actual": first})["flow-actual"]
    except CalculationRefused:
        return
    assert back.value == pytest.approx(flow, rel=1e-12)


def test_gauge_and_absolute_are_never_mixed(samples):
    """No calculation takes a gauge reading where it asks for an absolute one, or the other way about."""
    asks = [
        (one, field, "psi" if dimension_of(field.unit) == "absolute pressure" else "psia")
        for one in calculations()
        for field in one.inputs
        if "pressure" in dimension_of(field.unit)
    ]
    assert len(asks) > 30
    for one, field, other in asks:
        with pytest.raises(CalculationRefused, match="pressure") as refused:
            one.evaluate({**samples[one.name], field.name: Measured(30.0, None, other, "30")})
        assert refused.value.field == field.name


def test_an_interval_of_temperature_has_no_zero_point():
    assert convert_difference(9, "degF", "degC") == pytest.approx(5)
