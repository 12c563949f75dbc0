"""How often something happens: a number from 0 to 1, or one of a short table of words."""

from __future__ import annotations

from troubleshoot.knowledge.findings import nearest
from troubleshoot.knowledge.model import FREQUENCY_WORDS, Frequency
from troubleshoot.problems import TroubleshootError


class FrequencyRefused(TroubleshootError):
    """A frequency is neither a share from 0 to 1 nor a word of the table."""


def frequency(value: Frequency) -> float:
    """Return a frequency as a share from 0 to 1.

    >>> frequency("nearly always"), frequency(0.2)
    (0.97, 0.2)
    """
    if isinstance(value, str):
        if value in FREQUENCY_WORDS:
            return FREQUENCY_WORDS[value]
        hint = nearest(value, FREQUENCY_WORDS)
        raise FrequencyRefused(
            f"{value} is not a frequency{hint}", f"use a number or one of: {', '.join(FREQUENCY_WORDS)}"
        )
    if not 0.0 <= value <= 1.0:
        raise FrequencyRefused(f"{value:g} is not a frequency", "use a number from 0 to 1")
    return float(value)
