"""Every check in US and in metric units: the same reading, the same bands, the same words in other units."""

from __future__ import annotations

import re

import pytest

from troubleshoot.calculations.units import convert, convert_difference, read_quantity
from troubleshoot.case.case import case_in_memory
from troubleshoot.case.settings import CaseSettings
from troubleshoot.knowledge.answers import (
    ReadingContext,
    ReadingImplausible,
    in_shown_unit,
    read_text,
    show_value,
    shown_unit_of,
)
from troubleshoot.knowledge.catalogue import load_catalogue
from troubleshoot.knowledge.prose import in_units, metric_words

CATALOGUE = load_catalogue(None)
METRIC = in_units(CATALOGUE, "metric")
CAR = CATALOGUE.cars["harrow-240"]
MEASURED = [name for name, check in CATALOGUE.checks.items() if check.reading is not None]
US_ONLY = re.compile(r"\d ?(?:psi|inHg|°F|degF|ozf?|gal/h|lbf?|in³)(?![\w/])")


def context(system: str) -> ReadingContext:
    """Return the context of an invented car in a system of units."""
    return ReadingContext(CAR, {}, CATALOGUE.checks, system)


@pytest.mark.parametrize("name", MEASURED)
def test_a_reading_is_the_same_in_both_systems(name: str) -> None:
    """A number in the middle of each band, typed as the other system shows it, lies in that band."""
    check = CATALOGUE.checks[name]
    bands = context("us").bands(check)
    low, high = check.reading.plausible
    for band in bands:
        middle = (max(band.low, low) + min(band.high, high)) / 2
        if not max(band.low, low) < min(band.high, high):
            continue
        found = [
            read_text(
                check,
                f"{in_shown_unit(check, middle, system):.9g} {shown_unit_of(check, system)}",
                context(system),
                True,
            )
            for system in ("us", "metric")
        ]
        assert found[0].outcome == found[1].outcome == band.outcome
        assert found[1].value == pytest.approx(found[0].value, rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("name", MEASURED)
def test_no_metric_card_speaks_in_us_units(name: str) -> None:
    """Limits, steps, tools and bands; wire gauge and crank degrees are the same everywhere."""
    check = METRIC.checks[name]
    words = [check.ask, check.why, *check.do, check.basis, check.cannot, *(band.words for band in check.bands)]
    assert not [one for one in words if US_ONLY.search(one)]
    for limit in check.reading.plausible:
        assert not US_ONLY.search(show_value(check, limit, "metric"))


def test_a_difference_of_temperature_has_no_zero_point() -> None:
    """20 kelvin are 36 degrees Fahrenheit of difference (NIST SP 811), below zero as above it."""
    check = CATALOGUE.checks["coolant-error"]
    for text in ("-20 C", "-20 °C", "-20 K", "-36 °F", "-36 F", "-36F"):
        assert read_text(check, text, context("us")).value == pytest.approx(-36.0)
    assert read_text(check, "-20", context("metric")).value == pytest.approx(-36.0)
    assert read_text(check, "-20", context("metric")).shown == "-20 °C"
    assert read_text(check, "-20 to -10 C", context("us")).value == pytest.approx(-27.0)


def test_what_the_trade_reads_pressure_and_springs_in() -> None:
    """Bar and grams, common practice, no source; 1 bar = 14.5038 psi (NIST SP 811)."""
    assert shown_unit_of(CATALOGUE.checks["pressure-at-idle"], "metric") == "bar"
    assert shown_unit_of(CATALOGUE.checks["compression-lowest"], "metric") == "bar"
    assert read_quantity("4 bar", "psi").value == pytest.approx(58.0152, rel=1e-5)
    assert convert_difference(1, "ozf", "gf") == pytest.approx(28.3495, rel=1e-5)
    assert convert(58, "psi", "bar") == pytest.approx(3.99896, rel=1e-5)


def test_a_bare_number_in_the_other_unit_is_asked_about() -> None:
    """3,2 on a system set to 58 psi is bar, not psi; with its unit, or a second time, it is taken."""
    check = CATALOGUE.checks["pressure-at-idle"]
    with pytest.raises(ReadingImplausible, match=r"3.2 psi is far outside the limits. If it is 3.2 bar"):
        read_text(check, "3,2", context("us"))
    with pytest.raises(ReadingImplausible, match="If it is 45 psi"):
        read_text(check, "45", context("metric"))
    assert read_text(check, "3,2 bar", context("us")).value == pytest.approx(46.4, abs=0.05)
    assert read_text(check, "3,2 psi", context("us")).value == pytest.approx(3.2)
    assert read_text(check, "3,2", context("us"), sure=True).value == pytest.approx(3.2)


def test_words_change_and_nothing_else() -> None:
    """The problem that is reasoned on is the same; a case in metric asks the same check."""
    asked = {}
    for system, catalogue in (("us", CATALOGUE), ("metric", METRIC)):
        case = case_in_memory(catalogue, CAR, ["lean-top"], CaseSettings(learn=False, units=system))
        problem = case.assessment.problem
        asked[system] = (problem.causes, problem.checks, problem.repairs)
    assert asked["us"] == asked["metric"]


@pytest.mark.parametrize(
    ("written", "metric"),
    [
        ("sprays fuel at 60 psi into eyes", "sprays fuel at 4.1 bar into eyes"),
        ("fed by 3/8 in", "fed by 9.5 mm"),
        ("number 1 in the order", "number 1 in the order"),
        ("a 180 to 195 degF thermostat", "a 82 to 91 °C thermostat"),
        ("within 8 degF of it", "within 4.4 °C of it"),
        ("between freezing and some 50 degF", "between freezing and some 10 °C"),
    ],
)
def test_figures_in_words(written: str, metric: str) -> None:
    """Factors of NIST SP 811, to the figures that were written."""
    assert metric_words(written) == metric
