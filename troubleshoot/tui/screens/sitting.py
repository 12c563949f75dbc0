"""Sit a drill from its file: who sits, the drill, and the hand-in at its end."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from troubleshoot.classroom.drill_file import Drill, read_drill
from troubleshoot.classroom.handing_in import (
    drill_name,
    file_name,
    refuse_unwritable,
    to_hand_in_at,
    write_hand_in,
)
from troubleshoot.classroom.sitting import Sitting, clean_name, sit
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.screens.choice_screen import ChooseScreen
from troubleshoot.tui.screens.drill_files import DRILL, choose_file
from troubleshoot.tui.screens.form_screen import FormScreen, System
from troubleshoot.tui.screens.shown_drill import settings_of, show
from troubleshoot.tui.widgets.form import FormField
from troubleshoot.tui.widgets.lines import tell
from troubleshoot.tui.widgets.numbered import Row

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
        await sit_down(home, path, drill, name)


async def sit_down(home: HomeScreen, path: Path, drill: Drill, name: str) -> None:
    """Go on with the sitting of this name, or begin; one handed in is written once more, or sat again."""
    workspace, folder = home.workspace, Path.cwd()
    refuse_unwritable(folder)
    book, settings = workspace.casebook, settings_of(workspace)
    sitting, _ = sit(book, workspace.catalogue, workspace.clock, drill, name, settings)
    if sitting.over:
        rows = (Row("write", "Write the hand-in again"), Row("again", f"Sit it again, attempt {sitting.attempt + 1}"))
        words = "You have handed in this drill. The trainer sees each attempt with its number."
        chosen = await home.app.push_screen_wait(ChooseScreen(drill.title, rows, words))
        if chosen is None:
            return
        if chosen == "again":
            sitting, _ = sit(book, workspace.catalogue, workspace.clock, drill, name, settings, again=True)
    name_of_file = file_name(drill_name(path), sitting.trainee, sitting.attempt)
    sitting = to_hand_in_at(sitting, folder / name_of_file)
    if sitting.over:
        write_hand_in(sitting)
        _handed_in(home, sitting)
    else:
        show(home, sitting, lambda: _handed_in(home, sitting))


def _handed_in(home: HomeScreen, sitting: Sitting) -> None:
    path = sitting.hand_in_at
    assert path is not None  # it was given where the sitting began
    up = "The time was up. " if sitting.ended_by_clock else ""
    tell(home, f"{up}Handed in: {path.name}, in {path.parent}. Give this file to the trainer.")


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
