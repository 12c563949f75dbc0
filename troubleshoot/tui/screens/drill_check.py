"""Check a drill on the screens: the proof that it can be solved, and what its answer is."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from troubleshoot.calculations.units import System
from troubleshoot.classroom.debriefing import best_path, best_title
from troubleshoot.classroom.drill_file import read_drill
from troubleshoot.classroom.key_file import Key, key_stem, read_key
from troubleshoot.classroom.marks_table import answer_words
from troubleshoot.classroom.solvability import Solved, check_solvable, proof_lines
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.tui.screens.drill_files import DRILL, choose_key
from troubleshoot.tui.screens.page import PageScreen
from troubleshoot.tui.screens.waiting import wait_for

if TYPE_CHECKING:
    from troubleshoot.tui.screens.home import HomeScreen


async def check_drill(home: HomeScreen) -> None:
    """Prove the drill that lies beside a key."""
    path = await choose_key(home.app, "Which drill?", "By its key; the drill lies beside it.")
    if path is None:
        return
    key = read_key(path)
    drill = read_drill(path.with_name(key_stem(path) + DRILL))
    catalogue = home.workspace.catalogue
    solved = await wait_for(
        home.app, drill.title, "Computing the car, and how each policy fares with it",
        lambda _: check_solvable(drill, key, catalogue),
    )  # fmt: skip
    if solved is not None:
        await home.app.push_screen_wait(
            PageScreen(drill.title, tuple(check_lines(key, solved, catalogue, home.workspace.settings.units)))
        )


def check_lines(key: Key, solved: Solved, catalogue: Catalogue, units: System) -> Iterator[str]:
    """Yield what a trainer wants to know of a drill before the class has it."""
    yield "The drill's readings are those of its key."
    yield "It is (this is for you alone):"
    yield f"- {answer_words(key, catalogue)}"
    yield "How the policies fare:"
    yield from (f"- {line}" for line in proof_lines(solved))
    yield f"{best_title(key)}:"
    yield from (f"- {line}" for line in best_path(key, catalogue, units))
