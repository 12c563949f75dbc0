"""A screen that gives its answer once."""

from __future__ import annotations

from textual.await_complete import AwaitComplete
from textual.screen import Screen, ScreenResultType


class OnceScreen(Screen[ScreenResultType]):
    """A screen whose second answer, typed before the first was done, does not close what lies below it."""

    def dismiss(self, result: ScreenResultType | None = None) -> AwaitComplete:
        """Give the answer and close, unless that was done before or another screen lies above."""
        return super().dismiss(result) if self.is_active else AwaitComplete()
