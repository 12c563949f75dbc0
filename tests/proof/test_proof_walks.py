"""The closed loop: cases drawn by number, walks, what they come to, and runs that stop and go on."""

import itertools
import math

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from troubleshoot.bench.answering import own_parameter_checks
from troubleshoot.bench.fault_causes import FAULT_CAUSES, same_cause
from troubleshoot.bench.patients import left_after, patients
from troubleshoot.knowledge.catalogue import load_catalogue
from troubleshoot.proof.cases import draw_case
from troubleshoot.proof.figures import Share, confusions, figures
from troubleshoot.proof.policies import POLICIES, probability_over_cost
from troubleshoot.proof.run import ProofPlan, numbers_in, replay, run_plan
from troubleshoot.proof.table import proof_data, proof_table
from troubleshoot.proof.walk import Conduct, Problems, WalkResult, remaining, walk

TREES = load_catalogue()
RARE = sorted(name for name, tool in TREES.tools.items() if not tool.common)
SEED = 2026


def _of_one_kind(pairs: bool, most: int):
    """Return cases of one kind of car, so that its sound cars are computed once."""
    drawn = (draw_case(SEED, number, pairs, RARE) for number in itertools.count(0, 2))
    chosen = itertools.islice((one for one in drawn if (one.engine, one.ignition) == ("harrow-240", "points")), most)
    return [one for one in patients(list(chosen), SEED) if one is not None]


@pytest.fixture(scope="module")
def single():
    """Some single faults that show."""
    return _of_one_kind(False, 6)


@pytest.fixture(scope="module")
def double():
    """Two pairs of faults."""
    return _of_one_kind(True, 2)


@pytest.mark.parametrize("trial", [Share(90, 100), Share(100, 100), Share(0, 7), Share(1910, 2000)])
def test_interval_agrees_with_the_reference_library(trial):
    """The 95 % score interval of a share (Wilson 1927), as scipy gives it."""
    told = binomtest(trial.hits, trial.cases).proportion_ci(0.95, method="wilson")
    assert trial.interval == pytest.approx((told.low, told.high), abs=1e-9)


@given(st.integers(0, 10**6), st.integers(0, 10**6))
def test_halves_never_meet(first, second):
    """Numbers of the half for work and of the half for the report have nothing in common."""
    work = set(numbers_in(ProofPlan(1, half="work"), first))
    assert not work & set(numbers_in(ProofPlan(1, half="report"), second))


def test_a_case_follows_from_its_number():
    """The same seed and number draw the same case, whatever was drawn before; other numbers draw others."""
    again = [draw_case(SEED, number, False, RARE) for number in (9, 3)]
    assert again == [draw_case(SEED, number, False, RARE) for number in (9, 3)]
    assert len({draw_case(SEED, number, True, RARE).faults for number in range(40)}) > 35
    assert all(len({name for name, _ in draw_case(SEED, n, True, RARE).faults}) == 2 for n in range(40))


def test_a_car_does_not_depend_on_its_neighbours(single):
    """A car computed alone reads as in a batch, so that a case can be replayed by its number."""
    alone = next(patients([single[0].case], SEED))
    state = single[0].case.faults
    assert alone.reported == single[0].reported
    for name, value in single[0].readings[state].items():
        assert alone.readings[state][name] == pytest.approx(value, rel=1e-9, abs=1e-9, nan_ok=True)


def test_repairing_everything_ends_the_complaint(single, double):
    """With every fault repaired nothing of what was reported remains, and with none repaired all of it does."""
    for patient in (*single, *double):
        assert remaining(patient, ()) == 0.0
        assert remaining(patient, patient.case.faults) == 1.0
    assert left_after((("a", 1.0), ("b", 0.5)), frozenset({"a"})) == (("b", 0.5),)


@pytest.mark.parametrize("policy", ["the tool", "authored order", "probability over cost"])
def test_walks_keep_the_rules(policy, single, double):
    """Time and steps add up, a cure leaves no fault, nothing is left out that was asked, and a walk always ends."""
    problems = Problems(TREES)
    for patient in (*single[:3], *double[:1]):
        result = walk(patient, TREES, problems.of(patient), POLICIES[policy])
        repairs = [line for line in result.trail if line.startswith("repair ")]
        assert len(repairs) == result.repairs
        assert sum(": " in line and not line.startswith("repair ") for line in result.trail) >= result.checks
        assert result.minutes > 0.0 and result.parts >= 0.0
        assert 0.0 <= result.stated <= 1.0 and len(result.ranking) == 6
        assert result.gone or not result.cured
        assert result.cured or not result.first_cured
        if result.cured:
            truths = set(result.truth)
            done = {line.split()[1].rstrip(":") for line in repairs}
            assert all(any(same_cause(result.engine, truth, one) for one in done) for truth in truths)


def test_repairs_alone_make_no_check(single):
    """Probability over cost never looks at the car."""
    patient = single[0]
    assert walk(patient, TREES, Problems(TREES).of(patient), probability_over_cost).checks == 0


def test_what_is_left_out_is_not_asked(single):
    """Without the checks that read the fault's own parameter none of them is in the trail."""
    patient = single[1]
    result = walk(patient, TREES, Problems(TREES).of(patient), POLICIES["the tool"], Conduct(own_parameter_checks()))
    assert not {line.split(":")[0] for line in result.trail} & own_parameter_checks()


def test_nothing_is_read_twice_between_two_repairs(single, double):
    """A check is read again only after a repair of a cause that moves it."""
    problems = Problems(TREES)
    for patient in (*single[:2], *double):
        trail = walk(patient, TREES, problems.of(patient), POLICIES["the tool"]).trail
        for repair, lines in itertools.groupby(trail, key=lambda line: line.startswith("repair ")):
            names = [line.split(":")[0] for line in lines]
            assert repair or len(names) == len(set(names))


def test_rates_of_the_population(single):
    """Rates that fit the proof leave next to nothing for what the engine cannot have, and one fault at a time."""
    shipped = Problems(TREES).of(single[0])
    fitted = Problems(TREES, population=True).of(single[0])
    assert fitted.most_at_once == 1 and shipped.most_at_once == 2
    assert Problems(TREES, population=True, pairs=True).of(single[0]).most_at_once == 2
    joined = set(FAULT_CAUSES.values())
    assert all((cause.prior > 1e-3) == (cause.id in joined) for cause in fitted.causes)


@pytest.mark.slow
def test_stopped_run_goes_on_and_answers_the_same(tmp_path, monkeypatch):
    """Finished blocks are read back, a torn one is run again, and the table is the same to the letter.

    On cars of a population, whose drivers know their own car, so that no others need be computed beside them.
    """
    monkeypatch.setattr("troubleshoot.proof.run.BLOCK", 2)
    policy = "probability over cost"
    plan = ProofPlan(2, half="work", policies=(policy,), drawn=True)
    told = []
    first = run_plan(plan, tmp_path, lambda done, of: told.append((done, of)), workers=1)
    kept = sorted(tmp_path.glob("*.msgpack"))
    assert len(kept) >= 2 and told[-1] == (2, 2)
    kept[1].write_bytes(kept[1].read_bytes()[:40])
    untouched = kept[0].stat().st_mtime_ns
    again = run_plan(plan, tmp_path, lambda *_: None, workers=1)
    assert proof_table(first, False, 1.0) == proof_table(again, False, 1.0)
    assert kept[0].stat().st_mtime_ns == untouched
    earlier = first[policy][0]
    alone = replay(plan, earlier.number, (policy,))[policy]
    assert alone.trail == earlier.trail and alone.minutes == pytest.approx(earlier.minutes)


def _result(number: int, truth: tuple[str, ...], ranking: tuple[str, ...], stated: float) -> WalkResult:
    return WalkResult(number, "harrow-240", ("stalls",), truth, ranking=ranking, stated=stated, in_turn=truth[:1])


def test_figures_of_results_counted_by_hand():
    """Of four walks two lead with the truth, three have it in the first three; said 80 %, right 50 %: error 0.30."""
    found = [
        _result(1, ("pump-dead",), ("pump-dead", "no-spark", "coil-weak"), 0.8),
        _result(2, ("pump-dead",), ("pump-dead", "no-spark", "coil-weak"), 0.8),
        _result(3, ("pump-dead",), ("no-spark", "coil-weak", "pump-dead"), 0.8),
        _result(5, ("pump-dead", "vacuum-leak"), ("no-spark", "coil-weak", "plugs-worn", "pump-worn"), 0.8),
    ]
    told = figures(found)
    assert (told.first.hits, told.first_three.hits, told.both_in_four.hits) == (2, 3, 3)
    assert told.all_in_turn.hits == 3
    assert told.calibration_error == pytest.approx(0.3)
    assert [(one.truth, one.replay) for one in confusions(found)] == [("pump-dead", 3), ("pump-dead + vacuum-leak", 5)]
    assert msgspec.json.encode(proof_data({"the tool": found}))
    assert math.isclose(sum(one.right.cases for one in told.calibration), len(found))
