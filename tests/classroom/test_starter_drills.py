"""The twelve starter drills: every one can be solved with what it allows, and the file keeps what is true secret."""

from __future__ import annotations

import json

import pytest

from troubleshoot.bench.fault_causes import CAUSE_FAULTS
from troubleshoot.classroom import solvability
from troubleshoot.classroom.drill_file import drill_text, seal_of
from troubleshoot.classroom.solvability import DrillDiffers, refuse_differing
from troubleshoot.classroom.story import read_plan, starters
from troubleshoot.proof.policies import POLICIES
from troubleshoot.proof.walk import WalkResult

NAMES = tuple(starters())


def test_there_are_twelve_and_they_grow_harder():
    levels = [read_plan(path).level for path in starters().values()]
    assert len(levels) == 12
    assert levels == sorted(levels) and levels[0] == 1 and levels[-1] == 5


@pytest.mark.parametrize("name", NAMES)
def test_a_policy_that_looks_first_finds_it_within_the_limits(name, made, solved):
    """Solvable with the tools, the minutes and the money the drill allows."""
    drill, best = made[name].drill, solved[name].results[solved[name].best]
    assert best.cured
    assert best.minutes <= drill.minutes
    assert best.parts <= drill.money


@pytest.mark.parametrize("name", NAMES)
def test_the_path_a_trainee_is_held_to_looks_before_it_repairs(name, solved):
    """A repair that was right by luck is no measure for minutes."""
    assert solved[name].results[solved[name].best].checks > 0


def test_a_lucky_policy_is_not_the_best_where_another_looked(made, trees, monkeypatch):
    one = made[NAMES[0]]
    lucky = WalkResult(0, one.key.engine, one.drill.concerns, one.key.causes)
    lucky.cured, lucky.repairs, lucky.minutes = True, 1, 5.0
    honest = solvability.walk

    def walked(patient, catalogue, problem, policy):
        return lucky if policy is POLICIES["authored order"] else honest(patient, catalogue, problem, policy)

    monkeypatch.setattr(solvability, "walk", walked)
    policies = (solvability.QUICK, "the tool")
    assert solvability.solve(one.drill, one.key, one.car, trees, policies).best == "the tool"


@pytest.mark.parametrize("name", NAMES)
def test_the_driver_notices_what_the_story_says(name, made):
    """Each concern of a story shows on the computed car, so that a retest means something."""
    car = made[name].car
    assert set(made[name].drill.concerns) <= car.concerns(car.job.faults) | {"no-crank"}


@pytest.mark.parametrize("name", NAMES)
def test_the_drill_says_nothing_of_the_key(name, made):
    """No fault, cause, severity or seed of the key stands in the drill, in any of its words."""
    drill, key = made[name].drill, made[name].key
    text = drill_text(drill)
    for fault in key.faults:
        assert fault.fault not in text and fault.cause not in text
    assert key.seed not in text
    assert not any(word in json.loads(text) for word in ("faults", "seed", "severity", "engine", "best-minutes"))


def test_the_readings_stand_in_the_order_of_their_names_and_are_the_same_checks_for_every_fault(made):
    """Neither the order nor the presence of anything depends on the fault, only on the car."""
    by_car = {}
    for one in made.values():
        names = list(one.drill.readings)
        assert names == sorted(names)
        by_car.setdefault((one.key.engine, one.key.ignition), []).append(names)
    assert all(found == group[0] for group in by_car.values() for found in group)
    assert len(by_car) == 2


def test_a_drill_is_the_same_each_time_it_is_made_from_one_seed(made):
    drill = next(iter(made.values())).drill
    assert seal_of(drill) == drill.seal


def test_a_changed_reading_is_found_against_the_key(made, trees):
    import msgspec

    one = made[NAMES[5]]
    readings = {**one.drill.readings, "pressure-when-lean": "57.0 psi"}
    with pytest.raises(DrillDiffers, match="pressure-when-lean"):
        refuse_differing(msgspec.structs.replace(one.drill, readings=readings), one.car, trees)
    refuse_differing(one.drill, one.car, trees)


def test_every_fault_has_one_cause():
    assert len(set(CAUSE_FAULTS.values())) == len(CAUSE_FAULTS)
