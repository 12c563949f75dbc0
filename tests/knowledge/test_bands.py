"""Bands and the share of an uncertain reading in each."""

from __future__ import annotations

import itertools
import math

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from troubleshoot.calculations.units import Measured, convert_difference
from troubleshoot.knowledge.bands import BandLimit, bands_for, share_in_bands
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import load_catalogue
from troubleshoot.knowledge.limits import LimitRefused
from troubleshoot.knowledge.model import Check


def check_with(unit, plausible, bands, **more):
    return msgspec.convert(
        {
            "ask": "How much",
            "why": "To know.",
            "do": ["Read it."],
            "state": "idle",
            "minutes": 1,
            "basis": "common practice",
            "normal": "normal",
            "reading": {"unit": unit, "plausible": plausible, "uncertainty": 1},
            "bands": bands,
            **more,
        },
        Check,
    )


PRESSURE = check_with(
    "psi",
    [0, 120],
    [
        {"outcome": "low", "to": {"car": "rated-pressure", "plus": -4}},
        {"outcome": "normal", "to": {"car": "rated-pressure", "plus": 4}},
        {"outcome": "high"},
    ],
)


def plain(*limits):
    edges = [-math.inf, *limits, math.inf]
    return tuple(BandLimit(f"o{i}", "", edges[i], edges[i + 1], 0.0, False) for i in range(len(edges) - 1))


def test_limits_from_the_car():
    bands = bands_for(PRESSURE, Car(rated_pressure=50))
    assert [(one.outcome, one.low, one.high, one.normal) for one in bands] == [
        ("low", -math.inf, 46, False),
        ("normal", 46, 54, True),
        ("high", 54, math.inf, False),
    ]
    assert "rated pressure" in bands[0].why


def test_a_car_limit_is_turned_into_the_unit_of_the_check():
    """1 psi is 6.894757 kPa (NIST SP 811, appendix B.8)."""
    check = check_with("kPa", [0, 900], [{"outcome": "low", "to": {"car": "rated-pressure"}}, {"outcome": "normal"}])
    assert bands_for(check, Car(rated_pressure=50))[0].high == pytest.approx(50 * 6.894757, rel=1e-6)


def test_a_reading_just_under_a_limit_counts_for_little():
    """0.3 psi under a limit with a 1 psi gauge: the normal table gives 0.618 below (Phi(0.3))."""
    shares = share_in_bands(45.7, 1.0, plain(46, 54))
    assert shares[0] == pytest.approx(0.6179, abs=5e-5)
    assert shares[1] == pytest.approx(1 - 0.6179, abs=5e-5)


def test_without_uncertainty_the_reading_lies_in_one_band():
    assert share_in_bands(46.0, 0.0, plain(46, 54)) == (1.0, 0.0, 0.0)
    assert share_in_bands(46.1, 0.0, plain(46, 54)) == (0.0, 1.0, 0.0)


@given(
    st.floats(-1e3, 1e3),
    st.floats(1e-3, 1e3),
    st.lists(st.floats(-1e3, 1e3), min_size=1, max_size=5, unique=True).map(sorted),
)
def test_shares_are_those_of_the_normal_distribution(value, spread, limits):
    """Reference: scipy.stats.norm."""
    shares = share_in_bands(value, spread, plain(*limits))
    below = norm.cdf([*limits, math.inf], value, spread)
    assert sum(shares) == pytest.approx(1.0, abs=1e-12)
    assert shares == pytest.approx([below[0], *(b - a for a, b in itertools.pairwise(below))], abs=1e-9)


def test_the_uncertainty_of_a_limit_joins_that_of_the_reading():
    """Independent standard uncertainties add as squares (JCGM 100, 5.1.2): 3 and 4 make 5."""
    sharp = plain(100)
    blurred = (BandLimit("low", "", -math.inf, 100, 4.0, False), sharp[1])
    assert share_in_bands(103, 3.0, blurred)[0] == pytest.approx(norm.cdf(100, 103, 5.0), abs=1e-12)


@given(st.floats(), st.floats())
def test_no_number_gives_a_share_that_is_none(value, spread):
    try:
        shares = share_in_bands(value, spread, plain(1, 2))
    except LimitRefused:
        return
    assert all(0.0 <= share <= 1.0 for share in shares)
    assert sum(shares) == pytest.approx(1.0)


FLOAT_SPEED = {
    "calc": "points-float-speed",
    "inputs": {
        "spring-force": {"reading": "spring-tension", "usual": "18 ozf"},
        "cylinders": {"car": "cylinders"},
        "dwell-angle": {"car": "dwell"},
        "point-gap": "0.43 mm",
    },
    "output": "engine-speed",
    "times": 0.9,
}
BREAK_UP = check_with("rpm", [500, 10000], [{"outcome": "low", "to": FLOAT_SPEED}, {"outcome": "normal"}])
TENSION = check_with("ozf", [2, 60], [{"outcome": "low", "to": 15}, {"outcome": "normal"}])


def test_a_calculated_limit_follows_the_reading_and_carries_its_uncertainty():
    """The float speed goes with the root of the spring force (force balance): 1 ozf in 18 is half of 1/18 in speed."""
    checks = {"spring-tension": TENSION}
    usual = bands_for(BREAK_UP, Car(), {}, checks)[0]
    read = bands_for(BREAK_UP, Car(), {"spring-tension": 18.0}, checks)[0]
    weak = bands_for(BREAK_UP, Car(), {"spring-tension": 9.0}, checks)[0]
    assert usual.uncertainty == 0.0
    assert read.high == pytest.approx(usual.high)
    assert read.uncertainty / read.high == pytest.approx(0.5 / 18, rel=0.02)
    assert weak.high < usual.high
    assert "read" in read.why and "usual" in usual.why


def test_a_reading_in_another_unit_is_turned_into_that_of_the_calculation():
    checks = {"spring-tension": TENSION}
    ounces = bands_for(BREAK_UP, Car(), {"spring-tension": 18.0}, checks)[0].high
    newtons = bands_for(BREAK_UP, Car(), {"spring-tension": Measured(18 * 0.27801385, None, "N", "")}, checks)[0].high
    assert newtons == pytest.approx(ounces, rel=1e-6)


@pytest.mark.parametrize(
    ("name", "file", "read"), [("idle-vacuum", 14.95, 11.79), ("manifold-pressure-full", 95.0, 84.93)]
)
def test_a_barometer_that_was_read_stands_above_the_height_in_the_file(name, file, read):
    """ICAO standard atmosphere: 89.87 kPa at 1000 m, 11.45 kPa or 3.38 inHg under sea level; 1 kPa of weather."""
    trees = load_catalogue()
    check, car = trees.checks[name], msgspec.structs.replace(trees.cars["harrow-240"], altitude=230.0)
    of_file, here = (bands_for(check, car, one, trees.checks)[-2] for one in ({}, {"barometer-here": 89.87}))
    assert (of_file.high, here.high) == pytest.approx((file, read), abs=0.08)
    kpa = convert_difference(1.0, "kPa", check.reading.unit.removesuffix(" abs")) * (0.945 if name[0] == "m" else 1.0)
    assert of_file.uncertainty == pytest.approx(kpa, rel=0.05) and here.uncertainty < 0.4 * of_file.uncertainty
    assert of_file.why.endswith("(of this car)") and here.why.endswith("(read)")


def test_a_reading_the_calculation_refuses_leaves_the_usual_limit():
    checks = {"spring-tension": TENSION}
    usual = bands_for(BREAK_UP, Car(), {}, checks)[0].high
    assert bands_for(BREAK_UP, Car(), {"spring-tension": -5.0}, checks)[0].high == usual


@pytest.mark.parametrize(
    "limit",
    [
        {},
        {"car": "colour"},
        {"car": "ignition"},
        {"calc": "points-flaot-speed"},
        {"calc": "points-float-speed", "inputs": {"spring": 18}},
        {"calc": "points-float-speed", "inputs": {"spring-force": {"reading": "spring-tension"}}},
        {"calc": "points-float-speed", "inputs": {"spring-force": "18 psi"}},
        {**FLOAT_SPEED, "output": "speed"},
    ],
)
def test_a_limit_that_cannot_be_worked_out_is_refused_in_words(limit):
    check = check_with("rpm", [500, 10000], [{"outcome": "low", "to": limit}, {"outcome": "normal"}])
    with pytest.raises(LimitRefused) as refused:
        bands_for(check, Car())
    assert refused.value.sentence and refused.value.advice
