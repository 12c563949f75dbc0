"""What is believed after everything that has happened: exact weights over the states.

Within an epoch (the time between two repairs) everything is evidence and its order does not
matter. A repair closes the epoch: it is a filter that moves weight from the states that hold the
mended cause to the states without it.

Weight is kept in two layers. `showing` is the weight in which the concern is still there, `hidden`
that in which it is gone. A concern that has been heard goes on until a repair takes away what
showed it, so a retest is not the base rate of the concern counted a second time.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from troubleshoot.reasoning.events import Evidence, Happening, Looked, Repaired, Retested
from troubleshoot.reasoning.problem import Problem
from troubleshoot.reasoning.refusing import EvidenceRefused
from troubleshoot.reasoning.tables import Floats
from troubleshoot.reasoning.weighing import (
    Likelihoods,
    exponents,
    likelihood_of,
    normal_logarithm,
    refuse_bad_reading,
    wholly_normal,
)

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
    """Weights over the states of a problem, summing to 1.

    `surprise` is -ln of the (discounted) probability of all readings so far, in nats.
    `nothing_fits` says that some readings cannot all be true of any listed state; the weights are
    then those without the readings in the way, and `doubtful` names the check to measure again.
    `read` are the checks of this epoch; `likelihoods` has what the readings that were not simply normal say.
    """

    problem: Problem
    showing: Floats
    hidden: Floats
    surprise: float = 0.0
    nothing_fits: bool = False
    doubtful: str | None = None
    read: tuple[str, ...] = ()
    likelihoods: Likelihoods = field(default_factory=dict)

    @cached_property
    def weights(self) -> Floats:
        """The weight of every state, in the order of `Problem.tables.space`."""
        return self.showing + self.hidden

    @cached_property
    def marginals(self) -> Floats:
        """P(cause is present) in the order of the problem's causes."""
        return self.problem.tables.space.marginals(self.weights)

    @property
    def none(self) -> float:
        """P(no listed cause is present)."""
        return float(self.weights[0])

    def probability(self, cause: str) -> float:
        """P(this cause is present, alone or with another)."""
        return float(self.marginals[self.problem.tables.index[cause]])

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
        """The `most` most probable states of exactly two causes."""
        space, causes = self.problem.tables.space, self.problem.causes
        weight = self.weights[space.pairs]
        order = np.argsort(-weight, kind="stable")[:most]
        return tuple((causes[space.pair_first[k]].id, causes[space.pair_second[k]].id, float(weight[k])) for k in order)

    def state(self, *causes: str) -> float:
        """P(exactly these causes are present)."""
        wanted = sorted(self.problem.tables.index[cause] for cause in causes)
        space = self.problem.tables.space
        if not wanted:
            return self.none
        if len(wanted) == 1:
            return float(self.weights[1 + wanted[0]])
        if len(wanted) == 2 and space.most > 1:
            return float(self.weights[int(space.pair_state(np.array(wanted[0]), np.array(wanted[1])))])
        states = [s for s in range(space.triples.start, space.size) if list(space.members(s)) == wanted]
        return float(self.weights[states].sum())


def first_belief(problem: Problem) -> Belief:
    """What is believed when only the concerns have been heard."""
    prior = problem.tables.prior
    return Belief(problem, prior, np.zeros_like(prior))


def beginning(problem: Problem, known: Belief | None) -> Belief:
    """The first belief, with what the readings say that another belief of the same case has taken in."""
    first = first_belief(problem)
    return first if known is None or known.problem is not problem else replace(first, likelihoods=known.likelihoods)


def believe(problem: Problem, happened: Sequence[Happening], before: Belief | None = None) -> Belief:
    """What is believed after `happened`, in the order it happened.

    What readings say is taken from the belief of a moment `before` in the same case, where that has it.
    Raises `EvidenceRefused` for an unknown check or repair, or shares that are not finite, negative
    or do not sum to 1. Evidence that no state can explain is no error: see `Belief.nothing_fits`.
    """
    belief = beginning(problem, before)
    for epoch, repair in epochs(happened):
        belief = take_in(belief, epoch)
        if repair is not None:
            belief = mend(belief, repair.repair)
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


def mend(belief: Belief, repair: str) -> Belief:
    """Belief after a repair: weight moves to the states without what it cured; none is lost."""
    if repair not in belief.problem.repair_named:
        raise EvidenceRefused(f"There is no repair {repair!r} in this problem.", "Use the id of a listed repair.")
    tables = belief.problem.tables
    showing, hidden = belief.showing.copy(), belief.hidden.copy()
    for cause, probability in belief.problem.repair_named[repair].cures.items():
        source, target = tables.space.without(tables.index[cause])
        keeps = _keeps_showing(tables.shows, source, target)
        moved = probability * showing[source]
        showing[source] -= moved
        showing[target] += moved * keeps
        hidden_moved = probability * hidden[source]
        hidden[source] -= hidden_moved
        hidden[target] += hidden_moved + moved * (1.0 - keeps)
    return replace(belief, showing=showing, hidden=hidden, read=())


def chance_it_ends(belief: Belief, repair: str) -> float:
    """P(nothing of what was complained of is left after this repair): what it cures may not be all that shows."""
    return float(mend(belief, repair).hidden.sum())


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
    for reading in readings:
        refuse_bad_reading(problem, reading)
    power = exponents(problem, [reading.check for reading in readings])
    normal = [one for one in readings if wholly_normal(problem, one)]
    others = [one for one in readings if not wholly_normal(problem, one)] if normal else readings
    said = {one: belief.likelihoods.get(one) or likelihood_of(problem, one) for one in others}
    total = np.zeros(problem.tables.space.size)
    if normal:
        total += normal_logarithm(problem, [(one.check, power[one.check]) for one in normal])
    for reading in others:
        total += power[reading.check] * said[reading].logarithm
    showing, hidden = belief.showing, belief.hidden
    for event in evidence:
        if isinstance(event, Retested):
            showing, hidden = _retest(problem, event, showing, hidden)
        elif isinstance(event, Looked):
            seen = _look(problem, event)
            showing, hidden = showing * seen, hidden * seen
    possible = (showing + hidden) > 0.0
    top = float(total[possible].max(initial=-math.inf))
    if top == -math.inf:
        return None
    likelihood = np.exp(np.where(possible, total, -math.inf) - top)
    showing, hidden = showing * likelihood, hidden * likelihood
    norm = float(showing.sum() + hidden.sum())
    if not norm > 0.0:
        return None
    read = (*belief.read, *(reading.check for reading in readings))
    surprise = belief.surprise - math.log(norm) - top
    known = {**belief.likelihoods, **said}
    return replace(
        belief, showing=showing / norm, hidden=hidden / norm, surprise=surprise, read=read, likelihoods=known
    )


def _retest(problem: Problem, event: Retested, showing: Floats, hidden: Floats) -> tuple[Floats, Floats]:
    if not (math.isfinite(event.remains) and 0.0 <= event.remains <= 1.0):
        raise EvidenceRefused(f"A retest of {event.remains} cannot be.", "Say 0 for gone, 1 for still there.")
    error, there = problem.retest_error, event.remains
    gone = 1.0 - there
    return showing * (there * (1.0 - error) + gone * error), hidden * (there * error + gone * (1.0 - error))


def _look(problem: Problem, event: Looked) -> Floats:
    if event.repair not in problem.repair_named:
        raise EvidenceRefused(f"There is no repair {event.repair!r} in this problem.", "Use a listed repair.")
    spared = np.ones(len(problem.causes))
    for cause in problem.repair_named[event.repair].cures:
        spared[problem.tables.index[cause]] = 0.0
    sound = problem.tables.space.fold_product(spared)
    return 1.0 - sound if event.found else sound


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
