"""What a screen that others come back to offers them: the person's trees, casebook and settings."""

from __future__ import annotations

from textual.screen import Screen

from troubleshoot.tui.workspace import Workspace


class HomeScreen(Screen[None]):
    """A screen that others start from and come back to."""

    def __init__(self, workspace: Workspace) -> None:
        super().__init__()
        self.workspace = workspace
