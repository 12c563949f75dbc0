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


def test_zero_is_doubted_only_where_it_does_not_fit() -> None:
    """A controller without feed reads zero, and so do leads that are off (common practice, no source).

    With no speed shown either, zero volts at its plug are believed; with a good speed shown they are measured again.
    """
    trees = load_catalogue()
    fits = {"pump-runs-at-key-on": "runs", "rpm-shown-cranking": "0 rpm", "controller-cranking-volts": "0.05 V"}
    otherwise = fits | {"rpm-shown-cranking": "210 rpm", "injector-pulse-cranking": "flickers"}
    found = []
    for readings in (fits, otherwise):
        case = case_in_memory(trees, trees.cars["harrow-240"], ("no-start",))
        for check, text in readings.items():
            case.take(check, text, sure=True)
        found.append(case.assessment.doubted)
    believed, doubted = found
    assert believed is None
    assert doubted is not None
    assert doubted.check == "controller-cranking-volts"
