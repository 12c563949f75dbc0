"""The program with screens for one drill: it opens in the drill and ends with it."""

from __future__ import annotations

import os
from pathlib import Path

from textual import events

from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.sitting import Sitting
from troubleshoot.tui.app import TroubleshootApp
from troubleshoot.tui.screens.drill import DrillScreen
from troubleshoot.tui.workspace import Workspace


class DrillApp(TroubleshootApp):
    """The screens of one drill."""

    TITLE = "Drill"

    def __init__(self, workspace: Workspace, sitting: Sitting | None) -> None:
        super().__init__(workspace)
        self.sitting = sitting

    def on_mount(self, event: events.Mount | None = None) -> None:
        """Open the drill in place of the start."""
        if event is not None:
            event.prevent_default()
        if self.sitting is not None:
            self.show_drill(self.sitting)

    def show_drill(self, sitting: Sitting) -> None:
        """Show a drill; leaving it leaves the program."""
        self.sitting = sitting
        self.push_screen(DrillScreen(self.workspace, sitting), lambda _: self.left())

    def left(self) -> None:
        """End the program when the drill is left or over."""
        self.exit(0)


def run_drill(own_trees: Path | None, casebook: Casebook, sitting: Sitting) -> bool:
    """Run the screens until the person leaves; return whether the drill was closed."""
    workspace = Workspace(own_trees, casebook.path)
    try:
        DrillApp(workspace, sitting).run(mouse=not os.environ.get("TROUBLESHOOT_NO_MOUSE"))
    finally:
        workspace.close()
    return sitting.over
