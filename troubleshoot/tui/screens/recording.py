"""A recording taken into a case: which file, what its headings mean, its picture, and the readings to take."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from textual.app import App

from troubleshoot.case.case import Case
from troubleshoot.case.recorded import offered, take_recorded
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.screens.choice_screen import ChooseScreen
from troubleshoot.tui.screens.form_screen import FormScreen, System
from troubleshoot.tui.screens.pictures import PictureScreen
from troubleshoot.tui.screens.waiting import ask_until_made
from troubleshoot.tui.widgets.form import FormField
from troubleshoot.tui.widgets.lines import tell
from troubleshoot.tui.widgets.numbered import Row

if TYPE_CHECKING:
    from troubleshoot.recordings.reading_files import Asked
    from troubleshoot.recordings.recorded import Recorded
    from troubleshoot.tui.screens.case_screen import CaseScreen

WORDS = "Readings are taken from it with their uncertainty; you choose which."
REMEMBERED, ANEW = "as before", "choose anew"
GO_ON, NOTHING = "go-on", "nothing"


async def take_recording(session: CaseScreen) -> None:
    """Ask for a recording until it can be read or is given up, show it, and take the readings marked."""
    from troubleshoot.recordings.reading_files import read_recording

    app, case = session.app, session.case

    async def read(filled: tuple[Asked, bool]) -> Callable[[], Recorded] | None:
        known = await picked_headings(app, *filled)
        return None if known is None else partial(read_recording, known)

    form = partial(recording_form, case, session.workspace.casebook_path.parent)
    found = await ask_until_made(app, "A recording", (WORDS, "Reading the file"), form, read)
    if found is None:
        return
    if not offered(case, found):
        tell(session, " ".join(("It gives no reading for these checks.", *found.words)))
        return
    screen = PictureScreen(case, found, (app.size.width, app.size.height))
    if await app.push_screen_wait(screen) is not None:
        with session.changing("Readings taken. b takes the last one back."):
            take_recorded(case, found, screen.marked)


def recording_form(case: Case, memory: Path, typed: dict[str, str], words: str = WORDS) -> FormScreen:
    """Return the form that asks for the file; its result says what to read, and whether headings are gone
    through anew. What is typed is kept in `typed`."""
    from troubleshoot.recordings.reading_files import WHAT, Asked

    car = case.assessment.car

    fields = [
        FormField("file", "File", typed.get("file", ""), "text in columns (CSV); a sound or a capture may be WAV"),
        FormField("what", "What it is; a probe on", typed.get("what", WHAT[0]), choices=WHAT),
        FormField("headings", "Headings of a log", typed.get("headings", REMEMBERED), choices=(REMEMBERED, ANEW)),
        FormField("full-scale", "Highest sample, V or A", typed.get("full-scale", ""), "only for a capture in WAV"),
    ]

    def reads(changed: Mapping[str, str], _: System) -> tuple[object, Mapping[str, str]]:
        typed.update({name: text.strip() for name, text in changed.items()})
        if not typed.get("file"):
            return None, {"file": "Name the file."}
        try:
            scale = _number(typed["full-scale"]) if typed.get("full-scale") else None
        except TroubleshootError as refused:
            return None, {"full-scale": str(refused)}
        path = Path(typed["file"]).expanduser()
        asked = Asked(path, typed.get("what", WHAT[0]), car.cylinders, scale, {}, memory, car.strokes)
        return (asked, typed.get("headings") == ANEW), {}

    return FormScreen("A recording", words, lambda _: fields, reads)


def _number(text: str) -> float:
    from troubleshoot.calculations.units import read_quantity

    return read_quantity(text, "count").value


async def picked_headings(app: App[Any], asked: Asked, anew: bool) -> Asked | None:
    """Offer the headings of a log that mean nothing, as a list; what is chosen is remembered for these headings.

    Nothing is asked where all are known, or where these headings were gone through before. None when it is left.
    """
    from troubleshoot.recordings.picks import gone_through, headings_of, lacking, meanings, remember, remembered

    if asked.what != "log" or asked.memory is None or not asked.path.is_file():
        return asked
    headings = headings_of(asked.path)
    chosen = remembered(asked.memory, headings)
    words = "Not every heading is known. Choose one to say what it is, or go on without."
    means = meanings(headings, chosen)
    clear = all(name for _, name in means) or gone_through(asked.memory, headings)
    if clear and not anew and not lacking(means):
        return replace(asked, chosen=chosen)
    while True:
        means = meanings(headings, chosen)
        rows = [Row(GO_ON, "Go on with these")]
        rows += [
            Row(str(place), one, name.replace("-", " ") or "not used")
            for place, (one, name) in sorted(enumerate(means), key=lambda row: bool(row[1][1]))
        ]
        picked = await app.push_screen_wait(ChooseScreen("What the headings mean", rows, words, narrows=True))
        if picked is None:
            return None
        if picked != GO_ON:
            chosen = await _said(app, headings[int(picked)], chosen)
            words = "Choose the next, or go on."
        elif wanted := lacking(means):
            words = f"{wanted} Choose the heading that has it."
        else:
            remember(asked.memory, headings, chosen)
            return replace(asked, chosen=chosen)


async def _said(app: App[Any], heading: str, chosen: Mapping[str, str]) -> dict[str, str]:
    """Ask what one heading is; return what is chosen then."""
    from troubleshoot.recordings.quantities import QUANTITIES

    rows = [Row(one.name, one.name.replace("-", " "), one.unit) for one in QUANTITIES]
    screen = ChooseScreen(heading, [*rows, Row(NOTHING, "none of these")], "What does this column hold?", narrows=True)
    quantity = await app.push_screen_wait(screen)
    if quantity is None:
        return dict(chosen)
    kept = {name: one for name, one in chosen.items() if one != heading}
    return kept if quantity == NOTHING else kept | {quantity: heading}
