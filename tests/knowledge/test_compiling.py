"""From catalogue to problem: distributions that add up, only what this car can have and these tools can do."""

from __future__ import annotations

import math

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from troubleshoot.knowledge import compiling
from troubleshoot.knowledge.answers import ReadingRefused, written_readings
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import load_catalogue
from troubleshoot.knowledge.compiling import compile_problem, fits
from troubleshoot.knowledge.frequencies import FrequencyRefused, frequency
from troubleshoot.knowledge.healthy_cars import accusations
from troubleshoot.knowledge.model import FREQUENCY_WORDS, Check, WorkedCase
from troubleshoot.knowledge.signatures import broad_shares, signature_shares, usual_shares
from troubleshoot.knowledge.worked_cases import WorkedCases, belief_of
from troubleshoot.problems import TroubleshootError

SEEN = {"ask": "a", "why": "w", "do": ["d"], "state": "idle", "minutes": 1, "basis": "b"}


def seen(outcomes, **more):
    choices = [{"outcome": one, "words": one} for one in outcomes]
    return msgspec.convert({**SEEN, "choices": choices, **more}, Check)


def test_words_and_numbers():
    for word, share in FREQUENCY_WORDS.items():
        assert frequency(word) == share
    assert frequency(0.42) == 0.42
    for bad in ("nerly always", -0.1, 1.1, math.nan):
        with pytest.raises(FrequencyRefused):
            frequency(bad)


def test_what_is_left_goes_to_normal():
    check = seen(["low", "normal", "high"], normal="normal", **{"moved-by": {"x": {"low": 0.9, "why": "so"}}})
    floor = 0.003 / 3
    assert signature_shares(check, "x") == pytest.approx([0.997 * 0.9 + floor, 0.997 * 0.1 + floor, floor])


def test_without_normal_what_is_left_goes_evenly_to_the_unnamed():
    check = seen(["a", "b", "c"], usual={"a": 0.5, "b": 0.5}, **{"moved-by": {"x": {"a": 0.4}}})
    assert signature_shares(check, "x") == pytest.approx([0.997 * s + 0.003 / 3 for s in (0.4, 0.3, 0.3)])


def test_usual_by_default_is_normal():
    check = seen(["low", "normal", "high"], normal="normal")
    assert usual_shares(check) == pytest.approx([0.997 * s + 0.003 / 3 for s in (0.02, 0.96, 0.02)])


@given(
    st.integers(2, 6),
    st.dictionaries(st.integers(0, 5), st.floats(0, 1), max_size=6),
    st.booleans(),
)
def test_every_distribution_sums_to_one_and_rules_nothing_out(outcomes, written, has_normal):
    names = [f"o{i}" for i in range(outcomes)]
    signature = {f"o{i}": share for i, share in written.items() if i < outcomes}
    more = {"normal": "o0"} if has_normal else {"usual": {"o0": 1.0}}
    check = seen(names, **more, **{"moved-by": {"x": signature}})
    for shares in (signature_shares(check, "x"), usual_shares(check), broad_shares(check)):
        assert math.fsum(shares) == pytest.approx(1.0, abs=1e-12)
        assert min(shares) > 0.0


def test_conditions_name_values_and_nothing_else():
    car = Car(cylinders=6, ignition="electronic", sweeps_at_key_on=True)
    assert fits(car, {})
    assert fits(car, {"cylinders": [6, 8], "ignition": ["electronic"]})
    assert fits(car, {"sweeps-at-key-on": [True]})
    assert not fits(car, {"sweeps-at-key-on": [1.0]})
    assert not fits(car, {"cylinders": [8]})
    assert not fits(car, {"colour": ["red"]})


def test_a_problem_holds_what_the_car_can_have_and_the_tools_can_do(trees):
    root = trees({"causes/fuel.yaml": ("  rate: 0.02", "  rate: 0.02\n  for: {return-line: [return]}")})
    catalogue = load_catalogue(root=root)
    whole = compile_problem(catalogue, Car(), ["runs-weak"])
    assert [cause.id for cause in whole.causes] == [
        "strainer-blocked", "pump-volts-low", "regulator-high", "something-else",
    ]  # fmt: skip
    assert {check.id for check in whole.checks} == {"pressure", "volts", "hose-look"}
    assert whole.causes[0].shows == (0.85,) and whole.leak == (0.01,)
    dead_head = compile_problem(catalogue, Car(return_line="dead head"), ["runs-weak"])
    assert "regulator-high" not in [cause.id for cause in dead_head.causes]
    assert all("regulator-high" not in check.moved_by for check in dead_head.checks)
    bare = compile_problem(catalogue, Car(), ["runs-weak"], tools=["voltmeter"])
    assert {check.id for check in bare.checks} == {"volts", "hose-look"}
    assert bare.something_else == "something-else"


def test_engine_states_that_cannot_be_had_are_left_out(trees):
    root = trees({"concerns/runs-weak.yaml": ("meaning:", "rules-out: [idle]\nmeaning:")})
    problem = compile_problem(load_catalogue(root=root), Car(), ["runs-weak"])
    assert [check.id for check in problem.checks] == ["hose-look"]


def test_rates_learned_take_the_place_of_the_written_ones(trees):
    catalogue = load_catalogue(root=trees())
    problem = compile_problem(catalogue, Car(), ["runs-weak"], rates={"strainer-blocked": 0.5})
    assert problem.causes[0].prior == 0.5 and problem.causes[1].prior == 0.04


def test_a_problem_is_kept_for_all_it_was_compiled_from(trees):
    """Asked for again it is the same; with anything else given it is what a fresh catalogue says."""
    root, car = trees(), Car()
    ways = (
        {}, {"tools": []}, {"tools": ["voltmeter"]}, {"tools": [], "taken": ["volts"]}, {"money_per_minute": 2.0},
        {"rates": {"strainer-blocked": 0.5}}, {"rates": {"strainer-blocked": 0.4}}, {"only": []}, {"only": ["volts"]},
        {"repairs": False}, {"listed_only": True}, {"concerns": []}, {"car": Car(rated_pressure=43)},
    )  # fmt: skip
    assert len(ways) > compiling.MOST_KEPT
    kept, asked = load_catalogue(root=root), {"car": car, "concerns": ["runs-weak"]}
    for way in (*ways, *ways[::-1]):
        found = compile_problem(kept, **{**asked, **way})
        assert found is compile_problem(kept, **{**asked, **way})
        assert found == compile_problem(msgspec.structs.replace(kept), **{**asked, **way})
    assert len(kept.problems) == compiling.MOST_KEPT


def test_no_concern_means_every_cause(trees):
    assert len(compile_problem(load_catalogue(root=trees()), Car(), []).causes) == 4


def test_an_unknown_concern_says_which_is_meant(trees):
    with pytest.raises(TroubleshootError, match="did you mean runs-weak"):
        compile_problem(load_catalogue(root=trees()), Car(), ["run-weak"])


def test_readings_as_written(trees):
    catalogue = load_catalogue(root=trees())
    taken = written_readings(catalogue.checks, Car(), {"pressure": "4 bar", "volts": "skipped", "hose-look": "kinked"})
    assert list(taken) == ["pressure", "hose-look"]
    assert taken["pressure"].value == pytest.approx(58.0, abs=0.1)
    assert taken["hose-look"].shares == (0.0, 1.0)
    assert written_readings(catalogue.checks, Car(), {"pressure": "low"})["pressure"].shares == (1.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("written", "words"),
    [
        ({"presure": "40 psi"}, "did you mean pressure"),
        ({"pressure": "40 V"}, "V"),
        ({"pressure": "400 psi"}, "outside"),
        ({"pressure": "much"}, "much"),
        ({"pressure": "nan"}, "nan"),
        ({"hose-look": "kinkd"}, "did you mean kinked"),
    ],
)
def test_bad_readings_are_refused_in_words(trees, written, words):
    with pytest.raises(ReadingRefused, match=words):
        written_readings(load_catalogue(root=trees()).checks, Car(), written)


def test_cases_lead_and_a_sound_car_is_not_accused(trees):
    catalogue = load_catalogue(root=trees())
    for case in catalogue.cases["runs-weak"]:
        assert WorkedCases(catalogue).run(case, "runs-weak").complaints == ()
    assert accusations(catalogue, catalogue.healthy["sound"], ["runs-weak"]) == {}


TREE = "title: T\nsays: s\nmeaning: m\nshows: {strainer-blocked: often, regulator-high: 0.2}\nreported-anyway: 0.02\n"


def test_a_case_that_comes_out_otherwise_says_how(trees):
    catalogue = load_catalogue(root=trees())

    def complaints(**expected):
        readings = {"pressure": "40 psi", "volts": "13.6 V"}
        case = msgspec.convert({"name": "c", "car": "plain-eight", "readings": readings, **expected}, WorkedCase)
        return " ".join(WorkedCases(catalogue).run(case, "runs-weak").complaints)

    assert "the order is strainer-blocked" in complaints(leads=["regulator-high"])
    assert "must not lead" in complaints(**{"must-not-lead": ["strainer-blocked"]})
    assert "less than 99 %" in complaints(leads=["strainer-blocked"], **{"at-least": 0.99})
    assert "together" in complaints(both=["strainer-blocked", "pump-volts-low"])


def test_checks_not_made_change_no_belief(trees):
    catalogue = load_catalogue(root=trees())
    taken = written_readings(catalogue.checks, Car(), {"pressure": "40 psi"})
    few = belief_of(catalogue, Car(), ["runs-weak"], taken)
    all_of_them = belief_of(catalogue, Car(), ["runs-weak"], taken, all_checks=True)
    assert few.marginals == pytest.approx(all_of_them.marginals)


def test_a_concern_hears_one_way_and_not_the_other(trees):
    """A delay entered too long runs rich, one too short does not: 0.6 of one way is 0.3 of the cause."""
    root = trees(
        {
            "causes/fuel.yaml": ("  rate: 0.02", "  rate: 0.02\n  ways: {long: 0.5, short: 0.5}"),
            "concerns/runs-weak.yaml": ("regulator-high: sometimes}", "regulator-high: {long: 0.6}}"),
        }
    )
    problem = compile_problem(load_catalogue(root=root), Car(), ["runs-weak"])
    cause = next(one for one in problem.causes if one.id == "regulator-high")
    assert cause.shows == pytest.approx((0.301,))
    heard = {(one.degree, one.way): (one.shows or cause.shows)[0] for one in cause.variants}
    assert [heard[degree, "long"] for degree in ("mild", "clear", "gross")] == pytest.approx([0.3, 0.6, 0.84])
    assert max(heard[degree, "short"] for degree in ("mild", "clear", "gross")) < 0.005
