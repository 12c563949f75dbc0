"""The program with screens for one exercise: it opens in the exercise and ends with it."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

from textual import events

from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.sitting import Sitting
from troubleshoot.tui.app import TroubleshootApp
from troubleshoot.tui.screens.exercise import ExerciseScreen
from troubleshoot.tui.workspace import Workspace


class ExerciseApp(TroubleshootApp):
    """The screens of one exercise; `ended` is called when it was closed, before the program leaves."""

    TITLE = "Exercise"

    def __init__(
        self, workspace: Workspace, exercise: Sitting | None, ended: Callable[[Sitting], None] | None = None
    ) -> None:
        super().__init__(workspace)
        self.exercise, self.ended = exercise, ended

    def on_mount(self, event: events.Mount | None = None) -> None:
        """Open the exercise in place of the start."""
        if event is not None:
            event.prevent_default()
        if self.exercise is not None:
            self.show_exercise(self.exercise)

    def show_exercise(self, exercise: Sitting) -> None:
        """Show an exercise; leaving it leaves the program."""
        self.exercise = exercise
        self.push_screen(ExerciseScreen(self.workspace, exercise), lambda _: self.left())

    def left(self) -> None:
        """End the program when the exercise is left or over."""
        if self.exercise is not None and self.ended is not None and closed(self.exercise):
            self.ended(self.exercise)
        self.exit(0)


def closed(exercise: Sitting) -> bool:
    """Return whether an exercise is over."""
    return exercise.case.assessment.state.closed is not None


def run_exercise(own_trees: Path | None, casebook: Casebook, exercise: Sitting) -> bool:
    """Run the screens until the person leaves; return whether the exercise was closed."""
    workspace = Workspace(own_trees, casebook.path)
    try:
        ExerciseApp(workspace, exercise).run(mouse=not os.environ.get("TROUBLESHOOT_NO_MOUSE"))
    finally:
        workspace.close()
    return closed(exercise)
