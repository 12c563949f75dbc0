"""Show a drill from the start screen, and do what follows when it is over."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from typing import TYPE_CHECKING, Any

from troubleshoot.case.settings import CaseSettings
from troubleshoot.classroom.sitting import Sitting
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.screens.drill import DrillScreen
from troubleshoot.tui.widgets.lines import tell_problem
from troubleshoot.tui.workspace import Workspace

if TYPE_CHECKING:
    from troubleshoot.tui.screens.home import HomeScreen


def settings_of(workspace: Workspace) -> CaseSettings:
    """Return the settings of a drill: the person's units, nothing learnt from closed cases."""
    return CaseSettings(learn=False, units=workspace.settings.units)


def show(home: HomeScreen, sitting: Sitting, over: Callable[[], None]) -> None:
    """Show a drill, and do what follows when it was ended."""

    def left(_: None) -> None:
        if sitting.over:
            over()

    home.app.push_screen(DrillScreen(home.workspace, sitting), left)


def go(home: HomeScreen, doing: Coroutine[Any, Any, None]) -> None:
    """Walk through some screens; what is refused is told on the start screen."""

    async def walk() -> None:
        try:
            await doing
        except TroubleshootError as refused:
            tell_problem(home, refused)

    home.run_worker(walk(), exclusive=True)
