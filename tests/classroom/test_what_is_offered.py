"""Only what can be measured is offered, readings look like an instrument's, and what proves a drill is a finding."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from troubleshoot.bench.virtual_bench import scale_step
from troubleshoot.classroom.debriefing import best_path
from troubleshoot.classroom.drill_maker import DrillPlan, make_drills
from troubleshoot.classroom.solvability import BY_READINGS, WORKING_DAY, DrillUnsolved, Solved, solve, with_best
from troubleshoot.proof.walk import WalkResult


def test_every_check_that_is_offered_can_be_measured(sitting, lean):
    sitting = sitting()
    offered = sitting.checks()
    assert len(offered) > 50
    assert [one.id for one in offered if lean[0].readings[one.id] is None] == []
    assert {one.id for one in sitting.case.other_checks() if one.available} == {one.id for one in offered}


@given(uncertainty=st.floats(1e-4, 1e4))
def test_a_scale_is_read_to_a_step_of_one_two_or_five_below_half_its_uncertainty(uncertainty):
    """Between a fifth and a half of the uncertainty: finer says nothing, coarser loses something."""
    step = scale_step(uncertainty)
    assert step <= uncertainty / 2 * 1.0001 and step > uncertainty / 5 * 0.9999
    assert round(step / 10 ** math.floor(math.log10(step) + 1e-9), 6) in (1, 2, 5)


def test_no_reading_has_more_digits_than_its_instrument(made, trees):
    """Common practice, no source: nobody reads a scale finer than a fifth of what it is off by."""
    for one in made.values():
        for name, read in one.drill.readings.items():
            check = trees.checks[name]
            if read is None or check.reading is None:
                continue
            number = re.match(r"-?[\d.]+", read)
            assert number is not None, read
            steps = float(number.group()) / scale_step(check.reading.uncertainty)
            low, high = check.reading.plausible
            assert abs(steps - round(steps)) < 1e-6 or float(number.group()) in (low, high), (name, read)
            assert not (check.reading.unit == "rpm" and float(number.group()) < 0 <= low), (name, read)


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
