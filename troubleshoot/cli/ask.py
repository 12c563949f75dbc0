"""`troubleshoot ask`: the walk as plain questions and answers."""

from __future__ import annotations

from typing import Annotated

import typer

from troubleshoot.case.case import Case, open_case, resume_case
from troubleshoot.classroom.sat_cases import refuse_open_sitting
from troubleshoot.cli import output
from troubleshoot.cli.car_choice import car_asked_for, changed_car
from troubleshoot.cli.case_setup import (
    EndOfInput,
    Smelt,
    ask_car,
    ask_concerns,
    ask_tools,
    concern_named,
    lines,
)
from troubleshoot.cli.case_setup import ask as asked
from troubleshoot.cli.conversation import Talk, hold
from troubleshoot.cli.options import GlobalOptions, global_options
from troubleshoot.cli.plain_lines import wrapped
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.problems import TroubleshootError


def ask(
    context: typer.Context,
    concerns: Annotated[
        list[str] | None, typer.Argument(help="What the customer says, by id; asked if left out.")
    ] = None,
    case: Annotated[str | None, typer.Option(help="Go on with this case.")] = None,
    car: Annotated[str | None, typer.Option(help="A car file or the id of an example car; asked if left out.")] = None,
    differs: Annotated[list[str] | None, typer.Option("--set", help="What differs about the car: name=value.")] = None,
    example: Annotated[bool, typer.Option("--example", help="A case in which a virtual engine answers Enter.")] = False,
) -> None:
    """Find a fault by questions and answers in plain lines.

    Reads answers from the keyboard or from a file, one to a line.
    Everything answered is saved at once; at the end of input the case is left open.
    """
    if example:
        raise typer.Exit(_example(global_options(context), case))
    raise typer.Exit(converse(global_options(context), case, concerns, car, differs))


def _example(wanted: GlobalOptions, case_id: str | None) -> int:
    """Hold the conversation of the example, begun or gone on with."""
    from troubleshoot.classroom.example import begin_example, has_example, resume_example

    catalogue = wanted.catalogue()
    if not has_example(catalogue):
        raise TroubleshootError("These trees have no example.", "Leave --trees out.")
    with wanted.open_casebook() as book:
        given = catalogue, wanted.clock, wanted.settings()
        case = begin_example(book, *given) if case_id is None else resume_example(book, catalogue, case_id, *given[1:])
        output.data("Type ? for help at any time. Enter lets the engine answer, makes the repair, and tries it again.")
        _hold(case)
    return output.DONE


def converse(
    wanted: GlobalOptions,
    case_id: str | None,
    concerns: list[str] | None = None,
    car: str | None = None,
    differs: list[str] | None = None,
) -> int:
    """Hold the conversation to its end and return the exit code; whatever was answered is saved."""
    catalogue = wanted.catalogue()
    with wanted.open_casebook() as book:
        if case_id is not None:
            refuse_open_sitting(book, case_id)
            case = resume_case(book, catalogue, case_id, wanted.clock, wanted.settings())
        else:
            output.data("Plain questions and answers. Type ? for help at any time.")
            try:
                this_car, chosen, tools = _what_to_look_at(wanted, catalogue, concerns, car, differs)
            except EndOfInput:
                output.data("Nothing was begun, so nothing is saved.")
                return output.DONE
            except Smelt:
                _stop_before_a_case(catalogue)
                return output.DONE
            case = open_case(book, catalogue, wanted.clock, wanted.settings())
            case.start_with(this_car, chosen, tools)
        _hold(case)
    return output.DONE


def _what_to_look_at(
    wanted: GlobalOptions, catalogue: Catalogue, concerns: list[str] | None, car: str | None, differs: list[str] | None
) -> tuple[Car, list[str], list[str] | None]:
    """Return car, concerns and tools; what was not given is asked."""
    chosen = [concern_named(catalogue, one) for one in concerns or ()] or ask_concerns(catalogue)
    for one in chosen:
        if catalogue.concerns[one].stops:
            lines(wrapped(catalogue.concerns[one].stop, "DANGER: "))
    if car is None:
        return ask_car(wanted.cars(catalogue)), chosen, ask_tools(catalogue)
    return changed_car(car_asked_for(wanted.cars(catalogue), car, wanted.here), differs or []), chosen, None


def _stop_before_a_case(catalogue: Catalogue) -> None:
    """Say what to do about a smell of fuel where no case has begun, and how to go on from it."""
    for name, concern in catalogue.concerns.items():
        if concern.stops:
            lines(wrapped(concern.stop, "DANGER: "))
            output.data(f"Once the air is clear: troubleshoot ask {name}")


def _hold(case: Case) -> None:
    """Hold the conversation, and say how to go on where it is left."""
    try:
        _open_again(case)
        if hold(Talk(case)):
            lines(wrapped(case.view().step.words))
            output.data(f"For the record: troubleshoot report {case.case_id}")
        else:
            output.data(f"Saved. To go on: troubleshoot ask --case {case.case_id}")
    except KeyboardInterrupt:
        output.data(f"\nTo go on: troubleshoot ask --case {case.case_id}")
        raise


def _open_again(case: Case) -> None:
    """Ask whether a case that was closed is to be gone on with, as on the screens; a smell of fuel is a yes."""
    if case.view().step.kind != "closed":
        return
    try:
        if asked("It is closed. back opens it again, Enter leaves it so:").strip().casefold() == "back":
            output.data(f"Taken back: {case.undo()}.")
    except EndOfInput:
        return
    except Smelt:
        case.undo()
        case.smell_fuel()


def register(app: typer.Typer) -> None:
    """Add the command to an application."""
    app.command("ask")(ask)
