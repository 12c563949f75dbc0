"""`troubleshoot ask`: the walk as plain questions and answers."""

from __future__ import annotations

from typing import Annotated

import typer

from troubleshoot.cli.conversation import converse
from troubleshoot.cli.options import global_options


def ask(
    context: typer.Context,
    concerns: Annotated[
        list[str] | None, typer.Argument(help="What the customer says, by id; asked if left out.")
    ] = None,
    case: Annotated[str | None, typer.Option(help="Go on with this case.")] = None,
    car: Annotated[str | None, typer.Option(help="A car file or the id of an example car; asked if left out.")] = None,
    differs: Annotated[list[str] | None, typer.Option("--set", help="What differs about the car: name=value.")] = None,
) -> None:
    """Find a fault by questions and answers in plain lines.

    Reads answers from the keyboard or from a file, one to a line.
    Everything answered is saved at once; at the end of input the case is left open.
    """
    raise typer.Exit(converse(global_options(context), case, concerns, car, differs))


def register(app: typer.Typer) -> None:
    """Add the command to an application."""
    app.command("ask")(ask)
