"""Cards for a real training engine: cautions, how to undo it, readings with tolerance; or why it is not done."""

from __future__ import annotations

import re

import numpy as np
import pytest
from typer.testing import CliRunner

from troubleshoot.bench.answering import answer, can_answer
from troubleshoot.bench.fault_causes import CAUSE_FAULTS
from troubleshoot.bench.virtual_bench import reading_text
from troubleshoot.calculations.units import read_quantity
from troubleshoot.classroom.drill_maker import CARS, engine_of, possible_causes
from troubleshoot.classroom.plant_card import (
    PLANTED,
    PLANTED_SIZES,
    SET_AS,
    _words,
    card_lines,
    card_of,
    plant_card,
    plantable,
    set_on_cars,
)
from troubleshoot.cli.app import app
from troubleshoot.knowledge.answers import ReadingContext, read_text
from troubleshoot.knowledge.compiling import fits
from troubleshoot.knowledge.degrees import leaves
from troubleshoot.virtual_engine.engines import nominal
from troubleshoot.virtual_engine.faults import FAULTS
from troubleshoot.virtual_engine.readings import readings


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


@pytest.mark.parametrize("cause", sorted(PLANTED_SIZES))
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
            number, tolerance, _ = read_back(_words(check, [value], units), check.reading.unit)
            assert number == pytest.approx(value, abs=spread), check.ask
            assert tolerance == pytest.approx(spread, rel=0.06)


def test_the_gap_of_a_throttle_is_inches_or_millimetres(trees):
    """1 in is 25.4 mm: no throttle is half an inch open at idle (common practice)."""
    ask = trees.checks["throttle-plate-gap"].ask
    computed = set_on_cars({"throttle-stop-high": None}, "harrow-240", trees)["throttle-stop-high"]
    shown = {
        units: next(one for one in card_of("throttle-stop-high", "harrow-240", computed, trees, units).expected
                    if one.ask == ask).faulty
        for units in ("us", "metric")
    }  # fmt: skip
    inches, millimetres = (float(shown[units].split(" ")[0]) for units in ("us", "metric"))
    assert " in " in f"{shown['us']} " and " mm " in f"{shown['metric']} "
    assert inches < 0.1 and millimetres == pytest.approx(25.4 * inches, rel=0.05)


def test_a_card_is_set_by_someone_and_the_car_is_not_driven(trees):
    text = "\n".join(card_lines(plant_card("timing-retarded", "harrow-240", None, trees)))
    for words in ("Set by", "NOT DRIVEN AND NOT LOADED", "tag on it", "undone by", "tag off, key back"):
        assert words in text
    assert trees.checks["knock-heard"].ask not in text


@pytest.fixture(scope="module")
def on_cars(trees):
    """Cause, an example car that can have it, and its cars computed: all causes of a car side by side."""
    names = [name for name, _ in plantable(trees)]
    car_of = {
        name: next((car for car in CARS if fits(trees.cars[car], trees.causes[name].for_)), CARS[0]) for name in names
    }
    found = []
    for car in sorted(set(car_of.values())):
        causes = [name for name in names if car_of[name] == car]
        computed = set_on_cars(dict.fromkeys(causes), car, trees)
        found += [(name, car, computed.get(name)) for name in causes]
    return found


def outcomes_on(trees, name, car, rows):
    """What a check comes to on each of these cars, those on which it cannot be made left out."""
    check, context = trees.checks[name], ReadingContext(trees.cars[car], {}, trees.checks, None)
    texts = [text for row in rows if (text := reading_text(name, check, row)) is not None]
    return [read_text(check, text, context, sure=True).outcome for text in texts]


def told_by(trees, cause, car, computed):
    """The checks that come to what the trees say this cause brings on half of its cars more than on sound ones."""
    found = []
    for name, check in trees.checks.items():
        if cause not in check.moved_by or not fits(trees.cars[car], check.for_) or not can_answer(name):
            continue
        named = [leaf for _, leaf in leaves(check.moved_by[cause]) if isinstance(leaf, dict)]
        likely = {one for leaf in named for one, share in leaf.items() if one != check.normal and often(share)}
        faulty, sound = (outcomes_on(trees, name, car, rows) for rows in (computed.faulty, computed.sound))
        shares = [sum(one in likely for one in read) / max(len(read), 1) for read in (faulty, sound)]
        if shares[0] - shares[1] > 0.5:
            found.append(name)
    return found


def often(share):
    """Whether an outcome comes in at least four of ten cases, as a number or in words."""
    return (not isinstance(share, str | None) and share >= 0.4) or share in ("half the time", "often", "usually")


@pytest.mark.slow
def test_every_fault_that_can_be_set_and_computed_reads_as_its_cause_says(on_cars, trees):
    """Card, severity, engine and trees agree: a check comes to what the trees say of the cause."""
    computed = [one for one in on_cars if one[2] is not None]
    blind = [cause for cause, car, cars in computed if not told_by(trees, cause, car, cars)]
    assert not blind
    assert len(computed) > 55


AT_THE_IGNITION = re.compile(
    r"\b(?:distributor|coil(?! plus feed)|condenser|dwell|points(?! filter)|lead set|plug leads|its gap|old plugs)\b"
)
"""Words of a plant whose hands are on what carries spark voltage."""
FUEL_LINE_OPENED = re.compile(r"\b(?:fuel (?:line|hose|filter|rail)|pressure let down|injectors? out|regulator out)\b")


@pytest.mark.slow
def test_every_card_warns_and_none_contradicts_itself(on_cars, trees):
    """Whoever runs the engine reads of exhaust gas and moving parts; nothing is found under load or cannot be read.

    No card of a fault that opens no fuel line asks for what an open line needs: a caution without its hazard is the
    first that nobody reads. What carries secondary voltage warns of it (all of it common practice, no source).
    """
    under_load = {one.ask for one in trees.checks.values() if one.state == "under load"}
    seen = 0
    for cause, car, computed in on_cars:
        plant = trees.causes[cause].plant
        prevented = {trees.checks[name].ask for name in plant.prevents}
        cards = {units: card_of(cause, car, computed, trees, units) for units in ("us", "metric")}
        for card in cards.values():
            text = " ".join("\n".join(card_lines(card)).split())
            for words in ("Set by", "tag on it", "NOT DRIVEN AND NOT LOADED", "undone by", "tag off, key back"):
                assert words in text, cause
            given = {one.id for one in card.cautions}
            assert {"exhaust-gas", "moving-parts", "hot-parts"} <= given, cause
            done = " ".join((*card.do, *card.undo)).lower()
            if AT_THE_IGNITION.search(done):
                assert "high-voltage" in given, (cause, done)
            if not FUEL_LINE_OPENED.search(done):
                assert not given & {"fuel-under-pressure", "let-the-pressure-down"}, cause
            found = {one.ask for one in card.expected}
            assert not found & (under_load | prevented), cause
            assert not any("cannot be measured" in one.faulty for one in card.expected), cause
            dead = [one for one in card.expected if "does not start" in one.faulty]
            running = {one.ask for one in trees.checks.values() if one.state in ("idle", "held speed")}
            assert len(dead) < 2 or not found & running, cause
        assert [one.ask for one in cards["us"].expected] == [one.ask for one in cards["metric"].expected]
        for inches, metric in zip(cards["us"].expected, cards["metric"].expected, strict=True):
            assert same_reading(trees, inches, metric), (cause, inches, metric)
        seen += 1
    assert seen == len(plantable(trees)) > 60


def read_back(words, unit):
    """Return what a card prints in a check's unit: the number, its tolerance, and one of its last digit."""
    number, spread, shown = re.match(r"(-?[\d.]+) ± ([\d.]+)(.*)", words.split(" (")[0]).groups()
    nought = 0 if "." in number else len(number) - len(number.rstrip("0"))
    digit = 10.0 ** (nought if nought else -len(number.partition(".")[2]))
    value, wide, step = (
        read_quantity(f"{float(number) + more:.6f}{shown}", unit).value for more in (0, float(spread), digit)
    )
    return value, wide - value, step - value


def same_reading(trees, one, other):
    """Whether two cards print the same reading in their own units, within half the last digit that each prints."""
    check = next(check for check in trees.checks.values() if check.ask == one.ask)
    if check.reading is None:
        return one == other
    values, steps = [], []
    for words in (one.faulty, other.faulty):
        value, _, digit = read_back(words, check.reading.unit)
        values.append(value)
        steps.append(0.5 * digit)
    return values[0] == pytest.approx(values[1], abs=1.01 * sum(steps) + 1e-9)


PROMISED = {
    # cause: check, least and most of its reading with the fault set, least and most of its change from sound
    "pump-volts-low": ("pump-volts-running", None, None, -4.0, -2.0),
    "pump-ground-poor": ("pump-ground-drop", 1000.0, None, None, None),
    "injector-feed-drop": ("injector-feed-drop", 1.0, None, None, None),
    "controller-feed-drops": ("controller-cranking-volts", None, 8.0, None, -2.0),
    "battery-weak": ("battery-cranking-volts", None, 9.6, None, None),
    "alternator-weak": ("charging-volts-held", None, 13.0, None, None),
    "sensor-ground-shared": ("sensor-ground-drop", 200.0, None, None, None),
    "throttle-sensor-not-zeroed": ("throttle-closed-shown", 5.0, 7.5, None, None),
    "throttle-not-opening": ("throttle-plate-full", 45.0, 55.0, None, None),
    "plugs-worn": ("plug-gap", None, None, 0.35, 0.45),
    "dwell-too-large": ("dwell-at-idle", None, None, 7.5, 8.5),
    "timing-retarded": ("timing-at-idle", None, None, -10.0, -8.0),
    "idle-target-high": ("idle-speed", None, None, 200.0, 320.0),
    "idle-target-low": ("idle-speed", None, 600.0, None, None),
    "idle-valve-stuck-open": ("idle-speed", None, None, 300.0, None),
    "throttle-stop-high": ("idle-speed", None, None, 300.0, None),
    "vacuum-leak": ("idle-speed", None, None, 100.0, None),
    "fuel-table-lean-idle": ("idle-correction", 20.0, None, None, None),
    "fuel-table-rich-idle": ("idle-correction", None, -20.0, None, None),
    "opening-delay-wrong": ("idle-correction", 15.0, None, None, None),
    "feedback-too-quick": ("idle-mixture-swing", 0.08, None, None, None),
    "return-catch-wrong": ("return-dip", None, None, None, -100.0),
    "warm-up-fuel-lean": ("cold-idle-lowest", None, 700.0, None, None),
    "cranking-fuel-lean": ("start-time", 2.0, None, None, None),
    "coolant-sensor-reads-cold": ("coolant-shown", None, None, None, -30.0),
    "coolant-sensor-reads-hot": ("coolant-cold-soak", 40.0, None, None, None),
    "no-spark": ("spark-cranking", None, 1.0, None, None),
    "pump-dead": ("pressure-at-prime", None, 3.0, None, None),
    "signal-wire-open": ("rpm-shown-cranking", None, 20.0, None, None),
    "signal-drops-at-speed": ("rpm-shown-error-high", None, -5.0, None, None),
    "pulses-setting-wrong": ("rpm-shown-error", 31.0, 36.0, None, None),
    "self-test-burst": ("rpm-shown-at-key-on", 2000.0, None, None, None),
}
"""What the words of a card promise, in the unit of the check: the card's own figures, arithmetic on them, or common
practice (no source). Resistors: Ohm's law on the current of the part."""


@pytest.mark.slow
def test_each_fault_set_as_its_card_says_shows_what_the_card_promises(on_cars, trees):
    computed = {cause: cars for cause, _, cars in on_cars}
    for cause, (name, least, most, least_change, most_change) in PROMISED.items():
        check = trees.checks[name]
        cars = computed[cause]
        faulty, sound = (
            np.mean([one for row in rows if isinstance(one := answer(name, check, row), float | int)])
            for rows in (cars.faulty, cars.sound)
        )
        for value, low, high in ((faulty, least, most), (faulty - sound, least_change, most_change)):
            assert low is None or value >= low, (cause, name, float(faulty), float(sound))
            assert high is None or value <= high, (cause, name, float(faulty), float(sound))


LEANER, EARLIER, KNOCKIER = 0.05, 2.0, 2.0
"""Lambda, degrees of spark and degrees towards knock at full load that a class may not be left with (common practice,
no source: a twentieth leaner than set and two degrees are within the settings of a sound car)."""
BURNS = 1.5
"""Lambda beyond which gasoline no longer burns (Heywood 1988, chapter 9, from memory): a speed limit's cut."""


@pytest.mark.slow
@pytest.mark.parametrize("car", CARS)
def test_nothing_that_may_be_set_runs_lean_or_early_under_load(car, trees):
    """Someone will load it: an engine that still fires there must not be lean or over-advanced."""
    engine, ignition = engine_of(car, trees)
    names = [
        name for name, _ in plantable(trees)
        if name in possible_causes(car, trees)
    ]  # fmt: skip
    faults = [(), *(((SET_AS[name], PLANTED.get(name, 1.0)),) for name in names)]
    found = readings(engine, ignition, faults, [1] * len(faults), noise=False, only="steady", spread=False)
    for at, name in enumerate(names, start=1):
        if not found["wot_mis_4500_pct"][at] < 10.0:
            continue  # it does not fire there, or does not run
        for mixture, rpm in (("wot_lam_2500", 2500.0), ("wot_lam_peak", 4250.0), ("wot_lam_5000", 5000.0)):
            if rpm * (1.0 + found["wot_rpm_err_pct"][at] / 100.0) > found["set_limit_rpm"][at]:
                continue  # the controller's limit has cut in
            leaner = found[mixture][at] - found[mixture][0]
            assert not (leaner > LEANER and found[mixture][at] < BURNS), (name, mixture)
        for timing in ("wot_timing_4500", "t3000_timing_deg"):
            assert not found[timing][at] - found[timing][0] > EARLIER, (name, timing)
        assert not found["wot_knock_deg"][at] - found["wot_knock_deg"][0] > KNOCKIER, name


NEVER_SET = (
    "timing-advanced", "advance-springs-weak", "dwell-too-small", "map-sensor-reads-low", "injector-weak",
    "fuel-table-lean-high", "fuel-table-lean-cruise", "injectors-too-small", "regulator-low", "pump-relay-stuck",
    "key-on-wire-back-fed", "booster-hose-off", "throttle-sticks", "fuel-leak", "runs-on-hot",
)  # fmt: skip
"""Lean or early under load, a pump or an engine that nothing stops, brakes and leaks (common practice, no source)."""


@pytest.mark.parametrize("cause", NEVER_SET)
def test_what_breaks_an_engine_or_a_person_is_refused_with_a_reason(cause, trees):
    assert trees.causes[cause].plant.never and cause not in dict(plantable(trees))


def test_what_can_be_set_is_listed_without_a_name(trees):
    ran = CliRunner().invoke(app, ["drill", "plant"])
    assert ran.exit_code == 0
    named = {line.split()[0] for line in ran.stdout.splitlines() if line and not line[0].isdigit()}
    assert named >= {name for name, _ in plantable(trees)} and "fuel-leak" not in named
