"""`troubleshoot concerns`, `causes`, `checks` and `cars`: the ids that other commands and trees take."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any

import typer

from troubleshoot.calculations.units import System, shown_unit
from troubleshoot.cli import output
from troubleshoot.cli.car_choice import car_asked_for
from troubleshoot.cli.options import global_options
from troubleshoot.cli.plain_lines import wrapped
from troubleshoot.knowledge.answers import shown_unit_of
from troubleshoot.knowledge.car_file import car_text
from troubleshoot.knowledge.concern_groups import grouped, speaking_of
from troubleshoot.knowledge.model import Check


def concerns(
    context: typer.Context,
    about: Annotated[str | None, typer.Argument(help="Only concerns that a customer may mean by this word.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print as JSON.")] = False,
) -> None:
    """List what a customer can say, with ids."""
    found = speaking_of(global_options(context).catalogue().concerns, about or "")
    if not found:
        output.fail(f'No concern speaks of "{(about or "")[:60]}".', "List them all with: troubleshoot concerns.")
    if as_json:
        output.as_json({name: one.title for name, one in found.items()})
        return
    for group, held in grouped(found).items():
        output.data(f"{group}:")
        for name, one in held.items():
            output.data("\n".join(wrapped(one.says, f"  {name:<16} ")))


def causes(
    context: typer.Context,
    about: Annotated[str | None, typer.Argument(help="Only causes whose id, words or system hold this.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print as JSON.")] = False,
) -> None:
    """List what can be wrong, with ids."""
    found = {
        name: one
        for name, one in global_options(context).catalogue().causes.items()
        if about is None or about.casefold() in f"{name} {one.title} {one.term} {one.system}".casefold()
    }
    if not found:
        output.fail(f'No cause speaks of "{(about or "")[:60]}".', "List them all with: troubleshoot causes.")
    if as_json:
        output.as_json({name: one.title for name, one in found.items()})
        return
    for name, one in found.items():
        term = f" ({one.term})" if one.term else ""
        output.data("\n".join(wrapped(f"{one.title}{term}", f"{name:<30} ")))


def checks(
    context: typer.Context,
    about: Annotated[str | None, typer.Argument(help="Only checks whose id or words hold this.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print as JSON.")] = False,
) -> None:
    """List the checks and their outcomes, with ids."""
    wanted = global_options(context)
    found = {
        name: one
        for name, one in wanted.catalogue().checks.items()
        if about is None or about.casefold() in f"{name} {one.ask} {one.term}".casefold()
    }
    if not found:
        output.fail(f'No check speaks of "{(about or "")[:60]}".', "List them all with: troubleshoot checks.")
    if as_json:
        output.as_json({name: _check_data(one, wanted.units) for name, one in found.items()})
        return
    for name, one in found.items():
        output.data("\n".join(_check_lines(name, one, wanted.units)))


def _check_data(check: Check, system: System) -> dict[str, Any]:
    unit = shown_unit_of(check, system) or None
    return {"ask": check.ask, "unit": unit, "outcomes": list(check.outcomes), "state": check.state}


def _check_lines(name: str, check: Check, system: System) -> Iterator[str]:
    shown = shown_unit(shown_unit_of(check, system)) if check.unit else ""
    words = f" (in {'inches' if shown == 'in' else shown})" if shown else ""
    yield from wrapped(f"{check.ask}{words}", f"{name:<26} ")
    yield from wrapped(f"outcomes: {', '.join(check.outcomes)}", " " * 27)


def cars(
    context: typer.Context,
    car: Annotated[str | None, typer.Argument(help="Show everything about this one.")] = None,
) -> None:
    """List your cars and the invented ones, with ids, or print one as a car file."""
    wanted = global_options(context)
    known = wanted.cars(wanted.catalogue())
    if car is not None:
        output.data(car_text(car_asked_for(known, car, wanted.here)).rstrip())
        return
    for name, one in known.items():
        said = " ".join(f"{word.rstrip('.')}." for word in (one.title, one.plate, one.owner, one.about) if word)
        output.data("\n".join(wrapped(said, f"{name:<24} ")))


def register(app: typer.Typer) -> None:
    """Add the commands to an application."""
    app.command("concerns")(concerns)
    app.command("causes")(causes)
    app.command("checks")(checks)
    app.command("cars")(cars)
