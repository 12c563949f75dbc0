"""The value between the points of a table, along straight lines."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise


def between_points(at: float, points: Sequence[tuple[float, float]]) -> float:
    """Return the straight-line value at `at` between points in rising order, the ends held.

    >>> between_points(15, [(10, 1.0), (20, 2.0)]), between_points(99, [(10, 1.0), (20, 2.0)])
    (1.5, 2.0)
    """
    if at <= points[0][0]:
        return points[0][1]
    for (x0, y0), (x1, y1) in pairwise(points):
        if at <= x1:
            return y0 + (at - x0) * (y1 - y0) / (x1 - x0)
    return points[-1][1]
