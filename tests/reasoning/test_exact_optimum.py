"""The exact optimum against a plain search of everything, written apart from the engine, and against every policy."""

from __future__ import annotations

import enumeration
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from making import problems, with_costs_by_state
from published_problems import circuit_board

from troubleshoot.reasoning.charting import chart
from troubleshoot.reasoning.exact import REPORT_EVERY, ExactPlan, TooManyPositions
from troubleshoot.reasoning.position import start
from troubleshoot.reasoning.problem import Cause, Check, Problem, Repair


def best_by_search(problem, weights=None, taken=(), repaired=(), in_place=frozenset()):
    """Try every action at every point: sets and loops, no bound, no memory. Only for tiny problems."""
    if weights is None:
        weights = {s: enumeration.prior_of(problem, s) for s in enumeration.all_states(problem) if s}
    total = sum(weights.values())
    if total < 1e-14:
        return 0.0
    endings = [(problem.referral_minutes, problem.referral_adds), *((one.minutes, one.adds) for one in problem.stops)]
    costs = [minutes * total + dearer(adds, weights) for minutes, adds in endings]
    for check in problem.checks:
        if check.id in taken:
            continue
        setup = next((s for s in problem.setups if s.id == check.setup), None)
        new = setup is not None and setup.id not in in_place
        cost = check.minutes + (setup.minutes if new else 0.0)
        then = in_place
        if new:
            kept = {s.id for s in problem.setups if s.id in in_place and setup.id not in s.undone_by}
            then = frozenset(kept | {setup.id})
        value = cost * total
        for outcome in check.outcomes:
            after = {s: w * enumeration.read_chance(problem, check, outcome, s) for s, w in weights.items()}
            value += best_by_search(problem, after, (*taken, check.id), repaired, then)
        costs.append(value)
    for repair in problem.repairs:
        if repair.id in repaired or not any(c in dict(s) for s in weights for c in repair.cures):
            continue
        after = {}
        for s, w in weights.items():
            left = s
            ways = [(left, 1.0)]
            for cause, takes in repair.cures.items():
                for form in [one for one in s if one[0] == cause]:
                    gone = [(t - {form}, p * takes * goes_on(problem, t, cause)) for t, p in ways]
                    ways = gone + [(t, p * (1 - takes)) for t, p in ways]
            for t, p in ways:
                after[t] = after.get(t, 0.0) + w * p
        after.pop(frozenset(), None)
        rest = best_by_search(problem, after, taken, (*repaired, repair.id), in_place - repair.undoes)
        costs.append(repair.minutes * total + dearer(repair.adds, weights) + rest)
    return min(costs)


def dearer(adds, weights):
    """What the causes that are there add to a cost."""
    return sum(w * adds.get(cause, 0.0) for s, w in weights.items() for cause, _ in s)


def goes_on(problem, state, cause):
    """The chance that what is left without a cause keeps up some of what was complained of."""
    heard = enumeration.complaints(problem, state)
    return sum(chance for causes, chance in heard.items() if causes - {cause})


def share_wrong(problem):
    return sum(enumeration.prior_of(problem, s) for s in enumeration.all_states(problem) if s)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_exact_optimum_equals_searching_everything(data):
    """Two or three causes, one or two checks, set-ups, imperfect repairs, referral, pairs."""
    problem = data.draw(problems(causes=(2, 3), checks=(1, 2), most=(1, 2)))
    expected = best_by_search(problem) / share_wrong(problem)
    assert chart(problem, "exact").expected_cost == pytest.approx(expected, rel=1e-9)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data())
def test_exact_optimum_where_endings_cost_what_is_there(data):
    """A referral, stopping and repairs, each dearer with some causes; one or two of them at once."""
    problem = data.draw(with_costs_by_state(data.draw(problems(causes=(2, 3), checks=(1, 2), most=(1, 2)))))
    expected = best_by_search(problem) / share_wrong(problem)
    assert chart(problem, "exact").expected_cost == pytest.approx(expected, rel=1e-9)


@settings(max_examples=25, deadline=None)
@given(st.data())
def test_no_policy_beats_the_exact_optimum(data):
    problem = data.draw(problems(causes=(2, 4), checks=(1, 3), most=(1, 2)))
    if data.draw(st.booleans()):
        problem = data.draw(with_costs_by_state(problem))
    best = chart(problem, "exact").expected_cost
    for name in ("probability-over-cost", "one-step", "information-gain", "look-ahead"):
        assert chart(problem, name).expected_cost >= best * (1 - 1e-9)


def test_an_answer_says_whether_it_is_the_optimum():
    """Ended by positions or by time, what is charted can still be followed and costs no less than the optimum."""
    best = chart(circuit_board(), "exact")
    assert best.optimal
    for allowed in ({"most_positions": 3}, {"late": lambda: True}):
        ended = chart(circuit_board(), "exact", **allowed)
        assert ended.whole and not ended.optimal
        assert ended.expected_cost >= best.expected_cost - 1e-9
    assert not chart(circuit_board(), "one-step").optimal


def test_what_costs_nothing_is_done_first():
    look = Check("look", ("good", "bad"), "good", (1.0, 0.0), {"a": (0.0, 1.0)}, 0.0)
    causes = (Cause("a", 0.5, (), "ra"), Cause("b", 0.5, (), "rb"))
    repairs = (Repair("ra", 10.0, 0.0, {"a": 1.0}), Repair("rb", 10.0, 0.0, {"b": 1.0}))
    made = chart(Problem(causes, (look,), repairs, exactly_one=True), "exact")
    assert (made.root.id, made.expected_cost) == ("look", pytest.approx(10.0))


def test_exact_refuses_what_is_too_large_and_reports_progress():
    seen = []
    with pytest.raises(TooManyPositions):
        plan = ExactPlan(circuit_board(), most_positions=3)
        plan.cost(start(circuit_board()))
    rng = np.random.default_rng(3)
    causes = tuple(Cause(f"c{i}", 0.25, (), f"r{i}") for i in range(4))
    checks = []
    for k in range(4):
        moved = {f"c{i}": (float(q), 1 - float(q)) for i, q in enumerate(rng.uniform(0.1, 0.9, 4))}
        checks.append(Check(f"k{k}", ("x", "y"), None, (0.5, 0.5), moved))
    repairs = tuple(Repair(f"r{i}", 30, 0, {f"c{i}": 0.9}) for i in range(4))
    noisy = Problem(causes, tuple(checks), repairs, exactly_one=True)
    chart(noisy, "exact", progress=seen.append)
    assert seen == [REPORT_EVERY * (i + 1) for i in range(len(seen))]
    assert seen
