"""The limits, plants and words of the trees against tables and standards, and against what the trade knows.

Sources stand beside their checks. Where none is named the fact is common practice, no source.
"""

from __future__ import annotations

import itertools
import math
import re

import pytest
from ambiance import Atmosphere

from troubleshoot.knowledge.bands import bands_for, share_in_bands
from troubleshoot.knowledge.car import Car

INHG_KPA = 3.38639
PSI_PER_INHG = 0.491154

# NEC chapter 9 table 8, uncoated copper, solid, ohm per 1000 ft, 75 degC (a reproduction, the code itself not at hand).
OHM_PER_KFT = {18: 7.77, 14: 3.07, 12: 1.93, 10: 1.21, 8: 0.764}

# The common automotive 2.5 kohm sensor, degC to ohm (common practice, no source).
SENSOR = {
    -40: 45313, -30: 26114, -20: 15462, -10: 9397, 0: 5896, 10: 3792, 20: 2500, 30: 1707, 40: 1175,
    50: 834, 60: 596, 70: 436, 80: 323, 90: 243, 100: 187, 110: 144, 120: 113, 130: 89,
}  # fmt: skip

# EPA AP-42 chapter 7.1: constants of the vapour-pressure line, by Reid vapour pressure in psi (table 7.1-2).
VAPOUR = {10: (11.724, 5237.3), 13: (11.644, 5043.6)}

# Resting volts of a flooded lead-acid battery and its charge in percent (common practice, no source).
RESTING = [(11.89, 0), (12.06, 25), (12.24, 50), (12.45, 75), (12.65, 100)]

LEADS_AND_GAUGES = {
    "voltmeter", "ohmmeter", "clamp-ammeter", "fuel-gauge", "vacuum-gauge", "timing-light", "dwell-meter",
    "spring-scale", "spark-tester", "capacitance-meter", "noid-lamp", "compression-gauge", "leak-down-tester",
    "unlit-gas", "exhaust-analyser", "hose-clamp-pliers", "measuring-can", "back-pressure-gauge",
}  # fmt: skip
RED_AND_BLACK = {"voltmeter", "ohmmeter", "dwell-meter", "capacitance-meter", "test-lamp", "timing-light"}
"""What is clipped on with a red and a black lead; which goes where stands in the drawing in letters."""


def outcome(catalogue, check, value, car=None):
    """Return the outcome a reading in the check's own unit falls in."""
    bands = bands_for(catalogue.checks[check], car or Car(), {}, catalogue.checks)
    shares = share_in_bands(value, 1e-9, bands)
    return bands[max(range(len(shares)), key=shares.__getitem__)].outcome


def upper(catalogue, check, of, car=None):
    """Return the upper limit of one outcome of a check, in its own unit."""
    bands = bands_for(catalogue.checks[check], car or Car(), {}, catalogue.checks)
    return next(band.high for band in bands if band.outcome == of)


def sensor_celsius(ohm):
    """Return the temperature at which the published sensor has this resistance, between table points."""
    points = sorted(SENSOR.items())
    for (cold, more), (warm, less) in itertools.pairwise(points):
        if less <= ohm <= more:
            share = math.log(more / ohm) / math.log(more / less)
            return cold + share * (warm - cold)
    raise AssertionError(ohm)


def vapour_pressure(reid, fahrenheit):
    """Return the true vapour pressure in psi absolute (AP-42 chapter 7.1)."""
    a, b = VAPOUR[reid]
    return math.exp(a - b / (fahrenheit + 459.6))


def air_to_fuel(carbon, hydrogen, oxygen=0.0):
    """Return the stoichiometric ratio from atomic weights and dry air of 20.95 % oxygen, 28.965 g/mol."""
    moles_of_oxygen = carbon + hydrogen / 4 - oxygen / 2
    return moles_of_oxygen / 0.2095 * 28.965 / (12.011 * carbon + 1.008 * hydrogen + 15.999 * oxygen)


class TestWiresAndVolts:
    def test_a_pump_feed_of_sound_wire_stays_inside_the_limits(self, catalogue):
        """Drop from the conductor table, out and back, at the temperature of the table."""
        for car in catalogue.cars.values():
            one_way = OHM_PER_KFT[int(car.wire_gauge)] * car.wire_length / 1000 * car.pump_current
            assert outcome(catalogue, "pump-volts-running", 13.9 - 2 * one_way, car) == "normal"
            assert outcome(catalogue, "pump-ground-drop", 1000 * one_way, car) == "normal"

    def test_the_old_thin_wire_does_not_feed_the_pump(self, catalogue):
        drop = 2 * OHM_PER_KFT[18] * 15 / 1000 * 5.5
        assert drop > 1.2
        assert outcome(catalogue, "pump-volts-running", 13.9 - drop) == "low"

    def test_a_controller_feed_of_its_own_hardly_drops(self, catalogue):
        """Four amperes through ten feet of 14 gauge, out and back."""
        assert outcome(catalogue, "controller-feed-drop", 2 * OHM_PER_KFT[14] * 10 / 1000 * 4) == "normal"

    def test_the_resting_limit_is_about_two_thirds_charged(self, catalogue):
        limit = upper(catalogue, "battery-rest-volts", "low")
        (low, less), (high, more) = next(
            pair for pair in itertools.pairwise(RESTING) if pair[0][0] <= limit < pair[1][0]
        )
        assert 58 <= less + (limit - low) / (high - low) * (more - less) <= 70

    def test_cranking_limit_at_70_degrees(self, catalogue):
        """9.6 V at 70 degF: load-test table of the trade, from memory."""
        assert upper(catalogue, "battery-cranking-volts", "low") == pytest.approx(9.6)


class TestAirAndAltitude:
    @pytest.mark.parametrize("feet", [1000, 3000, 6000])
    def test_idle_vacuum_falls_with_the_barometer(self, catalogue, feet):
        """The manifold stays as full; barometer of the ISO 2533 standard atmosphere, by the ambiance library."""
        sea, high = (float(Atmosphere(each * 0.3048).pressure[0]) / 1000 / INHG_KPA for each in (0, feet))
        for limit in ("very-low", "low"):
            at_sea = upper(catalogue, "idle-vacuum", limit, Car(altitude=0))
            fall = at_sea - upper(catalogue, "idle-vacuum", limit, Car(altitude=feet))
            assert fall == pytest.approx(sea - high, rel=5e-3)

    def test_a_long_cam_pulls_less_and_is_not_accused_of_it(self, catalogue):
        """A long cam idles at 10 to 15 inHg at sea level, a stock one at 16 to 21 (common practice, no source)."""
        for inches, stock, long in ((17, "normal", "normal"), (12, "low", "normal"), (8, "very-low", "low")):
            for cam, said in (("stock", stock), ("long", long)):
                assert outcome(catalogue, "idle-vacuum", inches, Car(altitude=0, cam=cam)) == said, (inches, cam)
        assert "cam: long" in bands_for(catalogue.checks["idle-vacuum"], Car(cam="long"))[1].why

    @pytest.mark.parametrize("feet", [0, 6000])
    def test_full_throttle_is_under_two_inches_of_vacuum(self, catalogue, feet):
        barometer = float(Atmosphere(feet * 0.3048).pressure[0]) / 1000
        car = Car(altitude=feet)
        assert outcome(catalogue, "manifold-pressure-full", barometer - 1.0 * INHG_KPA, car) == "normal"
        assert outcome(catalogue, "manifold-pressure-full", barometer - 2.5 * INHG_KPA, car) == "low"


class TestSensorsOfThePublishedTable:
    def test_the_planted_series_resistor_shows_a_cold_engine(self, catalogue):
        ohm = 1000 * float(re.search(r"(\d+) kilohm", _plant(catalogue, "coolant-sensor-reads-cold"))[1])
        shown = sensor_celsius(SENSOR[80] + ohm) * 1.8 + 32
        assert outcome(catalogue, "coolant-shown", shown) == "cold"
        assert outcome(catalogue, "coolant-error", shown - 176) == "reads-cold"

    def test_the_planted_shunt_shows_a_warm_engine_in_the_morning(self, catalogue):
        ohm = float(re.search(r"(\d+) ohm", _plant(catalogue, "coolant-sensor-reads-hot"))[1])
        both = 1 / (1 / SENSOR[20] + 1 / ohm)
        assert outcome(catalogue, "coolant-cold-soak", (sensor_celsius(both) - 20) * 1.8) == "reads-hot"

    def test_two_makers_of_one_sensor_agree_inside_the_limits(self, catalogue):
        """A second maker's sheet (public service table): 308.6 ohm at 80 degC, 2502 ohm at 20 degC."""
        assert outcome(catalogue, "coolant-error", (sensor_celsius(308.6) - 80) * 1.8) == "normal"
        assert outcome(catalogue, "coolant-cold-soak", (sensor_celsius(2502) - 20) * 1.8) == "normal"


class TestFuel:
    @pytest.mark.parametrize("reid", VAPOUR)
    @pytest.mark.parametrize("feet", [0, 5000])
    def test_fuel_at_the_temperature_limit_keeps_two_psi_of_margin(self, catalogue, feet, reid):
        """By fuel class and height; the pump fills freely at 2.4 inHg, 2 psi of margin (common practice)."""
        warm = upper(catalogue, "fuel-temperature", "normal", Car(altitude=feet, vapour_pressure=reid))
        inlet = Atmosphere(feet * 0.3048).pressure[0] / 6894.757 - 2.4 * PSI_PER_INHG
        assert inlet - vapour_pressure(reid, warm) == pytest.approx(2.0, abs=0.05)

    def test_ordinary_tank_fuel_of_a_summer_day_is_no_fault(self, catalogue):
        """100 to 110 degF in the return after an hour is ordinary with summer fuel; 125 is not (common practice)."""
        assert outcome(catalogue, "fuel-temperature", 108) == "normal"
        assert outcome(catalogue, "fuel-temperature", 125) == "high"

    def test_the_lean_limit_is_14_to_1(self, catalogue):
        found = re.search(r"([\d.]+) lambda \((\d+) to 1\)", catalogue.concerns["lean-top"].meaning)
        assert float(found[1]) * air_to_fuel(1, 1.87) == pytest.approx(float(found[2]), rel=0.02)

    def test_ordinary_ethanol_stays_inside_the_correction_and_a_strong_blend_does_not(self, catalogue):
        """Densities 745 and 789 kg/m3, ethanol C2H6O."""

        def added(percent):
            ethanol = percent * 789 / (percent * 789 + (100 - percent) * 745)
            ratio = 1 / (ethanol / air_to_fuel(2, 6, 1) + (1 - ethanol) / air_to_fuel(1, 1.87))
            return 100 * (air_to_fuel(1, 1.87) / ratio - 1)

        assert outcome(catalogue, "idle-correction", added(10)) == "normal"
        assert outcome(catalogue, "ethanol-content", 10) == "normal"
        assert outcome(catalogue, "idle-correction", added(85)) == "adds-fuel"
        assert outcome(catalogue, "ethanol-content", 85) == "high"

    def test_the_rule_of_thumb_for_injectors_is_the_one_calculated(self, catalogue):
        """Number times flow times 0.85 over 0.5 lb per hp and hour."""
        words = " ".join(catalogue.checks["injector-size-look"].do)
        assert re.search(r"times 0\.85, divided by 0\.5", words)
        for car in catalogue.cars.values():
            assert car.injectors * car.injector_flow * 0.85 / 0.5 > car.peak_power


FACTS = [
    ("pressure-at-prime", 56, "normal"), ("pressure-at-prime", 60, "normal"), ("pressure-at-prime", 6, "low"),
    ("pressure-after-ten-minutes", 0.8 * 58, "normal"), ("pressure-after-ten-minutes", 3, "gone"),
    ("return-line-pressure", 2.5, "normal"), ("return-line-pressure", 7, "high"),
    ("suction-vacuum", 2, "normal"), ("suction-vacuum", 8, "high"),
    ("injector-duty-top", 85, "normal"), ("injector-duty-top", 96, "at-limit"),
    ("idle-pulse-width", 1.2, "short"), ("idle-pulse-width", 2.5, "normal"),
    ("pump-volts-running", 13.2, "normal"), ("pump-volts-running", 11.5, "low"),
    ("pump-ground-drop", 150, "normal"), ("pump-ground-drop", 800, "high"),
    ("sensor-ground-drop", 20, "normal"), ("sensor-ground-drop", 200, "high"),
    ("starter-cable-drop", 0.6, "normal"), ("starter-cable-drop", 2.0, "high"),
    ("charging-volts-held", 14.2, "normal"), ("charging-volts-held", 15.4, "high"),
    ("supply-ripple", 0.1, "normal"), ("supply-ripple", 1.0, "high"),
    ("dwell-at-idle", 30, "normal"), ("dwell-drift", 2, "steady"), ("dwell-drift", 5, "drifts"),
    ("points-drop", 0.1, "normal"), ("points-drop", 0.3, "high"),
    ("spring-tension", 20, "normal"), ("spring-tension", 12, "weak"),
    ("condenser-capacity", 0.22, "normal"), ("condenser-capacity", 0.1, "low"),
    ("plug-gap", 0.9, "normal"), ("plug-gap", 1.5, "wide"),
    ("timing-at-3000", 34, "normal"), ("timing-at-3000", 16, "late"), ("timing-at-3000", 46, "early"),
    ("rpm-shown-cranking", 200, "normal"), ("rpm-shown-cranking", 0, "none"), ("rpm-shown-cranking", 900, "high"),
    ("idle-valve-position", 15, "normal"), ("idle-valve-position", 1, "closed"),
    ("idle-mixture", 0.96, "normal"), ("mixture-at-top", 0.87, "normal"), ("mixture-at-top", 1.05, "lean"),
    ("cruise-mixture", 1.0, "normal"), ("idle-correction", 3, "normal"), ("idle-correction", 22, "adds-fuel"),
    ("map-at-key-on", 1.5, "normal"), ("map-at-key-on", -8, "low"),
    ("throttle-closed-shown", 1, "closed"), ("throttle-sensor-volts", 0.55, "normal"),
    ("coolant-thermometer", 190, "normal"), ("coolant-thermometer", 140, "cold"),
    ("exhaust-back-pressure", 2, "normal"), ("exhaust-back-pressure", 6, "high"),
    ("leak-down", 10, "normal"), ("leak-down", 35, "leaks"),
    ("controller-cranking-volts", 9.4, "low"), ("controller-cranking-volts", 9.9, "normal"),
    ("battery-cranking-volts", 9.3, "low"), ("battery-cranking-volts", 10.2, "normal"),
    ("battery-rest-volts", 12.65, "normal"), ("battery-rest-volts", 12.1, "low"),
    ("injector-duty-top", 80, "normal"), ("injector-duty-top", 98, "at-limit"),
    ("rpm-shown-at-key-on", 0, "zero"), ("rpm-shown-at-key-on", 3000, "thousands"),
    ("coolant-shown", 120, "cold"), ("coolant-shown", 185, "normal"),
    ("controller-feed-drop", 0.1, "normal"), ("controller-feed-drop", 1.0, "high"),
    ("charging-volts-idle", 14.2, "normal"), ("charging-volts-idle", 12.4, "low"),
    ("pressure-at-idle", 58, "normal"), ("pressure-at-idle", 45, "low"),
]  # fmt: skip


@pytest.mark.parametrize(("check", "value", "expected"), FACTS)
def test_limits_as_the_trade_has_them(catalogue, check, value, expected):
    """Common practice, no source."""
    assert outcome(catalogue, check, value) == expected


def test_lowest_cylinder_is_at_least_three_quarters(catalogue):
    for car in catalogue.cars.values():
        assert outcome(catalogue, "compression-lowest", 0.95 * car.compression, car) == "normal"
        assert outcome(catalogue, "compression-lowest", 0.70 * car.compression, car) == "low"


def test_pump_current_a_fifth_over_its_sheet_is_a_restriction(catalogue):
    for car in catalogue.cars.values():
        assert outcome(catalogue, "pump-current", car.pump_current, car) == "normal"
        assert outcome(catalogue, "pump-current", 1.3 * car.pump_current, car) == "high"


def test_tired_points_run_out_near_4500_and_good_ones_near_5500_to_6500(catalogue):
    """On an eight; the calculation itself is good to about 25 percent."""
    check = catalogue.checks["break-up-speed"]

    def floats(ozf):
        bands = bands_for(check, Car(cylinders=8, dwell=30), {"spring-tension": ozf}, catalogue.checks)
        return bands[0].high / check.bands[0].to.times

    assert 3800 <= floats(12) <= 5000
    assert 5000 <= floats(20) <= 6500


def test_feedback_begins_near_160_degrees(catalogue):
    assert {car.feedback_from for car in catalogue.cars.values()} == {160}


WORDS = [
    ("checks", "oxygen-sensor-place", "1 to 10 in"),
    ("checks", "sensor-angle-look", "10 degrees"),
    ("checks", "filter-order-look", "coarse 100 um"),
    ("checks", "signal-pickup-point", "tachometer output only"),
    ("checks", "tank-vent-look", "return"),
    ("causes", "oxygen-sensor-misplaced", "1 to 10 in"),
    ("causes", "line-too-small", "3/8 in"),
    ("causes", "line-too-small", "5/16 in"),
    ("causes", "plenum-starves-one-half", "open spacer"),
    ("causes", "controller-feed-noisy", "straight to the battery"),
    ("causes", "points-floating", "breakerless pickup"),
    ("causes", "thermostat-open", "180 to 195"),
    ("causes", "self-test-burst", "thousands of rpm"),
]


@pytest.mark.parametrize(("kind", "name", "said"), WORDS)
def test_words_as_the_trade_has_them(catalogue, kind, name, said):
    """Common practice, no source."""
    assert said in _text(getattr(catalogue, kind)[name])


def test_closed_points_carry_full_current_at_rest(catalogue):
    for name in ("points-drop", "coil-plus-volts"):
        said = _text(catalogue.checks[name])
        assert "full current at rest" in said and "ten seconds" in said


class TestSafety:
    def test_signal_words_as_the_standard_uses_them(self, catalogue):
        """ANSI Z535.6 and ISO 3864-2: DANGER, WARNING and CAUTION warn of injury; NOTICE does not."""
        cautions = catalogue.cautions
        assert {one.signal for one in cautions.values()} <= {"DANGER", "WARNING", "CAUTION"}
        for deadly in ("exhaust-gas", "lifting", "fuel-vapour"):
            assert cautions[deadly].signal == "DANGER"
        assert all(one.defer and one.avoid and one.happens for one in cautions.values())

    def test_a_turning_engine_is_warned_of(self, catalogue):
        for name, check in catalogue.checks.items():
            told = set(check.cautions)
            if check.state in ("cranking", "held speed"):
                assert "moving-parts" in told, name
            if check.state in ("idle", "held speed", "cold start"):
                assert "exhaust-gas" in told, name
            if check.state == "under load":
                assert "road-or-dyno-run" in told, name

    def test_tools_bring_their_cautions(self, catalogue):
        needs = {
            "fuel-gauge": {"fuel-under-pressure", "fuel-vapour"},
            "measuring-can": {"fuel-vapour", "battery"},
            "spark-tester": {"high-voltage"},
            "timing-light": {"moving-parts"},
            "unlit-gas": {"fuel-vapour", "exhaust-gas"},
        }
        for name, check in catalogue.checks.items():
            for tool in set(check.tools) & set(needs):
                if tool == "timing-light" and check.state != "idle":
                    continue
                assert needs[tool] <= set(check.cautions), (name, tool)
            if "measuring-can" in check.tools or "unlit-gas" in check.tools:
                assert "fire-extinguisher" in check.tools, name

    def test_sparks_are_made_with_the_fuel_off(self, catalogue):
        said = _text(catalogue.checks["spark-cranking"])
        assert "injector fuse out" in said

    def test_coil_terminals_of_a_capacitor_box_are_left_alone(self, catalogue):
        for name in ("coil-plus-volts", "coil-primary-resistance", "signal-wire-resistance"):
            check = catalogue.checks[name]
            assert "capacitor-box" in check.cautions and "capacitor box" in _text(check)

    def test_where_pressure_is_let_down_the_battery_is_off_and_leaks_are_looked_for(self, catalogue):
        """The order of every job on an open fuel line."""
        for name, cause in catalogue.causes.items():
            work = " ".join(cause.repair.do).lower()
            if "pressure down" not in work and "pressure let down" not in work:
                continue
            assert re.search(r"battery (?:disconnected|off)|disconnect(?:ed)? the battery|battery off", work), name
            assert re.search(r"prime[^.]*(?:leak|dry|look)|look for leaks|every joint", work), name
            assert {"fuel-under-pressure", "fuel-vapour", "battery"} <= {*cause.cautions, *cause.repair.cautions}, name

    def test_drawings_where_leads_gauges_and_hoses_go(self, catalogue):
        for name, check in catalogue.checks.items():
            if LEADS_AND_GAUGES & set(check.tools):
                assert check.drawing, name
            if RED_AND_BLACK & set(check.tools):
                assert {"R", "B"} <= set(re.findall(r"\b[RB]\b", check.drawing or "")), name
            for line in (check.drawing or "").splitlines():
                assert len(line) <= 56 and line.isprintable(), name
                assert not re.search(r"\d\s*(?:in|ft|psi|degF|oz|gal|inHg)\b", line), f"{name}: metric has no such unit"

    def test_the_first_key_on_is_a_prime_with_the_leak_search_before_it(self, catalogue):
        items = list(catalogue.concerns["fit-up"].items)
        first_key_on = next(one for one in items if catalogue.checks[one].state != "key off")
        assert first_key_on == "pressure-at-prime"
        assert items.index("fuel-leak-search") < items.index(first_key_on)

    def test_a_smell_of_fuel_allows_nothing_but_key_off(self, catalogue):
        tree = catalogue.concerns["fuel-smell"]
        states = {check.state for check in catalogue.checks.values()}
        assert states - set(tree.rules_out) == {"key off"}
        assert tree.stop.startswith("STOP")


def _plant(catalogue, cause):
    return " ".join(catalogue.causes[cause].plant.do)


def _text(record):
    """Return every word of a check or cause in one line."""
    parts = [getattr(record, name, "") or "" for name in ("ask", "happens", "why", "drawing", "basis", "cannot")]
    parts += getattr(record, "do", None) or []
    parts += [one.words for one in getattr(record, "choices", None) or []]
    if hasattr(record, "repair"):
        parts += [*record.repair.do, record.proof.words]
    return " ".join(" ".join(parts).split())
