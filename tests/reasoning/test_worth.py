"""Worth of checks and the repair cost against the definition, walked state by state."""

from __future__ import annotations

import math
from dataclasses import replace

import enumeration
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import problems, readings

from troubleshoot.reasoning.appraising import Appraisal
from troubleshoot.reasoning.belief import believe
from troubleshoot.reasoning.bounding import most_saved
from troubleshoot.reasoning.events import Evidence
from troubleshoot.reasoning.problem import Cause, Check, Problem, Repair, Setup
from troubleshoot.reasoning.repair_plan import repair_plan
from troubleshoot.reasoning.savings import NEGLIGIBLE, Savings
from troubleshoot.reasoning.worth import expected_repair_cost, next_step, outcomes_of, worth_later, worth_of_checks


def every_check(problem):
    return [check.id for check in problem.checks]


@settings(max_examples=80, deadline=None)
@given(st.data())
def test_repair_cost_equals_walking_the_repairs_in_every_state(data):
    """Sum over k of c_k P(not all faults are among the first k - 1), imperfect repairs and referral included."""
    problem = data.draw(problems())
    read = data.draw(readings(problem))
    expected = enumeration.repair_cost(problem, enumeration.posterior(problem, read))
    assert expected_repair_cost(problem, believe(problem, read)) == pytest.approx(expected, rel=1e-9)


@settings(max_examples=80, deadline=None)
@given(st.data())
def test_worth_equals_the_fall_of_the_repair_cost_over_the_outcomes(data):
    """For pairs by matrix products, for triples by going through the states: both equal enumeration."""
    problem = data.draw(problems())
    read = data.draw(readings(problem, most=1))
    weights = enumeration.posterior(problem, read)
    belief = believe(problem, read)
    worths = {w.check: w for w in worth_of_checks(problem, belief, every_check(problem), (), [e.check for e in read])}
    assert set(worths) == set(every_check(problem)) - {e.check for e in read}
    now = enumeration.repair_cost(problem, weights)
    for check in problem.checks:
        if check.id not in worths:
            continue
        after = 0.0
        for outcome in check.outcomes:
            joint = {s: w * enumeration.read_chance(problem, check, outcome, s) for s, w in weights.items()}
            after += enumeration.repair_cost(problem, joint)
        assert worths[check.id].saves == pytest.approx(max(0.0, now - after), abs=1e-8 * now)


def plain(n=3, **changes):
    """N causes, each with a check that proves it and a repair."""
    names = [f"c{i}" for i in range(n)]
    made = Problem(
        causes=tuple(Cause(c, 0.1 + 0.02 * i, (0.9,), f"repair-{c}") for i, c in enumerate(names)),
        checks=tuple(Check(f"see-{c}", ("bad", "good"), "good", (0.02, 0.98), {c: (0.95, 0.05)}, 2.0) for c in names),
        repairs=tuple(Repair(f"repair-{c}", 60 - 5 * i, 0, {c: 0.95}) for i, c in enumerate(names)),
        concerns=("x",),
        leak=(0.02,),
        referral_minutes=200,
    )
    return replace(made, **changes)


def test_a_set_up_is_paid_once_while_it_stays_in_place():
    problem = plain(setups=(Setup("gauge", 10.0),))
    problem = replace(problem, checks=tuple(replace(check, setup="gauge") for check in problem.checks))
    belief = believe(problem, [])
    without = {w.check: w for w in worth_of_checks(problem, belief, every_check(problem))}
    with_it = {w.check: w for w in worth_of_checks(problem, belief, every_check(problem), {"gauge"})}
    for check in every_check(problem):
        assert without[check].costs == with_it[check].costs + 10.0
        assert without[check].saves == with_it[check].saves


def test_parts_count_at_the_labour_rate_or_by_themselves():
    assert plain(money_per_minute=2.0).cost(5.0, 30.0) == 20.0
    assert plain(money_per_minute=0.0).cost(5.0, 30.0) == 35.0


def test_negligible_causes_are_left_out_within_the_stated_bound():
    """Leaving causes out changes what is retained by less than their weight times the total cost."""
    rare = tuple(replace(cause, prior=1e-12 if i > 2 else 0.1) for i, cause in enumerate(plain(8).causes))
    problem = plain(8, causes=rare)
    belief = believe(problem, [])
    plan = repair_plan(problem)
    savings = Savings(belief, plan)
    assert len(savings.live) == 3
    exact = expected_repair_cost(problem, belief)
    assert savings.now == pytest.approx(exact, abs=NEGLIGIBLE * plan.cost.sum())


def test_next_step_asks_while_it_pays_and_then_repairs():
    problem = plain()
    step = next_step(problem, believe(problem, []), every_check(problem), (), ())
    assert step.kind == "check"
    assert step.saves > 2.0
    proved = believe(problem, [Evidence("see-c1", (1.0, 0.0)), Evidence("see-c0", (0.0, 1.0))])
    proved_more = next_step(problem, proved, [], (), every_check(problem))
    assert (proved_more.kind, proved_more.id) == ("repair", "repair-c1")


def test_a_proved_cause_waits_while_another_concern_is_unexplained():
    """Cause a is all but certain and shows only the first concern; what shows the second is looked for first."""
    causes = (
        Cause("a", 0.02, (0.9, 0.0), "repair-a"),
        Cause("b", 0.02, (0.0, 0.9), "repair-b"),
        Cause("c", 0.02, (0.0, 0.9), "repair-c"),
    )
    checks = (
        Check("for a", ("bad", "good"), "good", (0.001, 0.999), {"a": (0.99, 0.01)}, 1.0),
        Check("for b", ("bad", "good"), "good", (0.01, 0.99), {"b": (0.99, 0.01)}, 1.0),
    )
    repairs = tuple(Repair(f"repair-{name}", 60, 0, {name: 1.0}) for name in "abc")
    problem = Problem(causes, checks, repairs, ("one", "two"), (0.0001, 0.0001), referral_minutes=300)
    belief = believe(problem, [Evidence("for a", (1.0, 0.0))])
    assert belief.probability("a") > 0.98
    assert next_step(problem, belief, {"for b"}, taken={"for a"}).id == "for b"
    alone = replace(
        problem, concerns=("one",), leak=(0.0001,), causes=tuple(replace(c, shows=c.shows[:1]) for c in causes)
    )
    belief = believe(alone, [Evidence("for a", (1.0, 0.0))])
    assert next_step(alone, belief, {"for b"}, taken={"for a"}).id == "repair-a"


def test_next_step_refers_when_nothing_is_left():
    problem = plain()
    step = next_step(problem, believe(problem, []), [], repaired=[r.id for r in problem.repairs])
    assert step.kind == "refer"


def test_something_else_leading_is_referred_not_guessed_at():
    problem = plain()
    other = Cause("something-else", 0.4, (0.9,))
    problem = replace(problem, causes=(*problem.causes, other), something_else="something-else")
    readings_good = [Evidence(check, (0.0, 1.0)) for check in every_check(problem)]
    belief = believe(problem, readings_good)
    assert belief.ranked()[0].cause == "something-else"
    assert next_step(problem, belief, []).kind == "refer"


def test_next_step_is_done_when_nothing_is_wrong():
    problem = plain()
    problem = replace(problem, leak=(0.9,), concerns=("x",))
    good = [Evidence(check, (0.0, 1.0)) for check in every_check(problem)]
    assert next_step(problem, believe(problem, good), []).kind == "done"


def exclusive_or():
    """Two checks that say nothing alone and everything together."""
    causes = tuple(Cause(c, 0.25, (), f"repair-{c}") for c in ("a", "b", "c", "d"))
    low, high = (1.0, 0.0), (0.0, 1.0)
    rows = {"one": (low, low, high, high), "two": (low, high, low, high)}
    checks = tuple(
        Check(name, ("low", "high"), None, (0.5, 0.5), dict(zip("abcd", row, strict=True)), 1.0)
        for name, row in rows.items()
    )
    repairs = (Repair("repair-a", 10, 0, {"a": 1.0, "d": 1.0}), Repair("repair-b", 10, 0, {"b": 1.0, "c": 1.0}))
    own = {"a": "repair-a", "d": "repair-a", "b": "repair-b", "c": "repair-b"}
    causes = tuple(replace(cause, repair=own[cause.id]) for cause in causes)
    return Problem(causes, checks, repairs, exactly_one=True, most_at_once=1)


def test_two_steps_see_what_one_step_cannot():
    """Each reading alone leaves either repair even; both together say which: two steps see it."""
    problem = exclusive_or()
    belief = believe(problem, [])
    assert all(worth.saves == pytest.approx(0.0) for worth in worth_of_checks(problem, belief, ["one", "two"]))
    step = next_step(problem, belief, ["one", "two"])
    assert step.kind == "check"
    # 15 minutes by trying both, 12 by the two checks and the one repair that is right.
    assert step.saves - 1.0 == pytest.approx(15.0 - 12.0)


def test_worth_is_never_negative_at_size():
    """A bigger problem than enumeration can reach: what a check saves cannot be below nothing."""
    rng = np.random.default_rng(5)
    causes = tuple(Cause(f"c{i}", float(rng.uniform(0.01, 0.1)), (0.5,), f"r{i}") for i in range(40))
    repairs = tuple(Repair(f"r{i}", float(rng.uniform(5, 90)), 0, {f"c{i}": 0.9}) for i in range(40))
    checks = []
    for k in range(30):
        moved = {}
        for i in rng.choice(40, 6, replace=False):
            p = float(rng.uniform(0.1, 0.9))
            moved[f"c{i}"] = (p, 1.0 - p)
        checks.append(Check(f"k{k}", ("bad", "good"), "good", (0.05, 0.95), moved))
    problem = Problem(causes, tuple(checks), repairs, ("x",), (0.05,), referral_minutes=300)
    belief = believe(problem, [])
    before = expected_repair_cost(problem, belief)
    for worth in worth_of_checks(problem, belief, [c.id for c in checks]):
        assert 0.0 <= worth.saves < before


@settings(max_examples=80, deadline=None)
@given(st.data())
def test_no_check_saves_more_than_the_most_it_can(data):
    """The bound that sets checks aside is never below what they save, with repairs made."""
    problem = data.draw(problems())
    read = data.draw(readings(problem, most=2))
    belief = believe(problem, read)
    made = [repair.id for repair in problem.repairs[: data.draw(st.integers(0, 2))]]
    appraisal = Appraisal(problem, belief, every_check(problem), repaired=made)
    best = max((worth.worth for worth in appraisal.all()), default=-math.inf)
    assert appraisal.at_most >= best
    plan = repair_plan(problem, made)
    savings = Savings(belief, plan)
    if savings.general or not problem.checks:
        return
    most = most_saved(savings, np.arange(len(problem.checks)))
    saves = {worth.check: worth.saves for worth in appraisal.all()}
    for check, limit in zip(problem.checks, most, strict=True):
        assert saves[check.id] <= limit + 1e-6 * plan.cost.sum()


@settings(max_examples=60, deadline=None)
@given(st.data(), st.floats(0.0, 200.0))
def test_the_second_step_is_given_up_only_where_it_cannot_be_worth_enough(data, needed):
    problem = data.draw(problems(checks=(2, 4)))
    belief = believe(problem, data.draw(readings(problem, most=2)))
    now = Appraisal(problem, belief, every_check(problem))
    for check in problem.checks:
        whole, found = worth_later(now, check.id), worth_later(now, check.id, needed)
        assert found == whole or (found == 0.0 and whole <= needed + 1e-9)


@pytest.mark.parametrize("seed", range(6))
def test_the_best_checks_are_the_first_of_all_checks(seed):
    """Setting checks aside changes neither which are best nor what they are worth (40 causes, 60 checks)."""
    rng = np.random.default_rng(seed)
    problem = large(rng, causes=40, checks=60)
    read = [Evidence(f"k{at}", tuple(np.eye(3)[rng.integers(3)])) for at in rng.choice(60, 4, replace=False)]
    belief = believe(problem, read)
    taken = [one.check for one in read]
    everything = worth_of_checks(problem, belief, every_check(problem), taken=taken)
    for count in (1, 2, 5):
        found = Appraisal(problem, belief, every_check(problem), taken=taken).best(count)
        assert [worth.check for worth in found] == [worth.check for worth in everything[:count]]
        assert [worth.worth for worth in found] == pytest.approx([worth.worth for worth in everything[:count]])


def large(rng, causes, checks):
    """A problem of about the size of the shipped trees' smaller concerns, with signatures drawn at random."""
    names = [f"c{at}" for at in range(causes)]

    def shares():
        drawn = rng.dirichlet(np.ones(3))
        return tuple(drawn / drawn.sum())

    return Problem(
        causes=tuple(
            Cause(name, float(rng.uniform(0.005, 0.05)), (float(rng.uniform(0.2, 0.9)),), name) for name in names
        ),
        checks=tuple(
            Check(
                f"k{at}",
                ("good", "low", "high"),
                "good",
                (0.96, 0.02, 0.02),
                {name: shares() for name in names if rng.random() < 0.15},
                float(rng.uniform(1, 20)),
            )
            for at in range(checks)
        ),
        repairs=tuple(Repair(name, float(rng.uniform(5, 150)), 0.0, {name: 0.95}) for name in names),
        concerns=("x",),
        leak=(0.02,),
        referral_minutes=240,
    )


def test_of_several_repairs_the_one_of_least_cost_for_its_chance_is_planned():
    """A cause without a repair of its own: 30 minutes at 0.5 is worse than 40 at 0.9, and better than 100 at 1."""
    problem = Problem(
        causes=(Cause("worn", 0.1, (0.9,), None),),
        checks=(),
        repairs=(
            Repair("patch", 30.0, 0.0, {"worn": 0.5}),
            Repair("renew", 40.0, 0.0, {"worn": 0.9}),
            Repair("rebuild", 100.0, 0.0, {"worn": 1.0}),
        ),
        concerns=("it is bad",),
        leak=(0.01,),
    )
    assert repair_plan(problem).repairs == ("renew", None)
    assert repair_plan(problem, {"renew"}).repairs == ("patch", None)
    assert repair_plan(problem, {"renew", "patch"}).repairs == ("rebuild", None)


def test_worth_and_belief_weigh_what_is_seen_with_the_same_likelihood() -> None:
    """Each outcome as worth reckons with it is what belief makes of that reading; all outcomes together are certain.

    One answer of the check shows a cause itself and is hardly ever given by mistake; 3 % of all readings are wrong.
    """
    seen = Check(
        "look", ("sound", "odd", "itself"), "sound", (0.9, 0.1, 0.0),
        {"a": (0.1, 0.1, 0.8), "b": (0.3, 0.7, 0.0)}, shown=frozenset({"itself"}),
    )  # fmt: skip
    problem = Problem(
        causes=tuple(Cause(name, 0.05, (1.0,), name) for name in ("a", "b")),
        checks=(seen,),
        repairs=tuple(Repair(name, 30.0, 0.0, {name: 1.0}) for name in ("a", "b")),
        concerns=("it",),
        leak=(0.01,),
        mistakes=0.03,
    )
    before = believe(problem, [])
    answers = outcomes_of(before, "look")
    assert sum(probability for probability, _ in answers) == pytest.approx(1.0)
    for at, (_, after) in enumerate(answers):
        said = believe(problem, [Evidence("look", tuple(float(one == at) for one in range(3)))])
        assert after.weights == pytest.approx(said.weights, rel=1e-12)
    assert answers[2][1].probability("a") > 0.9999
    saved = Appraisal(problem, before, {"look"}).of("look")
    assert saved is not None
    assert saved.saves == pytest.approx(
        expected_repair_cost(problem, before)
        - sum(probability * expected_repair_cost(problem, after) for probability, after in answers)
    )


def test_where_one_fault_is_present_a_cause_that_no_concern_lists_hides_no_worth():
    """What cannot be believed yet draws no checks, and takes none away from the causes that can (one at a time)."""
    problem = plain(6, most_at_once=1)
    spare = Cause("spare", 1e-9, (0.001,), None, incidental=True)
    beside = replace(problem, causes=(*problem.causes, spare))
    alone, found = (
        {one.check: one.saves for one in worth_of_checks(given, believe(given, []), every_check(given))}
        for given in (problem, beside)
    )
    assert max(alone.values()) > 1.0
    assert found == pytest.approx(alone, rel=1e-6)
