"""The ways into an exercise from the start: practise alone, sit a drill, set one; and what is told at its end."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.screen import Screen
from textual.widgets import Static

from troubleshoot.drills.debriefing import debrief_lines
from troubleshoot.drills.drill_file import read_drill
from troubleshoot.drills.exercise import Exercise
from troubleshoot.drills.exercise_cases import sitting_of
from troubleshoot.drills.key_file import Key
from troubleshoot.drills.practising import (
    LEVELS,
    PRACTICE_BITS,
    begin_practice,
    bench_for,
    draw_practice,
    kept_practice,
    practice_file,
)
from troubleshoot.drills.setting import MadeDrill
from troubleshoot.drills.sitting import clean_name, file_name, hand_in, sit
from troubleshoot.investigation.settings import InvestigationSettings
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.actions import bindings_of
from troubleshoot.tui.desk import Desk
from troubleshoot.tui.plain import plain
from troubleshoot.tui.screens.choosing import ChooseScreen
from troubleshoot.tui.screens.exercise import ExerciseScreen
from troubleshoot.tui.screens.filling import FormScreen, System
from troubleshoot.tui.widgets.form import FormField
from troubleshoot.tui.widgets.lines import HeadLine, KeyLine, MessageLine, tell, tell_problem
from troubleshoot.tui.widgets.numbered import Row

if TYPE_CHECKING:
    from collections.abc import Mapping

    from troubleshoot.tui.screens.start import StartScreen

WAYS = (
    Row("practise", "Practise alone", under="a car with a fault; repairs can be tried; at the end you are told"),
    Row("sit", "Sit a drill", under="from the file the trainer gave you"),
    Row("set", "Set a drill for a class", under="writes the drill for the class and the key for you"),
)
RANKINGS = (
    Row("asked", "Shown when I ask for it"),
    Row("hidden", "Hidden"),
    Row("shown", "Shown all the time"),
)


def open_exercises(start: StartScreen) -> None:
    """Choose between practice, sitting and setting."""
    from troubleshoot.tui.screens.drill_form import open_drill_form

    ways: dict[str, Callable[[StartScreen], None]] = {
        "practise": open_practice, "sit": open_sitting, "set": open_drill_form
    }  # fmt: skip
    start.app.push_screen(ChooseScreen("Exercises", WAYS), lambda way: ways[way](start) if way else None)


def open_practice(start: StartScreen) -> None:
    """Ask for concern, level and ranking, then put a car on the bench."""
    catalogue = start.desk.catalogue
    concerns = [Row("anything", "Anything")]
    concerns += [Row(name, one.title) for name, one in catalogue.concerns.items() if one.kind != "inspection"]
    levels = [Row(str(number), level.words) for number, level in LEVELS.items()]
    asked: list[str] = []

    def next_question(answer: str | None) -> None:
        if answer is None:
            return
        asked.append(answer)
        if len(asked) < len(questions):
            start.app.push_screen(ChooseScreen(*questions[len(asked)]), next_question)
        else:
            _draw(start, asked[0], int(asked[1]), asked[2])

    questions: list[tuple[str, Sequence[Row]]] = [
        ("What should the car do?", concerns), ("How hard?", levels), ("The ranking of causes", RANKINGS)
    ]  # fmt: skip
    start.app.push_screen(ChooseScreen(*questions[0]), next_question)


def _draw(start: StartScreen, concern: str, level: int, ranking: str) -> None:
    wanted = None if concern == "anything" else concern
    shown = next(one for one in ("hidden", "asked", "shown") if one == ranking)

    def draw() -> MadeDrill:
        """Draw the car."""
        return draw_practice(start.desk.draw(PRACTICE_BITS), wanted, level, None, shown, start.desk.catalogue)

    def begin(made: MadeDrill) -> None:
        """Open the practice."""
        desk = start.desk
        exercise = begin_practice(desk.casebook, desk.catalogue, desk.clock, made, settings_of(desk))
        show(start, exercise, lambda: tell_all(start, exercise, made.key))

    in_background(start, draw, begin)


def tell_all(start: StartScreen, exercise: Exercise, key: Key) -> None:
    """Tell what it was, at the end of practice."""
    start.app.push_screen(DebriefScreen(exercise, key))


def in_background(start: StartScreen, make: Callable[[], MadeDrill], then: Callable[[MadeDrill], None]) -> None:
    """Compute a car in a thread, then go on with it; a refusal is told."""
    tell(start, "Putting a car on the bench: some seconds.")

    def work() -> None:
        try:
            made = make()
        except TroubleshootError as refused:
            start.app.call_from_thread(tell_problem, start, refused)
        else:
            start.app.call_from_thread(done, made)

    def done(made: MadeDrill) -> None:
        tell(start, "")
        try:
            then(made)
        except TroubleshootError as refused:
            tell_problem(start, refused)

    start.app.run_worker(work, thread=True, name="bench")


def settings_of(desk: Desk) -> InvestigationSettings:
    """Return the settings of an exercise: the person's units, nothing learnt from closed cases."""
    return InvestigationSettings(learn=False, units=desk.settings.units)


def show(start: StartScreen, exercise: Exercise, over: Callable[[], None]) -> None:
    """Show an exercise, and do what follows when it was ended."""

    def left(_: None) -> None:
        if exercise.assessment.state.closed is not None:
            over()

    start.app.push_screen(ExerciseScreen(start.desk, exercise), left)


def open_sitting(start: StartScreen) -> None:
    """Ask for the drill file and the name, then sit it."""

    def reads(changed: Mapping[str, str], _: System) -> tuple[object, Mapping[str, str]]:
        wrong: dict[str, str] = {}
        found: list[object] = []
        for field, read in (("file", lambda text: (Path(text), read_drill(Path(text)))), ("name", clean_name)):
            try:
                found.append(read(changed.get(field, "").strip()))
            except TroubleshootError as refused:
                wrong[field] = str(refused)
        return tuple(found), wrong

    def sat(found: object) -> None:
        if isinstance(found, tuple):
            (path, drill), name = found
            desk = start.desk
            try:
                exercise, _ = sit(desk.casebook, desk.catalogue, desk.clock, drill, name, settings_of(desk))
            except TroubleshootError as refused:
                tell_problem(start, refused)
            else:
                show(start, exercise, lambda: _hand_in(start, exercise, path))

    fields = [FormField("file", "Drill file", ""), FormField("name", "Your name", "")]
    words = "A sitting that was left is gone on with."
    start.app.push_screen(FormScreen("Sit a drill", words, lambda _: fields, reads), sat)


def _hand_in(start: StartScreen, exercise: Exercise, drill: Path) -> None:
    stem = drill.name.removesuffix(".json").removesuffix(".drill")
    path = Path.cwd() / file_name(stem, exercise.trainee)
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(hand_in(exercise))
    except OSError as refused:
        remedy = f"Write it with: troubleshoot cases export {exercise.case_id} -o FILE"
        tell_problem(start, TroubleshootError(f"{path} cannot be written: {refused.strerror}.", remedy))
    else:
        tell(start, f"Handed in: {path}. Give this file to the trainer.")


def open_again(start: StartScreen, case_id: str) -> bool:
    """Open a case that is an exercise, and return whether it is one; a sitting needs its drill file."""
    desk = start.desk
    if practice_file(desk.casebook.path, case_id) is None:
        return False
    seal, trainee = sitting_of(desk.casebook, case_id)
    if not seal or not trainee:
        return False
    closed = any(one.id == case_id and one.state != "open" for one in desk.cases())
    if closed:
        return False
    kept = practice_file(desk.casebook.path, case_id)
    if kept is None or not kept.exists():
        tell_problem(
            start, TroubleshootError("This case is a sitting of a drill.", "Go on with it: p, then Sit a drill.")
        )
        return True

    def go_on(made: MadeDrill) -> None:
        """Open the practice again."""
        from troubleshoot.drills.exercise import take_up

        bench = bench_for(made, desk.catalogue)
        exercise = take_up(desk.casebook, desk.catalogue, desk.clock, made.drill, case_id, settings_of(desk), bench)
        show(start, exercise, lambda: tell_all(start, exercise, made.key))

    path = desk.casebook.path
    in_background(start, lambda: kept_practice(path, case_id), go_on)
    return True


class DebriefScreen(Screen[None]):
    """What it was, what the readings told, the cheapest honest path, and the person's own."""

    CSS_PATH = "../styles/reading.tcss"
    BINDINGS = bindings_of("debrief")
    NAME = "debrief"

    def __init__(self, exercise: Exercise, key: Key) -> None:
        super().__init__()
        self.told = tuple(debrief_lines(exercise, key))

    def compose(self) -> ComposeResult:
        """Lay out the lines."""
        yield HeadLine("What it was", id="head")
        with VerticalScroll(id="page"):
            for line in self.told:
                text = f"  · {line.removeprefix('- ')}" if line.startswith("- ") else f"\n{line}"
                yield Static(plain(text, "" if line.startswith("- ") else "bold"), markup=False)
        yield MessageLine()
        yield KeyLine("debrief")

    def on_mount(self) -> None:
        """Let arrows and page keys scroll."""
        self.query_one("#page").focus()

    def action_back(self) -> None:
        """Back to the start."""
        self.dismiss(None)
