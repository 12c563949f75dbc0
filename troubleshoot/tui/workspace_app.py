"""An app over one workspace: what the parts of it may ask of the program they are in."""

from __future__ import annotations

import asyncio

from textual import events
from textual.app import App

from troubleshoot.tui.workspace import Workspace


class WorkspaceApp(App[int]):
    """An app that shows the trees, the casebook and the settings of one person."""

    def __init__(self, workspace: Workspace) -> None:
        super().__init__()
        self.workspace = workspace

    async def on_event(self, event: events.Event) -> None:
        """Let what is typed wait until the screen it is for is laid out: some type faster than that."""
        if isinstance(event, events.InputEvent):
            while self.screen_stack and not self.screen.is_mounted:
                await asyncio.sleep(0.001)
            if self.return_code is not None or not self.screen_stack:
                return  # typed behind what left the program
        await super().on_event(event)

    @property
    def screen_name(self) -> str:
        """The name that the table of actions has for the screen one is on."""
        return str(getattr(self.screen, "NAME", "start"))
