"""The shipped trees: whole, silent under the linter, and right about what the trade and physics know.

Where no source is named the fact is common practice, no source.
"""

from __future__ import annotations

import math

import pytest
from ambiance import Atmosphere

from troubleshoot.knowledge.answers import written_readings
from troubleshoot.knowledge.bands import bands_for, share_in_bands
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import car_with
from troubleshoot.knowledge.degrees import variants_of
from troubleshoot.knowledge.frequencies import frequency
from troubleshoot.knowledge.linting import lint
from troubleshoot.knowledge.signatures import signature_shares, usual_shares
from troubleshoot.knowledge.worked_cases import belief_of

CONCERNS = [
    "wont-rev", "idle-surge", "floods-key-on", "lean-top", "no-start", "no-crank", "hot-restart", "cold-start",
    "rich", "tip-in", "pressure-wrong", "rpm-signal", "no-feedback", "high-idle", "stalls", "fuel-smell",
    "charging", "knock", "popping", "flat-spot", "misfire", "pump-noise", "wont-shut-off",
]  # fmt: skip
INSPECTIONS = ["fit-to-convert", "fit-up"]
HAZARDS = [
    "fuel-under-pressure", "fuel-vapour", "high-voltage", "battery", "moving-parts", "hot-parts",
    "exhaust-gas", "lifting", "road-or-dyno-run", "capacitor-box",
]  # fmt: skip
EIGHT = "harrow-240"


def outcome(catalogue, check, value, car=None):
    """Return the outcome that most of a reading in the check's own unit falls in."""
    bands = bands_for(catalogue.checks[check], car or Car(), {}, catalogue.checks)
    shares = share_in_bands(value, 1e-9, bands)
    return bands[max(range(len(shares)), key=shares.__getitem__)].outcome


def share(catalogue, check, cause, *outcomes):
    """Return how often a cause gives one of the outcomes."""
    one = catalogue.checks[check]
    shares = signature_shares(one, cause) if cause in one.moved_by else usual_shares(one)
    return sum(shares[one.outcomes.index(each)] for each in outcomes)


def ranking(catalogue, car, concern, readings, **differs):
    the_car = car_with(catalogue, car, {name.replace("_", "-"): value for name, value in differs.items()})
    taken = written_readings(catalogue.checks, the_car, readings)
    return [one.cause for one in belief_of(catalogue, the_car, [concern], taken).ranked()]


def test_the_linter_is_silent():
    assert [str(one) for one in lint() if one.level == "error"] == []


def test_every_concern_and_inspection_is_there(catalogue):
    assert {one for one, tree in catalogue.concerns.items() if tree.kind == "tree"} == set(CONCERNS)
    assert {one for one, tree in catalogue.concerns.items() if tree.kind == "inspection"} == set(INSPECTIONS)
    assert len(catalogue.causes) >= 80 and len(catalogue.checks) >= 100
    assert set(HAZARDS) <= set(catalogue.cautions)
    assert set(INSPECTIONS) <= {one for one, tree in catalogue.concerns.items() if len(tree.items) >= 10}
    assert catalogue.concerns["fuel-smell"].stop


def test_every_concern_opens_with_a_preliminary_look(catalogue):
    """Fuel, fuses, grounds, leaks, battery and what was changed last come before any tool (common practice, no source).

    Where fuel is smelt nothing is switched, pulled or put right meanwhile: it is a look of its own.
    """
    for concern, tree in catalogue.concerns.items():
        first = tree.items[0] if tree.items else tree.steps["first"].check
        look = catalogue.checks[first]
        said = " ".join([*look.do, *(one.words for one in look.choices)]).casefold()
        assert look.state == "key off" and "preliminary" in look.term, concern
        for word in ("fuel", "fuse", "ground", "wet", "battery", "changed"):
            assert word in said, (concern, word)
        assert ("put right" in said) != tree.stops, concern
        assert not tree.stops or "no switch, fuse, plug or clamp is touched" in said


def test_what_a_worked_case_finds_has_a_step_that_leads_to_it(catalogue):
    for concern, cases in catalogue.cases.items():
        repaired = {step.repair for step in catalogue.concerns[concern].steps.values() if step.repair}
        repaired |= {catalogue.causes[one].repair.same_work_as for one in repaired}
        for case in cases if repaired else ():
            for found in (*case.both, *(case.leads if len(case.leads) == 1 else ())):
                assert repaired & {found, catalogue.causes[found].repair.same_work_as}, (concern, case.name)


def test_two_faults_at_once_are_worked_in_several_trees(catalogue):
    assert sum(any(case.both for case in cases) for cases in catalogue.cases.values()) >= 6


def test_sound_cars_of_every_sort(catalogue):
    cars = [car_with(catalogue, one.car, one.differs) for one in catalogue.healthy.values()]
    assert len(cars) >= 8
    assert {car.cylinders for car in cars} == {4, 6, 8}
    assert {car.cam for car in cars} == {"stock", "long"}
    assert {"points", "electronic"} <= {car.ignition for car in cars}
    assert max(car.altitude for car in cars) >= 6000 > 500 >= min(car.altitude for car in cars)


def test_a_warm_engine_pulls_16_to_21_inches_and_one_less_for_each_1000_feet(catalogue):
    for height in (0, 2000, 4000, 6000):
        car = Car(altitude=height)
        assert outcome(catalogue, "idle-vacuum", 16.5 - height / 1000, car) == "normal"
        assert outcome(catalogue, "idle-vacuum", 14.0 - height / 1000, car) == "low"
    limits = [bands_for(catalogue.checks["idle-vacuum"], Car(altitude=height))[1].high for height in (0, 6000)]
    assert (limits[0] - limits[1]) / 6 == pytest.approx(1.0, abs=0.4)


@pytest.mark.parametrize("feet", [0, 2000, 6000])
def test_full_throttle_pressure_is_the_barometer_less_an_inch_or_so(catalogue, feet):
    """Barometer from the ISO 2533 standard atmosphere, by the ambiance library."""
    barometer = float(Atmosphere(feet * 0.3048).pressure[0]) / 1000.0
    car = Car(altitude=feet)
    assert outcome(catalogue, "manifold-pressure-full", barometer - 2.0, car) == "normal"
    assert outcome(catalogue, "manifold-pressure-full", barometer - 10.0, car) == "low"


def test_points_float_lower_with_a_weak_spring_and_on_more_cylinders(catalogue):
    """Force balance: the speed goes with the root of the spring force, and the cam lifts oftener with more lobes."""
    check = catalogue.checks["break-up-speed"]

    def limit(tension, **car):
        return bands_for(check, Car(**car), {"spring-tension": tension}, catalogue.checks)[0].high

    assert limit(9.0) / limit(18.0) == pytest.approx(math.sqrt(0.5), rel=1e-6)
    assert limit(9.0, cylinders=8) < limit(9.0, cylinders=6)


def test_a_leak_behind_the_throttle_raises_idle_and_does_not_lean_or_surge(catalogue):
    """On a controller that meters by manifold pressure the leak is seen and fuelled; the idle valve shuts.

    The valve shows it before the speed does, for a valve with travel left hides a small leak (common practice).
    """
    assert share(catalogue, "idle-valve-position", "vacuum-leak", "closed") > 0.8
    assert share(catalogue, "idle-valve-position", "vacuum-leak", "closed") > (
        share(catalogue, "idle-speed", "vacuum-leak", "high")
    )
    assert share(catalogue, "idle-speed", "vacuum-leak", "high") > 0.5 > share(catalogue, "idle-speed", "", "high") * 5
    assert share(catalogue, "idle-mixture", "vacuum-leak", "lean") < 0.15
    assert share(catalogue, "idle-swing", "vacuum-leak", "swings") < 0.15
    shows = catalogue.concerns["idle-surge"].shows
    assert frequency(shows["vacuum-leak"]) <= frequency(shows["vacuum-leak-one-half"])
    assert frequency(shows["vacuum-leak"]) <= 0.2 < 0.5 < frequency(shows["plenum-starves-one-half"])


@pytest.mark.parametrize("cause", ["plug-lead-off", "exhaust-leak-ahead-of-sensor", "injector-weak"])
def test_air_that_was_not_burnt_reads_lean_and_feedback_adds_fuel(catalogue, cause):
    assert share(catalogue, "idle-correction", cause, "adds-fuel") > 0.4
    assert share(catalogue, "idle-correction", cause, "takes-fuel") < 0.1


def test_points_need_points_and_a_pickup_a_pickup(catalogue):
    for cause in ("points-floating", "points-burnt"):
        assert catalogue.causes[cause].for_["ignition"] == ["points"]
    for cause in ("pickup-gap-wide", "pickup-polarity-reversed"):
        assert "points" not in catalogue.causes[cause].for_["ignition"]


class TestWorkedByTheTrade:
    """Whole stories with the cause a good practitioner comes to."""

    def test_break_up_at_one_speed_with_a_weak_spring_is_points_floating(self, catalogue):
        readings = {
            "break-up-speed": "4300 rpm",
            "break-up-moves-with-load": "same-speed",
            "spring-tension": "11 ozf",
            "pressure-when-lean": "58 psi",
        }
        assert ranking(catalogue, EIGHT, "wont-rev", readings)[0] == "points-floating"

    def test_break_up_that_moves_with_load_while_pressure_falls_is_not(self, catalogue):
        readings = {
            "break-up-moves-with-load": "only-with-load",
            "pressure-when-lean": "38 psi",
            "spring-tension": "19 ozf",
        }
        assert ranking(catalogue, EIGHT, "wont-rev", readings)[0] != "points-floating"

    def test_wet_plugs_with_rpm_shown_at_key_on_is_the_false_signal(self, catalogue):
        readings = {"plugs-wet": "wet", "fuel-in-plenum": "wet", "rpm-shown-at-key-on": "3400 rpm"}
        order = ranking(catalogue, EIGHT, "floods-key-on", readings)
        assert order[0] == "self-test-burst"

    def test_wet_plugs_with_no_rpm_and_pressure_bleeding_down_leaks_fuel(self, catalogue):
        readings = {
            "plugs-wet": "wet",
            "rpm-shown-at-key-on": "0 rpm",
            "pressure-after-ten-minutes": "8 psi",
            "injector-drip": "drips",
        }
        assert ranking(catalogue, EIGHT, "floods-key-on", readings)[0] == "injector-dripping"

    def test_surge_with_no_leak_and_a_high_divider_is_the_plenum(self, catalogue):
        readings = {
            "leak-search": "5 rpm",
            "plenum-look": "high-divider",
            "pressure-at-idle": "58 psi",
            "timing-wander": "1 deg",
        }
        assert ranking(catalogue, EIGHT, "idle-surge", readings)[0] == "plenum-starves-one-half"

    def test_surge_with_a_leak_found_and_the_valve_shut_is_the_leak(self, catalogue):
        readings = {"leak-search": "180 rpm", "idle-valve-position": "1 %", "idle-speed": "1100 rpm"}
        assert ranking(catalogue, EIGHT, "idle-surge", readings)[0].startswith("vacuum-leak")

    @pytest.mark.parametrize(
        ("readings", "expected"),
        [
            ({"pressure-when-lean": "38 psi", "pump-volts-under-load": "13.4 V", "suction-vacuum": "11 inHg"},
             {"inlet-strainer-blocked"}),
            ({"pressure-when-lean": "38 psi", "pump-volts-under-load": "10.8 V"},
             {"pump-volts-low", "pump-ground-poor"}),
            ({"pressure-when-lean": "50 psi", "injector-duty-top": "98 %", "injector-size-look": "too-small"},
             {"injectors-too-small"}),
            ({"pressure-when-lean": "50 psi", "injector-duty-top": "60 %", "exhaust-leak-search": "found"},
             {"exhaust-leak-ahead-of-sensor"}),
        ],
    )  # fmt: skip
    def test_lean_at_the_top(self, catalogue, readings, expected):
        assert ranking(catalogue, EIGHT, "lean-top", readings, rated_pressure=50)[0] in expected


def test_no_outcome_speaks_against_the_repair_it_leads_to(catalogue):
    """Where a step leads to a repair, belief must not hold the outcome against it; by exclusion it may say nothing."""
    car = catalogue.cars["harrow-240"]
    for concern, tree in catalogue.concerns.items():
        for step in (one for one in tree.steps.values() if one.check):
            check, usual = catalogue.checks[step.check], catalogue.signatures.usual(step.check)
            moved = catalogue.signatures.moved(step.check, car)
            for outcome, then in step.next.items():
                repair, at = tree.steps[then].repair, check.outcomes.index(outcome)
                if repair is None or outcome == check.normal or repair not in moved:
                    continue
                shares = zip(variants_of(catalogue.causes[repair]), moved[repair], strict=True)
                often = sum(one.weight * (usual if share is None else share)[at] for one, share in shares)
                assert often >= 0.8 * usual[at], f"{concern}: {step.check}={outcome} leads to {repair}"
