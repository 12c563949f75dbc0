"""The most that checks can save, for a fraction of the work of saying what they do save.

What needs two repairs ends with the later one. When every pair is counted for one of its two causes, whichever that
is, it ends no later, so the cost can only fall; and what is then left, a weight for each cause, costs at least what the
best order and stop make of it (`least_cost`). Each pair is counted for the cause that comes later in the present order,
so the bound is close where an outcome leaves that order.

Nearly every check can be set aside by this bound alone; the best ones are then worked out in full (`appraising`).
"""

from __future__ import annotations

import numpy as np

from troubleshoot.reasoning.repair_cost import least_cost
from troubleshoot.reasoning.savings import Savings
from troubleshoot.reasoning.states import Floats, Indices
from troubleshoot.reasoning.tables import Single


def most_saved(savings: Savings, checks: Indices) -> Floats:
    """Return for each check a number of minutes that it saves at most, to within the rounding of single numbers.

    Only for problems of at most two causes at once.
    """
    counted = _counted_once(savings)
    weights, check, rows = _weights_after(savings, checks, counted)
    g = savings.tables.problem.mistakes
    if g > 0.0:
        wrong = savings.tables.wrong[rows].astype(np.float32)
        weights *= np.float32(1.0 - g)
        weights += wrong[:, None] * savings.by_cause(savings.single + counted.sum(axis=0)).astype(np.float32)
    left = weights.astype(np.float64)
    least = least_cost(savings.plan, left * savings.takes, left.sum(axis=1) + savings.beyond[rows])
    saved: Floats = np.maximum(savings.now - np.bincount(check, least, len(checks)), 0.0)
    return saved


def _counted_once(savings: Savings) -> Single:
    """Return the weight of each pair in the column of the variant it counts for: alone needed, or repaired later.

    Single precision is twice as fast and exact to far less than a minute.
    """
    at = savings.place_now[savings.cause_at].astype(np.int16)
    twice_later = (at[:, None] < at).view(np.int8) + (at[:, None] <= at).view(np.int8)
    counted = savings.both.astype(np.float32)
    counted *= twice_later
    counted *= np.float32(0.5)
    counted += savings.only.astype(np.float32).T
    return counted


def _weights_after(savings: Savings, checks: Indices, later: Single) -> tuple[Single, Indices, Indices]:
    """Return for each outcome of the checks the weight counted for each live cause, the check it is of, and its row.

    Symbols of `tables`. Outcomes other than the normal one come first, the normal ones of all checks last.
    """
    tables, single, normal = savings.tables, savings.single.astype(np.float32), savings.tables.normal[checks]
    rows, starts = tables.rows_of(checks)
    check = np.repeat(np.arange(len(checks)), np.diff(np.append(starts, len(rows))))
    other = rows != normal[check]
    rows, check = rows[other], check[other]
    x, y, z = (
        part[at] if len(savings.among) == part.shape[1] else part[at[:, None], savings.among]
        for part, at in zip(tables.in_single(savings.scope), (rows, checks, checks), strict=True)
    )
    with_y = y @ later
    unmoved = z * (single + z @ later)
    u = tables.u.astype(np.float32)
    weights = x @ later
    weights *= (np.float32(0.5) * (1.0 + y))[check]
    x *= (single + np.float32(0.5) * (later.sum(axis=0) + with_y))[check]
    weights += x
    weights += u[rows][:, None] * unmoved[check]
    has = np.flatnonzero(normal >= 0)
    left = (y * (single + with_y))[has] + (u[normal[has]] - np.float32(1.0))[:, None] * unmoved[has]
    by_cause = np.concatenate([weights, left]) @ savings.member.astype(np.float32)
    return by_cause, np.concatenate([check, has]), np.concatenate([rows, normal[has]])
