"""A number as evidence: its blend zone, its size, what is expected, and the doubt in a limit that was worked out."""

from __future__ import annotations

import math
from dataclasses import replace

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from troubleshoot.calculations.units import Measured
from troubleshoot.knowledge.answers import InterpretedReading, understood_outcome, written_readings
from troubleshoot.knowledge.catalogue import load_catalogue
from troubleshoot.knowledge.compiling import compile_problem, fits
from troubleshoot.knowledge.evidence import BLEND, SCALES, evidence_from, evidence_of
from troubleshoot.knowledge.model import Cause, Check
from troubleshoot.reasoning.belief import believe

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


def evidence(check, value, spread=0.0, causes=(), car=CAR, readings=None, checks=None):
    """A number, as it is understood, as evidence."""
    kept = InterpretedReading(value, spread, check.unit, "", "", "", (), None, "")
    return evidence_of("p", check, kept, dict(causes), car, readings, checks)


def phi(x):
    """The normal distribution function, by the error function (Abramowitz and Stegun 26.2.29, from memory)."""
    return 0.5 * (1.0 + math.erf(x / math.sqrt(2.0)))


def test_the_blend_zone_is_a_tenth_of_normal_unless_the_reading_is_less_certain():
    """Shares of N(value, s) between limits 50 and 60: s is 1 here, or the reading's own where that is more."""
    sharp = evidence(check(), 51.0, 0.01)
    assert sharp.shares == pytest.approx((1 - phi(1.0), phi(1.0) - phi(-9.0), phi(-9.0)), abs=1e-9)
    assert 2.0 * BLEND * 5.0 == 1.0
    vague = evidence(check(), 51.0, 4.0)
    assert vague.shares[0] == pytest.approx(1 - phi(0.25), abs=1e-9)
    on_the_limit = evidence(check(), 50.0, 0.01)
    assert on_the_limit.shares[0] == pytest.approx(0.5, abs=1e-6)


def test_an_outcome_that_was_seen_stays_as_it_is():
    assert evidence_of("p", check(), understood_outcome(check(), "normal"), {}, CAR).shares == (0.0, 1.0, 0.0)


@given(st.floats(-20, 140), st.floats(0, 20))
def test_shares_sum_to_one_and_sizes_are_bounded_by_the_scales(value, spread):
    found = evidence(check(), value, spread)
    assert sum(found.shares) == pytest.approx(1.0)
    for place, band in enumerate(found.sizes):
        assert len(set(band)) == 1 if place == 1 else band[2] == 1.0
        assert all(0.0 < one < 2.0 * SCALES[-1] / SCALES[0] for one in band)


def test_far_beyond_a_limit_speaks_for_gross_and_just_beyond_for_mild():
    near, far = (evidence(check(), value, 0.1).sizes[0] for value in (49.9, 5.0))
    assert near[0] > near[1] > 1.0 > near[3]
    assert far[3] > 1.0 > far[1] > far[0]


def test_a_band_between_two_limits_has_no_size():
    bands = [
        {"outcome": "low", "to": 50},
        {"outcome": "normal", "to": 60},
        {"outcome": "high", "to": 80},
        {"outcome": "far"},
    ]
    found = evidence(check(bands=bands), 70.0, 0.1)
    assert found.sizes == () or found.sizes[2] == (1.0, 1.0, 1.0, 1.0)


def test_what_is_expected_counts_as_the_normal_density_over_that_of_the_band():
    """Two readings as far apart as the cause expects them: exp(-z^2/2) against 1."""
    expecting = check(**{"moved-by": {"c": {"expects": {"value": "30 psi", "spread": "2 psi"}, "why": "It is."}}})
    at, off = (evidence(expecting, value, 0.0, {"c": cause()}).expected for value in (30.0, 34.0))
    assert {one[0] for one in at} == {"c"}
    assert at[0][2] > 1.0
    # The band spreads over both alike but for its fall-off with the distance from the limit.
    fall = ((1 + 20 / 7.5) / (1 + 16 / 7.5)) ** 2
    assert off[0][2] / at[0][2] == pytest.approx(math.exp(-2.0) / fall, rel=1e-6)


def test_an_expected_number_blurs_with_the_reading():
    expecting = check(**{"moved-by": {"c": {"expects": {"value": "30 psi", "spread": "2 psi"}, "why": "It is."}}})
    sharp, vague = (evidence(expecting, 42.0, s, {"c": cause()}).expected[0][2] for s in (0.1, 6.0))
    assert vague > 1000.0 * sharp


def test_a_cause_this_car_cannot_have_expects_nothing():
    expecting = check(**{"moved-by": {"c": {"expects": {"value": "30 psi", "spread": "2 psi"}, "why": "It is."}}})
    elsewhere = msgspec.structs.replace(cause(), for_={"cylinders": [4]})
    assert isinstance(elsewhere, Cause)
    assert evidence(expecting, 30.0, 0.0, {"c": elsewhere}).expected == ()


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
            one = replace(one, bands=())
            found = evidence_of("b", check, one, TREES.causes, CAR, kept, TREES.checks)
        else:
            found = evidence_from(TREES, CAR, read, ["break-up-speed"])[0]
        shares.append(found.shares)
    sharp, vague = shares
    assert max(vague) < max(sharp) - 0.05


STARVED = {"pressure-at-idle": "58 psi", "pressure-when-lean": "38 psi", "suction-vacuum": "11 inHg"}


@pytest.mark.parametrize("before", [{}, STARVED], ids=["nothing read", "another cause clear"])
@pytest.mark.parametrize("concern", ["lean-top", "rich", "misfire"])
def test_a_cause_seen_with_ones_own_eyes_is_never_second(concern, before):
    """Common practice, no source: whoever sees two injector plugs changed over need not weigh it any more."""
    problem = compile_problem(TREES, CAR, [concern], taken=TREES.checks)
    looked = 0
    for name, check in TREES.checks.items():
        for choice in check.choices:
            if choice.shows and fits(CAR, check.for_) and fits(CAR, TREES.causes[choice.shows].for_):
                read = written_readings(TREES.checks, CAR, {**before, name: choice.outcome})
                belief = believe(problem, evidence_from(TREES, CAR, read, problem.check_named))
                assert belief.leader.cause == choice.shows, name
                assert belief.leader.probability > 0.95, name
                looked += 1
    assert looked >= 10


def test_a_number_that_is_right_in_another_unit_is_more_likely_misread_than_one_that_is_not():
    """58 psi is 400 kPa and 5.8 with the decimal point wrong (NIST SP 811, from memory); 27 psi is neither."""
    wide = check(reading={"unit": "psi", "plausible": [0, 500], "uncertainty": 0.5})
    kilopascals, decimal, nothing, other = (evidence(wide, value, 0.5).wrong for value in (55 * 6.895, 5.5, 0.0, 27.0))
    assert kilopascals > 2.0 * evidence(wide, 300.0, 0.5).wrong
    assert decimal > 3.0 * other
    assert nothing > 3.0 * other
    assert evidence(wide, 55.0, 0.5).wrong < 0.1


def test_inside_normal_the_place_says_what_pulls_it():
    """Sound readings heap in the middle, limits two standard deviations off; a weak cause leaves them near its limit.

    The density of N(0, 1/2) cut off at -1 and 1 is that of `scipy.stats.truncnorm`.
    """
    from scipy.stats import truncnorm

    for place in (-0.9, -0.4, 0.0, 0.7):
        made = evidence(check(), 55.0 + 5.0 * place, 0.01)
        assert made.sizes[1] == pytest.approx((2.0 * truncnorm.pdf(place, -2, 2, scale=0.5),) * 4, rel=1e-9)
        assert made.leaning == pytest.approx((1.0 - 0.8 * place, 1.0 + 0.8 * place))


def test_a_mild_true_reading_just_inside_its_limit_does_not_deny_its_cause():
    """Pressure 3.7 bar where 4.0 is set and 3.64 is the limit: it speaks for a low regulator, 4.0 bar against one."""
    values = ("53.7 psi", "58 psi")
    readings = {value: written_readings(TREES.checks, CAR, {"pressure-at-idle": value}) for value in values}
    problem = compile_problem(TREES, CAR, ["pressure-wrong"])
    chance = {}
    for value, read in readings.items():
        belief = believe(problem, evidence_from(TREES, CAR, read, problem.check_named))
        chance[value] = belief.probability("regulator-low")
    before = believe(problem, []).probability("regulator-low")
    assert chance["58 psi"] < 0.5 * before
    assert chance["53.7 psi"] > 0.75 * before
