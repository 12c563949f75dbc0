"""An app over one workspace: what the parts of it may ask of the program they are in."""

from __future__ import annotations

from textual.app import App

from troubleshoot.tui.workspace import Workspace


class WorkspaceApp(App[int]):
    """An app that shows the trees, the casebook and the settings of one person."""

    def __init__(self, workspace: Workspace) -> None:
        super().__init__()
        self.workspace = workspace

    @property
    def screen_name(self) -> str:
        """The name that the table of actions has for the screen one is on."""
        return str(getattr(self.screen, "NAME", "start"))
