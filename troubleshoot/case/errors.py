"""Errors of the walk: what was asked for that cannot be, and what to do."""

from __future__ import annotations

from troubleshoot.problems import TroubleshootError


class ReadingRefused(TroubleshootError):
    """What was typed is no reading of this check."""


class ReadingImplausible(ReadingRefused):
    """The reading lies outside what the check can show; it is taken when the person says they are sure."""


class UnknownCheck(TroubleshootError):
    """There is no such check in these trees."""


class UnknownCause(TroubleshootError):
    """There is no such cause in these trees, or none that can be repaired here."""


class NotNow(TroubleshootError):
    """The thing asked for makes no sense at this point of the case."""
