"""Pulls before against pulls after: which files, the curves with the sentence, and whether the case keeps them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from troubleshoot.case.recorded import keep_comparison
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.screens.form_screen import FormScreen, System
from troubleshoot.tui.screens.pictures import ComparedScreen
from troubleshoot.tui.screens.waiting import ask_until_made
from troubleshoot.tui.widgets.form import FormField
from troubleshoot.tui.widgets.lines import tell

if TYPE_CHECKING:
    from troubleshoot.recordings.compared_pulls import ComparedPulls, PullsAsked
    from troubleshoot.tui.screens.case_screen import CaseScreen

WORDS = "Two or more pulls on each side, dyno tables or logs, with semicolons between the files."
NO, YES = "no", "yes"


async def compare_in_case(session: CaseScreen) -> None:
    """Ask for pulls until they can be compared or it is given up, show them, and keep them with the case if wanted."""
    from troubleshoot.recordings.compared_pulls import compare_pulls

    app, case = session.app, session.case
    folder, car = session.workspace.casebook_path.parent, case.assessment.car.title

    async def compared(asked: PullsAsked) -> Callable[[], tuple[ComparedPulls | None]]:
        return lambda: (compare_pulls(asked),)  # in a row of one: nothing in it where a baseline was only kept

    said = (WORDS, "Reading the pulls")
    pulls = await ask_until_made(app, "Before and after", said, partial(pulls_form, folder, car), compared)
    if pulls is None:
        return
    if pulls[0] is None:
        tell(session, f"The pulls are kept as the baseline of {car}.")
    elif await app.push_screen_wait(ComparedScreen(pulls[0], (app.size.width, app.size.height))) == "keep":
        with session.changing("Kept with the case; it stands in the report."):
            keep_comparison(case, pulls[0])


def pulls_form(folder: Path, car: str, typed: dict[str, str], words: str) -> FormScreen:
    """Return the form that asks for the pulls; what is typed is kept in `typed`."""
    from troubleshoot.recordings.baselines import baseline_of
    from troubleshoot.recordings.compared_pulls import PullsAsked, files_named

    try:
        usual = f"left empty: the {len(baseline_of(folder, car))} kept of {car}"
    except TroubleshootError:
        usual = f"nothing is kept of {car} yet"
    weather = "as 29.6 inHg, 85 degF, 40 %; SAE J1349"
    fields = [
        FormField("before", "Pulls before", typed.get("before", ""), usual),
        FormField("weather-before", "Weather then", typed.get("weather-before", ""), weather),
        FormField("keep", "Keep them as baseline", typed.get("keep", NO), choices=(NO, YES)),
        FormField("after", "Pulls after", typed.get("after", ""), "may be empty when a baseline is kept"),
        FormField("weather-after", "Weather now", typed.get("weather-after", ""), weather),
    ]

    def reads(changed: Mapping[str, str], _: System) -> tuple[object, Mapping[str, str]]:
        typed.update({name: text.strip() for name, text in changed.items()})
        keep = typed.get("keep") == YES
        if not typed.get("after") and not keep:
            return None, {"after": "Name the files."}
        before, after = (files_named(typed.get(side, "")) for side in ("before", "after"))
        then, now = typed.get("weather-before", ""), typed.get("weather-after", "")
        return PullsAsked(before, after, then, now, car, folder, keep), {}

    return FormScreen("Before and after", words, lambda _: fields, reads)
