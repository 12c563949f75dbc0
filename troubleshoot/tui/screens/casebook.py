"""The casebook: all cases, open and closed, found by their words."""

from __future__ import annotations

from datetime import datetime

from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.screens.choice_screen import ChooseScreen
from troubleshoot.tui.widgets.lines import tell_problem
from troubleshoot.tui.widgets.numbered import Row
from troubleshoot.tui.workspace import MOST_LISTED, Workspace


class CasebookScreen(ChooseScreen):
    """The cases touched last; typing looks through all there are."""

    def __init__(self, workspace: Workspace) -> None:
        self.workspace = workspace
        rows = _rows(workspace, "")
        words = f"The last {MOST_LISTED} cases; type a word of another." if len(rows) == MOST_LISTED else ""
        super().__init__("Casebook", rows, words, "No case yet.", narrows=True)

    def rows_for(self, wanted: str) -> tuple[Row, ...]:
        """Return the cases that hold every word wanted, or a word that begins so."""
        try:
            return _rows(self.workspace, wanted) if wanted.strip() else tuple(self.rows)
        except TroubleshootError as refused:
            tell_problem(self, refused)
            return ()


def _rows(workspace: Workspace, wanted: str) -> tuple[Row, ...]:
    return tuple(
        Row(
            case.id,
            case.headline or "Nothing entered yet",
            case.state,
            f"{case.id} · {datetime.fromtimestamp(case.touched).strftime('%Y-%m-%d %H:%M')}",
        )
        for case in workspace.cases(wanted)
    )
