"""A check read twice with nothing repaired between counts once, as it was read last."""

from __future__ import annotations

from troubleshoot.case.case import case_in_memory
from troubleshoot.knowledge.catalogue import load_catalogue
from troubleshoot.reasoning.events import Evidence


def test_the_second_reading_of_a_check_stands_in_the_place_of_the_first() -> None:
    trees = load_catalogue()
    once, twice = (case_in_memory(trees, trees.cars["harrow-240"], ("lean-top",)) for _ in range(2))
    twice.take("pressure-when-lean", "30 psi", sure=True)
    for case in (once, twice):
        case.take("pressure-when-lean", "58 psi", sure=True)
    assert once.assessment.happened == twice.assessment.happened
    assert len([one for one in twice.assessment.happened if isinstance(one, Evidence)]) == 1


def test_a_reading_taken_again_after_a_repair_counts_beside_the_first() -> None:
    trees = load_catalogue()
    case = case_in_memory(trees, trees.cars["harrow-240"], ("lean-top",))
    case.take("pressure-when-lean", "30 psi", sure=True)
    case.repair("filter-blocked")
    case.retest("still")
    case.take("pressure-when-lean", "58 psi", sure=True)
    assert len([one for one in case.assessment.happened if isinstance(one, Evidence)]) == 2
