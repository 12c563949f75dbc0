"""Show an exercise from the start screen, and do what follows when it is over."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from typing import TYPE_CHECKING, Any

from troubleshoot.case.settings import CaseSettings
from troubleshoot.classroom.exercise import Exercise
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.screens.exercise import ExerciseScreen
from troubleshoot.tui.widgets.lines import tell_problem
from troubleshoot.tui.workspace import Workspace

if TYPE_CHECKING:
    from troubleshoot.tui.screens.start import StartScreen


def settings_of(workspace: Workspace) -> CaseSettings:
    """Return the settings of an exercise: the person's units, nothing learnt from closed cases."""
    return CaseSettings(learn=False, units=workspace.settings.units)


def show(start: StartScreen, exercise: Exercise, over: Callable[[], None]) -> None:
    """Show an exercise, and do what follows when it was ended."""

    def left(_: None) -> None:
        if exercise.assessment.state.closed is not None:
            over()

    start.app.push_screen(ExerciseScreen(start.workspace, exercise), left)


def go(start: StartScreen, doing: Coroutine[Any, Any, None]) -> None:
    """Walk through some screens; what is refused is told on the start screen."""

    async def walk() -> None:
        try:
            await doing
        except TroubleshootError as refused:
            tell_problem(start, refused)

    start.run_worker(walk(), exclusive=True)
