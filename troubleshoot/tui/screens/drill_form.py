"""The form by which a trainer sets a drill: car, faults, severity, tools, limits, hints and story."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from troubleshoot.drills.drill_file import drill_text
from troubleshoot.drills.key_file import key_text
from troubleshoot.drills.setting import SEED_BITS, DrillPlan, MadeDrill, make_drills, possible_causes
from troubleshoot.drills.solving import solve, with_best
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.screens.exercises import in_background
from troubleshoot.tui.screens.filling import FormScreen, System
from troubleshoot.tui.widgets.form import FormField
from troubleshoot.tui.widgets.lines import tell

if TYPE_CHECKING:
    from troubleshoot.tui.screens.start import StartScreen

CARS = ("harrow-240", "harrow-240-electronic", "tarn-six-160", "tarn-six-160-electronic")
CHOOSE = "choose one"
WORDS = "Left and Right step through choices. Whatever the class reads must say nothing of the cause."


def open_drill_form(start: StartScreen) -> None:
    """Fill in the form, make the drill in the background, and write both files where one works."""
    catalogue = start.desk.catalogue
    causes = tuple(dict.fromkeys(name for car in CARS for name in possible_causes(car, catalogue)))
    fields = [
        FormField("name", "Name of the files", "drill"),
        FormField("title", "Title", ""),
        FormField("story", "Customer's words", "", "as the trees say"),
        FormField("car", "Car", CARS[0], choices=CARS),
        FormField("fault", "Fault", CHOOSE, choices=(CHOOSE, *causes)),
        FormField("severity", "How bad", "1", "0.05 to 1"),
        FormField("second", "Second fault", "none", choices=("none", *causes)),
        FormField("missing", "Tools not here", "", "ids"),
        FormField("minutes", "Minutes allowed", "", "no limit"),
        FormField("money", "Parts money", "", "no limit"),
        FormField("ranking", "Ranking", "hidden", choices=("hidden", "asked", "shown")),
        FormField("hint", "A hint", "", "none"),
    ]

    def made(found: object) -> None:
        if isinstance(found, tuple):
            name, plan = found
            in_background(start, lambda: _make(start, plan), lambda one: _write(start, name, one))

    start.app.push_screen(FormScreen("Set a drill", WORDS, lambda _: fields, read_form), made)


def read_form(changed: Mapping[str, str], _: System) -> tuple[object, Mapping[str, str]]:
    """Return the name of the files and the plan that the fields make, or what is wrong by field."""
    usual = {"name": "drill", "car": CARS[0], "fault": CHOOSE, "severity": "1", "second": "none", "ranking": "hidden"}
    given = {**usual, **changed}
    wrong: dict[str, str] = {}
    numbers: dict[str, float | None] = {}
    for field in ("severity", "minutes", "money"):
        try:
            numbers[field] = float(given[field].replace(",", ".")) if given.get(field, "").strip() else None
        except ValueError:
            wrong[field] = "This is no number."
    if not re.fullmatch(r"[\w.-]+", given["name"]):
        wrong["name"] = "Use letters, digits and dashes."
    if given["fault"] == CHOOSE:
        wrong["fault"] = "Choose a fault with Right."
    if wrong:
        return None, wrong
    named = [one for one in (given["fault"], given["second"]) if one != "none"]
    severity = numbers["severity"] if numbers["severity"] is not None else 1.0
    written = {
        "title": given.get("title", "").strip(), "story": given.get("story", ""), "car": given["car"],
        "faults": dict.fromkeys(named, severity), "tools-missing": given.get("missing", "").replace(",", " ").split(),
        "minutes": numbers["minutes"], "money": numbers["money"], "ranking": given["ranking"],
        "hints": [given["hint"]] if given.get("hint", "").strip() else [],
    }  # fmt: skip
    if not written["title"]:
        del written["title"]
    try:
        return (given["name"], msgspec.convert(written, DrillPlan)), {}
    except msgspec.ValidationError as problem:
        return None, {"form": f"A drill cannot be set so: {problem}."}


def _make(start: StartScreen, plan: DrillPlan) -> MadeDrill:
    catalogue = start.desk.catalogue
    one = make_drills([plan], [start.desk.draw(SEED_BITS)], catalogue)[0]
    return MadeDrill(one.drill, with_best(one.key, solve(one.drill, one.key, one.car, catalogue)), one.car)


def _write(start: StartScreen, name: str, made: MadeDrill) -> None:
    """Write both files; neither when one of them is there already."""
    drill, key = Path.cwd() / f"{name}.drill.json", Path.cwd() / f"{name}.key.json"
    for path in (drill, key):
        if path.exists():
            raise TroubleshootError(f"{path} is there already.", "Choose another name.")
    try:
        drill.write_text(drill_text(made.drill), encoding="utf-8", newline="\n")
        key.write_text(key_text(made.key), encoding="utf-8", newline="\n")
    except OSError as refused:
        remedy = "Start the program from a folder of your own."
        raise TroubleshootError(f"{drill} cannot be written: {refused.strerror}.", remedy) from refused
    best = f"{made.key.best_minutes:.0f} minutes by the best policy"
    tell(start, f"Written: {drill.name} for the class, {key.name} for you; {best}.")
