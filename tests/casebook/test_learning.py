"""Closed cases add to base rates as Dirichlet counts."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from troubleshoot.casebook.learning import learned_rates, taught

RATES = st.dictionaries(st.sampled_from("abcdef"), st.floats(0.001, 0.2), min_size=1)
COUNTS = st.dictionaries(st.sampled_from("abcdefg"), st.integers(0, 50))


def test_the_posterior_mean_of_a_dirichlet_distribution() -> None:
    """Mean of component i after counts n: (W s_i + n_i) / (W + n). Gelman et al., Bayesian Data Analysis, section 3.4
    (from memory)."""
    learned = learned_rates({"a": 0.03, "b": 0.01}, {"a": 0, "b": 4}, trees_count_as=300)
    assert learned["b"] == pytest.approx(0.04 * (12 * 0.25 + 4) / 16)
    assert learned["a"] == pytest.approx(0.04 * (12 * 0.75) / 16)


def test_one_case_moves_a_rate_by_one_car_in_the_cars_the_trees_stand_for() -> None:
    """A Beta posterior mean: 2 of 200 cars and one more of the same is 3 of 201, near enough with 4 causes a car."""
    rates = {f"c{number}": 0.01 for number in range(400)}
    learned = learned_rates(rates, {"c7": 1})
    assert learned["c7"] == pytest.approx(3 / 201, rel=0.01)
    assert learned["c8"] == pytest.approx(0.01, rel=0.01)


@given(rates=RATES)
def test_what_is_told_is_what_changed(rates: dict[str, float]) -> None:
    proved = dict.fromkeys(rates, 0) | {next(iter(rates)): 9, "unknown": 3}
    learned = learned_rates(rates, proved)
    for one in taught(rates, proved):
        assert (one.before, one.after) == (rates[one.cause], learned[one.cause])
        assert abs(one.after - one.before) >= 0.1 * one.before * (1 - 1e-9)
    assert taught(rates, {"unknown": 3}) == ()


@given(rates=RATES, counts=COUNTS)
def test_the_sum_stays_and_order_of_counts_shows(rates: dict[str, float], counts: dict[str, int]) -> None:
    learned = learned_rates(rates, counts)
    assert learned.keys() == rates.keys()
    assert sum(learned.values()) == pytest.approx(sum(rates.values()))
    for cause in rates:
        more = learned_rates(rates, {**counts, cause: counts.get(cause, 0) + 1})
        if len(rates) > 1:
            assert more[cause] > learned[cause]


@given(rates=RATES)
def test_no_cases_teach_nothing(rates: dict[str, float]) -> None:
    assert learned_rates(rates, {}) == rates
    assert learned_rates(rates, {"unknown": 3}) == rates


def test_no_rate_is_learnt_to_be_nearly_certain() -> None:
    """A cause proved a thousand times is still not there in one car of twenty."""
    assert learned_rates({"a": 1.2, "b": 0.1}, {"a": 10_000})["a"] == 0.95
