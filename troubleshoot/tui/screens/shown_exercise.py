"""Show an exercise from the start screen, and do what follows when it is over."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from typing import TYPE_CHECKING, Any

from troubleshoot.case.settings import CaseSettings
from troubleshoot.classroom.sitting import Sitting
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.screens.exercise import ExerciseScreen
from troubleshoot.tui.widgets.lines import tell_problem
from troubleshoot.tui.workspace import Workspace

if TYPE_CHECKING:
    from troubleshoot.tui.screens.home import HomeScreen


def settings_of(workspace: Workspace) -> CaseSettings:
    """Return the settings of an exercise: the person's units, nothing learnt from closed cases."""
    return CaseSettings(learn=False, units=workspace.settings.units)


def show(home: HomeScreen, exercise: Sitting, over: Callable[[], None]) -> None:
    """Show an exercise, and do what follows when it was ended."""

    def left(_: None) -> None:
        if exercise.over:
            over()

    home.app.push_screen(ExerciseScreen(home.workspace, exercise), left)


def go(home: HomeScreen, doing: Coroutine[Any, Any, None]) -> None:
    """Walk through some screens; what is refused is told on the start screen."""

    async def walk() -> None:
        try:
            await doing
        except TroubleshootError as refused:
            tell_problem(home, refused)

    home.run_worker(walk(), exclusive=True)
