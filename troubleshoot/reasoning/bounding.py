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
from troubleshoot.reasoning.retained import Retained
from troubleshoot.reasoning.tables import Floats, Indices


def most_saved(retained: Retained, now: float, checks: Indices, keep: Floats) -> Floats:
    """For each check a number of minutes that it saves at most; `now` is what is retained without any.

    `keep` is the share of each check's evidence that is new. Only for problems of at most two causes at once.
    """
    single, later = _counted_once(retained)
    weights, check = _weights_after(retained, checks, single, later)
    known = single + later.sum(axis=0)
    most = most_retained(retained.plan, np.concatenate([weights, known[None, :]]))
    gains = np.bincount(check, most[:-1], len(checks)) - now
    saved: Floats = np.maximum(keep * gains + (1.0 - keep) * (float(most[-1]) - now), 0.0)
    return saved


def _counted_once(retained: Retained) -> tuple[Floats, Floats]:
    """The weight of each cause alone, and that of each pair in the column of the cause that is repaired later now."""
    live, n = retained.live, len(retained.plan.entry)
    place = np.empty(len(live), dtype=np.intp)
    place[np.argsort(-retained.tail_now, kind="stable")] = np.arange(len(place))
    later = np.where(place[:, None] < place[None, :], 2.0 * retained.pair_kept, 0.0)
    if len(live) == n:
        return retained.single_kept, later
    every_single, every_later = np.zeros(n), np.zeros((n, n))
    every_single[live], every_later[np.ix_(live, live)] = retained.single_kept, later
    return every_single, every_later


def _weights_after(retained: Retained, checks: Indices, single: Floats, later: Floats) -> tuple[Floats, Indices]:
    """For each outcome of the checks the weight counted for each cause, and the check it is of (symbols of `tables`).

    Outcomes other than the normal one come first, the normal ones of all checks last.
    """
    stacked = retained.problem.tables.stacked
    y, z, normal = stacked.y[checks], stacked.z[checks], stacked.normal[checks]
    rows, starts = retained.problem.check_rows.of_checks(checks)
    check = np.repeat(np.arange(len(checks)), np.diff(np.append(starts, len(rows))))
    other = rows != normal[check]
    rows, check = rows[other], check[other]
    with_y = y @ later
    unmoved = z * (single + z @ later)
    x = stacked.x[rows]
    weights = x @ later
    weights *= (0.5 * (1.0 + y))[check]
    weights += x * (single + 0.5 * (later.sum(axis=0) + with_y))[check]
    weights += stacked.u[rows][:, None] * unmoved[check]
    has = np.flatnonzero(normal >= 0)
    left = (y * (single + with_y))[has] + (stacked.u[normal[has]] - 1.0)[:, None] * unmoved[has]
    return np.concatenate([weights, left]), np.concatenate([check, has])
