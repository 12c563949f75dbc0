"""Cards for a real training engine: cautions, how to undo it, readings with tolerance; or why it is not done."""

from __future__ import annotations

import re

import pytest

from troubleshoot.bench.fault_causes import CAUSE_FAULTS
from troubleshoot.classroom.plant_card import PLANTED, PLANTED_SIZES, card_lines, plant_card
from troubleshoot.virtual_engine.engines import nominal
from troubleshoot.virtual_engine.faults import FAULTS


def test_a_card_says_how_to_set_find_and_undo_it_and_who_is_there(trees):
    card = plant_card("pump-volts-low", "harrow-240", 1.0, trees)
    text = "\n".join(card_lines(card))
    for heading in ("Present:", "To set it:", "To undo it:", "What should be found", "undone by"):
        assert heading in text
    assert any(one.ask == trees.checks["pump-volts-running"].ask for one in card.expected)
    assert all(re.search(r"-?[\d.e+]+ ± [\d.]+ \S+|\w", one.faulty) for one in card.expected)
    assert card.cautions and all(one.signal in text for one in card.cautions)
    assert all(len(line) <= 79 for line in text.splitlines())


def test_the_readings_of_a_card_tell_the_fault_from_a_sound_car(trees):
    """Pump volts fall as the fault is set: Ohm's law on 0.5 ohm at several amperes is volts, not tenths."""
    card = plant_card("pump-volts-low", "harrow-240", 1.0, trees)
    volts = next(one for one in card.expected if one.ask == trees.checks["pump-volts-running"].ask)
    faulty, sound = (float(one.split(" ")[0]) for one in (volts.faulty, volts.sound))
    assert sound - faulty > 2


def test_what_should_be_found_is_what_the_card_sets_up(trees):
    """Half an ohm in a feed of five to eight amperes loses two and a half to four volts (Ohm's law)."""
    card = plant_card("pump-volts-low", "harrow-240", None, trees)
    ask = trees.checks["pump-volts-running"].ask
    for volts in (one for one in card.expected if one.ask == ask):
        faulty, sound = (float(one.split(" ")[0]) for one in (volts.faulty, volts.sound))
        assert 2.0 < sound - faulty < 4.0
        break
    else:
        pytest.fail(f"{ask} is not among what should be found")


def test_a_card_names_danger_first_and_writes_numbers_as_they_are_read(trees):
    lines = list(card_lines(plant_card("vacuum-leak", "harrow-240", None, trees)))
    signals = [word for line in lines for word in ("DANGER", "WARNING", "CAUTION") if line.startswith(f"{word}:")]
    assert signals == sorted(signals, key=["DANGER", "WARNING", "CAUTION"].index) and "DANGER" in signals
    assert not re.search(r"\de[+-]\d", "\n".join(lines))


@pytest.mark.parametrize("cause", sorted(PLANTED))
def test_the_engine_sets_what_the_card_says(cause):
    """The severity of a card is the one at which the engine's parameter moves by the size on the card."""
    parameter, change = PLANTED_SIZES[cause]
    fault = FAULTS[CAUSE_FAULTS[cause]]
    healthy = nominal("harrow-240", "points")[parameter]
    assert fault.changes[parameter](healthy, PLANTED[cause]) - healthy == pytest.approx(change, rel=0.01)


def test_every_severity_that_a_card_sets_can_be_set(trees):
    for name, severity in PLANTED.items():
        assert trees.causes[name].plant.do and 0.05 <= severity <= 1


def test_every_cause_either_has_a_card_with_a_way_back_or_says_why_not(trees):
    for name, cause in trees.causes.items():
        plant = cause.plant
        assert bool(plant.never) != bool(plant.do), name
        assert bool(plant.do) == bool(plant.undo), name


@pytest.mark.parametrize("name", ["fuel-leak", "booster-hose-off", "regulator-high"])
def test_what_must_not_be_planted_says_so_and_nothing_else(name, trees):
    lines = list(card_lines(plant_card(name, "harrow-240", 1.0, trees)))
    assert any("NOT TO BE SET" in line for line in lines)
    assert not any("To set it" in line for line in lines)
