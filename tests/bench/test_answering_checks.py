"""The adapter between the virtual engine and the checks, held against the trees and the engine's own list."""

import math

import pytest

from troubleshoot.bench.answer_table import CHANGES, CHOICES, NUMBERS
from troubleshoot.bench.answering import answer, can_answer, own_parameter_checks, readings_behind
from troubleshoot.bench.complaint_concerns import COMPLAINT_CONCERNS, concerns_of
from troubleshoot.bench.fault_causes import CAUSE_FAULTS, FAULT_CAUSES
from troubleshoot.calculations.units import convert
from troubleshoot.knowledge.catalogue import load_catalogue
from troubleshoot.virtual_engine.complaints import COMPLAINTS
from troubleshoot.virtual_engine.engines import ENGINES
from troubleshoot.virtual_engine.faults import FAULTS, ties
from troubleshoot.virtual_engine.instruments import READINGS
from troubleshoot.virtual_engine.readings import readings

CANNOT = frozenset({
    "back-feed-volts", "battery-drain", "coil-primary-hot", "commanded-timing", "commanded-timing-high",
    "controller-ground-drop", "cylinder-heat", "engine-ground-drop", "ethanol-content",
    "heater-supply", "injector-opening-delay", "injector-resistance", "lead-resistance",
    "overrun-mixture", "pickup-resistance", "regulator-hose-pull", "relay-contact-drop",
    "spark-table-look", "suction-line-bore", "vacuum-held",
})  # fmt: skip
"""Numbers that the virtual engine has no reading for: parts outside it."""

TREES = load_catalogue()
ITEMS = {item for concern in TREES.concerns.values() for item in concern.items}


@pytest.fixture(scope="module")
def sound():
    """Readings of one sound car without noise."""
    found = readings("harrow-240", "points", [[]], [7], noise=False)
    row = {name: float(value[0]) for name, value in found.items()}
    return row | dict.fromkeys(CHANGES, 0.0)


def test_every_number_is_answered_or_listed_as_one_that_cannot_be():
    """A check with a number is in the table or in the list above, never in both; looks and smells need not be."""
    numbers = {name for name, check in TREES.checks.items() if check.reading is not None} - ITEMS
    assert {name for name in numbers if not can_answer(name)} - CANNOT == set()
    assert {name for name in CANNOT if can_answer(name)} == set()


def test_every_check_of_the_table_exists():
    """The table names checks of the trees only, numbers for what is measured and choices for what is seen."""
    assert set(NUMBERS) | set(CHOICES) <= set(TREES.checks)
    assert all(TREES.checks[name].reading is not None for name in NUMBERS)
    assert all(TREES.checks[name].reading is None for name in CHOICES)
    assert not set(NUMBERS) & set(CHOICES)


def test_every_reading_of_the_table_exists(sound):
    """The table names readings that the engine gives."""
    wanted = {name for one in NUMBERS.values() for name in one.terms} | {one.reading for one in CHOICES.values()}
    assert wanted | set(CHANGES.values()) <= set(sound)


@pytest.mark.parametrize("name", sorted(NUMBERS))
def test_units_convert(name):
    """The unit of the engine's reading turns into the unit that the check asks for."""
    unit = TREES.checks[name].reading.unit
    assert math.isfinite(convert(1.0, NUMBERS[name].unit, unit))


@pytest.mark.parametrize("name", sorted(CHOICES))
def test_every_choice_is_an_outcome(name):
    """Outcomes are the check's own, and their limits rise."""
    known = CHOICES[name].outcomes
    assert {outcome for _, outcome in known} <= set(TREES.checks[name].outcomes)
    limits = [limit for limit, _ in known]
    assert limits == sorted(limits) and limits[-1] == math.inf


@pytest.mark.parametrize("name", sorted(NUMBERS))
def test_a_sound_car_reads_what_the_check_can_show(name, sound):
    """A sound engine's answer lies in the plausible range of the check, so that no unit is mixed up."""
    value = answer(name, TREES.checks[name], sound)
    if value is not None:
        low, high = TREES.checks[name].reading.plausible
        assert low <= value <= high


def test_differences_of_temperature_shift_no_zero(sound):
    """6 degrees C apart is 10.8 degrees F apart (9/5, by definition), not 42.8."""
    apart = sound | {"clt_ind_c": 88.0, "clt_true_c": 82.0}
    assert answer("coolant-error", TREES.checks["coolant-error"], apart) == pytest.approx(10.8)
    assert answer("coolant-shown", TREES.checks["coolant-shown"], apart) == pytest.approx(190.4)


def test_what_cannot_be_read_is_not_answered(sound):
    """No number where the engine stalls, and none for a check outside the table."""
    stalled = sound | {"idle_lam": math.nan}
    assert answer("idle-mixture", TREES.checks["idle-mixture"], stalled) is None
    assert answer("fuel-leak-search", TREES.checks["fuel-leak-search"], sound) is None


def test_every_fault_is_one_cause_of_the_trees():
    """The join is complete; a cause is more than one fault only where it goes both ways; ties are joined faults."""
    assert set(FAULT_CAUSES) == set(FAULTS)
    assert set(FAULT_CAUSES.values()) <= set(TREES.causes)
    both_ways = {"coil-weak", "points-floating", "pulses-setting-wrong", "opening-delay-wrong"}
    assert len(CAUSE_FAULTS) == len(FAULT_CAUSES) - len(both_ways)
    assert all(FAULT_CAUSES[fault] == cause for cause, fault in CAUSE_FAULTS.items())
    for engine in ENGINES:
        assert {name for group in ties(engine) for name in group} <= set(FAULT_CAUSES)


def test_every_complaint_is_heard_as_a_concern():
    """What a driver can complain of leads to a tree, and a car that does not start is not said to idle badly."""
    assert set(COMPLAINT_CONCERNS) == set(COMPLAINTS)
    assert set(COMPLAINT_CONCERNS.values()) <= set(TREES.concerns)
    assert concerns_of(["surge", "no start"]) == ("no-start",)
    assert concerns_of([]) == ()


def test_the_checks_that_read_a_faults_own_parameter_are_those_that_the_engine_marks():
    """Named by hand from what each reading is: the gap that was set, the leak that was made, the resistance put in."""
    own = own_parameter_checks()
    assert own >= {"plug-gap", "pump-ground-drop", "sensor-ground-drop", "coil-primary-resistance", "dwell-at-idle"}
    assert not own & {"pressure-at-idle", "idle-vacuum", "idle-mixture", "pump-volts-running", "start-time"}
    for check in (*NUMBERS, *CHOICES):
        marked = {name for name in readings_behind(check) if READINGS[name].own_parameter}
        assert (check in own) == bool(marked), check
