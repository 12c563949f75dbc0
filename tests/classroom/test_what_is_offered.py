"""Only what can be measured is offered, readings look like an instrument's, and what proves a drill is a finding."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from troubleshoot.bench.virtual_bench import as_shown, read_to
from troubleshoot.classroom.debriefing import best_path
from troubleshoot.classroom.drill_maker import DrillPlan, make_drills
from troubleshoot.classroom.solvability import BY_READINGS, WORKING_DAY, DrillUnsolved, Solved, solve, with_best
from troubleshoot.knowledge.model import Instrument
from troubleshoot.proof.walk import WalkResult


def test_every_check_that_is_offered_can_be_measured(sitting, lean):
    sitting = sitting()
    offered = sitting.checks()
    assert len(offered) > 50
    assert [one.id for one in offered if lean[0].readings[one.id] is None] == []
    assert {one.id for one in sitting.case.other_checks() if one.available} == {one.id for one in offered}


@given(uncertainty=st.floats(1e-4, 1e4), unit=st.sampled_from(["V", "psi", "rpm"]))
def test_an_instrument_is_read_to_about_its_uncertainty_and_in_steps_that_it_has(uncertainty, unit):
    """Rounding to a step of s adds s squared / 12 to a variance (JCGM 100:2008, F.2.2.1): at most a third here."""
    step = read_to(Instrument(unit=unit, plausible=[0.0, 1.0], uncertainty=uncertainty))
    assert uncertainty / 5 * 0.9999 < step <= (2 if unit == "rpm" else 1) * uncertainty * 1.0001
    assert round(step / 10 ** math.floor(math.log10(step) + 1e-9), 6) in ((1, 5) if unit != "psi" else (1, 2, 5))


LIKE_AN_INSTRUMENT = {
    "idle-speed": (r"\d*0 rpm", 830.0, 0.13),
    "leak-search": (r"-?\d*0 rpm", -0.13, 47.0),
    "pressure-at-idle": (r"\d+\.[05] psi", 57.63, 12.0),
    "pressure-cranking": (r"\d+ psi", 57.63, 12.0),
    "battery-rest-volts": (r"\d+\.\d\d V", 12.666, 12.0),
    "pump-volts-under-load": (r"\d+\.\d V", 13.749, 12.0),
    "dwell-at-idle": (r"\d+\.[05] deg dist", 30.2, 29.0),
    "cruise-mixture": (r"\d\.\d\d lambda", 1.014, 0.765),
    "signal-wire-resistance": (r"\d+(\.\d)? ohm", 998.8, 0.6),
    "plug-gap": (r"\d\.\d[05] mm", 0.86, 0.9),
}
"""The step of the instrument that each check names; common practice, no source."""


@pytest.mark.parametrize("name", LIKE_AN_INSTRUMENT)
def test_a_reading_is_one_that_its_instrument_can_show(name, trees):
    pattern, *values = LIKE_AN_INSTRUMENT[name]
    for value in values:
        shown = as_shown(trees.checks[name].reading, value)
        assert re.fullmatch(pattern, shown), shown
    assert as_shown(trees.checks["signal-wire-resistance"].reading, 998.8) == "999 ohm"
    assert as_shown(trees.checks["leak-search"].reading, -0.13) == "0 rpm"


@pytest.mark.slow
def test_every_number_of_a_drill_stands_on_a_step_of_its_instrument(made, trees):
    for one in made.values():
        for name, read in one.drill.readings.items():
            instrument = trees.checks[name].reading
            if read is not None and instrument is not None:
                number, *_ = read.split(" ")
                steps = float(number) / read_to(instrument)
                assert abs(steps - round(steps)) < 1e-6, (name, read)
                assert not (instrument.unit == "rpm" and float(number) < 0 <= instrument.plausible[0]), (name, read)


DRILL = "02-racing-in-the-yard"


def walked(minutes=100.0, repairs=1, cured=True, checks=3):
    return WalkResult(0, "e", (), ("pump-dead",), minutes=minutes, repairs=repairs, cured=cured, checks=checks)


def test_changing_parts_until_it_runs_proves_no_drill(made, trees, monkeypatch):
    """Thirty-two sound parts were changed once before the fault was met; two at most are allowed."""
    one = made[DRILL]
    for repairs, proves in ((1, True), (3, True), (4, False)):
        monkeypatch.setattr("troubleshoot.classroom.solvability.walk", lambda *_, n=repairs: walked(repairs=n))
        solved = solve(one.drill, one.key, one.car, trees)
        assert (solved.best != BY_READINGS) is proves
        assert solved.results[solved.best].repairs <= 3


def test_a_drill_that_no_policy_solves_is_proved_by_its_readings_or_not_at_all(made, trees, monkeypatch):
    one = made[DRILL]
    monkeypatch.setattr("troubleshoot.classroom.solvability.walk", lambda *_: walked(cured=False))
    solved = solve(one.drill, one.key, one.car, trees)
    assert solved.best == BY_READINGS and solved.minutes > 0
    lines = best_path(with_best(one.key, solved), trees)
    assert lines[-1].startswith("Repair:") and len(lines) > 1
    blind = replace_readings(one, None)
    with pytest.raises(DrillUnsolved, match="sound parts"):
        solve(blind.drill, blind, one.car, trees)


def replace_readings(one, read):
    import msgspec

    drill = msgspec.structs.replace(one.drill, readings=dict.fromkeys(one.drill.readings, read))
    return msgspec.structs.replace(one.key, drill=drill)


def test_an_absurd_time_is_warned_of():
    assert Solved({"x": walked(minutes=WORKING_DAY + 1)}, "x").warning
    assert not Solved({"x": walked(minutes=WORKING_DAY)}, "x").warning


@pytest.mark.slow
def test_a_leak_and_late_timing_can_be_set(trees):
    """Common practice, no source: the commonest pair after a conversion, each found by one check."""
    plan = DrillPlan(title="Pair", faults={"vacuum-leak": 0.7, "timing-retarded": 0.6})
    one = make_drills([plan], [1], trees)[0]
    solved = solve(one.drill, one.key, one.car, trees)
    assert solved.results[solved.best].repairs - 2 <= 2
    assert solved.minutes < WORKING_DAY
