"""The ways into a drill from the start: for who learns, and for the trainer."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from typing import TYPE_CHECKING, Any

from troubleshoot.classroom.practising import practice_file
from troubleshoot.classroom.sat_cases import sitting_of
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.screens.choice_screen import ChooseScreen
from troubleshoot.tui.screens.shown_drill import go
from troubleshoot.tui.widgets.lines import tell_problem
from troubleshoot.tui.widgets.numbered import Row

if TYPE_CHECKING:
    from troubleshoot.tui.screens.home import HomeScreen

WAYS = (
    Row("practise", "Practise alone", under="a car with a fault; repairs can be tried; at the end you are told"),
    Row("sit", "Sit a drill", under="from the file the trainer gave you"),
    Row("set", "Trainer: set a drill", under="writes the drill for the class and the key for you"),
    Row("check", "Trainer: check a drill", under="that it can be solved, how long that takes, and what the answer is"),
    Row("watch", "Trainer: watch a class", under="who is where, while it sits in the browser"),
    Row("mark", "Trainer: mark what was handed in", under="a table, and pages to print"),
    Row("plant", "Trainer: a fault on a real engine", under="the card: how to set it, what is found, how to undo it"),
    Row("grades", "Trainer: grade book", under="trainees against drills, and each part of the marks over the term"),
    Row("paper", "Trainer: a drill on paper", under="story, checks, answer sheet and cards, as one page to print"),
    Row("names", "Trainer: names of a class", under="a list by which each gets a code for a seat"),
)


def open_drills(home: HomeScreen) -> None:
    """Choose what to do, and do it."""
    go(home, _choose(home))


async def _choose(home: HomeScreen) -> None:
    from troubleshoot.tui.screens import (
        class_board,
        class_marking,
        drill_check,
        drill_form,
        plant,
        practice,
        sitting,
        term,
    )

    ways: dict[str, Callable[[HomeScreen], Coroutine[Any, Any, None]]] = {
        "practise": practice.practise, "sit": sitting.sit_drill, "set": drill_form.set_drill,
        "check": drill_check.check_drill, "watch": class_board.watch_class, "mark": class_marking.mark_hand_ins,
        "grades": term.show_grades, "paper": term.write_paper, "names": term.list_names, "plant": plant.show_card,
    }  # fmt: skip
    way = await home.app.push_screen_wait(ChooseScreen("Practice and drills", WAYS))
    if way is not None:
        await ways[way](home)


def open_again(home: HomeScreen, case_id: str) -> bool:
    """Open a case that is a drill, and return whether it is one; a sitting needs its drill file."""
    from troubleshoot.tui.screens.practice import go_on_practising

    workspace = home.workspace
    kept = practice_file(workspace.casebook.path, case_id)
    if kept is None or not sitting_of(workspace.casebook, case_id)[0]:
        return False
    if any(one.state != "open" for one in workspace.casebook.cases(case_id=case_id)):
        return False
    if kept.exists():
        go(home, go_on_practising(home, case_id))
    else:
        advice = "Go on with it: p, then Sit a drill."
        tell_problem(home, TroubleshootError("This case is a sitting of a drill.", advice))
    return True
