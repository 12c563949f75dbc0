"""Sit a drill from its file: who sits, the exercise, and the hand-in at its end."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from troubleshoot.classroom.drill_file import Drill, read_drill
from troubleshoot.classroom.sitting import Sitting, clean_name, file_name, hand_in, sit
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.screens.drill_files import DRILL, choose_file
from troubleshoot.tui.screens.form_screen import FormScreen, System
from troubleshoot.tui.screens.shown_exercise import settings_of, show
from troubleshoot.tui.widgets.form import FormField
from troubleshoot.tui.widgets.lines import tell, tell_problem

if TYPE_CHECKING:
    from troubleshoot.tui.screens.home import HomeScreen


async def sit_drill(home: HomeScreen) -> None:
    """Ask for the drill and the name, then sit it; a sitting that was left is gone on with."""
    path = await choose_file(home.app, "Which drill?", "The file the trainer gave you.", DRILL)
    if path is None:
        return
    drill = read_drill(path)
    name = await home.app.push_screen_wait(name_form(drill))
    if isinstance(name, str):
        workspace = home.workspace
        exercise, _ = sit(workspace.casebook, workspace.catalogue, workspace.clock, drill, name, settings_of(workspace))
        show(home, exercise, lambda: _hand_over(home, exercise, path))


def name_form(drill: Drill) -> FormScreen:
    """Return the form that asks for the name."""

    def reads(changed: Mapping[str, str], _: System) -> tuple[object, Mapping[str, str]]:
        try:
            return clean_name(changed.get("name", "")), {}
        except TroubleshootError as refused:
            return None, {"name": str(refused)}

    fields = [FormField("name", "Your name", "")]
    words = f"{drill.story} Who sits here? A sitting that was left is gone on with under the same name."
    return FormScreen(drill.title, words, lambda _: fields, reads)


def _hand_over(home: HomeScreen, exercise: Sitting, drill: Path) -> None:
    stem = drill.name.removesuffix(".json").removesuffix(".drill")
    path = Path.cwd() / file_name(stem, exercise.trainee)
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(hand_in(exercise))
    except OSError as refused:
        advice = f"Write it with: troubleshoot cases export {exercise.case.case_id} FILE"
        tell_problem(home, TroubleshootError(f"{path} cannot be written: {refused.strerror}.", advice))
    else:
        tell(home, f"Handed in: {path.name}, in {path.parent}. Give this file to the trainer.")
