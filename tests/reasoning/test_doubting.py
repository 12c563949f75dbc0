"""A reading held against all the others: P(wrong) and what taking it again saves, by enumeration and by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from enumeration import all_states, outcome_chance, prior_of, reading_chance
from hypothesis import given, settings
from hypothesis import strategies as st
from making import problems

from troubleshoot.reasoning.belief import believe
from troubleshoot.reasoning.doubting import chances_wrong, doubted
from troubleshoot.reasoning.events import Evidence
from troubleshoot.reasoning.problem import Cause, Check, Problem, Repair

LOW, GOOD = (1.0, 0.0), (0.0, 1.0)


def wrong_by_enumeration(problem, readings, at):
    """Bayes over every state, with the reading in question either right or (evenly over its outcomes) misread."""
    check = problem.check_named[readings[at].check]
    right = wrong = 0.0
    for state in all_states(problem):
        weight = prior_of(problem, state)
        for other, reading in enumerate(readings):
            weight *= reading_chance(problem, reading, state) if other != at else 1.0
        said = sum(
            share * outcome_chance(problem, check, outcome, state)
            for share, outcome in zip(readings[at].shares, check.outcomes, strict=True)
        )
        right += weight * (1 - problem.mistakes) * said
        wrong += weight * problem.mistakes / len(check.outcomes)
    return wrong / (right + wrong)


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_the_chance_that_a_reading_is_wrong_is_that_of_enumeration(data):
    problem = data.draw(problems(mistakes=0.05))
    outcomes = [(check, data.draw(st.sampled_from(range(len(check.outcomes))))) for check in problem.checks[:3]]
    readings = [
        Evidence(check.id, tuple(float(at == place) for place in range(len(check.outcomes)))) for check, at in outcomes
    ]
    belief = believe(problem, readings)
    for at, found in enumerate(chances_wrong(belief, readings)):
        assert found == pytest.approx(wrong_by_enumeration(problem, readings, at), rel=1e-9, abs=1e-12)


def strainer_or_pump(checks=4, minutes=1.0, **changes):
    """Exactly one of two causes, checks that point at it nine times in ten, repairs of 60 minutes."""
    return Problem(
        causes=(Cause("strainer", 0.5, (), "clean"), Cause("pump", 0.5, (), "renew")),
        checks=tuple(
            Check(
                f"k{i}", ("low", "good"), "good", (0.1, 0.9), {"strainer": (0.95, 0.05), "pump": (0.05, 0.95)}, minutes
            )
            for i in range(checks)
        ),
        repairs=(Repair("clean", 60.0, 0.0, {"strainer": 1.0}), Repair("renew", 60.0, 0.0, {"pump": 1.0})),
        exactly_one=True,
        mistakes=0.1,
        **changes,
    )


def test_the_reading_that_stands_alone_is_probably_wrong():
    """By hand: with three lows the strainer is 6,859 to 1 or so, so good comes with 0.05 rightly and 0.05 wrongly."""
    problem = strainer_or_pump()
    readings = [Evidence("k0", LOW), Evidence("k1", GOOD), Evidence("k2", LOW), Evidence("k3", LOW)]
    chances = chances_wrong(believe(problem, readings), readings)
    assert max(range(4), key=chances.__getitem__) == 1
    assert chances[1] == pytest.approx(0.05 / (0.05 + 0.9 * 0.05), abs=0.01)
    agreeing = [Evidence(f"k{i}", LOW) for i in range(4)]
    assert max(chances_wrong(believe(problem, agreeing), agreeing)) < 0.06


def test_measuring_again_is_priced_against_the_repair_it_may_spare():
    """By hand, with every second reading or so misread (g = 0.45), readings low and good, each repair 60 minutes.

    Without the second the strainer has 0.55 0.95 + 0.225 = 0.7475. With the second it is even: 0.3775 in all,
    and 0.3775 (60 + 30) = 33.97 now. Read low again: 0.7475 0.225 0.95 and 0.2525 0.225 0.05, which cost 9.93; good:
    0.7475 (0.0275 + 0.0113) and 0.2525 (0.5225 + 0.2138), which cost 14.63. (33.97 - 9.93 - 14.63) / 0.3775 = 24.94.
    """
    cheap, dear = (replace(strainer_or_pump(2, minutes), mistakes=0.45) for minutes in (0.5, 300.0))
    readings = [Evidence("k0", LOW), Evidence("k1", GOOD)]
    found = doubted(believe(cheap, readings), readings)
    assert found is not None
    assert found.saves == pytest.approx(24.94, abs=0.01)
    assert found.worth == pytest.approx(24.44, abs=0.01)
    costly = doubted(believe(dear, readings), readings)
    assert costly is not None
    assert (costly.wrong > 0.5, costly.worth < 0.0) == (True, True)
    rare = replace(dear, mistakes=0.1)
    assert doubted(believe(rare, readings), readings) is None


def test_a_number_that_looks_like_a_slip_is_doubted_more():
    problem = strainer_or_pump()
    readings = [Evidence("k0", LOW), Evidence("k1", GOOD, wrong=20.0), Evidence("k2", LOW)]
    plain = [readings[0], replace(readings[1], wrong=None), readings[2]]
    assert chances_wrong(believe(problem, readings), readings)[1] > chances_wrong(believe(problem, plain), plain)[1]


def test_what_was_read_twice_alike_or_cannot_be_misread_is_not_doubted():
    problem = strainer_or_pump()
    readings = [Evidence("k0", LOW), Evidence("k1", GOOD, mistake=0.01), Evidence("k2", LOW), Evidence("k3", LOW)]
    assert chances_wrong(believe(problem, readings), readings)[1] < 0.15
    sure = replace(problem, mistakes=0.0)
    assert chances_wrong(believe(sure, readings[:1]), readings[:1]) == (0.0,)


def test_where_nothing_can_be_misread_nothing_is_doubted_though_three_may_be_present():
    """A check that never errs leaves states that cannot be; with no gross mistakes P(wrong) is 0, and a number."""
    causes = tuple(Cause(name, 0.1, (0.9,), f"renew-{name}") for name in "abc")
    sure = Check("sure", ("low", "good"), "good", (0.0, 1.0), {"a": (1.0, 0.0)})
    repairs = tuple(Repair(f"renew-{name}", 60.0, 0.0, {name: 1.0}) for name in "abc")
    problem = Problem(causes, (sure,), repairs, ("weak",), (0.01,), most_at_once=3, mistakes=0.0)
    readings = [Evidence("sure", LOW)]
    assert chances_wrong(believe(problem, readings), readings) == (0.0,)


def test_a_cause_seen_itself_is_looked_at_again_where_all_else_speaks_against_it():
    """By hand: the look alone against g/K = 0.05, a cause of 0.1 that leaves three lows out of 0.95 to 0.1^3.

    Then 0.05 0.9 against 0.1 0.001 0.9 or so. With nothing else read it is 0.045 against 0.09, and nothing is doubted.
    """
    signs = tuple(
        Check(f"k{i}", ("low", "good"), "good", (0.05, 0.95), {"strainer": (0.95, 0.05), "data": (0.1, 0.9)})
        for i in range(3)
    )
    look = Check("look", ("right", "wrong"), "right", (1.0, 0.0), {"data": (0.0, 1.0)}, shown=frozenset({"wrong"}))
    problem = Problem(
        (Cause("strainer", 0.9, (), "clean"), Cause("data", 0.1, (), "set")), (*signs, look),
        (Repair("clean", 60.0, 0.0, {"strainer": 1.0}), Repair("set", 60.0, 0.0, {"data": 1.0})),
        exactly_one=True, mistakes=0.1,
    )  # fmt: skip
    seen = Evidence("look", (0.0, 1.0))
    readings = [*(Evidence(f"k{i}", LOW) for i in range(3)), seen]
    belief = believe(problem, readings)
    assert belief.leader.cause == "data"
    found = doubted(belief, readings)
    assert found is not None
    assert (found.check, found.wrong > 0.9, found.worth > 0.0) == ("look", True, True)
    assert chances_wrong(believe(problem, [seen]), [seen])[0] == pytest.approx(0.05 / (0.05 + 0.09), rel=1e-6)
