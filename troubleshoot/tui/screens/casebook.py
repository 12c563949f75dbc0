"""The casebook: all cases, open and closed."""

from __future__ import annotations

from datetime import datetime

from troubleshoot.tui.desk import Desk
from troubleshoot.tui.screens.choosing import ChooseScreen
from troubleshoot.tui.widgets.numbered import Row


def casebook_screen(desk: Desk) -> ChooseScreen:
    """Return the list of all cases, the one touched last first."""
    rows = [
        Row(
            case.id,
            case.headline or "Nothing entered yet",
            case.state,
            f"{case.id} · {datetime.fromtimestamp(case.touched).strftime('%Y-%m-%d %H:%M')}",
        )
        for case in desk.cases()
    ]
    return ChooseScreen("Casebook", rows, "", "No case yet.", narrows=True)
