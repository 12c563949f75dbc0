"""`troubleshoot rank`: rank the causes for readings already taken."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, Any

import typer

from troubleshoot.case.case import Case, open_case
from troubleshoot.case.view import CaseView
from troubleshoot.casebook.refusing import CasebookRefused
from troubleshoot.casebook.store import IN_MEMORY, Casebook
from troubleshoot.cli import output
from troubleshoot.cli.car_choice import car_asked_for, changed_car
from troubleshoot.cli.log_reading import COLUMN_HELP
from troubleshoot.cli.options import GlobalOptions, global_options, is_file
from troubleshoot.cli.plain_lines import ranking_lines, trail_lines, weight_lines, wrapped
from troubleshoot.cli.readings_file import read_readings, take_readings
from troubleshoot.knowledge.car import Car
from troubleshoot.problems import TroubleshootError

EXPLAINED = 3
"""Of how many causes the weight of every reading is shown."""


def rank(
    context: typer.Context,
    concerns: Annotated[
        list[str], typer.Argument(help="What the customer says, by id; see `concerns`. Or one problem file (YAML).")
    ],
    car: Annotated[
        str | None, typer.Option(help="A car file, or the id of an example car; see `cars`. A problem file has none.")
    ] = None,
    readings: Annotated[
        Path | None,
        typer.Option(
            help="A YAML file: check id to reading, outcome or skipped; - for stdin. Units as `checks` lists."
        ),
    ] = None,
    recorded: Annotated[Path | None, typer.Option("--run", help="A log (CSV) to take readings from.")] = None,
    sound: Annotated[Path | None, typer.Option("--sound", help="A sound (WAV) to take readings from.")] = None,
    captures: Annotated[
        list[str] | None, typer.Option("--capture", help="A capture to take readings from: PROBE=FILE.")
    ] = None,
    column: Annotated[list[str] | None, typer.Option("--column", help=COLUMN_HELP)] = None,
    differs: Annotated[list[str] | None, typer.Option("--set", help="What differs about the car: name=value.")] = None,
    tools: Annotated[str | None, typer.Option(help="The tools at hand, by id, with commas between.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the ranking as JSON.")] = False,
) -> None:
    """Rank the causes for readings already taken, and name the next check.

    Nothing is kept. Exit code 2 when a name or a reading is refused.
    """
    wanted = global_options(context)
    if len(concerns) == 1 and is_file(wanted.here / concerns[0], concerns[0]):
        _rank_file(wanted, concerns[0], readings, as_json, car or recorded or differs or tools)
        return
    if car is None:
        output.fail("Whose car is it? Limits depend on it.", "Give --car a car file, or the id of an example car.")
    catalogue = wanted.catalogue()
    this_car = changed_car(car_asked_for(wanted.cars(catalogue), car, wanted.here), differs or [])
    case = _case_of(
        wanted, this_car, concerns, None if tools is None else [one.strip() for one in tools.split(",") if one]
    )
    files = [("log", recorded)] if recorded is not None else []
    files += [("sound", sound)] if sound is not None else []
    files += [_probe_and_file(one) for one in captures or ()]
    found: dict[str, str] = {}
    for what, path in files:
        found |= _from_recording(wanted, case, what, wanted.here / path, column or [])
    if readings is not None:
        found |= read_readings(None if str(readings) == "-" else wanted.here / readings)
    take_readings(case, found)
    if as_json:
        output.as_json(_ranking_data(case))
    else:
        for line in _ranking_words(case):
            output.data(line)


def _rank_file(wanted: GlobalOptions, what: str, readings: Path | None, as_json: bool, of_a_car: object) -> None:
    from troubleshoot.cli.rank_problem import rank_problem

    if of_a_car:
        output.fail("A problem file knows no car, log or tools.", "Leave --car, --run, --set and --tools out.")
    typed = str(readings) == "-"
    rank_problem(wanted.here / what, None if readings is None or typed else wanted.here / readings, typed, as_json)


def _case_of(wanted: GlobalOptions, car: Car, concerns: list[str], tools: list[str] | None) -> Case:
    """Return a case that is forgotten at the end, taught by the closed cases there are."""
    case = open_case(Casebook(IN_MEMORY), wanted.catalogue(), wanted.clock, wanted.settings(), proved=_proved(wanted))
    case.start_with(car, concerns, tools)
    return case


def _probe_and_file(text: str) -> tuple[str, Path]:
    """Return the probe and the file of PROBE=FILE."""
    probe, sign, name = text.partition("=")
    if not sign or not name:
        raise TroubleshootError(f"{text[:60]!r} names no capture.", "Write PROBE=FILE, as coil=idle.csv.")
    return probe, Path(name)


def _from_recording(wanted: GlobalOptions, case: Case, what: str, path: Path, columns: list[str]) -> dict[str, str]:
    """Return check ids and what was read for them from a recording."""
    from troubleshoot.case.recorded import offered, text_of
    from troubleshoot.recordings.picks import read_picks
    from troubleshoot.recordings.reading_files import Asked, read_recording

    chosen, memory = read_picks(columns if what == "log" else ()), wanted.casebook_path.parent
    car = case.assessment.car
    asked = Asked(path, what, car.cylinders, chosen=chosen, memory=memory, strokes=car.strokes)
    recorded = read_recording(asked)
    return {one.check: text_of(case, one) for one in offered(case, recorded)}


def _proved(wanted: GlobalOptions) -> dict[str, int]:
    if not wanted.learn or not wanted.casebook_path.is_file():
        return {}
    try:
        with wanted.open_casebook(writable=False) as book:
            return book.proved()
    except CasebookRefused as refused:
        output.say(f"Nothing was learned from closed cases: {refused.sentence}")
        return {}


def _ranking_words(case: Case) -> Iterator[str]:
    """Yield the ranking, the weight of each reading and the next step as plain lines."""
    view = case.view()
    yield f"{view.car}: {'; '.join(view.concern_titles)}"
    for notice in view.notices:
        yield from wrapped(notice, "NOTICE: ")
    yield from trail_lines(view.trail)
    yield ""
    yield from ranking_lines(view, 8)
    for cause in view.ranked[:EXPLAINED] if view.readings else ():
        yield ""
        yield from weight_lines(cause.title, case.why(cause.id))
    yield ""
    yield from _next_words(view)


def _next_words(view: CaseView) -> Iterator[str]:
    check, repair = _after_cautions(view)
    if check:
        yield from wrapped(f"{check['ask']} [{check['id']}]", "NEXT: ")
        yield from wrapped(check["why"], "  ")
    elif repair:
        yield from wrapped(f"repair: {repair['title']} [{repair['id']}]", "NEXT: ")
        yield from wrapped(repair["why"], "  ")
    else:
        yield from wrapped((view.behind or view.step).words, "NEXT: ")


def _after_cautions(view: CaseView) -> tuple[dict[str, str], dict[str, str]]:
    step = view.behind or view.step
    if step.check:
        return {"id": step.check.id, "ask": step.check.ask, "why": f"{step.check.why} {step.words}".strip()}, {}
    if step.repair:
        return {}, {"id": step.repair.cause, "title": step.repair.title, "why": step.words}
    return {}, {}


def _ranking_data(case: Case) -> dict[str, Any]:
    """Return the ranking as plain data for a program."""
    view = case.view()
    check, repair = _after_cautions(view)
    ahead = view.behind or view.step
    return {
        "car": view.car,
        "concerns": list(view.concerns),
        "trees": case.catalogue.version,
        "causes": [
            {
                "id": cause.id,
                "title": cause.title,
                "probability": round(cause.probability, 6),
                "words": cause.words,
                "weights": [
                    {"check": one.check, "log-odds": round(one.log_odds, 4), "words": one.words, "read": one.read}
                    for one in case.why(cause.id)
                ],
            }
            for cause in view.ranked
        ],
        "something-else": round(view.something_else, 6),
        "nothing-wrong": round(view.none, 6),
        "pairs": [{"causes": list(one.causes), "probability": round(one.probability, 6)} for one in view.pairs],
        "readings": [
            {"check": line.check, "read": line.answer, "verdict": line.verdict, "normal": line.normal}
            for line in view.trail
            if line.kind == "reading"
        ],
        "next": {"kind": ahead.kind, "check": check or None, "repair": repair or None, "words": ahead.words},
        "doubt": view.doubt,
        "notices": list(view.notices),
    }


def register(app: typer.Typer) -> None:
    """Add the command to an application."""
    app.command("rank")(rank)
