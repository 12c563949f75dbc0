"""What is believed after everything that has happened: exact weights over the states.

Within an epoch (the time between two repairs) everything is evidence and its order does not
matter. A repair closes the epoch: it is a filter that moves weight from the states that hold the
repaired cause to the states without it.

Weight is kept in two layers. `showing` is the weight in which the concern is still there, `hidden`
that in which it is gone. A concern that has been heard goes on until a repair takes away what
showed it, so a retest is not the base rate of the concern counted a second time.

A cause that shows none of the concerns may be present all the same. It stands beside another cause once the readings
speak for it; until then it is believed alone, for what nothing touches changes nothing about the others.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from troubleshoot.reasoning.events import Evidence, Happening, Looked, Repaired, Retested
from troubleshoot.reasoning.problem import Problem
from troubleshoot.reasoning.refusing import EvidenceRefused
from troubleshoot.reasoning.tables import Floats, Scope, Tables, tables_of
from troubleshoot.reasoning.weighing import refuse_bad_reading, spoken_for, weigh

__all__ = ["Belief", "Evidence", "Happening", "Looked", "Ranked", "Repaired", "Retested", "believe", "first_belief"]


@dataclass(frozen=True)
class Ranked:
    """One cause and the probability that it is present, alone or with another."""

    cause: str
    probability: float

    @property
    def states(self) -> frozenset[str]:
        """The cause as a set, for callers that show sets."""
        return frozenset({self.cause})


@dataclass(frozen=True, eq=False)
class Belief:
    """Weights over the states of a scope, summing to 1.

    `surprise` is -ln of the probability of all readings so far, in nats.
    `nothing_fits` says that some readings cannot all be true of any listed state; the weights are
    then those without the readings in the way, and `doubtful` names the check to measure again.
    """

    problem: Problem
    scope: Scope
    showing: Floats
    hidden: Floats
    surprise: float = 0.0
    nothing_fits: bool = False
    doubtful: str | None = None

    @property
    def tables(self) -> Tables:
        """The arrays of the problem."""
        return tables_of(self.problem)

    @cached_property
    def weights(self) -> Floats:
        """The weight of every state, in the order of the scope's space."""
        return self.showing + self.hidden

    @cached_property
    def square(self) -> Floats:
        """The weights of the pairs that show, as a symmetric matrix over the paired variants."""
        return self.scope.space.square(self.showing)

    @cached_property
    def _per_variant(self) -> Floats:
        return self.scope.space.per_variant(self.weights)

    @cached_property
    def marginals(self) -> Floats:
        """P(cause is present) in the order of the problem's causes."""
        return self.scope.space.by_cause(self._per_variant)

    @property
    def none(self) -> float:
        """P(no listed cause is present)."""
        return float(self.weights[0])

    def probability(self, cause: str) -> float:
        """P(this cause is present, alone or with another)."""
        return float(self.marginals[self.tables.index[cause]])

    def chance_of(self, repair: str) -> float:
        """P(something that this repair cures is present)."""
        causes = list(self.problem.repair_named[repair].cures)
        if len(causes) == 1:
            return self.probability(causes[0])
        return float(self.weights @ self.scope.space.holds([self.tables.index[cause] for cause in causes]))

    @property
    def leader(self) -> Ranked:
        """The most probable cause; the first of `ranked`."""
        first = int(np.argmax(self.marginals))
        return Ranked(self.problem.causes[first].id, float(self.marginals[first]))

    def ranked(self, most: int | None = None) -> tuple[Ranked, ...]:
        """All causes (or the first `most`), the most probable first; equal ones in the problem's order."""
        order = np.argsort(-self.marginals, kind="stable")[:most]
        return tuple(Ranked(self.problem.causes[i].id, float(self.marginals[i])) for i in order)

    def pairs(self, most: int) -> tuple[tuple[str, str, float], ...]:
        """The `most` most probable pairs of causes, each as the only ones present."""
        space, causes, n = self.scope.space, self.problem.causes, len(self.problem.causes)
        place = space.cause_of[space.pair_first] * n + space.cause_of[space.pair_second]
        weight = np.bincount(place, self.weights[space.pairs], n * n)
        order = np.argsort(-weight, kind="stable")[:most]
        return tuple((causes[at // n].id, causes[at % n].id, float(weight[at])) for at in order if weight[at] > 0.0)

    def state(self, *causes: str) -> float:
        """P(exactly these causes are present)."""
        return float(self.weights[self.scope.space.held([self.tables.index[cause] for cause in causes])].sum())

    def variants(self, cause: str) -> tuple[float, ...]:
        """P(each form of a cause | it is present), in the order of its variants."""
        tables = self.tables
        at, known = tables.index[cause], self.problem.cause_named[cause]
        begin = int(tables.begins[at])
        shares = self._per_variant[begin : begin + len(known.variants)]
        total = float(shares.sum())
        return tuple((shares / total).tolist()) if total > 0.0 else tuple(one.weight for one in known.variants)


def first_belief(problem: Problem, readings: Sequence[Evidence] = ()) -> Belief:
    """What is believed when only the concerns have been heard, over the states that `readings` will bear on."""
    tables = tables_of(problem)
    scope = tables.scope(spoken_for(problem, readings))
    return Belief(problem, scope, scope.prior, np.zeros_like(scope.prior))


def believe(problem: Problem, happened: Sequence[Happening]) -> Belief:
    """What is believed after `happened`, in the order it happened.

    Raises `EvidenceRefused` for an unknown check or repair, or shares that are not finite, negative
    or do not sum to 1. Evidence that no state can explain is no error: see `Belief.nothing_fits`.
    """
    readings = [event for event in happened if isinstance(event, Evidence)]
    for reading in readings:
        refuse_bad_reading(problem, reading)
    belief = first_belief(problem, readings)
    for epoch, repair in epochs(happened):
        belief = take_in(belief, epoch)
        if repair is not None:
            belief = with_repair(belief, repair.repair)
    return belief


def epochs(happened: Sequence[Happening]) -> Iterator[tuple[list[Happening], Repaired | None]]:
    """Cut a case at its repairs: the evidence of each epoch and the repair that ended it."""
    evidence: list[Happening] = []
    for event in happened:
        if isinstance(event, Repaired):
            yield evidence, event
            evidence = []
        else:
            evidence.append(event)
    yield evidence, None


def last_readings(happened: Sequence[Happening]) -> tuple[Evidence, ...]:
    """Return the readings since the last repair."""
    last = [evidence for evidence, _ in epochs(happened)][-1]
    return tuple(event for event in last if isinstance(event, Evidence))


def take_in(belief: Belief, evidence: Sequence[Happening]) -> Belief:
    """Belief after the evidence of one epoch, in any order; never fails on evidence that fits nothing."""
    if not evidence:
        return belief
    taken = _weigh(belief, evidence)
    if taken is not None:
        return taken
    kept, dropped = _without_the_doubtful(belief, evidence)
    doubtful = evidence[dropped]
    check = doubtful.check if isinstance(doubtful, Evidence) else None
    return replace(kept, nothing_fits=True, doubtful=check)


def with_repair(belief: Belief, repair: str) -> Belief:
    """Belief after a repair: weight moves to the states without what it cured; none is lost."""
    if repair not in belief.problem.repair_named:
        raise EvidenceRefused(f"There is no repair {repair!r} in this problem.", "Use the id of a listed repair.")
    tables, scope = belief.tables, belief.scope
    showing, hidden = belief.showing.copy(), belief.hidden.copy()
    for cause, probability in belief.problem.repair_named[repair].cures.items():
        source, target = scope.space.without(tables.index[cause])
        keeps = _keeps_showing(scope.shows, source, target)
        moved = probability * showing[source]
        hidden_moved = probability * hidden[source]
        showing[source] -= moved
        hidden[source] -= hidden_moved
        # Several variants of the cause become one state, so their weights are summed up before they are added.
        showing += np.bincount(target, moved * keeps, len(showing))
        hidden += np.bincount(target, hidden_moved + moved * (1.0 - keeps), len(hidden))
    return replace(belief, showing=showing, hidden=hidden)


def chance_it_ends(belief: Belief, repair: str) -> float:
    """P(nothing of what was complained of is left after this repair): what it cures may not be all that shows."""
    return float(with_repair(belief, repair).hidden.sum())


def _keeps_showing(shows: Floats, source: np.ndarray, target: np.ndarray) -> Floats:
    """P(some concern goes on | it was there in `source`, which has become `target`)."""
    if not len(shows):
        return (target > 0).astype(np.float64)
    before, after = shows[:, source], shows[:, target]
    ratio = np.divide(after, before, out=np.zeros_like(after), where=before > 0.0)
    kept: Floats = 1.0 - np.prod(1.0 - np.minimum(ratio, 1.0), axis=0)
    return kept


def _weigh(belief: Belief, evidence: Sequence[Happening]) -> Belief | None:
    """Belief after the evidence, or None when no state can explain it."""
    problem = belief.problem
    readings = [event for event in evidence if isinstance(event, Evidence)]
    likelihood, logarithm = weigh(problem, belief.scope, readings)
    showing, hidden = belief.showing * likelihood, belief.hidden * likelihood
    for event in evidence:
        if isinstance(event, Retested):
            showing, hidden = _retest(problem, event, showing, hidden)
        elif isinstance(event, Looked):
            seen = _look(belief, event)
            showing, hidden = showing * seen, hidden * seen
    norm = float(showing.sum() + hidden.sum())
    if not (norm > 0.0 and math.isfinite(norm)):
        return None
    surprise = belief.surprise - math.log(norm) - logarithm
    return replace(belief, showing=showing / norm, hidden=hidden / norm, surprise=surprise)


def _retest(problem: Problem, event: Retested, showing: Floats, hidden: Floats) -> tuple[Floats, Floats]:
    if not (math.isfinite(event.remains) and 0.0 <= event.remains <= 1.0):
        raise EvidenceRefused(f"A retest of {event.remains} cannot be.", "Say 0 for gone, 1 for still there.")
    error, there = problem.retest_error, event.remains
    gone = 1.0 - there
    return showing * (there * (1.0 - error) + gone * error), hidden * (there * error + gone * (1.0 - error))


def _look(belief: Belief, event: Looked) -> Floats:
    problem = belief.problem
    if event.repair not in problem.repair_named:
        raise EvidenceRefused(f"There is no repair {event.repair!r} in this problem.", "Use a listed repair.")
    holds = belief.scope.space.holds([belief.tables.index[cause] for cause in problem.repair_named[event.repair].cures])
    return holds if event.found else 1.0 - holds


def _without_the_doubtful(belief: Belief, evidence: Sequence[Happening]) -> tuple[Belief, int]:
    """The belief without the one event whose removal leaves the best fit, and which event that is.

    When no single one stands in the way, events are taken in one by one and those that do not fit
    are left out; the first of them is the doubtful one.
    """
    best: tuple[Belief, int] | None = None
    for at in range(len(evidence)):
        rest = [event for other, event in enumerate(evidence) if other != at]
        trial = _weigh(belief, rest) if rest else belief
        if trial is not None and (best is None or trial.surprise < best[0].surprise - 1e-12):
            best = trial, at
    if best is not None:
        return best
    kept: list[Happening] = []
    last, dropped = belief, -1
    for at, event in enumerate(evidence):
        trial = _weigh(belief, [*kept, event])
        if trial is None:
            dropped = at if dropped < 0 else dropped
        else:
            kept.append(event)
            last = trial
    return last, dropped
