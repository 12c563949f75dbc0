"""The most that checks can save, for a fraction of the work of saying what they do save.

retained(V) = sum over S of V(S) * (prod r_i) * min tail_i. When every pair is counted for one of its two causes,
whichever that is, the tail of that cause is at least the least tail, so the sum can only grow; and what is then left,
a weight for each cause, is at most what the best order makes of it (`most_retained`). Each pair is counted for the
cause that comes later in the present order, so the bound is close wherever an outcome leaves that order as it is.
With part of the evidence known already the same holds part by part, the greatest of sums being convex in the weights.

Nearly every check can be set aside by this bound alone; the best ones are then worked out in full (`appraising`).
"""

from __future__ import annotations

import numpy as np

from troubleshoot.reasoning.repair_cost import most_retained
from troubleshoot.reasoning.retained import Retained, Terms
from troubleshoot.reasoning.tables import Floats, Indices


def most_saved(retained: Retained, now: float, checks: Indices, keep: Floats) -> Floats:
    """For each check a number of minutes that it saves at most; `now` is what is retained without any.

    `keep` is the share of each check's evidence that is new. Only for problems of at most two causes at once.
    """
    rows, starts = retained.problem.check_rows.of_checks(checks)
    terms = Terms.cut(retained.problem.check_rows, rows, retained.live)
    later = _later_cause(retained)
    weights = terms.single * retained.single_kept
    weights += 0.5 * (terms.alpha * (terms.beta @ later) + terms.beta * (terms.alpha @ later))
    weights += terms.gamma[:, None] * terms.z * (terms.z @ later)
    known = (retained.single_kept + later.sum(axis=0))[None, :]
    gains = np.add.reduceat(_most(retained, weights), starts) - now
    told_again = float(_most(retained, known)[0]) - now
    most: Floats = np.maximum(keep * gains + (1.0 - keep) * told_again, 0.0)
    return most


def _later_cause(retained: Retained) -> Floats:
    """The weight of every pair in the column of the cause whose repair comes later in the present order."""
    place = np.empty(len(retained.live), dtype=np.intp)
    place[np.argsort(-retained.tail_now, kind="stable")] = np.arange(len(place))
    return np.where(place[:, None] < place[None, :], 2.0 * retained.pair_kept, 0.0)


def _most(retained: Retained, live_weights: Floats) -> Floats:
    plan, live = retained.plan, retained.live
    if len(live) == len(plan.entry):
        return most_retained(plan, live_weights)
    weights = np.zeros((len(live_weights), len(plan.entry)))
    weights[:, live] = live_weights
    return most_retained(plan, weights)
