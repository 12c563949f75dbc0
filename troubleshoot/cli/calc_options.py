"""The options of one calculation's command: made from its fields, with short names where they are plain."""

import inspect
import shlex
from pathlib import Path
from typing import Annotated, Any, Literal

import typer
import typer.main

from troubleshoot.calculations.definition import Calculation
from troubleshoot.calculations.fields import Field, default_in, range_in_words
from troubleshoot.calculations.registry import as_written_here
from troubleshoot.calculations.units import show_number, shown_unit

UnitsChoice = Annotated[Literal["us", "metric"] | None, typer.Option("--units", help="The units shown and typed.")]
COMMON: dict[str, Any] = {
    "explain": Annotated[bool, typer.Option("--explain", help="Show the working, range, source and use.")],
    "as_json": Annotated[bool, typer.Option("--json", help="Print the answer as JSON.")],
    "plot": Annotated[bool, typer.Option("--plot", help="Draw the chart as text.")],
    "svg": Annotated[Path | None, typer.Option("--svg", help="Write the chart to this SVG file.", metavar="FILE")],
    "reading": Annotated[
        str | None, typer.Option("--reading", help="A reading to mark on the chart.", metavar="VALUE")
    ],
    "units": UnitsChoice,
}
_TAKEN = {"explain", "json", "plot", "svg", "reading", "units", "help"}


def command_for(one: Calculation) -> Any:
    """Return the command of a calculation: an option for every input, then the common ones."""

    def work_out(context: typer.Context, **options: Any) -> None:
        from troubleshoot.cli.calc_answer import answer_command

        common = {name: options.pop(name) for name in COMMON}
        given = {field.name: options[parameter] for parameter, field in zip(one.parameters, one.inputs, strict=True)}
        answer_command(context, one, {name: text for name, text in given.items() if text is not None}, **common)

    short = short_names(one)
    kinds: dict[str, Any] = {"context": typer.Context}
    for parameter, field in zip(one.parameters, one.inputs, strict=True):
        names = [f"--{name}" for name in (field.name, *short[field.name])]
        kinds[parameter] = Annotated[str | None, typer.Option(*names, help=_help(field), metavar="VALUE")]
    kinds |= COMMON
    work_out.__annotations__ = kinds | {"return": None}
    keyword = inspect.Parameter.KEYWORD_ONLY
    work_out.__signature__ = inspect.Signature(  # type: ignore[attr-defined]  # typer reads it
        [
            inspect.Parameter(
                name,
                inspect.Parameter.POSITIONAL_OR_KEYWORD if name == "context" else keyword,
                default=inspect.Parameter.empty if name == "context" else _default(name),
                annotation=kind,
            )
            for name, kind in kinds.items()
        ]
    )
    parts = one.documentation
    work_out.__doc__ = f"{parts.summary}\n\n\b\n{parts.formula}\n\nUse: {parts.use}"
    app = typer.Typer(rich_markup_mode=None, pretty_exceptions_enable=False, add_completion=False)
    settings = {"help_option_names": ["-h", "--help"], "token_normalize_func": as_written_here}
    app.command(one.name, context_settings=settings)(work_out)
    command: Any = typer.main.get_command(app)
    command.epilog = f"\b\nFor example:\n  troubleshoot {example_of(one)}"
    return command


def example_of(one: Calculation) -> str:
    """Return an example of a calculation as it is typed after `troubleshoot`.

    >>> from troubleshoot.calculations.registry import calculation
    >>> example_of(calculation("pump-supply-volts"))[:41]
    "calc pump-supply-volts --battery '13.8 V'"
    """
    from troubleshoot.calculations.samples import samples

    words = ["calc", one.name]
    for name, value in samples()[one.name].items():
        numbers = value if isinstance(value, list) else [value]
        told = " ".join(show_number(number, 3) for number in numbers)
        unit = one.field(name).unit
        typed = len(numbers) == 1 and shown_unit(unit) and unit.replace(" ", "").isalpha()
        words += [f"--{name}", shlex.quote(f"{told} {unit}" if typed else told)]
    return " ".join(words)


def _default(name: str) -> Any:
    """Return the default of an option: off for a switch, nothing for a value."""
    return False if name in ("explain", "as_json", "plot") else None


def short_names(one: Calculation) -> dict[str, list[str]]:
    """Return for each field the single words of its name that no other field or option has.

    >>> from troubleshoot.calculations.registry import calculation
    >>> short_names(calculation("dwell-time"))
    {'dwell-angle': ['dwell', 'angle'], 'engine-speed': ['engine', 'speed']}
    """
    words = [word for field in one.inputs for word in set(field.name.split("-"))]
    full = {field.name for field in one.inputs}

    def plain(word: str) -> bool:
        return len(word) > 2 and words.count(word) == 1 and word not in _TAKEN | full

    return {field.name: [word for word in field.name.split("-") if plain(word)] for field in one.inputs}


def _help(field: Field) -> str:
    """Return the help of an option: words, allowed range in both systems, what it is when not given."""
    metric = f" ({range_in_words(field, field.metric_unit)})" if field.metric_unit != field.unit else ""
    told = f"{field.words[0].upper()}{field.words[1:]}, {field.allowed}{metric}."
    if field.many:
        told += " A list, with spaces or semicolons."
    if field.default is not None:
        told += f" If not given: {default_in(field, field.unit)}."
    return told
