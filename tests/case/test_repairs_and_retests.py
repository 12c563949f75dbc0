"""When a repair comes before a check, and what a retest and its measurement prove (common practice, no source)."""

from __future__ import annotations

import pytest

from tests.case.at_the_car import next_check, read
from tests.case.conftest import Begin
from troubleshoot.case.proposing import propose
from troubleshoot.knowledge.catalogue import Catalogue


def test_nobody_is_told_that_nothing_is_wrong_while_the_concern_is_there(shipped: Catalogue) -> None:
    """Volts good everywhere, the likeliest repair made, and the retest finds it again: it is handed on."""
    good = {
        "charging-volts-idle": "14.1 V", "pump-runs-at-key-on": "runs", "battery-rest-volts": "12.64 V",
        "battery-cranking-volts": "11 V", "starter-cable-drop": "0.4 V", "supply-ripple": "0.05 V",
        "pump-volts-running": "13.6 V", "charging-volts-held": "14.1 V", "controller-feed-drop": "0.1 V",
        "idle-speed": "754 rpm", "battery-drain": "30 mA", "preliminary-look": "nothing",
        "controller-cranking-volts": "10.8 V", "sensor-ground-drop": "20 mV", "injector-feed-drop": "0.1 V",
        "connector-tug": "firm", "pump-volts-key-on": "12 V", "rpm-shown-error": "0 %",
    }  # fmt: skip
    case = read(shipped, "charging", good, "tarn-six-160-electronic")
    case.repair("key-on-wire-back-fed")
    case.retest("still")
    for _ in range(40):
        step = case.view().behind or case.view().step
        if step.check is None:
            break
        case.skip(step.check.id, "left out")
    assert case.view().step.kind == "refer"


def test_of_two_concerns_a_clear_repair_goes_before_the_other_trees_first_check(shipped: Catalogue) -> None:
    """Lean at the top and a loud pump, cured by a loose tank cap: the vent is repaired first."""
    case = read(shipped, "lean-top", {})
    case.set_concerns(["pump-noise", "lean-top"])
    for check, text in {
        "pressure-at-idle": "57 psi",
        "pump-volts-running": "13.4 V",
        "pressure-when-lean": "41 psi",
        "pump-volts-under-load": "13.2 V",
        "suction-vacuum": "9 inHg",
        "tank-cap-off": "better",
    }.items():
        case.take(check, text)
    proposed = propose(case.assessment, shipped)
    assert (proposed.kind, proposed.id) == ("repair", "tank-vent-blocked")


def test_a_clear_repair_waits_while_the_other_concern_is_unexplained(shipped: Catalogue) -> None:
    """16 V at the battery explains no engine that will not rev: that is looked at before the alternator is repaired."""
    case = read(shipped, "charging", {})
    case.set_concerns(["wont-rev", "charging"])
    case.take("charging-volts-idle", "15.7 V")
    seen = case.assessment
    assert seen.belief is not None
    assert seen.belief.leader.cause == "alternator-overcharging"
    assert propose(seen, shipped).kind == "check"


def test_the_retest_can_be_measured_and_still_waits(shipped: Catalogue) -> None:
    """The volts that prove the alternator are read before anyone says that the concern is gone."""
    case = read(shipped, "charging", {"charging-volts-idle": "12.4 V", "charging-volts-held": "12.5 V"})
    case.repair("alternator-weak")
    step = case.view().step
    assert step.kind == "retest" and step.measure is not None and "What proves it:" in step.words
    case.choose(step.measure[0])
    assert next_check(case) == step.measure[0]
    case.take(step.measure[0], "14.2 V")
    assert case.view().step.kind == "retest" and case.view().step.measure is None
    case.retest("gone")
    assert case.view().step.proved


@pytest.mark.parametrize(("volts", "proved"), [("14.2 V", True), ("12.4 V", False)])
def test_a_measurement_after_a_clean_retest_decides(shipped: Catalogue, volts: str, proved: bool) -> None:
    """Good volts leave the case to be closed as proved; low ones take it up again."""
    case = read(shipped, "charging", {"charging-volts-idle": "12.4 V", "charging-volts-held": "12.5 V"})
    case.repair("alternator-weak")
    case.retest("gone")
    measure = case.view().step.measure
    assert case.view().step.proved and measure is not None
    case.take(measure[0], volts)
    assert case.view().step.proved is proved


@pytest.mark.parametrize("ahead", [True, False])
def test_nothing_is_proved_while_the_proof_finds_the_fault_again(shipped: Catalogue, ahead: bool) -> None:
    """Gone, says the driver; the measurement says it is there, made ahead of the retest or after: look on."""
    case = read(shipped, "high-idle", {})
    case.repair("booster-hose-off")
    proof = shipped.causes["booster-hose-off"].proof.check
    assert proof is not None and shipped.checks[proof].normal == "no-change"
    done = [lambda: case.take(proof, "speed-falls"), lambda: case.retest("gone")]
    for one in done if ahead else reversed(done):
        one()
    assert not propose(case.assessment, shipped).proved
    case.take(proof, "no-change")
    assert propose(case.assessment, shipped).proved


def test_a_cause_that_the_tree_has_no_step_left_for_is_repaired_and_not_referred(begin: Begin) -> None:
    """The gauge is not to be had, and all else reads as it should: what is likeliest is repaired before giving up."""
    case = begin("lean-top")
    case.skip("pressure")
    for check, text in (("duty", "50"), ("pump-volts", "13.4"), ("look", "dry")):
        case.take(check, text, sure=True)
    told = propose(case.assessment, case.catalogue)
    assert (told.kind, told.id) == ("repair", "strainer-blocked")
