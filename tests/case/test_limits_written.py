"""How the limits of a check are written: no finer than the check can tell, and as the trees give them."""

from __future__ import annotations

import functools
import math
import re
from dataclasses import replace

import msgspec
import pytest
from hypothesis import assume, given
from hypothesis.strategies import floats, sampled_from

from troubleshoot.calculations.units import convert, show_number
from troubleshoot.knowledge.answers import (
    ReadingContext,
    in_shown_unit,
    limits_in_words,
    show_reading,
    shown_unit_of,
    spread_in_shown_unit,
    understood_value,
)
from troubleshoot.knowledge.bands import BandLimit, bands_for
from troubleshoot.knowledge.catalogue import load_catalogue
from troubleshoot.knowledge.limits import LimitRefused


@functools.cache
def shipped():
    return load_catalogue()


@pytest.fixture(scope="module")
def trees():
    return shipped()


def normal(low: float, high: float) -> list[BandLimit]:
    return [BandLimit("normal", "", low, high, 0.0, True)]


def test_a_calculated_limit_is_written_to_the_figure_that_the_check_can_tell(trees):
    """Figures past the uncertainty say nothing (JCGM 100, 7.2.6, from memory): 0.65 mm is 0.02559 in."""
    gap = measured(trees, "mm", 0.05)
    assert limits_in_words(normal(0.65, 1.1), gap, "us") == "0.026 to 0.043 in"
    assert limits_in_words(normal(0.65, 1.1), gap, "metric") == "0.65 to 1.1 mm"


def test_a_limit_as_the_trees_give_it_stays(trees):
    """With a gauge good to 1 psi a limit of 2.5 psi is still said as it was written."""
    gauge = measured(trees, "psi", 1.0)
    assert limits_in_words(normal(2.5, math.inf), gauge, "us") == "from 2.5 psi"


def test_limits_that_would_look_the_same_keep_their_figures(trees):
    """A band narrower than the last figure is not written as from a number to itself."""
    gauge = measured(trees, "psi", 10.0)
    assert limits_in_words(normal(41.234, 43.456), gauge, "us") == "41.23 to 43.46 psi"


def test_the_last_figure_written_is_one_the_check_can_tell(trees):
    """Two points a gauge reads alike are not told apart by a limit of four figures (JCGM 100, 7.2.6, from memory)."""
    vacuum = measured(trees, "inHg", 0.4)
    assert limits_in_words(normal(4.979, 15.23), vacuum, "us") == "5.0 to 15.2 inHg"
    assert limits_in_words(normal(4.979, 15.23), vacuum, "us", beside=4.99) == "4.98 to 15.2 inHg"
    assert limits_in_words(normal(4850.0, math.inf), measured(trees, "rpm", 100.0), "us") == "from 4850 rpm"
    assert limits_in_words(normal(5208.3, math.inf), measured(trees, "rpm", 100.0), "us") == "from 5200 rpm"


def test_a_number_that_stands_on_a_limit_is_within_it(trees):
    """Limits of 46 and 54 hold 46 and 54: what is shown as "46 to 54" is not called low at 46 (common practice)."""
    name, check = next((name, one) for name, one in trees.checks.items() if one.reading and len(one.bands) == 3)
    context = ReadingContext(next(iter(trees.cars.values())), {}, trees.checks, None)
    low, sound, high = context.bands(check)
    for limit in (low.high, sound.high):
        assert understood_value(check, limit, (high.low - low.high) / 20, context).normal, name


@pytest.mark.parametrize("system", ["us", "metric"])
@given(
    limit=floats(1.0, 6000.0), off=floats(-2.0, 2.0), spread=sampled_from([0.0, 0.03, 0.4, 1.0, 30.0, 100.0]),
    unit=sampled_from(["psi", "inHg", "mm", "degF", "V", "rpm"]),
)  # fmt: skip
def test_a_reading_is_never_seen_on_the_wrong_side_of_a_limit(system, limit, off, spread, unit):
    """What is read off the paper, a reading of up to four figures and a limit, tells the same as the verdict."""
    check = measured(shipped(), unit, spread)
    shown = float(show_number(in_shown_unit(check, limit + off * spread, system)))
    reading = convert(shown, shown_unit_of(check, system), unit)
    assume(abs(reading - limit) > 1e-6 * limit)
    said = limits_in_words(normal(limit, math.inf), check, system, reading)
    read = show_reading(check, reading, None, system, (limit,))
    seen, end = (float(re.search(r"-?[0-9.]+", words).group()) for words in (read, said))
    assert (seen < end) == (reading < limit), (read, said)
    assert abs(seen - shown) <= max(spread_in_shown_unit(check, spread, system) / 2.0, 1e-9 * abs(shown))


def test_a_converted_reading_has_no_more_figures_than_its_uncertainty_tells(trees):
    """Figures past the uncertainty say nothing (JCGM 100, 7.2.6, from memory): 1 psi is 0.069 bar."""
    gauge = measured(trees, "psi", 1.0)
    assert show_reading(gauge, 45.0, None, "metric") == "3.1 bar"
    assert show_reading(gauge, 56.0, 1.0, "metric") == "3.86 ± 0.07 bar"
    assert show_reading(gauge, 56.0, 1.0, "us") == "56 ± 1 psi"
    assert show_reading(gauge, 46.4121, 1.0, "us") == "46.4 ± 1 psi"  # 3.2 bar
    assert show_reading(gauge, 46.38, 1.0, "us") == "46.38 ± 1 psi"  # as it was typed
    assert show_reading(gauge, 45.0, None, "metric", (44.97,)) == "3.103 bar"


@pytest.mark.parametrize("system", ["us", "metric"])
def test_no_limit_of_an_example_car_moves_by_more_than_the_check_can_tell(trees, system):
    """What is written lies within the uncertainty of the limit that is used, whatever the units."""
    compared = 0
    for car in trees.cars.values():
        for check in trees.checks.values():
            try:
                bands = bands_for(check, car, None, trees.checks)
            except LimitRefused:
                continue
            for band in (one for one in bands if math.isfinite(one.high)):
                said = limits_in_words([replace(band, low=-math.inf, normal=True)], check, system)
                written = float(re.search(r"-?[0-9.]+", said).group())
                used, spread = in_shown_unit(check, band.high, system), check.reading.uncertainty
                assert abs(written - used) <= max(spread_in_shown_unit(check, spread, system), 1e-3 * abs(used)), said
                compared += 1
    assert compared > 500


def measured(trees, unit, uncertainty):
    """Return a shipped check in a unit, read as well as is said."""
    found = next(check for check in trees.checks.values() if check.reading and check.reading.unit == unit)
    return msgspec.structs.replace(found, reading=msgspec.structs.replace(found.reading, uncertainty=uncertainty))
