"""Errors of a case: what was asked for that cannot be, and what to do."""

from __future__ import annotations

from troubleshoot.problems import TroubleshootError


class UnknownCheck(TroubleshootError):
    """There is no such check in these trees."""


class UnknownCause(TroubleshootError):
    """There is no such cause in these trees, or none that can be repaired here."""


class NotNow(TroubleshootError):
    """The thing asked for makes no sense at this point of the case."""


class TimeUp(NotNow):
    """The minutes of a drill by the clock are used up: it can only be finished."""
