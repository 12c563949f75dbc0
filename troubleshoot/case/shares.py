"""How a probability, a time and the title of a check are written, the same on every face."""

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


def minutes_words(minutes: float, short: bool = False) -> str:
    """Return minutes as people say them, from two hours on with the hours.

    >>> minutes_words(1), minutes_words(12.4), minutes_words(125), minutes_words(12.4, short=True)
    ('1 minute', '12 minutes', '2 h 5 min', '12 min')
    """
    whole = round(minutes)
    if whole >= LONG:
        return f"{whole // 60} h {whole % 60} min" if whole % 60 else f"{whole // 60} h"
    return f"{whole} min" if short else f"{whole} minute{'' if whole == 1 else 's'}"


LONG = 120
"""From so many minutes on hours are named."""
