"""Belief against brute-force enumeration, and what must hold for any problem and any case."""

from __future__ import annotations

import math
from dataclasses import replace
from random import Random

import enumeration
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import happenings, problems, readings

from troubleshoot.reasoning.belief import believe, chance_it_ends, first_belief, with_repair
from troubleshoot.reasoning.events import Evidence, Looked, Repaired, Retested
from troubleshoot.reasoning.problem import Cause, Check, Problem, Repair
from troubleshoot.reasoning.refusing import EvidenceRefused
from troubleshoot.reasoning.tables import tables_of
from troubleshoot.reasoning.weighing import likelihood_of, weigh


@settings(max_examples=120, deadline=None)
@given(st.data())
def test_belief_equals_enumeration_of_every_state(data):
    """Every state's weight equals the one found by looping over sets of causes and their draws."""
    problem = data.draw(problems())
    read = data.draw(readings(problem))
    belief = believe(problem, read)
    expected = enumeration.posterior(problem, read)
    for causes, weight in enumeration.by_causes(expected).items():
        assert belief.state(*causes) == pytest.approx(weight, abs=1e-11)
    space = belief.scope.space
    forms = [(cause.id, number) for cause in problem.causes for number in range(len(cause.variants))]
    for state, weight in enumerate(belief.weights):
        held = frozenset(forms[variant] for variant in space.members(state))
        assert weight == pytest.approx(expected[held], abs=1e-11)
    for cause in problem.causes:
        assert belief.probability(cause.id) == pytest.approx(enumeration.marginal(expected, cause.id), abs=1e-11)


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_order_of_readings_does_not_matter(data):
    """Within an epoch any order gives the same belief, groups, retests and impossible readings included."""
    problem = data.draw(problems())
    events = [e for e in data.draw(happenings(problem)) if not isinstance(e, Repaired)]
    shuffled = events[:]
    Random(data.draw(st.integers(0, 99))).shuffle(shuffled)
    one, other = believe(problem, events), believe(problem, shuffled)
    assert one.nothing_fits == other.nothing_fits
    if not one.nothing_fits:
        np.testing.assert_allclose(one.weights, other.weights, atol=1e-12)


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_no_case_breaks_belief(data):
    """Whatever happens, weights are finite, not negative and sum to 1."""
    problem = data.draw(problems())
    events = data.draw(happenings(problem, most=9))
    for upto in range(len(events) + 1):
        belief = believe(problem, events[:upto])
        assert np.isfinite(belief.weights).all()
        assert (belief.weights >= 0).all()
        assert belief.weights.sum() == pytest.approx(1.0, abs=1e-12)
        assert math.isfinite(belief.surprise)
        assert all(0.0 <= ranked.probability <= 1.0 + 1e-12 for ranked in belief.ranked())


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_a_check_nobody_moves_changes_nothing(data):
    problem = data.draw(problems())
    idle = Check("idle", ("a", "b"), "a", (0.7, 0.3), {})
    wider = replace(problem, checks=(*problem.checks, idle))
    read = data.draw(readings(problem))
    with_idle = believe(wider, [*read, Evidence("idle", (0.2, 0.8))])
    np.testing.assert_allclose(with_idle.weights, believe(problem, read).weights, atol=1e-12)


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_relabelling_the_causes_permutes_the_belief(data):
    problem = data.draw(problems())
    turned = replace(problem, causes=problem.causes[::-1])
    read = data.draw(readings(problem))
    one, other = believe(problem, read), believe(turned, read)
    for cause in problem.causes:
        assert one.probability(cause.id) == pytest.approx(other.probability(cause.id), abs=1e-12)
    for first, second, weight in one.pairs(5):
        assert other.state(first, second) == pytest.approx(weight, abs=1e-12)


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_a_repair_conserves_weight(data):
    """A repair moves weight from S to S without the cause, r of it, and loses none."""
    problem = data.draw(problems())
    before = believe(problem, data.draw(readings(problem)))
    repair = data.draw(st.sampled_from(problem.repairs))
    after = with_repair(before, repair.id)
    assert after.weights.sum() == pytest.approx(1.0, abs=1e-12)
    ((cause, takes),) = repair.cures.items()
    assert after.probability(cause) == pytest.approx((1 - takes) * before.probability(cause), abs=1e-12)
    for other in problem.causes:
        if other.id != cause:
            assert after.probability(other.id) == pytest.approx(before.probability(other.id), abs=1e-12)


def two_causes(**changes):
    """Two independent causes and one repair each, with one check that tells them apart."""
    problem = Problem(
        causes=(Cause("a", 0.1, (0.9,), "repair-a"), Cause("b", 0.05, (0.6,), "repair-b")),
        checks=(Check("see", ("low", "good"), "good", (0.0, 1.0), {"a": (1.0, 0.0)}),),
        repairs=(Repair("repair-a", 10, 0, {"a": 0.9}), Repair("repair-b", 20, 0, {"b": 1.0})),
        concerns=("it is bad",),
        leak=(0.01,),
        retest_error=0.0,
    )
    return replace(problem, **changes)


def test_retest_after_a_repair_by_hand():
    """The concern goes on as fixed links would have it: P(b alone shows | a or b showed) = 0.6 / 0.96 nearly.

    Worked by hand with the noisy-OR of prior odds; no outside source.
    """
    problem = two_causes()
    w = {
        "": 0.9 * 0.95 * 0.01,
        "a": 0.1 * 0.95 * (1 - 0.99 * 0.1),
        "b": 0.9 * 0.05 * (1 - 0.99 * 0.4),
        "ab": 0.1 * 0.05 * (1 - 0.99 * 0.1 * 0.4),
    }
    shows = {"": 0.01, "a": 1 - 0.99 * 0.1, "b": 1 - 0.99 * 0.4, "ab": 1 - 0.99 * 0.1 * 0.4}
    still = {
        "": w[""] + 0.9 * w["a"] * shows[""] / shows["a"],
        "a": 0.1 * w["a"],
        "b": w["b"] + 0.9 * w["ab"] * shows["b"] / shows["ab"],
        "ab": 0.1 * w["ab"],
    }
    total = sum(still.values())
    after = believe(problem, [Repaired("repair-a"), Retested(1.0)])
    assert after.none == pytest.approx(still[""] / total, abs=1e-12)
    assert after.state("a") == pytest.approx(still["a"] / total, abs=1e-12)
    assert after.state("b") == pytest.approx(still["b"] / total, abs=1e-12)
    assert after.state("a", "b") == pytest.approx(still["ab"] / total, abs=1e-12)


def test_chance_that_a_repair_ends_the_concern_by_hand():
    """Gone after repairing a: all that only a showed, and the part of both that b alone would not have shown."""
    shows = {"": 0.01, "a": 1 - 0.99 * 0.1, "b": 1 - 0.99 * 0.4, "ab": 1 - 0.99 * 0.1 * 0.4}
    base = {"": 0.9 * 0.95, "a": 0.1 * 0.95, "b": 0.9 * 0.05, "ab": 0.1 * 0.05}
    gone = 0.9 * (base["a"] * (shows["a"] - shows[""]) + base["ab"] * (shows["ab"] - shows["b"]))
    heard = sum(base[state] * shows[state] for state in base)
    assert chance_it_ends(believe(two_causes(), []), "repair-a") == pytest.approx(gone / heard, abs=1e-12)


def test_concern_gone_after_the_repair_gives_the_weight_to_none():
    gone = believe(two_causes(retest_error=0.02), [Evidence("see", (1.0, 0.0)), Repaired("repair-a"), Retested(0.0)])
    assert gone.none > 0.95
    assert gone.probability("a") < 0.02


def test_a_repair_that_changes_nothing_turns_suspicion_to_the_other():
    before = believe(two_causes(), [])
    after = believe(two_causes(), [Repaired("repair-a"), Retested(1.0)])
    assert after.probability("b") > before.probability("b")
    assert after.probability("a") < before.probability("a")


def test_partly_better_lies_between_gone_and_still_there():
    problem = two_causes(retest_error=0.02)
    gone, partly, there = (
        believe(problem, [Repaired("repair-a"), Retested(remains)]).none for remains in (0.0, 0.5, 1.0)
    )
    assert there < partly < gone


def test_two_faults_where_repairing_one_is_not_enough():
    """With both proved present, repairing a leaves b: the concern stays and b stands alone."""
    both = Check("other", ("low", "good"), "good", (0.0, 1.0), {"b": (1.0, 0.0)})
    problem = two_causes()
    problem = replace(problem, checks=(*problem.checks, both))
    seen = [Evidence("see", (1.0, 0.0)), Evidence("other", (1.0, 0.0))]
    assert believe(problem, seen).state("a", "b") == pytest.approx(1.0)
    after = believe(problem, [*seen, Repaired("repair-a"), Retested(1.0)])
    assert after.state("b") > 0.8
    assert after.state("b") + after.state("a", "b") == pytest.approx(1.0)


def test_looking_settles_whether_a_repair_is_needed():
    found = believe(two_causes(), [Looked("repair-b", True)])
    assert found.probability("b") == pytest.approx(1.0)
    assert believe(two_causes(), [Looked("repair-b", False)]).probability("b") == 0.0


def test_impossible_readings_keep_the_case_going_and_name_the_doubtful_check():
    """Two readings agree and a third contradicts them: the third is doubted, belief is that of the two."""

    def sure(name):
        return Check(name, ("low", "good"), "good", (0.01, 0.99), {"a": (1.0, 0.0), "b": (0.0, 1.0)})

    problem = replace(two_causes(), most_at_once=1, leak=(0.0,), checks=(sure("one"), sure("two"), sure("three")))
    low, good = (1.0, 0.0), (0.0, 1.0)
    belief = believe(problem, [Evidence("one", low), Evidence("three", good), Evidence("two", low)])
    assert belief.nothing_fits
    assert belief.doubtful == "three"
    assert belief.probability("a") == pytest.approx(1.0)


@pytest.mark.parametrize("shares", [(math.nan, 1.0), (math.inf, 0.0), (-0.1, 1.1), (0.4, 0.4), (1.0,)])
def test_readings_that_are_no_shares_never_reach_belief(shares):
    with pytest.raises(EvidenceRefused):
        believe(two_causes(), [Evidence("see", shares)])


@pytest.mark.parametrize("event", [Evidence("nothing", (1.0,)), Repaired("nothing"), Looked("x", True)])
def test_unknown_names_are_refused(event):
    with pytest.raises(EvidenceRefused):
        believe(two_causes(), [event])


def test_readings_of_one_check_look_at_one_truth():
    """With sure readings the second adds nothing; where a reading may be a mistake it adds that it was none.

    By hand: with mistakes g and two outcomes, "low" twice is (1 - g + g/2)^2 where low is true, (g/2)^2 where not.
    """
    weak = Check("see", ("low", "good"), "good", (0.1, 0.9), {"a": (0.7, 0.3)})
    low = Evidence("see", (1.0, 0.0))
    problem = replace(two_causes(), checks=(weak,))
    np.testing.assert_allclose(believe(problem, [low]).weights, believe(problem, [low, low]).weights, atol=1e-12)
    g = 0.1
    doubtful = replace(problem, mistakes=g)
    first, twice = first_belief(doubtful), believe(doubtful, [low, low])
    right, wrong = (1 - g / 2) ** 2, (g / 2) ** 2
    expected = (0.7 * right + 0.3 * wrong) / (0.1 * right + 0.9 * wrong)
    got = (twice.state("a") / twice.none) / (first.state("a") / first.none)
    assert got == pytest.approx(expected, rel=1e-9)


def test_a_cause_that_shows_nothing_stands_beside_another_once_a_reading_speaks_for_it():
    """Unread it stays by itself; a reading that is likelier with it brings its pairs in, as enumeration has them."""
    aside = Cause("c", 0.05, (0.002,), "repair-c", incidental=True)
    see = Check("look", ("low", "good"), "good", (0.1, 0.9), {"c": (0.9, 0.1)})
    problem = two_causes()
    problem = replace(
        problem,
        causes=(*problem.causes, aside),
        checks=(*problem.checks, see),
        repairs=(*problem.repairs, Repair("repair-c", 5, 0, {"c": 1.0})),
    )
    assert believe(problem, []).state("a", "c") == 0.0
    assert believe(problem, [Evidence("look", (0.0, 1.0))]).state("a", "c") == 0.0
    read = [Evidence("look", (1.0, 0.0))]
    expected = enumeration.posterior(problem, read)
    found = believe(problem, read)
    assert found.state("a", "c") == pytest.approx(enumeration.by_causes(expected)[frozenset({"a", "c"})], abs=1e-12)
    assert found.probability("c") == pytest.approx(enumeration.marginal(expected, "c"), abs=1e-12)


def test_not_moved_means_absent():
    """A cause that does not move the check must not push it to normal: the pair reads as the mover alone."""
    belief = believe(two_causes(), [Evidence("see", (0.0, 1.0))])
    assert belief.state("a", "b") == 0.0
    first = first_belief(two_causes())
    assert belief.state("b") / belief.none == pytest.approx(first.state("b") / first.none)


def several_concerns(*concerns):
    """One cause that shows both concerns, and one for each alone, all equally common."""
    shows = {"both": (0.8, 0.8), "only-surge": (0.95, 0.001), "only-stall": (0.001, 0.95)}
    causes = tuple(Cause(c, 0.02, tuple(row[k] for k in concerns)) for c, row in shows.items())
    names = ("surge", "stall")
    return Problem(causes, concerns=tuple(names[k] for k in concerns), leak=(0.001,) * len(concerns))


def test_concerns_together_rank_the_cause_that_explains_them_all():
    """Alone each concern is best explained by its own cause; together by the one that shows both."""
    assert believe(several_concerns(0), []).ranked()[0].cause == "only-surge"
    assert believe(several_concerns(1), []).ranked()[0].cause == "only-stall"
    assert believe(several_concerns(0, 1), []).ranked()[0].cause == "both"


def test_a_pair_leads_where_no_one_cause_explains_both_concerns():
    problem = several_concerns(0, 1)
    problem = replace(problem, causes=problem.causes[1:])
    belief = believe(problem, [])
    first, second, weight = belief.pairs(1)[0]
    assert {first, second} == {"only-surge", "only-stall"}
    assert weight > max(belief.state("only-surge"), belief.state("only-stall"))


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_all_readings_together_are_weighed_as_they_are_one_by_one(data):
    """The product over checks by corrections of pairs, beside the likelihood of each check by itself."""
    problem = data.draw(problems())
    read = data.draw(readings(problem))
    scope = tables_of(problem).whole
    together, logarithm = weigh(problem, scope, read)
    apart = np.ones(scope.space.size)
    for one in read:
        apart *= likelihood_of(problem, scope, [one])
    np.testing.assert_allclose(together * math.exp(logarithm), apart, rtol=1e-9)
