"""Practise alone: concern, level and ranking are asked, a car is put on the bench, and at the end it is told."""

from __future__ import annotations

from typing import TYPE_CHECKING

from troubleshoot.bench.complaint_concerns import REPORTABLE
from troubleshoot.classroom.debriefing import debrief_lines
from troubleshoot.classroom.drill_file import Ranking
from troubleshoot.classroom.drill_maker import with_files
from troubleshoot.classroom.handed_files import FILE_KINDS, FileKind
from troubleshoot.classroom.key_file import Key
from troubleshoot.classroom.practising import (
    LEVELS,
    PRACTICE_BITS,
    begin_practice,
    bench_for,
    draw_practice,
    kept_practice,
)
from troubleshoot.classroom.sitting import take_up
from troubleshoot.tui.screens.choice_screen import ChooseScreen
from troubleshoot.tui.screens.page import PageScreen
from troubleshoot.tui.screens.shown_drill import settings_of, show
from troubleshoot.tui.screens.waiting import wait_for
from troubleshoot.tui.widgets.numbered import Row

if TYPE_CHECKING:
    from troubleshoot.classroom.sitting import Sitting
    from troubleshoot.tui.screens.home import HomeScreen

RANKINGS = (
    Row("asked", "Shown when I ask for it"),
    Row("hidden", "Hidden"),
    Row("shown", "Shown all the time"),
    Row("files", "Shown when I ask; and logs, sounds and captures to read instead of numbers"),
)
ON_THE_BENCH = "Putting a car on the bench"


async def practise(home: HomeScreen) -> None:
    """Ask for concern, level and ranking, one step back by Esc, then put a car on the bench."""
    concerns = [Row("anything", "Anything")]
    concerns += [Row(name, one.title) for name, one in home.workspace.catalogue.concerns.items() if name in REPORTABLE]
    levels = [Row(str(number), level.words) for number, level in LEVELS.items()]
    questions = (("What should the car do?", concerns), ("How hard?", levels), ("The ranking of causes", RANKINGS))
    asked: list[str] = []
    while len(asked) < len(questions):
        answer = await home.app.push_screen_wait(ChooseScreen(*questions[len(asked)]))
        if answer is not None:
            asked.append(answer)
        elif asked:
            asked.pop()
        else:
            return
    ranking: Ranking = next((one for one in ("hidden", "shown") if one == asked[2]), "asked")
    files = FILE_KINDS if asked[2] == "files" else ()
    await _begin(home, None if asked[0] == "anything" else asked[0], int(asked[1]), ranking, files)


async def _begin(
    home: HomeScreen, concern: str | None, level: int, ranking: Ranking, files: tuple[FileKind, ...]
) -> None:
    workspace = home.workspace
    catalogue = workspace.catalogue
    made = await wait_for(
        home.app, ON_THE_BENCH, "Computing the car, and a good path to its fault",
        lambda _: with_files(
            workspace.ready_car(level, concern, ranking)
            or draw_practice(workspace.draw(PRACTICE_BITS), concern, level, None, ranking, catalogue),
            files,
            catalogue,
        ),
    )  # fmt: skip
    workspace.prepare()
    if made is not None:
        sitting = begin_practice(workspace.casebook, catalogue, workspace.clock, made, settings_of(workspace))
        show(home, sitting, lambda: tell_all(home, sitting, made.key))


async def go_on_practising(home: HomeScreen, case_id: str) -> None:
    """Put the car of a practice on the bench again, as its repairs have left it."""
    workspace = home.workspace
    path = workspace.casebook.path
    made = await wait_for(home.app, ON_THE_BENCH, "Computing the car", lambda _: kept_practice(path, case_id))
    if made is not None:
        bench = bench_for(made, workspace.catalogue)
        sitting = take_up(
            workspace.casebook, workspace.catalogue, workspace.clock, made.drill, case_id, settings_of(workspace), bench
        )
        show(home, sitting, lambda: tell_all(home, sitting, made.key))


def tell_all(home: HomeScreen, sitting: Sitting, key: Key) -> None:
    """Tell what it was, at the end of practice."""
    home.app.push_screen(PageScreen("What it was", tuple(debrief_lines(sitting, key))))
