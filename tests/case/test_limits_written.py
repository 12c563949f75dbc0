"""How the limits of a check are written: no finer than the check can tell, and as the trees give them."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import msgspec
import pytest

from troubleshoot.knowledge.answers import in_shown_unit, limits_in_words, spread_in_shown_unit
from troubleshoot.knowledge.bands import BandLimit, bands_for
from troubleshoot.knowledge.catalogue import load_catalogue
from troubleshoot.knowledge.limits import LimitRefused


@pytest.fixture(scope="module")
def trees():
    return load_catalogue()


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
