"""The weight of readings, and what would change the ranking."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from making import happenings, problems

from troubleshoot.reasoning.belief import believe
from troubleshoot.reasoning.events import Evidence
from troubleshoot.reasoning.explaining import FURTHEST, in_words, outcome_leaders, unexplained, weights, would_change
from troubleshoot.reasoning.problem import Cause, Check, Problem

LOW, GOOD = (1.0, 0.0), (0.0, 1.0)


def pump_or_strainer(checks=3, **changes):
    """Exactly one of two causes, and checks that each point at the first with odds 9 to 1."""
    return Problem(
        causes=(Cause("strainer", 0.5, ()), Cause("pump", 0.5, ())),
        checks=tuple(
            Check(f"k{i}", ("low", "good"), "good", (0.1, 0.9), {"strainer": (0.9, 0.1), "pump": (0.1, 0.9)})
            for i in range(checks)
        ),
        exactly_one=True,
        **changes,
    )


def test_weight_of_a_reading_is_the_log_of_its_bayes_factor():
    """With two exclusive causes posterior log-odds = prior log-odds + the weights (I. J. Good's identity)."""
    problem = pump_or_strainer()
    happened = [Evidence("k0", LOW), Evidence("k1", LOW), Evidence("k2", GOOD)]
    said = weights(problem, happened, "strainer")
    assert [w.log_odds for w in said] == pytest.approx([math.log(9), math.log(9), -math.log(9)])
    after = believe(problem, happened).probability("strainer")
    assert math.log(after / (1 - after)) == pytest.approx(sum(w.log_odds for w in said))
    assert (said[2].expected_outcome, said[2].read_outcome) == ("low", "good")


@pytest.mark.parametrize(
    ("ratio", "words"),
    [
        (1.05, "says nothing either way"),
        (2.9, "slightly for it"),
        (3.1, "clearly for it"),
        (1 / 21, "strongly against it"),
        (151, "very strongly for it"),
    ],
)
def test_words_follow_the_published_scale(ratio, words):
    """Kass and Raftery 1995: 3, 20 and 150 to 1 (from memory)."""
    assert in_words(math.log(ratio)) == words


def test_a_reading_that_no_listed_cause_gives_is_said_to_be_unexplained():
    """Low comes nine times in ten of the strainer; odd comes one time in twenty of all alike."""
    known = {"strainer": (0.9, 0.05, 0.05), "pump": (0.05, 0.9, 0.05)}
    check = Check("k", ("low", "good", "odd"), "good", (0.05, 0.9, 0.05), known)
    problem = Problem((Cause("strainer", 0.1), Cause("pump", 0.1)), (check,))
    low, odd = Evidence("k", (1.0, 0.0, 0.0)), Evidence("k", (0.0, 0.0, 1.0))
    assert unexplained(believe(problem, [low]), [low]) == ()
    (found,) = unexplained(believe(problem, [odd]), [odd])
    assert (found.check, found.nearest, found.share) == ("k", "strainer", 0.05)


def test_what_would_change_the_ranking():
    problem = pump_or_strainer()
    belief = believe(problem, [Evidence("k0", (0.6, 0.4))])
    assert belief.ranked()[0].cause == "strainer"
    ((outcome, leader, probability),) = would_change(problem, belief, "k1")
    assert (outcome, leader) == ("good", "pump")
    p = belief.probability("strainer")
    assert probability == pytest.approx(0.1 * p + 0.9 * (1 - p))
    assert sum(answer.probability for answer in outcome_leaders(belief, "k1")) == pytest.approx(1.0)


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_explanations_are_finite_for_any_case(data):
    problem = data.draw(problems())
    happened = data.draw(happenings(problem))
    for said in weights(problem, happened, problem.causes[0].id):
        assert abs(said.log_odds) <= FURTHEST
