"""A problem that does not hang together is refused when it is made, in a sentence with advice."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from troubleshoot.problems import TroubleshootError
from troubleshoot.reasoning.problem import Cause, Check, Problem, Repair, Setup
from troubleshoot.reasoning.refusing import ProblemRefused
from troubleshoot.reasoning.states import state_space
from troubleshoot.reasoning.tables import tables_of

GOOD = Problem(
    causes=(Cause("a", 0.1, (0.9,), "repair-a"), Cause("b", 0.2, (0.5,))),
    checks=(Check("see", ("x", "y"), "y", (0.1, 0.9), {"a": (0.8, 0.2)}, 1.0, 0.0, "up"),),
    repairs=(Repair("repair-a", 10, 0, {"a": 0.9}),),
    concerns=("bad",),
    leak=(0.01,),
    setups=(Setup("up", 5),),
)


def with_cause(**changes):
    return {"causes": (replace(GOOD.causes[0], **changes), GOOD.causes[1])}


def with_check(**changes):
    return {"checks": (replace(GOOD.checks[0], **changes),)}


def with_repair(**changes):
    return {"repairs": (replace(GOOD.repairs[0], **changes),)}


@pytest.mark.parametrize(
    "changes",
    [
        {"causes": ()},
        {"causes": GOOD.causes * 2},
        with_cause(prior=-0.1),
        with_cause(prior=1.0),
        with_cause(prior=math.nan),
        with_cause(shows=()),
        with_cause(shows=(1.2,)),
        with_cause(repair="nothing"),
        {"leak": ()},
        {"leak": (math.inf,)},
        {"most_at_once": 0},
        {"most_at_once": 4},
        {"mistakes": 0.6},
        {"retest_error": 0.6},
        {"money_per_minute": -1.0},
        {"referral_minutes": math.inf},
        {"something_else": "c"},
        {"setups": (Setup("up", -1),)},
        with_check(normal="z"),
        with_check(outcomes=("x", "x")),
        with_check(usual=(0.1, 0.8)),
        with_check(usual=(1.0,)),
        with_check(usual=(-0.1, 1.1)),
        with_check(moved_by={"a": (0.5, 0.5 + 1e-8)}),
        with_check(moved_by={"nobody": (0.5, 0.5)}),
        with_check(minutes=-1.0),
        with_check(minutes=math.nan),
        with_check(parts=-1.0),
        with_check(setup="down"),
        with_repair(minutes=-1),
        with_repair(cures={"a": 1.2}),
        with_repair(cures={"a": 0.0}),
        with_repair(cures={}),
        with_repair(cures={"nobody": 1.0}),
        with_repair(look_minutes=math.inf),
    ],
    ids=lambda changes: str(changes)[:60],
)
def test_what_cannot_be_is_refused(changes):
    with pytest.raises(ProblemRefused) as refused:
        replace(GOOD, **changes)
    assert isinstance(refused.value, TroubleshootError)
    assert refused.value.sentence
    assert refused.value.advice


def test_concerns_no_cause_can_show_are_refused():
    with pytest.raises(ProblemRefused):
        assert tables_of(replace(GOOD, leak=(0.0,), causes=(Cause("a", 0.1, (0.0,)),), checks=(), repairs=())).whole


@pytest.mark.parametrize(("n", "most"), [(1, 1), (1, 2), (4, 1), (5, 2), (6, 3), (2, 3)])
def test_the_states_are_all_sets_once(n, most):
    """Of n causes there are sum over k up to `most` of n choose k sets; repairing one leads to the set without it."""
    space = state_space((1,) * n, most)
    sets = [frozenset(space.members(state)) for state in range(space.size)]
    assert len(set(sets)) == space.size == sum(math.comb(n, k) for k in range(most + 1))
    for cause in range(n):
        source, target = space.without(cause)
        assert sorted(source) == [s for s in range(space.size) if cause in sets[s]]
        assert len(np.unique(target)) == len(target)
        for s, t in zip(source, target, strict=True):
            assert sets[t] == sets[s] - {cause}


@pytest.mark.parametrize("most", [1, 2, 3])
def test_a_state_holds_one_variant_of_a_cause(most):
    """Causes of 2, 1 and 3 variants: 1 + 6 + 11 + 6 states; without a cause its variants become the same state."""
    space = state_space((2, 1, 3), most)
    sets = [space.members(state) for state in range(space.size)]
    own = (0, 0, 1, 2, 2, 2)
    assert all(len({own[variant] for variant in held}) == len(held) for held in sets)
    assert len(set(sets)) == space.size == sum((1, 6, 2 + 6 + 3, 6)[: most + 1])
    for cause in range(3):
        for s, t in zip(*space.without(cause), strict=True):
            assert sets[t] == tuple(variant for variant in sets[s] if own[variant] != cause)
