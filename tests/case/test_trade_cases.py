"""What the shipped trees must get right, walked through a case (common practice, no source)."""

from __future__ import annotations

import pytest

from tests.case.at_the_car import next_check, read
from troubleshoot.case.available import available_checks
from troubleshoot.case.case import Case
from troubleshoot.case.events import ConcernsSet, ReadingTaken, Seen
from troubleshoot.case.proposing import propose
from troubleshoot.case.settings import CaseSettings
from troubleshoot.casebook.store import IN_MEMORY, Casebook
from troubleshoot.knowledge.answers import ReadingImplausible, ReadingRefused
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.reports.case_report import report_of


def leads(case: Case) -> str:
    return case.view().ranked[0].id


STEADY = {"pressure-when-lean": "58 psi", "mixture-at-top": "0.87"}


def test_points_floating_and_proved_by_a_pickup_without_points(shipped: Catalogue) -> None:
    """Breaks up at the same speed in neutral and in gear, pressure and mixture steady, spring tension low."""
    case = read(
        shipped,
        "wont-rev",
        {
            "break-up-moves-with-load": "same-speed",
            "break-up-speed": "4400 rpm",
            **STEADY,
            "spring-tension": "10 ozf",
        },
    )
    assert leads(case) == "points-floating"
    case.repair("points-floating")
    case.retest("gone")
    assert case.view().step.proved
    case.close("proved")
    assert case.view().result == "proved"
    assert case.store.proved() == {"points-floating": 1}


def test_a_speed_that_moves_with_load_while_pressure_falls_is_not_the_points(shipped: Catalogue) -> None:
    case = read(
        shipped,
        "wont-rev",
        {"break-up-moves-with-load": "only-with-load", "break-up-speed": "4400 rpm", "pressure-when-lean": "40 psi"},
    )
    assert leads(case) != "points-floating"
    assert shipped.causes[leads(case)].system in ("fuel", "electrical")


@pytest.mark.parametrize("car", ["harrow-240", "tarn-six-160"])
def test_thousands_of_rpm_with_the_engine_still_is_a_false_signal(shipped: Catalogue, car: str) -> None:
    case = read(shipped, "floods-key-on", {"plugs-wet": "wet", "rpm-shown-at-key-on": "4200 rpm"}, car)
    assert leads(case) == "self-test-burst"
    injector = next(one for one in case.view().ranked if one.id == "injector-dripping")
    assert injector.probability < 0.1


def test_wet_plugs_zero_rpm_and_pressure_gone_is_an_injector_or_pressure(shipped: Catalogue) -> None:
    case = read(
        shipped,
        "floods-key-on",
        {"plugs-wet": "wet", "rpm-shown-at-key-on": "0 rpm", "pressure-after-ten-minutes": "4 psi"},
    )
    assert leads(case) in ("injector-dripping", "regulator-high", "return-restricted")


def test_surge_on_a_divided_plenum_with_nothing_else_found_is_the_plenum(shipped: Catalogue) -> None:
    case = read(
        shipped,
        "idle-surge",
        {"idle-swing": "110 rpm", "leak-search": "5 rpm", "pressure-at-idle": "58 psi", "timing-wander": "0.5 deg"},
    )
    assert leads(case) == "plenum-starves-one-half"


def test_surge_with_a_leak_found_and_the_valve_closed_is_the_leak(shipped: Catalogue) -> None:
    case = read(
        shipped, "idle-surge", {"idle-swing": "110 rpm", "leak-search": "120 rpm", "idle-valve-position": "2 %"}
    )
    assert leads(case) in ("vacuum-leak", "vacuum-leak-one-half")


@pytest.mark.parametrize(
    ("readings", "expected"),
    [
        (
            {
                "pressure-at-idle": "50 psi",
                "pressure-when-lean": "38 psi",
                "pump-volts-under-load": "13.4 V",
                "suction-vacuum": "12 inHg",
            },
            {"inlet-strainer-blocked"},
        ),
        ({"pressure-when-lean": "38 psi", "pump-volts-under-load": "10.8 V"}, {"pump-volts-low", "pump-ground-poor"}),
        ({"pressure-when-lean": "50 psi", "injector-duty-top": "98 %"}, {"injectors-too-small"}),
        (
            {"pressure-when-lean": "50 psi", "injector-duty-top": "60 %", "exhaust-leak-search": "found"},
            {"exhaust-leak-ahead-of-sensor"},
        ),
    ],
)
def test_lean_only_high_in_the_run(shipped: Catalogue, readings: dict[str, str], expected: set[str]) -> None:
    """Rated 50 psi: strainer, supply, injectors too small, or a reading that is wrong; one of the first two."""
    belief = read(shipped, "lean-top", readings, rated_pressure=50).assessment.belief
    assert belief is not None
    assert expected & {one.cause for one in belief.ranked(2)}


@pytest.mark.parametrize("car", ["harrow-240", "tarn-six-160"])
def test_every_concern_begins_with_a_caution_or_a_check_and_its_own_tree(shipped: Catalogue, car: str) -> None:
    for concern, known in shipped.concerns.items():
        case = read(shipped, concern, {}, car)
        view = case.view()
        step = view.behind or view.step
        assert step.kind == "check", concern
        assert step.check is not None
        if known.kind == "inspection":
            assert step.check.id in known.items
            assert step.check.proposed_by == "inspection"
        assert sum(one.probability for one in view.ranked) > 0, concern


@pytest.mark.parametrize(
    ("typed", "value", "spread"),
    [("13.2 AFR", 13.2 / 14.7, None), ("13,2 afr", 13.2 / 14.7, None), ("12.5 ± 0.3 AFR", 12.5 / 14.7, 0.3 / 14.7),
     ("0.9", 0.9, None), ("0.9 lambda", 0.9, None)],
)  # fmt: skip
def test_a_mixture_may_be_typed_as_the_ratio_on_a_display(
    shipped: Catalogue, typed: str, value: float, spread: float | None
) -> None:
    """A display on the gasoline scale shows 14.7 times lambda on any fuel (common practice, no source)."""
    case = read(shipped, "lean-top", {}, car="tarn-six-160", fuel="e85")
    read_as = case.understand("mixture-at-top", typed)
    assert read_as.value == pytest.approx(value)
    assert spread is None or read_as.uncertainty == pytest.approx(spread)
    assert "λ" in read_as.shown


def test_a_bare_ratio_is_asked_about_and_not_guessed(shipped: Catalogue) -> None:
    """13.2 is no lambda: the refusal says how to type the ratio; a pressure is still no mixture."""
    case = read(shipped, "lean-top", {}, car="tarn-six-160")
    with pytest.raises(ReadingImplausible) as problem:
        case.take("mixture-at-top", "13.2")
    assert "13.2 AFR" in problem.value.advice
    with pytest.raises(ReadingRefused):
        case.take("mixture-at-top", "38 psi")
    with pytest.raises(ReadingRefused):
        case.take("pressure-when-lean", "13.2 AFR")


def test_a_step_that_cannot_be_done_is_passed_and_the_tree_goes_on(shipped: Catalogue) -> None:
    """A practitioner without back-probe pins looks at the battery next, not at the mixture."""
    case = read(shipped, "charging", {"charging-volts-idle": "14.1 V", "pump-runs-at-key-on": "runs"})
    assert next_check(case) == "back-feed-volts"
    case.skip("back-feed-volts", "the tool is not here")
    assert next_check(case) == "battery-rest-volts"


def test_a_coil_without_a_ballast_is_not_asked_for_half_the_battery(shipped: Catalogue) -> None:
    """A coil of 3.0 to 3.4 ohm carries the whole battery and is sound (common practice)."""
    readings = {"break-up-moves-with-load": "only-with-load"}
    with_ballast = read(shipped, "wont-rev", readings)
    without = read(shipped, "wont-rev", readings, ballast=False, coil_resistance=3.2)
    assert "coil-plus-volts" in {other.id for other in with_ballast.other_checks()}
    assert "coil-plus-volts" not in {other.id for other in without.other_checks()}


def test_no_correction_is_asked_for_where_feedback_never_comes_in(shipped: Catalogue) -> None:
    """What has been answered already is not asked again in other words, until a repair may have changed it."""
    case = read(shipped, "no-feedback", {"feedback-active": "never"})
    assert propose(case.assessment, shipped).id in ("coolant-shown", "display-at-key-on", "preliminary-look")
    told = {one.id: one for one in case.other_checks()}["idle-correction"]
    assert not told.available and "never comes in" in told.missing[0]
    case.repair("thermostat-open")
    case.retest("still")
    assert {one.id: one for one in case.other_checks()}["idle-correction"].available


def test_a_report_names_its_cautions_and_limits_as_people_do(shipped: Catalogue) -> None:
    """No id of a file stands in what the customer is handed."""
    case = read(shipped, "knock", {"coolant-shown": "185 degF"})
    while (caution := case.view().step.caution) is not None:
        case.acknowledge(caution.id)
    report = report_of(case)
    assert report.cautions[0] == "NOTICE: Pings or knocks under load"
    assert "feedback temperature of this car" in report.readings[0].worked_out[0]


def test_manifold_pressure_is_asked_in_the_unit_of_the_display(shipped: Catalogue) -> None:
    """98 typed as it is read means kilopascals, also for a person of US units."""
    case = read(shipped, "flat-spot", {})
    assert case.understand("manifold-pressure-full", "98").shown == "98 kPa absolute"
    assert case.understand("map-at-key-on", "-1").shown == "-1 kPa"
    assert case.understand("manifold-pressure-full", "29 inHg").outcome == "normal"


def test_once_a_cause_leads_the_tree_tells_it_from_the_next(shipped: Catalogue) -> None:
    """Throttle shown open at idle: the ground is measured, not the vacuum advance looked at."""
    case = read(shipped, "high-idle", {"throttle-closed-shown": "10.8 %"}, "tarn-six-160")
    assert next_check(case) == "sensor-ground-drop"


def test_a_reading_that_is_not_counted_any_more_rules_no_check_out(shipped: Catalogue) -> None:
    """An answer that newer trees do not know is told of in a notice; what it once made needless can be done."""
    after, (before, *_) = next((name, list(one.not_after)) for name, one in shipped.checks.items() if one.not_after)
    told = ReadingTaken(check=before, typed="as it was then", answer=Seen(outcome="no-longer-an-answer"))
    case = Case(Casebook(IN_MEMORY), shipped, "old", lambda: 1.7e9, CaseSettings(), [
        ConcernsSet(concerns=("no-start",)), told,
    ])  # fmt: skip
    view = case.view()
    assert any("as it was then" in one for one in view.notices)
    assert after in available_checks(case.assessment, shipped)
