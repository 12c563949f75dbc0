"""All checks of a problem side by side, one row for each outcome, ready for matrix products.

For a row, P(outcome | pair i, j) = (alpha_i beta_j + alpha_j beta_i) / 2 + gamma z_i z_j and
P(outcome | single i) = single_i. With the symbols of `tables`: for an outcome other than the normal
one alpha = x, beta = 1 + y, gamma = u; for the normal one alpha = beta = y, gamma = u - 1.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from troubleshoot.reasoning.tables import CheckTable, Floats, Indices


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


def lay_out(checks: Iterable[CheckTable]) -> CheckRows:
    """Lay checks out in rows, in the order given."""
    tables = tuple(checks)
    n = len(tables[0].y) if tables else 0
    parts = [_rows_of(table) for table in tables]
    empty = np.zeros((0, n))
    alpha, beta, z, single = (np.concatenate([empty, *(part[k] for part in parts)]) for k in range(4))
    usual = np.concatenate([np.zeros(0), *(table.u for table in tables)])
    gamma = np.concatenate([np.zeros(0), *(part[4][:, 0] for part in parts)])
    first = np.concatenate([[0], np.cumsum([len(table.u) for table in tables])]).astype(np.intp)
    return CheckRows(first, alpha, beta, z, single, gamma, usual)


def _rows_of(table: CheckTable) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    size = len(table.u)
    alpha = table.x.copy()
    beta = np.tile(1.0 + table.y, (size, 1))
    gamma = table.u.copy()
    z = np.tile(table.z, (size, 1))
    single = table.x + np.outer(table.u, table.z)
    if table.normal >= 0:
        alpha[table.normal] = table.y
        beta[table.normal] = table.y
        gamma[table.normal] -= 1.0
        single[table.normal] = table.y - table.z * (1.0 - table.u[table.normal])
    return alpha, beta, z, single, gamma[:, None]
