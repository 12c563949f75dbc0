"""Repairs and not causes are decided on; what a check has shown is repaired; short looks come before dismantling."""

from __future__ import annotations

import pytest

from troubleshoot.case.available import available_checks
from troubleshoot.case.before_repair import SHORT, short_check_first
from troubleshoot.case.case import case_in_memory
from troubleshoot.case.proposing import propose
from troubleshoot.knowledge.compiling import work_of
from troubleshoot.reasoning.belief import Evidence, Repaired, Retested, believe
from troubleshoot.reasoning.problem import Cause, Check, Problem, Repair
from troubleshoot.reasoning.worth import next_step


def read(trees, concern, readings):
    case = case_in_memory(trees, trees.cars["harrow-240"], (concern,))
    for check, text in readings.items():
        case.take(check, text, sure=True)
    return case


def test_a_leak_that_the_search_has_found_is_repaired_before_anything_dearer(shipped):
    """Common practice, no source: where the idle moves as the gas passes a joint, that joint is put right."""
    case = read(shipped, "high-idle", {"leak-search": "220"})
    told = propose(case.assessment, shipped)
    assert (told.kind, told.id) == ("repair", "vacuum-leak")
    assert propose(read(shipped, "high-idle", {"leak-search": "5"}).assessment, shipped).kind == "check"


def test_one_work_for_two_causes_is_decided_on_as_one(shipped):
    """Neither half is likely enough by itself (0.62 and 0.31); the work that puts both right is."""
    assert work_of(shipped, "vacuum-leak-one-half") == work_of(shipped, "vacuum-leak")

    def problem(repairs):
        causes = tuple(
            Cause(name, rate, (0.9,), next(one.id for one in repairs if name in one.cures))
            for name, rate in (("round", 0.62), ("half", 0.31), ("other", 0.07))
        )
        check = Check("look", ("round", "half"), None, (0.5, 0.5), {"round": (0.9, 0.1), "half": (0.1, 0.9)}, 12.0)
        return Problem(causes, (check,), repairs, ("runs",), (0.001,), exactly_one=True, referral_minutes=500.0)

    other = Repair("other", 60.0, 0.0, {"other": 1.0})
    apart = problem((Repair("round", 60.0, 0.0, {"round": 1.0}), Repair("half", 60.0, 0.0, {"half": 1.0}), other))
    together = problem((Repair("search", 60.0, 0.0, {"round": 1.0, "half": 1.0}), other))
    first = next_step(apart, believe(apart, ()), ["look"])
    assert (first.kind, first.id) == ("check", "look")
    first = next_step(together, believe(together, ()), ["look"])
    assert (first.kind, first.id) == ("repair", "search")
    assert believe(together, ()).chance_of("search") == pytest.approx(0.93)
    gone = believe(together, [Evidence("look", (1.0, 0.0)), Repaired("search"), Retested(0.0)])
    assert gone.none > 0.98


def test_a_short_check_that_tells_two_apart_comes_before_anything_is_taken_apart(shipped):
    """Every check named is short, can be made, and its figures in the trees differ by half between the two."""
    named = 0
    for concern in ("misfire", "idle-surge", "stalls", "weak", "rich", "wont-rev"):
        if concern not in shipped.concerns:
            continue
        seen = case_in_memory(shipped, shipped.cars["harrow-240"], (concern,)).assessment
        available = available_checks(seen, shipped)
        for one in seen.belief.ranked(2):
            check, rival = short_check_first(seen, shipped, seen.belief, one.cause, available)
            if check:
                named += 1
                assert check in available and shipped.checks[check].minutes <= SHORT
                assert {one.cause, rival} & shipped.checks[check].moved_by.keys()
    assert named
