"""Set a drill on the screens: a starter or one's own car and fault, then a form with limits, hint and story."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

import msgspec
from textual.app import App

from troubleshoot.classroom.drill_file import drill_text
from troubleshoot.classroom.drill_maker import CARS, SEED_BITS, DrillPlan, MadeDrill, make_drills, possible_causes
from troubleshoot.classroom.handed_files import FILE_KINDS
from troubleshoot.classroom.key_file import KEY, write_key
from troubleshoot.classroom.solvability import solve, with_best
from troubleshoot.classroom.story import read_plan, starters
from troubleshoot.classroom.variants import with_drawn_figures
from troubleshoot.file_writing import write_whole
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.screens.choice_screen import ChooseScreen
from troubleshoot.tui.screens.drill_files import DRILL
from troubleshoot.tui.screens.form_screen import FormScreen, System
from troubleshoot.tui.screens.page import PageScreen
from troubleshoot.tui.screens.tick_screen import MarkScreen
from troubleshoot.tui.screens.waiting import wait_for
from troubleshoot.tui.widgets.form import FormField
from troubleshoot.tui.widgets.numbered import Row

if TYPE_CHECKING:
    from troubleshoot.tui.screens.home import HomeScreen

OWN, NONE = "own", "none"
WORDS = "Whatever the class reads must say nothing of the cause. Up and Down go to other fields."

NUMBERS, EVERY_FILE = "none", "all kinds"
"""What the bench hands out: nothing but numbers, or every kind of file."""


async def set_drill(home: HomeScreen) -> None:
    """Choose a starter or a fault of one's own, fill in the form, and write both files where one works."""
    app, catalogue = home.app, home.workspace.catalogue
    chosen = await _starter(app)
    if chosen is None:
        return
    plan = await _own_plan(app, catalogue) if chosen == OWN else read_plan(starters()[chosen])
    if plan is None:
        return
    found = await app.push_screen_wait(plan_form("drill" if chosen == OWN else chosen, plan))
    if not isinstance(found, tuple):
        return
    name, plan = found
    seed = home.workspace.draw(SEED_BITS)
    if chosen != OWN and plan.faults == read_plan(starters()[chosen]).faults:
        plan = with_drawn_figures(plan, seed)
    made = await wait_for(
        app, "Set a drill", "Computing the car, and proving that its fault can be found",
        lambda _: make_proved(plan, seed, catalogue),
    )  # fmt: skip
    if made is not None:
        drill, key = write_both(Path.cwd(), name, made)
        await app.push_screen_wait(PageScreen("The drill is set", what_next(drill, key, made)))


async def _starter(app: App[Any]) -> str | None:
    rows = [Row(OWN, "A drill of my own", under="I choose the car, the fault and what is not at hand")]
    for name, path in starters().items():
        plan = read_plan(path)
        rows.append(Row(name, plan.title, f"level {plan.level}", plan.teaches))
    words = "Starters get a new car each time, so no two classes read the same."
    return await app.push_screen_wait(ChooseScreen("Set a drill", rows, words))


async def _own_plan(app: App[Any], catalogue: Catalogue) -> DrillPlan | None:
    """Ask for car, one fault or two, and the tools that are not at hand; Esc goes one step back."""
    car, faults, step = CARS[0], list[str](), 0
    while True:
        if step == 0:
            cars = [Row(name, catalogue.cars[name].title, under=catalogue.cars[name].about) for name in CARS]
            chosen = await app.push_screen_wait(ChooseScreen("Which car?", cars))
            if chosen is None:
                return None
            car, step = chosen, 1
        elif step in (1, 2):
            title = "Which fault?" if step == 1 else "A second fault?"
            chosen = await app.push_screen_wait(_fault_screen(title, car, faults[: step - 1], catalogue))
            faults = faults[: step - 1] + ([chosen] if chosen not in (None, NONE) else [])
            step = step + 1 if chosen is not None else step - 1
        else:
            tools = MarkScreen(
                "Tools at hand", [Row(name, tool.words) for name, tool in catalogue.tools.items()],
                set(catalogue.tools), "Take the mark off what the class is not to have.",
            )  # fmt: skip
            if await app.push_screen_wait(tools):
                missing = tuple(name for name in catalogue.tools if name not in tools.marked)
                return DrillPlan(car=car, faults=dict.fromkeys(faults, 1.0), tools_missing=missing)
            step = 2


def _fault_screen(title: str, car: str, had: list[str], catalogue: Catalogue) -> ChooseScreen:
    known = catalogue.causes
    names = sorted((one for one in possible_causes(car, catalogue) if one not in had), key=lambda one: known[one].title)
    rows = [Row(name, known[name].title, "", known[name].term) for name in names]
    return ChooseScreen(title, [Row(NONE, "No second fault"), *rows] if had else rows, narrows=True)


def plan_form(name: str, plan: DrillPlan) -> FormScreen:
    """Return the form for the rest of a plan; a field that is left as it stands keeps what the plan has."""
    bad = next(iter({*plan.faults.values(), *plan.any_of.values()}), 1.0)
    fields = [
        FormField("name", "Name of the files", name),
        FormField("title", "Title", plan.title, "" if plan.title else "of the car"),
        FormField("story", "Customer's words", plan.story.strip(), "" if plan.story else "as the trees say"),
        FormField("severity", "How bad", f"{bad:g}", "0.05 to 1"),
        FormField("minutes", "Minutes of work", _number(plan.minutes), "empty: no limit"),
        FormField("clock", "Minutes by the clock", _number(plan.clock), "empty: no limit"),
        FormField("money", "Parts money", _number(plan.money), "empty: no limit"),
        FormField("hint", "A hint", plan.hints[0] if plan.hints else "", "" if plan.hints else "none"),
        FormField("ranking", "Ranking", plan.ranking, choices=("hidden", "asked", "shown")),
        FormField("files", "Files to read", _handed(plan), choices=(NUMBERS, *FILE_KINDS, EVERY_FILE)),
    ]
    return FormScreen("Set a drill", WORDS, lambda _: fields, lambda changed, _: read_form(name, plan, changed))


def _handed(plan: DrillPlan) -> str:
    """Return which files are handed out, as the form says it."""
    return EVERY_FILE if len(plan.files) > 1 else plan.files[0] if plan.files else NUMBERS


def _number(value: float | None) -> str:
    return "" if value is None else f"{value:g}"


def read_form(
    name: str, plan: DrillPlan, changed: Mapping[str, str], _: System = "us"
) -> tuple[object, Mapping[str, str]]:
    """Return the name of the files and the plan that the fields make, or what is wrong by field."""
    wrong: dict[str, str] = {}
    written = msgspec.to_builtins(plan) | {"seed": ""}
    for field in ("minutes", "clock", "money", "severity"):
        text = changed.get(field, "").strip().replace(",", ".")
        try:
            number = float(text) if text else None
        except ValueError:
            wrong[field] = "This is no number."
            continue
        if field in changed and field != "severity":
            written[field] = number
        elif number is not None:
            written |= {key: dict.fromkeys(written[key], number) for key in ("faults", "any-of")}
    name = changed.get("name", name).strip()
    if not re.fullmatch(r"\w[\w.-]*", name):
        wrong["name"] = "Use letters, digits and dashes."
    for field in ("title", "story", "ranking"):
        if field in changed:
            written[field] = changed[field].strip()
    if (files := changed.get("files")) is not None:
        written["files"] = list(FILE_KINDS) if files == EVERY_FILE else [one for one in FILE_KINDS if one == files]
    if "hint" in changed:
        written["hints"] = [changed["hint"].strip()] if changed["hint"].strip() else []
    if not written["title"]:
        del written["title"]
    if wrong:
        return None, wrong
    try:
        return (name, msgspec.convert(written, DrillPlan)), {}
    except msgspec.ValidationError as problem:
        at = next((one for one in ("minutes", "clock", "money", "title") if one in str(problem)), "severity")
        return None, {at: f"A drill cannot be set so: {problem}."}


def make_proved(plan: DrillPlan, seed: int, catalogue: Catalogue) -> MadeDrill:
    """Return the drill with its key; DrillUnsolved when no policy finds its fault."""
    one = make_drills([plan], [seed], catalogue)[0]
    return MadeDrill(one.drill, with_best(one.key, solve(one.drill, one.key, one.car, catalogue)), one.car)


def write_both(folder: Path, name: str, made: MadeDrill) -> tuple[Path, Path]:
    """Write drill and key; neither when one of them is there already."""
    drill, key = folder / f"{name}{DRILL}", folder / f"{name}{KEY}"
    for path in (drill, key):
        if path.exists():
            raise TroubleshootError(f"{path} is there already.", "Choose another name.")
    try:
        write_whole(drill, drill_text(made.drill))
        write_key(key, made.key)
    except OSError as refused:
        advice = "Start the program from a folder of your own."
        raise TroubleshootError(f"{drill} cannot be written: {refused.strerror}.", advice) from refused
    return drill, key


def what_next(drill: Path, key: Path, made: MadeDrill) -> tuple[str, ...]:
    """Return what was written and what a trainer does with it."""
    return (
        f"Both files are in {drill.parent}:",
        f"- {drill.name} is for the class.",
        f"- {key.name} is for you alone: it holds the answer.",
        f"The fault can be found; a good path takes {made.key.best_minutes:.0f} minutes.",
        "Each trainee at a computer of their own:",
        f"- troubleshoot drill sit {drill.name}",
        "A class in the browser, from this computer:",
        f"- troubleshoot drill serve {drill.name}",
        "Afterwards, here:",
        "- p, then Mark what was handed in",
    )
