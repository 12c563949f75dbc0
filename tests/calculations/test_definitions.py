"""Every calculation is whole: documented in five parts, its fields sound, every section of the trade covered."""

import inspect
import math
import re
import subprocess
import sys
from pathlib import Path

import pytest

import troubleshoot.calculations
from troubleshoot.calculations.refusals import CalculationRefused, UnknownCalculation
from troubleshoot.calculations.registry import calculation, calculations, nearest, search
from troubleshoot.calculations.units import known_units

FOLDER = Path(troubleshoot.calculations.__file__).parent
SECTIONS = {
    f"{letter}{number}"
    for letter, last in {"I": 11, "F": 15, "A": 8, "E": 8, "X": 3, "D": 3, "G": 2}.items()
    for number in range(1, last + 1)
}


def test_every_section_is_covered():
    assert len(SECTIONS) == 50
    assert {one.section for one in calculations()} == SECTIONS


def test_samples_cover_every_calculation(samples):
    assert set(samples) == {one.name for one in calculations()}


def test_documented_in_all_parts(sample_name):
    """One sentence, formula, valid range, source, use and a worked example that calls the function."""
    one = calculation(sample_name)
    parts = one.documentation
    assert re.fullmatch(r"[A-Z].*\.", parts.summary), parts.summary
    assert ". " not in parts.summary
    for part in (parts.formula, parts.valid, parts.source, parts.use):
        assert len(part) > 3
    assert f"{one.function.__name__}(" in parts.example
    assert one.title


def test_the_formula_names_every_input(sample_name):
    """Each input's symbol stands in the formula, so that the working can be shown with numbers in place."""
    one = calculation(sample_name)
    for field in one.inputs:
        assert re.search(rf"(?<![\w.]){re.escape(field.symbol)}(?![\w])", one.formula), (field.name, field.symbol)


def test_fields_match_the_signature(sample_name):
    one = calculation(sample_name)
    signature = inspect.signature(one.function)
    assert [name.rstrip("_").replace("_", "-") for name in signature.parameters] == [f.name for f in one.inputs]
    assert len({f.name for f in one.inputs}) == len(one.inputs)
    assert len({f.symbol for f in one.inputs}) == len(one.inputs)
    for field in (*one.inputs, *one.outputs):
        assert {field.unit, field.metric_unit} <= known_units()
        assert field.words and field.symbol
        assert field.low < field.high
        if field.usual is not None:
            assert field.usual[0] < field.usual[1]
    for parameter, field in zip(signature.parameters.values(), one.inputs, strict=True):
        assert math.isfinite(field.low) and math.isfinite(field.high), f"{field.name} has no bounds"
        if field.default is not None:
            assert field.low <= field.default <= field.high
            assert field.default == pytest.approx(field.from_inside(parameter.default))


def test_no_calculation_hides_in_a_module_nobody_imports():
    marked = sum(path.read_text(encoding="utf-8").count("\n@calculation(") for path in FOLDER.glob("*.py"))
    assert marked == len(calculations())


def test_names_are_found_by_search_and_near_spelling():
    assert calculation("points-float-speed").section == "I7"
    with pytest.raises(UnknownCalculation) as unknown:
        calculation("point-float-sped")
    assert "points-float-speed" in str(unknown.value)
    assert "injector-duty" in nearest("injector duti", [one.name for one in calculations()])
    assert "vapour-margin" in [one.name for one in search("vapour lock")]
    assert search("nothing of the kind") == ()


@pytest.mark.parametrize(
    ("name", "change", "field", "says"),
    [
        ("dwell-time", {"engine-speed": 0}, "engine-speed", "points rest closed: the coil carries full current"),
        ("dwell-percent", {"dwell-angle": 60}, "dwell-angle", "points would never open"),
        ("coil-energy-limit-speed", {"energy-needed": 900}, "supply", "never reaches that energy at any speed"),
        ("pump-flow", {"pressure": 190}, "pressure", "cannot reach that pressure at that voltage"),
        ("vapour-margin", {"line-drop": 15}, "lift", "column breaks"),
        ("rail-leak-down", {"pressure-end": 0}, "pressure-end", "less than the gauge shows"),
        ("rail-leak-down", {"pressure-end": 46}, "pressure-end", "heat soak"),
        ("idle-leak-share", {"hole": 1}, "manifold-pressure", "would race"),
        ("resistance-from-drop", {"current": 0}, "current", "cannot show without current"),
        ("fuse-size", {"load": 40}, "load", "use a breaker or split"),
        ("injector-opening-delay", {"voltage": 5.5}, "voltage", "will not open at this voltage"),
        ("lambda-with-dead-cylinders", {"dead": 8}, "dead", "All cylinders dead"),
        ("air-through-hole", {"manifold-pressure": 150}, "manifold-pressure", "flow reverses"),
        ("injector-pressure-below-blades", {"manifold-pressure": 140}, "manifold-pressure", "gauge typed for absolute"),
        ("pressure-sensor-reading", {"voltage-2": 0.5}, "voltage-2", "no line goes through"),
        ("throttle-position", {"open": 0.62}, "open", "does not move"),
        ("mean-gain", {"after-speeds": [5000, 6000, 7000]}, "after-speeds", "share no range"),
        ("compression-spread", {"readings": [150]}, "readings", "two readings or more"),
        ("sensor-resistance", {"resistance-2": 9397}, "resistance-2", "the same"),
        ("manifold-pressure-from-vacuum", {"vacuum": 31}, "vacuum", "cannot reach the barometer"),
    ],
)
def test_answers_in_words_where_there_is_no_number(samples, name, change, field, says):
    with pytest.raises(CalculationRefused) as refused:
        calculation(name).evaluate({**samples[name], **change})
    assert refused.value.field == field
    assert says in refused.value.sentence
    assert refused.value.value


@pytest.mark.parametrize(
    ("name", "change", "says"),
    [
        ("injector-duty", {"pulse-width": 12}, "open all the time, out of fuel"),
        ("injector-duty", {"pulse-width": 0.5}, "shorter than the dead time"),
        ("injector-duty", {"pulse-width": 9}, "outside the usual 0 to 85 %"),
        ("points-float-speed", {"spring-force": 55}, "grams or newtons"),
        ("engine-speed-from-frequency", {}, "noise or point bounce"),
        ("air-mass-flow", {"charge-temperature": 300}, "°C for °F"),
        ("timing-change-from-dwell", {"dwell-after": 45}, "no longer holds"),
        ("thermal-efficiency", {"bsfc": 0.3}, "Over 40 %"),
        ("power-factor-j1349", {"dry-pressure": 24.5}, "beyond the standard"),
        ("throttle-position", {"closed": 4.5, "open": 0.6}, "reversed"),
        ("sensor-voltage", {"sensor": 5}, "short"),
        ("air-through-hole", {}, "choked"),
        ("dwell-percent", {"dwell-angle": 20}, "cylinder scale"),
        ("compression-spread", {}, "dead cylinder"),
    ],
)
def test_notes_what_a_mechanic_should_be_told(samples, name, change, says):
    inputs = {**samples[name], **change}
    if name == "compression-spread":
        inputs = {"readings": [150, 0, 148]}
    assert any(says in note for note in calculation(name).answer(inputs).notes)


def test_a_missing_unknown_or_listed_input_is_refused_by_name():
    calc = calculation("dwell-time")
    with pytest.raises(CalculationRefused, match="dwell-angle"):
        calc.evaluate({"engine-speed": 900})
    with pytest.raises(CalculationRefused, match="no input"):
        calc.evaluate({"engine-speed": 900, "speed": 3})
    with pytest.raises(CalculationRefused, match="one value"):
        calc.evaluate({"engine-speed": [900, 1000], "dwell-angle": 30})
    with pytest.raises(CalculationRefused, match="whole number"):
        calculation("dwell-percent").evaluate({"dwell-angle": 30, "cylinders": 6.5})


def test_python_callers_are_checked_too():
    """The function itself refuses what is out of range, as a ValueError that says which argument."""
    from troubleshoot.calculations.dwell import dwell_time

    with pytest.raises(ValueError, match="Dwell angle"):
        dwell_time(-3, 900)
    with pytest.raises(ValueError, match="not a number"):
        dwell_time(30, math.nan)


def test_importing_the_registry_is_light():
    """No pint, numpy or screens come with it: forms and the command line start at once."""
    code = (
        "import sys, troubleshoot.calculations.registry as r; r.calculation('dwell-time')"
        ".evaluate({'dwell-angle': 30, 'engine-speed': 900});"
        "print([m for m in ('pint', 'numpy', 'textual', 'typer', 'dataclasses') if m in sys.modules])"
    )
    got = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, encoding="utf-8")
    assert got.stdout.strip() == "[]"


def test_notes_speak_the_units_of_the_person(samples):
    """Under 2 psi of margin the note says so in psi or in bar, as asked."""
    hot = {**samples["vapour-margin"], "fuel-temperature": 130}
    us, metric = (calculation("vapour-margin").answer(hot, system).notes for system in ("us", "metric"))
    assert any("from 2 psi up" in note for note in us)
    assert any("from 0.1379 bar up" in note for note in metric)
    assert not any("psi" in note for note in metric)


def test_a_part_of_a_name_finds_what_contains_it_before_what_looks_like_it() -> None:
    """ "dwell" stands in both names and is spelt like neither; a word of two is joined by a dash."""
    from troubleshoot.calculations.registry import nearest

    known = ["dwell-time-at-speed", "coil-dwell-percent-of-cycle", "well"]
    assert nearest("dwell", known) == ["coil-dwell-percent-of-cycle", "dwell-time-at-speed"]
    assert nearest("Dwell time", known) == ["dwell-time-at-speed"]
    assert nearest("dwel-time-at-sped", known) == ["dwell-time-at-speed"]
    assert nearest("", known) == []


@pytest.mark.parametrize(
    ("readings", "said"), [([150, 152, 110, 112, 149], True), ([150, 110, 152, 111], False), ([150, 120, 118], False)]
)
def test_two_low_cylinders_side_by_side_point_at_the_gasket(readings: list[float], said: bool) -> None:
    """Low is under three quarters of the highest (common practice, no source)."""
    notes = calculation("compression-spread").answer({"readings": readings}).notes
    assert any("head gasket" in note for note in notes) == said
