"""Two readings held against each other: a proper distribution, counted once, against sums written apart.

That a difference takes the place of the second reading is the product rule, P(a, b) = P(a) P(b | a).
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from troubleshoot.reasoning.belief import believe
from troubleshoot.reasoning.doubting import chances_wrong
from troubleshoot.reasoning.events import Compared, Evidence
from troubleshoot.reasoning.problem import Cause, Check, Comparison, Problem, Repair
from troubleshoot.reasoning.worth import Appraisal

BANDS = ("low", "normal", "high")
USUAL = (0.02, 0.96, 0.02)
SHIFT, SPREADS, QUIET = "shift", "spreads", "quiet"


def problem(mistakes: float = 0.0) -> Problem:
    """`shift` moves both checks alike, `spreads` the second alone, `quiet` neither; single causes only."""
    moved = {SHIFT: (0.05, 0.05, 0.90)}
    first = Check("idle", BANDS, "normal", USUAL, moved)
    second = Check("speed", BANDS, "normal", USUAL, moved | {SPREADS: (0.80, 0.15, 0.05)}, minutes=3.0)
    together = Check("apart", BANDS, "normal", USUAL, {SHIFT: USUAL, SPREADS: (0.85, 0.10, 0.05)})
    return Problem(
        causes=tuple(Cause(name, 0.01, (1.0,), name) for name in (SHIFT, SPREADS, QUIET)),
        checks=(first, second),
        repairs=tuple(Repair(name, 30.0, 0.0, {name: 1.0}) for name in (SHIFT, SPREADS, QUIET)),
        concerns=("it",),
        leak=(0.01,),
        most_at_once=1,
        mistakes=mistakes,
        comparisons=(Comparison(together, "speed", "idle"),),
    )


def read(check: str, band: str) -> Evidence:
    """Return a reading that lies wholly in one band."""
    return Evidence(check, tuple(float(one == band) for one in BANDS))


def held(band: str, apart: str, density: float = 1.0) -> Evidence:
    """Return a reading of the second check with what it says against the first."""
    return replace(read("speed", band), compared=Compared("idle", read("apart", apart), density))


def test_the_second_reading_counts_through_the_difference_alone() -> None:
    """Both high, and no difference: the shift has been counted once, by the first (worked by hand)."""
    belief = believe(problem(), [read("idle", "high"), held("high", "normal")])
    weights = {SHIFT: 0.90 * 0.96, SPREADS: 0.02 * 0.10, QUIET: 0.02 * 0.96}
    prior = 0.01 / 0.99
    nothing = 0.01 * 0.02 * 0.96  # leak 0.01: nothing listed shows the concern as often as that
    total = nothing + prior * sum(weights.values())
    for cause, weight in weights.items():
        assert belief.probability(cause) == pytest.approx(prior * weight / total, rel=1e-9)
    twice = believe(problem(), [read("idle", "high"), read("speed", "high")])
    ratio, doubled = (one.probability(SHIFT) / one.probability(QUIET) for one in (belief, twice))
    assert ratio == pytest.approx(0.90 / 0.02)
    assert doubled == pytest.approx((0.90 / 0.02) ** 2)


def test_two_numbers_inside_normal_can_differ_by_more_than_they_may() -> None:
    """Each by itself says nothing is wrong; the difference names what moves only the second."""
    alone = believe(problem(), [read("idle", "normal"), read("speed", "normal")])
    belief = believe(problem(), [read("idle", "normal"), held("normal", "low")])
    assert alone.probability(SPREADS) < alone.probability(QUIET)
    assert belief.probability(SPREADS) > 0.9


def test_what_a_second_reading_says_given_the_first_sums_to_one() -> None:
    """With the first at 5, bands of 0-4-6-10 for the second and of 1 each side for the difference, over all numbers.

    For causes that the comparison names, and for those it does not.
    """
    named = problem()
    unnamed = replace(named, comparisons=(replace(named.comparisons[0], check=_says_nothing(named)),))
    for made in (named, unnamed):
        prior = believe(made, [])
        for cause in (SHIFT, SPREADS, QUIET):
            total = 0.0
            for band in BANDS:
                said = believe(made, [held(band, band)])
                total += said.state(cause) / prior.state(cause) * math.exp(-said.surprise)
            assert total == pytest.approx(1.0)


def _says_nothing(made: Problem) -> Check:
    return replace(made.comparisons[0].check, moved_by={})


def test_a_reading_that_was_misread_is_doubted_without_what_it_was_held_against() -> None:
    """Leave one out: the second reading then stands by itself (worked by hand)."""
    made = problem(mistakes=0.03)
    readings = [read("idle", "high"), held("normal", "low")]
    belief = believe(made, readings)
    wrong, _ = chances_wrong(belief, readings)

    def right(shares: tuple[float, ...], band: str, g: float = 0.03) -> float:
        return (1.0 - g) * shares[BANDS.index(band)] + g / 3.0

    prior = {"": 0.01, SHIFT: 0.01 / 0.99, SPREADS: 0.01 / 0.99, QUIET: 0.01 / 0.99}
    first, second = {SHIFT: (0.05, 0.05, 0.90)}, {SHIFT: (0.05, 0.05, 0.90), SPREADS: (0.80, 0.15, 0.05)}
    apart = {SPREADS: (0.85, 0.10, 0.05)}
    as_read = slipped = 0.0
    for cause, weight in prior.items():
        given = 0.97 * right(apart.get(cause, USUAL), "low") + 0.01
        as_read += weight * 0.97 * first.get(cause, USUAL)[2] * given
        slipped += weight * (0.03 / 3.0) * right(second.get(cause, USUAL), "normal")
    assert wrong == pytest.approx(slipped / (slipped + as_read), rel=1e-9)


def test_the_second_check_is_worth_what_the_difference_says_too() -> None:
    """With the first read, the second saves at least as much as without; the difference is never proposed by itself."""
    made = problem()
    belief = believe(made, [read("idle", "normal")])
    both = {"idle", "speed"}
    with_it = Appraisal(made, belief, both, taken={"idle"})
    without = Appraisal(replace(made, comparisons=()), belief, both, taken={"idle"})
    assert [one.check for one in with_it.all()] == ["speed"]
    more, less = with_it.of("speed"), without.of("speed")
    assert more is not None
    assert less is not None
    assert more.saves > less.saves
    assert with_it.best()[0] == more
