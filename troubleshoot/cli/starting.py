"""What happens without a command: the screens, or plain questions where no screen can be drawn."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from pathlib import Path

from troubleshoot.cli.options import GlobalOptions

Screens = Callable[[Path | None, Path | None, str | None, str | None], int]
"""Opens the screens for own trees, a casebook, a place to start and the units asked for, and returns the exit code."""


def screens_possible() -> bool:
    """Return whether this is a terminal that screens can be drawn on."""
    return sys.stdin.isatty() and sys.stdout.isatty() and os.environ.get("TERM", "") != "dumb"


def start(wanted: GlobalOptions, screens: Screens | None) -> int:
    """Open the screens where they can be drawn, else ask in plain lines; return the exit code."""
    if screens is None or not screens_possible():
        from troubleshoot.cli.ask import converse

        return converse(wanted, None)
    return screens(wanted.trees, wanted.casebook, None, wanted.asked_units)
