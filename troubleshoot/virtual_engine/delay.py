"""A line of past values read back at any delay, for gas transport and the turn between intake and work."""

from __future__ import annotations

import numpy as np
from numpy import maximum, minimum

from troubleshoot.virtual_engine.parameters import Values

SPAN_S = 4.0


class DelayLine:
    """Past values of a batch, one row a step, read with straight-line interpolation between steps."""

    def __init__(self, width: int, step_s: float) -> None:
        self._rows = round(SPAN_S / step_s) + 2
        self._width = width
        self._line = np.zeros(self._rows * width)
        self._columns = np.arange(self._width)
        self._head = 0
        self._empty = True
        self._per_second = 1.0 / step_s

    def push(self, value: Values) -> None:
        """Append the value of this step; the first is taken for the whole past."""
        if self._empty:
            self._line[:] = np.tile(value, self._rows)
            self._empty = False
        self._head = (self._head + 1) % self._rows
        first = self._head * self._width
        self._line[first : first + self._width] = value

    def read(self, delay_s: Values) -> Values:
        """Return the values of `delay_s` ago (at most four seconds)."""
        steps = minimum(maximum(delay_s * self._per_second, 0.0), self._rows - 2.0)
        whole = steps.astype(np.intp)
        place = (self._head - whole) * self._width + self._columns
        size = self._line.shape[0]
        newer = self._line[place % size]
        older = self._line[(place - self._width) % size]
        value: Values = newer + (older - newer) * (steps - whole)
        return value
