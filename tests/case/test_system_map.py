"""The map of a car: every cause has its part, the parts are those of the car, and leads stand where the steps say."""

from __future__ import annotations

import re

import msgspec
import pytest

from troubleshoot.case.case import case_in_memory
from troubleshoot.case.course import Course, tree_place
from troubleshoot.case.settings import CaseSettings
from troubleshoot.case.system_map import ROWS, system_map
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import load_catalogue
from troubleshoot.reasoning import belief as beliefs

CATALOGUE = load_catalogue(None)
NOWHERE = {"something-else", "place-not-ready"}
"""Causes that are no part of a car."""


def opened(concern: str = "wont-rev", car: str = "harrow-240"):
    """Return a case with its cautions aside."""
    return case_in_memory(CATALOGUE, CATALOGUE.cars[car], [concern], CaseSettings(learn=False))


def test_every_cause_has_a_part_on_some_car() -> None:
    """With points or a box, with or without a ballast, a return or a suction side."""
    cars = [Car(ignition=kind, ballast=ballast) for kind in ("points", "electronic") for ballast in (True, False)]
    patterns = {words for car in cars for row in ROWS for _, words in row(car)[1]}
    lost = [one for one in CATALOGUE.causes if not any(re.search(words, one) for words in patterns)]
    assert set(lost) <= NOWHERE


def test_the_parts_are_those_of_the_car() -> None:
    """A pump in the tank has no suction line; a dead-headed system no return; a box no points (common practice)."""
    car = Car(pump="in tank", return_line="dead head", ignition="electronic", ballast=False)
    named = {part.name for system in system_map(car, (), None) for part in system.parts}
    assert not named & {"suction", "return", "points", "condenser", "ballast"}
    assert {"pump", "box", "pickup"} <= named


def test_suspects_are_shaded_and_both_leads_marked() -> None:
    """Dwell: red to the coil's minus terminal, black to bare metal; the likeliest cause shades its part."""
    case = opened()
    case.choose("dwell-at-speed")
    view = case.view()
    check = view.step.check or (view.behind.check if view.behind else None)
    parts = {part.name: part for system in system_map(case.assessment.car, view.ranked, check) for part in system.parts}
    assert parts["coil"].leads == "R" and parts["grounds"].leads == "B"
    first = view.ranked[0].probability
    assert max(part.share for part in parts.values()) == first
    assert sum(len(part.leads) for part in parts.values()) == 2


@pytest.mark.parametrize("name", [name for name, check in CATALOGUE.checks.items() if check.kind.measured])
def test_a_lead_is_marked_once_at_most(name: str) -> None:
    """No check puts one lead at two places."""
    case = opened()
    case.choose(name)
    view = case.view()
    check = view.step.check or (view.behind.check if view.behind else None)
    marks = "".join(part.leads for one in system_map(case.assessment.car, view.ranked, check) for part in one.parts)
    assert len(set(marks)) == len(marks)


def test_belief_over_time_is_what_each_moment_believed() -> None:
    """Worked out once for each thing done: the same as from the start, after an undo too."""
    case, course = opened(), Course()
    for check, text in (("break-up-speed", "3500 rpm"), ("dwell-at-speed", "5"), ("dwell-at-idle", "30")):
        case.take(check, text, sure=True)
        course.of(case.assessment)
    case.undo()
    case.take("rpm-shown-cranking", "187", sure=True)
    seen = case.assessment
    found = course.of(seen)["points-floating"]
    assert len(found) == len(seen.happened) + 1
    for count, share in enumerate(found):
        assert share == pytest.approx(
            beliefs.believe(seen.problem, seen.happened[:count]).probability("points-floating")
        )


def test_the_tree_says_where_one_is() -> None:
    """The answered step stands with its answer, then the step one is at, then where its answers lead."""
    case = opened()
    case.skip("break-up-moves-with-load")
    case.take("break-up-speed", "3500 rpm", sure=True)
    case.skip("speed-limit-look")
    steps = tree_place(case.assessment, CATALOGUE)
    assert steps[0].answer.startswith("short of the limit")
    assert [one.words for one in steps if one.here] == [CATALOGUE.checks["dwell-at-speed"].ask]
    assert any(one.ahead and "dwell falls away" in one.answer for one in steps)
    empty = msgspec.structs.replace(CATALOGUE, concerns={})
    assert tree_place(case.assessment, empty) == ()
