"""What happens without a command: the screens, or plain questions where no screen can be drawn."""

from __future__ import annotations

import os
import sys

from troubleshoot.cli.asked import Asked


def screens_possible() -> bool:
    """Return whether this is a terminal that screens can be drawn on."""
    return sys.stdin.isatty() and sys.stdout.isatty() and os.environ.get("TERM", "") != "dumb"


def start(wanted: Asked | None = None) -> int:
    """Open the screens where they can be drawn, else ask in plain lines; return the exit code."""
    wanted = wanted or Asked()
    if not screens_possible():
        from troubleshoot.cli.asking import converse

        return converse(wanted, None)
    from troubleshoot.tui.app import run_screens

    return int(run_screens(wanted.trees, wanted.casebook, None))
