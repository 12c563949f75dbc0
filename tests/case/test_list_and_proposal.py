"""The proposal and the list of other checks say the same: which is proposed, and what the tree's order costs."""

from __future__ import annotations

import re

import pytest

from troubleshoot.case.available import available_checks
from troubleshoot.case.case import case_in_memory
from troubleshoot.case.proposing import propose, worths


def test_the_list_marks_the_proposed_check_and_what_it_costs_against_the_best(shipped):
    said = 0
    for concern in ("knock", "misfire", "lean-top", "wont-rev"):
        case = case_in_memory(shipped, shipped.cars["harrow-240"], (concern,))
        step = propose(case.assessment, shipped)
        listed = case.other_checks()
        marked = [one for one in listed if one.proposed]
        assert [one.id for one in marked] == [step.id]
        assert all(one.worth == pytest.approx(one.saves - one.minutes) for one in listed)
        exact = worths(case.assessment, available_checks(case.assessment, shipped))
        behind = exact[0].worth - next(one.worth for one in exact if one.check == step.id)
        words = re.search(r"would save (\d+) min more", marked[0].proposed)
        assert (words is not None) == (behind > 2.0)
        if words:
            said += 1
            assert float(words.group(1)) == pytest.approx(behind, abs=1.0)
    assert said


def test_what_is_chosen_is_marked_as_chosen_and_an_order_by_words_marks_nothing(shipped):
    case = case_in_memory(shipped, shipped.cars["harrow-240"], ("misfire",))
    other = next(one.id for one in case.other_checks() if one.available and not one.proposed)
    case.choose(other)
    assert {one.id: one.proposed for one in case.other_checks()}[other].startswith("chosen by you")
    assert not any(one.proposed or one.saves for one in case.other_checks(appraised=False))
