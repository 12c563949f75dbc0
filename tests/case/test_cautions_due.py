"""When cautions are read: once a case, then one line of what is new; again when the hazard has grown."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from troubleshoot.case.case import Case, open_case
from troubleshoot.casebook.store import IN_MEMORY, Casebook
from troubleshoot.knowledge.catalogue import Catalogue


class Clock:
    """A clock that a test sets on."""

    def __init__(self) -> None:
        self.now = 1.7e9

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


Begin = Callable[..., Case]


@pytest.fixture
def begin(shipped: Catalogue, clock: Clock) -> Begin:
    def start(concern: str = "wont-rev", car: str = "harrow-240") -> Case:
        case = open_case(Casebook(IN_MEMORY), shipped, clock)
        case.start_with(shipped.cars[car], [concern])
        return case

    return start


def read(case: Case, check: str) -> list[str]:
    """Take up a check and read all that is due before it."""
    case.choose(check)
    found: list[str] = []
    while case.view().step.caution is not None:
        caution = case.view().step.caution
        assert caution is not None
        found.append(caution.id)
        case.acknowledge(caution.id)
    return found


def test_each_hazard_once_then_one_line_of_what_is_new(begin: Begin) -> None:
    case = begin()
    first = read(case, "timing-at-idle")
    assert {"high-voltage", "moving-parts", "exhaust-gas"} <= set(first)
    case.take("timing-at-idle", "10")
    assert read(case, "spark-idle") == ["fuel-vapour"]
    case.take("spark-idle", "30")
    assert read(case, "timing-at-idle") == []
    check = case.view().step.check
    assert check is not None and "battery live" in check.new_here and "idling" not in check.new_here


def test_a_more_dangerous_engine_state_is_read_again_and_a_tamer_one_is_not(begin: Begin) -> None:
    case = begin()
    assert "fuel-vapour" in read(case, "throttle-plate-full")
    case.take("throttle-plate-full", "100")
    assert {"fuel-vapour", "intake-open"} <= set(read(case, "injector-spray"))
    case.take("injector-spray", "even")
    assert read(case, "throttle-plate-gap") == []


def test_after_a_leak_everything_is_read_again(begin: Begin) -> None:
    case = begin()
    first = read(case, "timing-at-idle")
    case.smell_fuel()
    assert case.view().step.kind == "stop"
    case.leak_repaired()
    if case.view().step.kind == "retest":
        case.retest("still")
    assert set(first) <= set(read(case, "timing-at-idle"))


def test_the_stop_goes_before_the_words_of_a_concern(begin: Begin) -> None:
    """A leak takes back what was read, and yet nothing is shown but the stop."""
    case = begin("lean-top")
    read(case, "pressure-at-idle")
    case.smell_fuel()
    assert case.view().step.kind == "stop"


def test_after_a_day_it_is_read_again(begin: Begin, clock: Clock) -> None:
    case = begin()
    first = read(case, "timing-at-idle")
    clock.now += 23 * 3600
    assert case.view().step.kind == "check"
    clock.now += 2 * 3600
    assert case.view().step.kind == "caution"
    assert set(first) <= set(read(case, "timing-at-idle"))


def test_letting_the_pressure_down_lasts_until_the_pump_runs(begin: Begin) -> None:
    """The gauge is teed in once; with the pump run since, the next line that is opened asks for it again."""
    down = "let-the-pressure-down"
    case = begin("pressure-wrong")
    assert down in read(case, "pressure-at-prime")
    assert "pressure was let down" in str(case.view().step.check).lower()
    case.take("pressure-at-prime", "58")
    assert down not in read(case, "pressure-at-idle")
    case.take("pressure-at-idle", "58")
    assert down in read(case, "filter-drop")
    case.take("filter-drop", "1")
    assert down in read(case, "plenum-look")
    case.take("plenum-look", case.catalogue.checks["plenum-look"].choices[0].outcome)
    assert down not in read(case, "leak-under-pressure")


def test_a_procedure_that_was_only_read_has_let_no_pressure_down(begin: Begin) -> None:
    """Whoever leaves the check out, or takes another, may not have followed it: nothing says that it is down."""
    down = "let-the-pressure-down"
    for leave in (lambda case: case.skip("plenum-look", "no gasket"), lambda case: case.choose("timing-at-idle")):
        case = begin("pressure-wrong")
        assert down in read(case, "plenum-look")
        assert "pressure was let down" in str(case.view().step.check).lower()
        leave(case)
        assert down in read(case, "leak-under-pressure")


def test_pressure_that_is_being_watched_is_not_down(begin: Begin) -> None:
    """Ten minutes after a run the gauge still stands near the set value, though the key is off."""
    case = begin("pressure-wrong")
    assert "let-the-pressure-down" in read(case, "pressure-after-ten-minutes")
    case.take("pressure-after-ten-minutes", "55")
    assert "let-the-pressure-down" in read(case, "plenum-look")


def test_no_smell_of_fuel_is_called_nothing_wrong(begin: Begin) -> None:
    case = begin("fuel-smell")
    assert "NOT CLEARED" in case.view().none_words
    assert begin("wont-rev").view().none_words == "nothing wrong"


def test_a_line_that_is_opened_is_one_hazard_and_one_card(begin: Begin) -> None:
    """Letting the pressure down says all that fuel under pressure says; it is not read twice for one joint."""
    case = begin("pressure-wrong")
    first = read(case, "pressure-at-idle")
    assert "let-the-pressure-down" in first and "fuel-under-pressure" not in first
    assert len(first) == len(set(first)) <= 5
    case.take("pressure-at-idle", "58")
    assert read(case, "regulator-hose-pull") == []


def test_what_points_need_is_asked_of_points_only(begin: Begin) -> None:
    """Nobody reads of closed points on a car that has none."""
    assert "key-on-points" in read(begin("no-start"), "speed-limit-look")
    assert "key-on-points" not in read(begin("no-start", "harrow-240-electronic"), "speed-limit-look")


def test_what_was_read_stays_in_the_case_and_out_of_the_trail(begin: Begin) -> None:
    case = begin()
    given = read(case, "timing-at-idle")
    assert case.view().trail == ()
    kept = [one.caution for one in case.events if type(one).__name__ == "CautionAcknowledged"]
    assert kept == given


def test_a_closed_case_asks_for_no_caution(begin: Begin) -> None:
    case = begin("fuel-smell")
    case.close("referred")
    assert case.view().step.kind == "closed" and "NOT CLEARED" in case.view().step.words
