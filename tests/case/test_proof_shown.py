"""The moment of proof: the cause, how belief in it climbed, and what is left to do."""

from __future__ import annotations

import pytest

from troubleshoot.case.case import Case, open_case
from troubleshoot.casebook.store import IN_MEMORY, Casebook
from troubleshoot.knowledge.catalogue import load_catalogue
from troubleshoot.reasoning import belief as beliefs

READINGS = (
    ("pressure-at-idle", "58 psi"),
    ("pressure-when-lean", "38 psi"),
    ("pump-volts-under-load", "11 V"),
    ("pump-ground-drop", "40 mV"),
)


@pytest.fixture
def case() -> Case:
    trees = load_catalogue()
    made = open_case(Casebook(IN_MEMORY), trees, lambda: 1.79e9)
    made.start_with(trees.cars["harrow-240"], ["lean-top"])
    for check, text in READINGS:
        made.take(check, text, sure=True)
    return made


def test_nothing_is_proved_before_a_clean_retest(case: Case) -> None:
    assert case.view().proof is None
    case.repair("pump-volts-low")
    assert case.view().proof is None
    case.retest("still")
    assert case.view().proof is None


def test_each_moment_says_what_a_belief_made_anew_says(case: Case) -> None:
    case.repair("pump-volts-low")
    case.retest("gone")
    proof = case.view().proof
    assert proof is not None
    assert (proof.cause, [one.kind for one in proof.moments]) == (
        "pump-volts-low",
        ["reading"] * len(READINGS) + ["repair", "retest"],
    )
    seen = case.assessment
    assert seen.problem is not None
    for count, moment in enumerate(proof.moments, start=1):
        anew = beliefs.believe(seen.problem, seen.happened[:count])
        assert moment.after == pytest.approx(anew.probability("pump-volts-low"), abs=1e-9)
    assert [one.after for one in proof.moments[:-1]] == [one.before for one in proof.moments[1:]]
    assert proof.measure, "the proof by measurement is still open"


def test_a_closed_case_keeps_its_proof_and_a_referred_one_has_none(case: Case) -> None:
    case.repair("pump-volts-low")
    case.retest("gone")
    case.close("proved")
    proof = case.view().proof
    assert proof is not None and proof.title
    other = open_case(case.store, case.catalogue, lambda: 1.79e9)
    other.start_with(case.catalogue.cars["harrow-240"], ["lean-top"])
    other.close("referred")
    assert other.view().proof is None
