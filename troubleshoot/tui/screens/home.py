"""What a screen that others come back to offers them: the person's trees, casebook and settings."""

from __future__ import annotations

from troubleshoot.tui.screens.answer_once import OnceScreen
from troubleshoot.tui.workspace import Workspace


class HomeScreen(OnceScreen[None]):
    """A screen that others start from and come back to."""

    def __init__(self, workspace: Workspace) -> None:
        super().__init__()
        self.workspace = workspace
