"""Gross mistakes of a technician: wrong unit, scale or terminal, or the answer to another question."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from troubleshoot.knowledge.model import Check

SHARE = 0.05
"""Share of the readings that are grossly wrong."""

FACTORS = (10.0, 0.1, 6.895, 1 / 6.895, 25.4, 1 / 25.4, 1000.0, 0.001)
"""Decimal place, psi for kPa, inches for millimetres, volts for millivolts, and each the other way round."""

_STREAM = 83


def with_mistake(
    check: Check, found: float | str, key: Sequence[int], attempt: int, share: float = SHARE
) -> float | str:
    """Return what is written down for a reading: now and then something grossly wrong that could still be shown.

    The same key and attempt give the same mistake; a reading taken again is a new attempt.
    """
    rng = np.random.default_rng((*key, _STREAM, attempt))
    if rng.random() >= share:
        return found
    if isinstance(found, str) or check.reading is None:
        others = [one for one in check.outcomes if one != found]
        return str(rng.choice(others)) if others else found
    low, high = check.reading.plausible
    kind = int(rng.integers(3))
    value = float(rng.uniform(low, high))  # the answer to another question, within what the form takes
    if kind == 0:  # unit or scale
        value = found * float(rng.choice(FACTORS))
    elif kind == 1:  # terminal or hose: nothing there
        value = 0.0
    if not low <= value <= high or value == found:
        value = float(rng.uniform(low, high))
    return value
