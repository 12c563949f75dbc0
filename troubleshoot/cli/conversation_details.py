"""What a conversation does beside the steps of a case: its car, concerns and tools, a calculation, a report."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import TYPE_CHECKING

from troubleshoot.cli import output
from troubleshoot.cli.case_setup import ask, ask_changes, ask_concerns, ask_tools, lines
from troubleshoot.problems import TroubleshootError

if TYPE_CHECKING:
    from troubleshoot.case.case import Case


def change_car(case: Case) -> None:
    """Ask what is different about the car; the readings count anew."""
    case.set_car(ask_changes(case.assessment.car))
    output.data("The car is changed.")


def change_concerns(case: Case) -> None:
    """Ask anew what the customer says."""
    case.set_concerns(ask_concerns(case.catalogue))
    output.data("What the car does is changed.")


def change_tools(case: Case) -> None:
    """Ask anew which tools are missing."""
    case.set_tools(ask_tools(case.catalogue))
    output.data("The tools at hand are changed.")


def work_out(case: Case, rest: str) -> None:
    """Work a calculation out with what is typed as name=value, and with what the case knows; or list them all."""
    from troubleshoot.calculations.registry import calculation, calculations
    from troubleshoot.case.given_inputs import known_inputs
    from troubleshoot.cli.calc_answer import answer_lines, read_input

    try:
        name, *typed = shlex.split(rest) or [""]
    except ValueError:
        raise TroubleshootError(
            "A quotation mark is left open.", 'As in: calc dwell-time "engine-speed=4000 rpm"'
        ) from None
    if not name:
        lines([f"  {one.name}: {one.title}" for one in calculations()])
        return
    one, system = calculation(name), case.settings.units
    given = known_inputs(one, case.assessment, case.catalogue, system)
    for word in typed:
        field, _, value = word.removeprefix("--").partition("=")
        given[field] = value
    answer = one.answer({field: read_input(one.field(field), text, system) for field, text in given.items()}, system)
    lines(answer_lines(answer, system))


_YES = ("y", "yes")


def compare_pulls_of(case: Case) -> None:
    """Ask for pulls before and after, say how they differ, and keep that with the case if wanted."""
    from troubleshoot.case.recorded import keep_comparison
    from troubleshoot.casebook.store import Casebook
    from troubleshoot.cli.compare import WEATHER, say_comparison
    from troubleshoot.recordings.compared_pulls import PullsAsked, compare_pulls, files_named

    car, folder = case.assessment.car.title, case.store.path.parent if isinstance(case.store, Casebook) else Path()
    before = files_named(ask(f"Pulls before, with semicolons between the files (Enter: those kept of {car}):"))
    weather = f"{WEATHER.partition(';')[0]} (Enter: not known):"
    then = ask(weather) if before else ""
    keep = bool(before) and ask(f"y to keep them as the baseline of {car}:").casefold() in _YES
    after = files_named(ask("Pulls after (Enter: none yet):" if keep else "Pulls after:"))
    pulls = compare_pulls(PullsAsked(before, after, then, ask(weather) if after else "", car, folder, keep))
    if keep:
        output.data(f"The pulls are kept as the baseline of {car}.")
    if pulls is None:
        return
    say_comparison(pulls.found)
    if ask("y to keep this with the case:").casefold() in _YES:
        keep_comparison(case, pulls)
        output.data("Kept with the case; it stands in the report.")


def show_drawing(case: Case) -> None:
    """Show where the probes go, in signs."""
    check = case.view().step.check
    if check is None or not check.drawing.strip():
        raise TroubleshootError("There is no drawing here.", "The steps say it in words.")
    lines(check.drawing.rstrip().splitlines())


def report(case: Case, rest: str) -> None:
    """Say the record so far, or write it to a file: a page to print for .html, Markdown for .md, else text.

    After the word customer it is the customer's page.
    """
    from troubleshoot.cli.report import formed
    from troubleshoot.reports.case_report import report_of

    word, _, behind = rest.partition(" ")
    customer = word == "customer"
    to = behind.strip() if customer else rest
    ending = Path(to).suffix.casefold()
    text = formed(report_of(case), ending == ".md", ending in (".html", ".htm"), customer)
    output.write_out(text, Path(to).expanduser() if to else None)


def close(case: Case, rest: str) -> None:
    """Close the case as what is typed, or as it stands."""
    result = rest or "left"
    if result not in ("proved", "referred", "left"):
        raise TroubleshootError(
            f"A case does not end as {result[:40]}.", "Type close proved, close referred or close left."
        )
    case.close(result)
