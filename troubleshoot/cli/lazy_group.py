"""A group of commands that imports a command's module only when that command is the one asked for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from importlib import import_module
from types import MappingProxyType
from typing import Any

import typer
import typer.core
import typer.main

from troubleshoot.cli.help_words import complete_help


@dataclass(frozen=True)
class CommandPlace:
    """Where a command is: its name, the module that registers it, and its line in the list."""

    name: str
    module: str
    summary: str


class LazyGroup(typer.core.TyperGroup):
    """The top of the command line; lists all commands without importing any."""

    places: tuple[CommandPlace, ...] = ()
    spellings: Mapping[str, str] = MappingProxyType({})

    def list_commands(self, ctx: Any) -> list[str]:  # noqa: ARG002
        """Return the names of all commands in the order of the table."""
        return [place.name for place in self.places]

    def get_command(self, ctx: Any, cmd_name: str) -> Any:  # noqa: ARG002
        """Return a stand-in that carries the summary, enough for a list of commands."""
        for place in self.places:
            if place.name == cmd_name:
                return typer.core.TyperCommand(cmd_name, help=place.summary, callback=lambda: None)
        return None

    def parse_args(self, ctx: Any, args: list[str]) -> list[str]:
        """Read the options before the command; one that does not fit is refused in plain words."""
        with plain_refusals():
            return super().parse_args(ctx, args)

    def invoke(self, ctx: Any) -> Any:
        """Run the command; an option of its own that does not fit is refused in plain words."""
        with plain_refusals():
            return super().invoke(ctx)

    def resolve_command(self, ctx: Any, args: list[str]) -> Any:
        """Return the real command, importing its module; other spellings of its name are taken too."""
        if args and args[0] in self.spellings:
            args = [self.spellings[args[0]], *args[1:]]
        if args and args[0] not in self.list_commands(ctx):  # the group names the nearest of these
            self.commands = {name: self.get_command(ctx, name) for name in self.list_commands(ctx)}
        name, found, rest = super().resolve_command(ctx, args)
        if found is None or name is None:
            return name, found, rest
        place = next(one for one in self.places if one.name == name)
        return name, real_command(place), rest


PLAIN = (
    ("Value error, ", ""),
    ("Input should be a valid integer, unable to parse string as an integer", "it should be a whole number"),
    ("Input should be a valid integer", "it should be a whole number"),
    ("Input should be a valid number, unable to parse string as a number", "it should be a number"),
    ("Input should be greater than or equal to ", "it should be at least "),
    ("Input should be less than or equal to ", "it should be at most "),
    ("Input should be ", "it should be "),
)
"""What the library that reads options says, and the same for people."""


@contextmanager
def plain_refusals() -> Iterator[None]:
    """Say in plain words what is wrong with an option."""
    try:
        yield
    except typer.BadParameter as refused:
        for theirs, plain in PLAIN:
            refused.message = refused.message.replace(theirs, plain)
        raise


def real_command(place: CommandPlace) -> Any:
    """Import a command's module and return the command it registers."""
    app = typer.Typer(rich_markup_mode=None, pretty_exceptions_enable=False, add_completion=False)
    import_module(place.module).register(app)
    group = typer.main.get_group(app)
    commands: dict[str, Any] = dict(group.commands)
    return complete_help(commands.get(place.name) or next(iter(commands.values())), place.name)
