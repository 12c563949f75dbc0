"""A case from the concern to the proof, and the ways off the straight path."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from troubleshoot.case.case import Case, resume_case
from troubleshoot.case.errors import NotNow, UnknownCause, UnknownCheck
from troubleshoot.case.events import RepairMade
from troubleshoot.casebook.store import IN_MEMORY, Casebook
from troubleshoot.knowledge.answers import ReadingImplausible, ReadingRefused
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.problems import TroubleshootError

Begin = Callable[..., Case]


def read_cautions(case: Case) -> list[str]:
    """Acknowledge the cautions that are due and return their ids."""
    given = []
    while (caution := case.view().step.caution) is not None:
        case.acknowledge(caution.id)
        given.append(caution.id)
    return given


def leading(case: Case) -> str:
    return case.view().ranked[0].id


def test_a_blocked_strainer_is_found_repaired_and_proved(begin: Begin) -> None:
    """Pressure falls from 50 to 38 psi with 13.4 V at the pump: the inlet (common practice, no source)."""
    case = begin("lean-top")
    assert case.view().step.kind == "caution"
    assert case.view().behind is not None
    assert "fuel-under-pressure" in read_cautions(case)
    case.take("pressure", "38 psi")
    assert case.view().step.check is not None
    assert case.view().step.check.id == "pump-volts"
    case.take("pump-volts", "13.4 V")
    assert leading(case) == "strainer-blocked"
    assert read_cautions(case) == []
    step = case.view().step
    assert step.kind == "repair"
    assert step.repair is not None
    assert step.repair.cause == "strainer-blocked"
    before = case.view().minutes
    case.repair("strainer-blocked")
    assert case.view().minutes == before + 40
    assert case.view().step.kind == "retest"
    assert not case.view().step.proved
    case.retest("gone")
    assert case.view().step.proved
    assert case.view().none > 0.9
    case.close("proved")
    view = case.view()
    assert (view.step.kind, view.result) == ("closed", "proved")
    assert case.store.proved() == {"strainer-blocked": 1}
    (row,) = case.store.cases()
    assert row.state == "proved"
    assert "Inlet strainer blocked" in row.headline


def test_a_retest_that_fails_takes_the_case_up_again(begin: Begin) -> None:
    case = begin("lean-top")
    case.take("pressure", "38")
    case.take("pump-volts", "13.4")
    case.repair("strainer-blocked")
    case.retest("still")
    assert leading(case) != "strainer-blocked"
    # What the repaired cause moved may be read again; what it did not move stands.
    again = {other.id for other in case.other_checks()}
    assert "pressure" in again
    assert "pump-volts" not in again


def test_the_set_up_is_paid_once(begin: Begin) -> None:
    case = begin("lean-top")
    case.take("pressure", "38")
    assert case.view().minutes == 16
    case.choose("pressure")
    read_cautions(case)
    check = case.view().step.check
    assert check is not None
    assert (check.setup_in_place, check.setup_minutes, check.proposed_by) == (True, 0.0, "person")
    case.take("pressure", "39")
    assert case.view().minutes == 22
    case.repair("strainer-blocked")
    case.retest("still")
    case.take("pressure", "39")
    assert case.view().minutes == 22 + 40 + 16


def test_cautions_once_a_hazard_and_again_when_the_engine_first_turns(begin: Begin) -> None:
    case = begin("lean-top")
    case.choose("look")
    assert read_cautions(case) == ["fuel-under-pressure"]
    case.take("look", "1")
    case.choose("pressure")
    assert case.view().step.words
    assert read_cautions(case) == ["fuel-under-pressure", "moving-parts"]
    case.take("pressure", "50")
    case.choose("look")
    assert read_cautions(case) == []
    case.choose("duty")
    assert read_cautions(case) == []


def test_fuel_found_stops_everything_until_the_leak_is_repaired(begin: Begin) -> None:
    for found in (lambda case: case.take("look", "fuel found"), lambda case: case.smell_fuel()):
        case = begin("lean-top")
        case.choose("pressure")
        found(case)
        assert case.view().step.kind == "stop"
        case.choose("duty")
        assert case.view().step.kind == "stop"
        case.leak_repaired()
        assert case.view().step.kind != "stop"
    case = begin("flat")
    case.smell_fuel()
    case.leak_repaired()
    assert case.view().step.kind in ("check", "caution")


def test_repairing_a_leak_the_concern_may_come_from_waits_for_a_retest(begin: Begin) -> None:
    case = begin("lean-top")
    case.take("look", "fuel-leak-found")
    assert leading(case) == "fuel-leak"
    case.leak_repaired()
    assert case.view().step.kind == "retest"
    case.retest("gone")
    case.close("proved")
    assert case.store.proved() == {"fuel-leak": 1}


def test_an_inspection_goes_through_every_item_and_ends_in_a_list(begin: Begin) -> None:
    case = begin("fit-up")
    seen = []
    while True:
        read_cautions(case)
        check = case.view().step.check
        if check is None:
            break
        seen.append((check.id, check.place, check.proposed_by))
        case.take(check.id, {"look": "dry", "pump-volts": "11 V"}[check.id])
    assert seen == [("look", "1 of 2", "inspection"), ("pump-volts", "2 of 2", "inspection")]
    view = case.view()
    assert view.step.kind == "healthy"
    assert view.to_put_right == ("Volts at the pump under load: 11 ± 0.1 V, too low",)
    sound = begin("fit-up")
    sound.take("look", "dry")
    sound.skip("pump-volts", "no meter")
    assert sound.view().to_put_right == ("Volts at the pump under load: not looked at (no meter)",)


def test_without_the_tools_the_tree_gives_way_to_what_can_be_done(begin: Begin) -> None:
    case = begin("lean-top", tools=["meter"])
    check = case.view().behind
    assert check is not None
    assert check.check is not None
    assert check.check.id in ("pump-volts", "duty", "look")
    pressure = next(other for other in case.other_checks() if other.id == "pressure")
    assert not pressure.available
    assert pressure.missing == ("fuel gauge",)


def test_skipping_leads_on(begin: Begin) -> None:
    case = begin("lean-top")
    asked = []
    for _ in range(6):
        read_cautions(case)
        check = case.view().step.check
        if check is None:
            break
        asked.append(check.id)
        case.skip(check.id, "no time")
    assert len(asked) == len(set(asked))
    assert case.view().step.kind in ("repair", "refer", "healthy")


def test_readings_that_fit_nothing_end_in_a_referral_or_a_doubt(begin: Begin) -> None:
    case = begin("lean-top")
    for check, text in (("pressure", "70"), ("pump-volts", "13.8"), ("duty", "40 %"), ("look", "dry")):
        case.take(check, text)
    assert case.view().something_else > 0.3
    assert case.view().step.kind == "refer"
    case.close("referred")
    assert case.view().result == "referred"


def test_undo_and_correct(begin: Begin) -> None:
    case = begin("lean-top")
    with pytest.raises(NotNow):
        case.undo()
    case.take("pressure", "38")
    first = case.view()
    case.take("pump-volts", "10.8")
    assert leading(case) == "pump-volts-low"
    assert case.undo() == "Volts at the pump under load"
    assert replace(case.view(), case="") == replace(first, case="")
    case.take("pump-volts", "10.8")
    index = next(line.index for line in case.view().trail if line.check == "pump-volts")
    case.correct(index, "13.4 V")
    assert leading(case) == "strainer-blocked"
    assert len(case.view().trail) == 2
    case.correct(index, "skipped")
    assert case.view().trail[1].kind == "skipped"
    case.undo()
    assert leading(case) == "strainer-blocked"
    with pytest.raises(NotNow):
        case.correct(0, "38")
    with pytest.raises(ReadingRefused):
        case.correct(index, "many volts")


def test_a_closed_case_may_be_opened_by_a_step_back(begin: Begin) -> None:
    case = begin("lean-top")
    with pytest.raises(NotNow):
        case.close("proved")
    case.close("left")
    assert case.view().step.kind == "closed"
    case.undo()
    assert case.view().step.kind != "closed"
    assert case.store.cases()[0].state == "open"


def test_refusals_say_what_and_what_to_do_and_store_nothing(begin: Begin) -> None:
    case = begin("lean-top")
    before = case.events
    for wrong, kind in (
        (lambda: case.take("presure", "38"), UnknownCheck),
        (lambda: case.take("pressure", "38 V"), ReadingRefused),
        (lambda: case.take("pressure", "900"), ReadingImplausible),
        (lambda: case.take("look", "3"), ReadingRefused),
        (lambda: case.repair("nothing"), UnknownCause),
        (lambda: case.why("nothing"), UnknownCause),
        (lambda: case.would_change("nothing"), UnknownCheck),
        (lambda: case.retest("maybe"), TroubleshootError),
        (lambda: case.close("never"), TroubleshootError),
        (lambda: case.set_concerns([]), TroubleshootError),
        (lambda: case.set_concerns(["lean-tip"]), TroubleshootError),
        (lambda: case.set_tools(["gage"]), TroubleshootError),
        (lambda: case.repair("fuel-leak", minutes=float("nan")), TroubleshootError),
    ):
        with pytest.raises(kind) as problem:
            wrong()
        assert problem.value.sentence
        assert problem.value.advice
    assert case.events == before
    with pytest.raises(UnknownCheck, match="did you mean pressure"):
        case.take("presure", "1")
    case.take("pressure", "119", sure=True)


def test_a_reading_beside_a_limit_counts_for_little(begin: Begin) -> None:
    """0.3 psi under a limit, read to 1 psi: the share below is 0.62 of N(r, s), and few sound cars lie so far out."""
    near, far = begin("lean-top"), begin("lean-top")
    near.take("pressure", "45.7 psi")
    far.take("pressure", "38 psi")
    shares = near.understand("pressure", "45.7 psi").shares
    assert shares[0] == pytest.approx(0.618, abs=0.001)
    assert "close to a limit" in near.understand("pressure", "45.7 psi").warning
    weight = {one.check: one.log_odds for one in near.why("strainer-blocked")}["pressure"]
    assert 0 < weight < {one.check: one.log_odds for one in far.why("strainer-blocked")}["pressure"] * 2 / 3


def test_metric_units_are_shown_and_typed(begin: Begin) -> None:
    case = begin("lean-top", units="metric")
    read_cautions(case)
    case.choose("pressure")
    read_cautions(case)
    check = case.view().step.check
    assert check is not None
    assert check.unit == "bar"
    assert check.bands[0].high == pytest.approx(46 * 0.06894757, rel=1e-4)
    assert check.plausible == pytest.approx((0, 120 * 0.06894757), rel=1e-4)
    case.take("pressure", "2,62")
    assert case.assessment.latest["pressure"].value == pytest.approx(38.0, abs=0.01)
    assert case.view().trail[-1].answer.startswith("2.62")


def test_a_case_made_with_other_trees_opens_and_says_what_differs(
    begin: Begin, small: Catalogue, clock: Callable[[], float]
) -> None:
    book = Casebook(IN_MEMORY)
    case = begin("lean-top", book=book)
    case.take("pressure", "38 psi")
    case.take("duty", "92 %")
    case.take("pump-volts", "12.2 V")
    case.repair("strainer-blocked")
    checks = {name: one for name, one in small.checks.items() if name != "duty"}
    volts = small.checks["pump-volts"]
    checks["pump-volts"] = type(volts)(
        **{**{f: getattr(volts, f) for f in volts.__struct_fields__}, "bands": [
            type(volts.bands[0])(outcome="low", to=13.0), type(volts.bands[0])(outcome="normal")]}
    )  # fmt: skip
    causes = {name: one for name, one in small.causes.items() if name != "strainer-blocked"}
    other = Catalogue(
        concerns=small.concerns, causes=causes, checks=checks, cautions=small.cautions, setups=small.setups,
        tools=small.tools, cars=small.cars, version="another",
    )  # fmt: skip
    again = resume_case(book, other, case.case_id, clock)
    notices = " ".join(again.view().notices)
    assert "other trees" in notices
    assert "“duty” is no longer in the trees" in notices
    assert "was normal with the old trees, now low" in notices
    assert [line.title for line in again.view().trail][-1] == "Repair: strainer blocked"
    assert again.view().ranked


def test_closed_cases_teach_and_it_is_said(begin: Begin, small: Catalogue, clock: Callable[[], float]) -> None:
    book = Casebook(IN_MEMORY)
    for _ in range(12):
        case = begin("lean-top", book=book)
        case.repair("injectors-small")
        case.retest("gone")
        case.close("proved")
    taught, untaught = begin("lean-top", book=book), begin("lean-top")
    probability = {one.id: one.probability for one in taught.view().ranked}["injectors-small"]
    assert probability > {one.id: one.probability for one in untaught.view().ranked}["injectors-small"]
    (told,) = taught.view().notices
    assert "12 proved causes" in told
    assert "of 100 cars, without them" in told
    assert not untaught.view().notices


def test_two_windows_on_one_case(begin: Begin, small: Catalogue, clock: Callable[[], float]) -> None:
    book = Casebook(IN_MEMORY)
    first = begin("lean-top", book=book)
    second = resume_case(book, small, first.case_id, clock)
    first.take("pressure", "38")
    before = second.view()
    with pytest.raises(TroubleshootError, match="another window"):
        second.take("pressure", "50")
    assert second.view() == before


def test_the_parts_and_minutes_of_a_repair_may_be_given(begin: Begin) -> None:
    case = begin("lean-top")
    case.repair("strainer-blocked", minutes=12, parts=3)
    (event,) = [one for one in case.events if isinstance(one, RepairMade)]
    assert (event.minutes, event.parts) == (12, 3)
