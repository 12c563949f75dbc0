"""All checks of a problem side by side, one row for each outcome, ready for matrix products.

For a row, P(outcome | pair i, j) = (alpha_i beta_j + alpha_j beta_i) / 2 + gamma z_i z_j and
P(outcome | single i) = single_i. With the symbols of `tables`: for an outcome other than the normal
one alpha = x, beta = 1 + y, gamma = u; for the normal one alpha = beta = y, gamma = u - 1.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from troubleshoot.reasoning.tables import Floats, Indices, StackedChecks


@dataclass(frozen=True)
class CheckRows:
    """The rows of the checks; `first[m]` to `first[m + 1]` are those of check m."""

    first: Indices
    alpha: Floats
    beta: Floats
    z: Floats
    single: Floats
    gamma: Floats
    usual: Floats

    def of_checks(self, checks: Indices) -> tuple[Indices, Indices]:
        """The row numbers of some checks, and the place among them where each check begins."""
        lengths = self.first[checks + 1] - self.first[checks]
        starts = np.concatenate([[0], np.cumsum(lengths)[:-1]]) if len(checks) else np.zeros(0, dtype=np.intp)
        rows = np.repeat(self.first[checks] - starts, lengths) + np.arange(int(lengths.sum()))
        return rows, starts.astype(np.intp)


def lay_out(stacked: StackedChecks) -> CheckRows:
    """Lay the checks of a problem out in rows."""
    check = np.repeat(np.arange(len(stacked.normal)), np.diff(stacked.first))
    has_normal = np.flatnonzero(stacked.normal >= 0)
    normal = stacked.normal[has_normal]
    y, z = stacked.y[has_normal], stacked.z[has_normal]
    alpha, beta, gamma = stacked.x.copy(), 1.0 + stacked.y[check], stacked.u.copy()
    alpha[normal] = beta[normal] = y
    gamma[normal] -= 1.0
    every_z = stacked.z[check]
    single = stacked.x + stacked.u[:, None] * every_z
    single[normal] = y - z * (1.0 - stacked.u[normal])[:, None]
    return CheckRows(stacked.first, alpha, beta, every_z, single, gamma, stacked.u)
