"""The program with screens for one exercise: it opens in the exercise and ends with it."""

from __future__ import annotations

import os
from pathlib import Path

from textual import events

from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.sitting import Sitting
from troubleshoot.tui.app import TroubleshootApp
from troubleshoot.tui.screens.exercise import ExerciseScreen
from troubleshoot.tui.workspace import Workspace


class ExerciseApp(TroubleshootApp):
    """The screens of one exercise."""

    TITLE = "Exercise"

    def __init__(self, workspace: Workspace, exercise: Sitting | None) -> None:
        super().__init__(workspace)
        self.exercise = exercise

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
        self.exit(0)


def run_exercise(own_trees: Path | None, casebook: Casebook, exercise: Sitting) -> bool:
    """Run the screens until the person leaves; return whether the exercise was closed."""
    workspace = Workspace(own_trees, casebook.path)
    try:
        ExerciseApp(workspace, exercise).run(mouse=not os.environ.get("TROUBLESHOOT_NO_MOUSE"))
    finally:
        workspace.close()
    return exercise.over
