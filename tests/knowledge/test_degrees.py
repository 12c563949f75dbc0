"""Causes that come small and large and go two ways: what a signature says in each form, written and derived."""

from __future__ import annotations

import math

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.degrees import Variant, grosser, milder, variants_of, written_for
from troubleshoot.knowledge.model import DEGREES, Check, Expects
from troubleshoot.knowledge.signatures import completed, signature_shares, usual_shares, variant_shares, with_floor

SPARE = {"ask": "a", "why": "w", "do": ["d"], "state": "idle", "minutes": 1, "basis": "b"}
NUMBER = {
    **SPARE,
    "reading": {"unit": "%", "plausible": [-100, 100], "uncertainty": 1},
    "bands": [
        {"outcome": "far-low", "to": -10},
        {"outcome": "low", "to": -3},
        {"outcome": "normal", "to": 3},
        {"outcome": "high"},
    ],
    "normal": "normal",
}
LOOK = {
    **SPARE,
    "choices": [{"outcome": one, "words": one} for one in ("clear", "kinked", "split")],
    "normal": "clear",
}


def read(check, signature):
    return msgspec.convert({**check, "moved-by": {"x": signature}}, Check)


def shares(check, signature, degree, way=None):
    return variant_shares(read(check, signature), signature, Variant(degree, way, 1.0))


class Ways:
    """Stands for a cause: only its degrees and ways matter here."""

    def __init__(self, ways=None, degrees=None):
        self.ways, self.degrees = ways or {}, degrees or {"mild": 0.35, "clear": 0.45, "gross": 0.2}


def test_the_forms_of_a_cause_share_its_weight():
    found = variants_of(Ways({"rich": 0.5, "lean": 0.5}))
    assert [(one.way, one.degree) for one in found] == [(way, degree) for way in ("rich", "lean") for degree in DEGREES]
    assert math.fsum(one.weight for one in found) == pytest.approx(1.0)
    assert variants_of(Ways(degrees={"clear": 1.0})) == (Variant("clear", None, 1.0),)


def test_one_figure_is_the_clear_degree_and_the_others_move_by_one_band():
    """Worked out by hand: four tenths of each band's share move one band, and normal gives four tenths."""
    figure = {"far-low": 0.4, "low": 0.5}
    assert shares(NUMBER, figure, "clear") == pytest.approx(with_floor((0.4, 0.5, 0.1, 0.0)))
    assert shares(NUMBER, figure, "mild") == pytest.approx(with_floor((0.24, 0.46, 0.3, 0.0)))
    # 0.2 of low goes out to far-low; 0.04 of normal's 0.1 goes to low, the side the cause moves to.
    assert shares(NUMBER, figure, "gross") == pytest.approx(with_floor((0.6, 0.34, 0.06, 0.0)))


def test_what_is_seen_depends_less_on_size():
    assert shares(LOOK, {"kinked": 0.8}, "mild") == pytest.approx(with_floor((0.28, 0.72, 0.0)))
    assert shares(LOOK, {"kinked": 0.8}, "gross") == pytest.approx(with_floor((0.18, 0.82, 0.0)))


def test_what_an_author_says_of_a_degree_or_way_holds():
    by_degree = {"mild": {"normal": 0.5, "low": 0.5}, "clear": {"low": 0.9}, "gross": {"low": 0.97}, "why": "w"}
    assert shares(NUMBER, by_degree, "mild") == pytest.approx(with_floor((0.0, 0.5, 0.5, 0.0)))
    by_way = {"rich": {"high": 0.9}, "lean": {"mild": {"low": 0.4}, "clear": {"far-low": 0.6, "low": 0.3}}}
    assert shares(NUMBER, by_way, "clear", "rich") == pytest.approx(with_floor((0.0, 0.0, 0.1, 0.9)))
    assert shares(NUMBER, by_way, "mild", "lean") == pytest.approx(with_floor((0.0, 0.4, 0.6, 0.0)))
    assert shares(NUMBER, {"rich": {"high": 0.9}}, "clear", "lean") is None


def test_all_ways_together_come_as_often_as_they_are_said_to():
    check = read(NUMBER, {"rich": {"high": 0.9}, "lean": {"low": 0.8}})
    together = signature_shares(check, "x", Ways({"rich": 0.25, "lean": 0.75}))
    rich, lean = (shares(NUMBER, check.moved_by["x"], "clear", way) for way in ("rich", "lean"))
    assert together == pytest.approx([0.25 * r + 0.75 * n for r, n in zip(rich, lean, strict=True)])


def test_a_number_to_expect_falls_where_the_normal_law_puts_it():
    """An eight-cylinder file in a six shows 6/8 of the true speed: -25 %; with 2 % spread it never reads within 3 %."""
    found = shares(NUMBER, {"expects": {"value": "-25 %", "spread": "2 %"}}, "clear")
    assert found == pytest.approx(with_floor((1.0, 0.0, 0.0, 0.0)))
    near = shares(NUMBER, {"expects": {"value": "-3 %", "spread": "2 %"}}, "gross")
    # On a limit: half of it on each side; sqrt(2^2 + 1^2) = 2.236, (10 - 3) / 2.236 = 3.13 sigma to far-low.
    assert near == pytest.approx(with_floor((0.00087, 0.49913, 0.49636, 0.00364)), abs=5e-5)


def test_a_number_may_come_from_the_car():
    check = {
        **SPARE,
        "reading": {"unit": "psi", "plausible": [0, 120], "uncertainty": 1},
        "bands": [{"outcome": "low", "to": 54}, {"outcome": "normal", "to": 62}, {"outcome": "high"}],
        "normal": "normal",
    }
    signature = {"expects": {"car": "rated-pressure", "times": 0.5, "spread": "1 psi"}}
    made = read(check, signature)
    assert variant_shares(made, signature, Variant("clear", None, 1.0), Car(rated_pressure=58)) == pytest.approx(
        with_floor((1.0, 0.0, 0.0))
    )
    assert variant_shares(made, signature, Variant("clear", None, 1.0), Car(rated_pressure=120)) == pytest.approx(
        with_floor((0.0, 0.92135, 0.07865)), abs=1e-4
    )
    assert isinstance(written_for(signature, None)["clear"], Expects)


@given(
    st.sampled_from([NUMBER, LOOK]),
    st.dictionaries(st.integers(0, 3), st.floats(0, 0.33), min_size=1, max_size=3),
)
def test_degrees_are_ordered(form, written):
    """Each degree is a distribution, and from mild to gross normal comes ever less often."""
    check = msgspec.convert(form, Check)
    named = {check.outcomes[at]: share for at, share in written.items() if at < len(check.outcomes)}
    clear = completed(check, named)
    normal = check.outcomes.index(check.normal)
    mild, gross = milder(check, clear), grosser(check, clear)
    for one in (mild, gross):
        assert math.fsum(one) == pytest.approx(1.0)
        assert min(one) >= 0.0
    assert gross[normal] <= clear[normal] + 1e-12 <= mild[normal] + 2e-12
    assert len(usual_shares(check)) == len(clear)


def test_a_look_leaves_what_is_not_named_as_usual():
    """A gearbox without a cable says nothing of the throttle stop; a number's rest still goes to its normal band."""
    look = {**LOOK, "usual": {"clear": 0.5, "kinked": 0.1, "split": 0.4}}
    assert shares(look, {"kinked": 0.2}, "clear") == pytest.approx((0.8 * 5 / 9, 0.2, 0.8 * 4 / 9), abs=2e-3)
    assert shares(LOOK, {"kinked": 0.2}, "clear") == pytest.approx((0.8, 0.2, 0.0), abs=2e-3)
