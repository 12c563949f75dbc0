"""What can hurt someone goes before whatever else was complained of (common practice, no source)."""

from __future__ import annotations

import pytest

from tests.case.at_the_car import next_check, read
from troubleshoot.case.case import open_case
from troubleshoot.casebook.store import IN_MEMORY, Casebook
from troubleshoot.knowledge.catalogue import Catalogue


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


def test_a_smell_of_fuel_is_looked_for_step_by_step(shipped: Catalogue) -> None:
    """No cheaper look comes before hoses and vent, and nothing is turned, cranked or run in between."""
    case = read(shipped, "fuel-smell", {})
    order = []
    for _ in range(9):
        order.append(next_check(case))
        check = shipped.checks[order[-1]]
        assert check.state == "key off"
        case.take(order[-1], str(check.normal))
    assert order == [
        "preliminary-look-smell", "fuel-leak-search", "changed-last", "leak-under-pressure", "hose-rating-look",
        "tank-vent-look", "pump-pressed-on-open-throttle", "plugs-wet", "oil-smell",
    ]  # fmt: skip
    fuses_and_clamps = next(one for one in case.other_checks() if one.id == "preliminary-look")
    assert not fuses_and_clamps.available


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
    assert check is not None and check.id == "preliminary-look-smell"
