"""Cards for a real training engine: cautions, how to undo it, readings with tolerance; or why it is not done."""

from __future__ import annotations

import re

import pytest
from typer.testing import CliRunner

from troubleshoot.bench.fault_causes import CAUSE_FAULTS
from troubleshoot.calculations.units import convert, convert_difference
from troubleshoot.classroom.drill_maker import CARS
from troubleshoot.classroom.plant_card import PLANTED, PLANTED_SIZES, _words, card_lines, plant_card, plantable
from troubleshoot.cli.app import app
from troubleshoot.knowledge.compiling import fits
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


def test_numbers_are_in_the_unit_written_beside_them(trees):
    """A value and its spread, converted back from what a card prints, are the check's own: mm and L/h as well."""
    for check in (one for one in trees.checks.values() if one.reading is not None):
        low, high = check.reading.plausible
        value, spread = (low + 2 * high) / 3, check.reading.uncertainty
        for units in ("us", "metric"):
            number, _, tolerance, unit = _words(check, [value], units).split(" ", 3)
            assert convert(float(number), unit, check.reading.unit) == pytest.approx(value, abs=spread), check.ask
            assert convert_difference(float(tolerance), unit, check.reading.unit) == pytest.approx(spread, rel=0.06)


def test_the_gap_of_a_throttle_is_inches_or_millimetres(trees):
    """1 in is 25.4 mm: no throttle is half an inch open at idle (common practice)."""
    ask = trees.checks["throttle-plate-gap"].ask
    shown = {
        units: next(one for one in plant_card("throttle-stop-high", "harrow-240", None, trees, units).expected
                    if one.ask == ask).faulty
        for units in ("us", "metric")
    }  # fmt: skip
    inches, millimetres = (float(shown[units].split(" ")[0]) for units in ("us", "metric"))
    assert " in " in f"{shown['us']} " and " mm " in f"{shown['metric']} "
    assert inches < 0.1 and millimetres == pytest.approx(25.4 * inches, rel=0.05)


def test_a_card_is_set_by_someone_and_the_car_is_not_driven(trees):
    text = "\n".join(card_lines(plant_card("timing-advanced", "harrow-240", None, trees)))
    for words in ("Set by", "NOT DRIVEN AND NOT LOADED", "tag on it", "undone by", "tag off, key back"):
        assert words in text
    assert trees.checks["knock-heard"].ask not in text


@pytest.mark.slow
@pytest.mark.skip(
    reason="over a minute for all cards and not yet seen to its end; the quick tests hold units and a few cards"
)
def test_every_card_warns_and_none_contradicts_itself(trees):
    """Whoever runs the engine reads of exhaust gas and moving parts; nothing is found under load or cannot be read."""
    under_load = {one.ask for one in trees.checks.values() if one.state == "under load"}
    assert len(plantable(trees)) > 60
    for cause, _ in plantable(trees):
        car = next((name for name in CARS if fits(trees.cars[name], trees.causes[cause].for_)), None)
        if car is None:
            continue  # no example car can have it; a trainer names one that can
        card = plant_card(cause, car, None, trees)
        given = {one.id for one in card.cautions}
        assert {"exhaust-gas", "moving-parts", "hot-parts"} <= given, cause
        prevented = {trees.checks[name].ask for name in trees.causes[cause].plant.prevents}
        found = {one.ask for one in card.expected}
        assert not found & (under_load | prevented), cause
        assert not any("cannot be measured" in one.faulty for one in card.expected), cause


def test_what_can_be_set_is_listed_without_a_name(trees):
    ran = CliRunner().invoke(app, ["drill", "plant"])
    assert ran.exit_code == 0
    named = {line.split()[0] for line in ran.stdout.splitlines() if line and not line[0].isdigit()}
    assert named >= {name for name, _ in plantable(trees)} and "fuel-leak" not in named
