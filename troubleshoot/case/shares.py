"""How a probability and the title of a check are written, the same on every face."""

from __future__ import annotations


def percent(share: float) -> str:
    """Return a probability as whole percent, and never as 0 % or 100 % when it is neither.

    >>> percent(0.334), percent(0.002), percent(0.9999)
    ('33 %', '<1 %', '>99 %')
    """
    if 0.0 < share < 0.01:
        return "<1 %"
    if 0.99 < share < 1.0:
        return ">99 %"
    return f"{share * 100:.0f} %"


def asked(title: str) -> str:
    """Return what stands before an answer: a question as it is, anything else with a colon.

    >>> asked("Smell of fuel?"), asked("Dwell at idle")
    ('Smell of fuel?', 'Dwell at idle:')
    """
    return title if title.endswith("?") else f"{title}:"
