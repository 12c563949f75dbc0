"""What the shipped trees must get right, walked through a case (common practice, no source)."""

from __future__ import annotations

import pytest

from troubleshoot.case.case import Case, open_case
from troubleshoot.case.events import ConcernsSet, ReadingTaken, Seen
from troubleshoot.case.proposing import available_checks, propose
from troubleshoot.case.settings import CaseSettings
from troubleshoot.casebook.store import IN_MEMORY, Casebook
from troubleshoot.knowledge.answers import ReadingImplausible, ReadingRefused
from troubleshoot.knowledge.catalogue import Catalogue, car_with, load_catalogue
from troubleshoot.reports.case_report import report_of


@pytest.fixture(scope="module")
def shipped() -> Catalogue:
    return load_catalogue()


def read(
    shipped: Catalogue, concern: str, readings: dict[str, str], car: str = "harrow-240", **differs: float | str | bool
) -> Case:
    case = open_case(Casebook(IN_MEMORY), shipped, lambda: 1.7e9)
    differing = {name.replace("_", "-"): value for name, value in differs.items()}
    case.start_with(car_with(shipped, car, differing), [concern])
    for check, text in readings.items():
        case.take(check, text)
    return case


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


def test_a_smell_of_fuel_stops_first(shipped: Catalogue) -> None:
    """No key, no sparks, find and repair before anything else; fuel found stops whatever else was complained of."""
    case = read(shipped, "fuel-smell", {})
    caution = case.view().step.caution
    assert caution is not None
    assert (caution.id, caution.signal) == ("stop-fuel-smell", "DANGER")
    case.acknowledge(caution.id)
    again = case.view().step.caution
    assert again is None or again.id != caution.id
    other = read(shipped, "wont-rev", {"fuel-leak-search": "fuel-leak-found"})
    assert other.view().step.kind == "stop"


def test_an_engine_that_spits_back_keeps_its_air_cleaner(shipped: Catalogue) -> None:
    """No check that runs it with the lid off is offered or led to; the same check is there for an even miss."""
    popping = {one.id: one for one in read(shipped, "popping", {}).other_checks()}
    assert not popping["injector-spray"].available and "spit back" in popping["injector-spray"].missing[0]
    assert not any(step.check == "injector-spray" for step in shipped.concerns["popping"].steps.values())
    misfire = {one.id: one for one in read(shipped, "misfire", {}).other_checks()}
    assert misfire["injector-spray"].available


@pytest.mark.parametrize("other", ["", "wont-rev"])
def test_a_smell_that_nobody_finds_is_never_cleared(shipped: Catalogue, other: str) -> None:
    """Everything looked at and dry, or no tool for it: do not start, and hand it to someone equipped."""
    for without in (False, True):
        case = read(shipped, "fuel-smell", {})
        if other:
            case.set_concerns(["fuel-smell", other])
        for _ in range(200):
            view = case.view()
            step = view.behind or view.step
            if step.kind == "repair" and step.repair is not None:
                case.repair(step.repair.cause)
                case.retest("still")
            elif step.check is None:
                break
            elif without:
                case.skip(step.check.id, "no tool")
            else:
                case.take(step.check.id, str(shipped.checks[step.check.id].normal))
        assert step.kind == "refer", (step.kind, step.words)
        assert step.words.startswith("NOT CLEARED"), step.words
        case.close("referred")
        view = case.view()
        assert "NOT CLEARED" in (view.behind or view.step).words


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


def next_check(case: Case) -> str:
    """Return the check that is proposed, also where a caution stands before it."""
    step = case.view().behind or case.view().step
    assert step.check is not None, step.kind
    return step.check.id


def test_a_step_that_cannot_be_done_is_passed_and_the_tree_goes_on(shipped: Catalogue) -> None:
    """A practitioner without back-probe pins looks at the battery next, not at the mixture."""
    case = read(shipped, "charging", {"charging-volts-idle": "14.1 V", "pump-runs-at-key-on": "runs"})
    assert next_check(case) == "back-feed-volts"
    case.skip("back-feed-volts", "the tool is not here")
    assert next_check(case) == "battery-rest-volts"


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


def test_a_coil_without_a_ballast_is_not_asked_for_half_the_battery(shipped: Catalogue) -> None:
    """A coil of 3.0 to 3.4 ohm carries the whole battery and is sound (common practice)."""
    readings = {"break-up-moves-with-load": "only-with-load"}
    with_ballast = read(shipped, "wont-rev", readings)
    without = read(shipped, "wont-rev", readings, ballast=False, coil_resistance=3.2)
    assert "coil-plus-volts" in {other.id for other in with_ballast.other_checks()}
    assert "coil-plus-volts" not in {other.id for other in without.other_checks()}


def test_a_smell_of_fuel_is_looked_for_step_by_step(shipped: Catalogue) -> None:
    """No cheaper look comes before hoses and vent, and nothing is turned, cranked or run in between."""
    case = read(shipped, "fuel-smell", {"fuel-leak-search": "dry"})
    order = []
    for _ in range(6):
        order.append(next_check(case))
        check = shipped.checks[order[-1]]
        assert check.state == "key off"
        case.take(order[-1], str(check.normal))
    assert order == [
        "leak-under-pressure", "hose-rating-look", "tank-vent-look", "pump-pressed-on-open-throttle", "plugs-wet",
        "oil-smell",
    ]  # fmt: skip


def test_no_correction_is_asked_for_where_feedback_never_comes_in(shipped: Catalogue) -> None:
    """What has been answered already is not asked again in other words, until a repair may have changed it."""
    case = read(shipped, "no-feedback", {"feedback-active": "never"})
    assert propose(case.assessment, shipped).id in ("coolant-shown", "display-at-key-on", "preliminary-look")
    told = {one.id: one for one in case.other_checks()}["idle-correction"]
    assert not told.available and "never comes in" in told.missing[0]
    case.repair("thermostat-open")
    case.retest("still")
    assert {one.id: one for one in case.other_checks()}["idle-correction"].available


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


def test_a_report_names_its_cautions_and_limits_as_people_do(shipped: Catalogue) -> None:
    """No id of a file stands in what the customer is handed."""
    case = read(shipped, "knock", {"coolant-shown": "185 degF"})
    while (caution := case.view().step.caution) is not None:
        case.acknowledge(caution.id)
    report = report_of(case)
    assert report.cautions[0] == "NOTICE: Pings or knocks under load"
    assert "feedback temperature of this car" in report.readings[0].worked_out[0]


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


@pytest.mark.parametrize("first", ["knock", "popping", "wont-rev", "fit-up", "fit-to-convert"])
def test_a_danger_goes_first_whatever_was_named_before_it(shipped: Catalogue, first: str) -> None:
    """Named second or not, a smell of fuel is read of and looked for first: before a notice, a tree, an inspection."""
    case = open_case(Casebook(IN_MEMORY), shipped, lambda: 1.7e9)
    case.start_with(shipped.cars["harrow-240"], [first, "fuel-smell"])
    read_first = case.view().step.caution
    assert read_first is not None and read_first.id == "stop-fuel-smell"
    while (caution := case.view().step.caution) is not None:
        case.acknowledge(caution.id)
    check = case.view().step.check
    assert check is not None and check.id == "fuel-leak-search"


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
