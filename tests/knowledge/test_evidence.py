"""A number as evidence: its blend zone, its size, what is expected, and the doubt in a limit that was worked out."""

from __future__ import annotations

import math

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from troubleshoot.calculations.units import Measured
from troubleshoot.knowledge.answers import written_readings
from troubleshoot.knowledge.catalogue import load_catalogue
from troubleshoot.knowledge.evidence import BLEND, SCALES, evidence_from, evidence_of
from troubleshoot.knowledge.model import Cause, Check

TREES = load_catalogue()
CAR = TREES.cars["harrow-240"]

PRESSURE = {
    "ask": "Pressure?", "why": "It tells.", "do": ["Read it."], "state": "idle", "minutes": 5, "basis": "none",
    "reading": {"unit": "psi", "plausible": [0, 120], "uncertainty": 0.5},
    "bands": [{"outcome": "low", "to": 50}, {"outcome": "normal", "to": 60}, {"outcome": "high"}], "normal": "normal",
}  # fmt: skip


def check(**changes):
    return msgspec.convert({**PRESSURE, **changes}, Check)


def cause():
    known = next(iter(TREES.causes.values()))
    return msgspec.structs.replace(known, for_={}, ways={})


def phi(x):
    """The normal distribution function, by the error function (Abramowitz and Stegun 26.2.29, from memory)."""
    return 0.5 * (1.0 + math.erf(x / math.sqrt(2.0)))


def test_the_blend_zone_is_a_tenth_of_normal_unless_the_reading_is_less_certain():
    """Shares of N(value, s) between limits 50 and 60: s is 1 here, or the reading's own where that is more."""
    sharp = evidence_of("p", check(), (), {}, CAR, 51.0, 0.01)
    assert sharp.shares == pytest.approx((1 - phi(1.0), phi(1.0) - phi(-9.0), phi(-9.0)), abs=1e-9)
    assert 2.0 * BLEND * 5.0 == 1.0
    vague = evidence_of("p", check(), (), {}, CAR, 51.0, 4.0)
    assert vague.shares[0] == pytest.approx(1 - phi(0.25), abs=1e-9)
    on_the_limit = evidence_of("p", check(), (), {}, CAR, 50.0, 0.01)
    assert on_the_limit.shares[0] == pytest.approx(0.5, abs=1e-6)


def test_an_outcome_that_was_seen_stays_as_it_is():
    assert evidence_of("p", check(), (0.0, 1.0, 0.0), {}, CAR).shares == (0.0, 1.0, 0.0)


@given(st.floats(-20, 140), st.floats(0, 20))
def test_shares_sum_to_one_and_sizes_are_bounded_by_the_scales(value, spread):
    found = evidence_of("p", check(), (), {}, CAR, value, spread)
    assert sum(found.shares) == pytest.approx(1.0)
    for band in found.sizes:
        assert band[2] == 1.0
        assert all(0.0 < one < 2.0 * SCALES[-1] / SCALES[0] for one in band)


def test_far_beyond_a_limit_speaks_for_gross_and_just_beyond_for_mild():
    near, far = (evidence_of("p", check(), (), {}, CAR, value, 0.1).sizes[0] for value in (49.9, 5.0))
    assert near[0] > near[1] > 1.0 > near[3]
    assert far[3] > 1.0 > far[1] > far[0]


def test_a_band_between_two_limits_has_no_size():
    bands = [
        {"outcome": "low", "to": 50},
        {"outcome": "normal", "to": 60},
        {"outcome": "high", "to": 80},
        {"outcome": "far"},
    ]
    found = evidence_of("p", check(bands=bands), (), {}, CAR, 70.0, 0.1)
    assert found.sizes == () or found.sizes[2] == (1.0, 1.0, 1.0, 1.0)


def test_what_is_expected_counts_as_the_normal_density_over_that_of_the_band():
    """Two readings as far apart as the cause expects them: exp(-z^2/2) against 1."""
    expecting = check(**{"moved-by": {"c": {"expects": {"value": "30 psi", "spread": "2 psi"}, "why": "It is."}}})
    at, off = (evidence_of("p", expecting, (), {"c": cause()}, CAR, value, 0.0).expected for value in (30.0, 34.0))
    assert {one[0] for one in at} == {"c"}
    assert at[0][2] > 1.0
    # The band spreads over both alike but for its fall-off with the distance from the limit.
    fall = ((1 + 20 / 7.5) / (1 + 16 / 7.5)) ** 2
    assert off[0][2] / at[0][2] == pytest.approx(math.exp(-2.0) / fall, rel=1e-6)


def test_an_expected_number_blurs_with_the_reading():
    expecting = check(**{"moved-by": {"c": {"expects": {"value": "30 psi", "spread": "2 psi"}, "why": "It is."}}})
    sharp, vague = (evidence_of("p", expecting, (), {"c": cause()}, CAR, 42.0, s).expected[0][2] for s in (0.1, 6.0))
    assert vague > 1000.0 * sharp


def test_a_cause_this_car_cannot_have_expects_nothing():
    expecting = check(**{"moved-by": {"c": {"expects": {"value": "30 psi", "spread": "2 psi"}, "why": "It is."}}})
    elsewhere = msgspec.structs.replace(cause(), for_={"cylinders": [4]})
    assert isinstance(elsewhere, Cause)
    assert evidence_of("p", expecting, (), {"c": elsewhere}, CAR, 30.0, 0.0).expected == ()


@pytest.mark.parametrize("as_kept", [False, True])
def test_a_typed_uncertainty_reaches_the_limit_worked_out_from_it(as_kept):
    """Break-up speed goes with the root of the spring force: 20 ± 6 ozf is 15 % of the speed, ± 0.1 is nothing."""
    shares = []
    for force in ("20 ± 0.1 ozf", "20 ± 6 ozf"):
        read = written_readings(TREES.checks, CAR, {"spring-tension": force, "break-up-speed": "2500 ± 20 rpm"})
        if as_kept:
            one = read["break-up-speed"]
            kept = {"spring-tension": Measured(20.0, read["spring-tension"].uncertainty, "ozf", "")}
            check = TREES.checks["break-up-speed"]
            found = evidence_of("b", check, one.shares, TREES.causes, CAR, one.value, 20.0, kept, TREES.checks)
        else:
            found = evidence_from(TREES, CAR, read, ["break-up-speed"])[0]
        shares.append(found.shares)
    sharp, vague = shares
    assert max(vague) < max(sharp) - 0.05
