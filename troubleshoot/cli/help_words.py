"""What the help of every command has in common: what an option takes in plain words, completion, units, examples."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Annotated, Any, Literal

import typer
import typer.main

from troubleshoot.cli.completing import IDS
from troubleshoot.cli.examples import EXAMPLES
from troubleshoot.cli.options import GlobalOptions

TAKES = {
    "CAR": ("car", "keep", "baseline"),
    "CASE": ("case",),
    "CONCERN": ("concern", "concerns"),
    "CAUSE": ("cause", "causes", "fault", "any_of"),
    "TOOL": ("tools", "without"),
    "NAME=VALUE": ("differs",),
    "NAME=HEADING": ("column",),
    "HEADING": ("channel",),
    "FOLDER": ("folder", "pages", "into", "trees", "mark"),
    "FILE": (
        "after", "before", "casebook", "csv", "damaged", "drill", "file", "hand_ins", "key", "other", "page", "paper",
        "path", "readings", "recorded", "rubric", "svg", "to",
    ),
    "NUMBER": (
        "cases", "cylinders", "depth", "every", "full_scale", "level", "minutes", "money", "most", "patience", "port",
        "replay", "rounds", "seats", "seed", "segments", "severity", "strokes", "watch", "workers",
    ),
    "WORDS": (
        "about", "find", "half", "hint", "host", "meaning", "name", "policy", "probe", "rates", "says", "story",
        "title", "weather_after", "weather_before", "words",
    ),
    "FILE or CONCERN": ("what",),
}  # fmt: skip
"""What stands for the value in the help -> the parameters that take it."""
_TAKES = {name: words for words, names in TAKES.items() for name in names}
_OF_ONE_COMMAND = {
    "checks about": "CHECK", "causes about": "CAUSE", "drill new story": "STORY", "drill new to": "NAME",
    "tree new concern": "ID",
}  # fmt: skip


def complete_help(command: Any, path: str) -> Any:
    """Give a command, and those below it, plain words for what they take, completion, units and an example."""
    for parameter in command.params:
        _describe(parameter, path)
    if path not in ("", "calc") and not any("--units" in one.opts for one in command.params):
        command.params.append(_units())
    examples = EXAMPLES.get(path, ())
    if examples:
        command.epilog = "\n".join(["\b", "For example:", *(f"  troubleshoot {one}" for one in examples)])
    for name, below in getattr(command, "commands", {}).items():
        complete_help(below, f"{path} {name}".strip())
    return command


def _describe(parameter: Any, path: str) -> None:
    words = _OF_ONE_COMMAND.get(f"{path} {parameter.name}") or _TAKES.get(parameter.name) or _of_its_type(parameter)
    if parameter.metavar is None and words and not getattr(parameter, "is_flag", False):
        parameter.metavar = words
        if parameter.param_type_name == "argument":
            parameter.display_type_rich = lambda ctx: ""  # noqa: ARG005 - the words above have said it
    if words in IDS and hasattr(parameter, "_custom_shell_complete"):
        parameter._custom_shell_complete = _completed(IDS[words])
    low, high = getattr(parameter, "min", None), getattr(parameter, "max", None)
    if (low, high) != (None, None) and hasattr(parameter, "_get_number_range_help_str"):
        parameter._get_number_range_help_str = lambda: f"{low} or more" if high is None else f"{low} to {high}"


def _of_its_type(parameter: Any) -> str:
    """Return what any number, file or text is called; nothing for a choice, which names what there is."""
    described = getattr(parameter, "type_descriptor", None)
    told = f"{getattr(described, 'annotation', '')} {getattr(getattr(parameter, 'type', None), 'name', '')}"
    if "Literal" in told or getattr(described, "is_choice", False) or "choice" in told:
        return ""
    if "int" in told or "float" in told:
        return "NUMBER"
    return "FILE" if "Path" in told or "path" in told else "WORDS"


def _completed(ids: Callable[[GlobalOptions], Iterable[str]]) -> Callable[[Any, Any, str], list[str]]:
    """Return the ids that begin as typed; none where they cannot be had, for completion says nothing."""

    def complete(context: Any, _parameter: Any, typed: str) -> list[str]:
        top = context.find_root().params
        wanted = GlobalOptions(trees=top.get("trees"), casebook=top.get("casebook"))
        try:
            return [one for one in ids(wanted) if one.startswith(typed)]
        except Exception:
            return []

    return complete


def _use_units(context: typer.Context, value: str | None) -> str | None:
    """Let the command, and what stands above it, show and read these units."""
    here: Any = context
    while value is not None and here is not None:
        if isinstance(here.obj, GlobalOptions):
            here.obj = replace(here.obj, units=value, asked_units=value)  # type: ignore[arg-type] # typer has looked at the choice
        here = here.parent
    return value


def _units() -> Any:
    """Return the option of the units for a command that has none of its own: the same as before the command."""
    app = typer.Typer(rich_markup_mode=None, add_completion=False)

    @app.command()
    def stand_in(
        units: Annotated[
            Literal["us", "metric"] | None, typer.Option(callback=_use_units, help="The units shown and typed.")
        ] = None,
    ) -> None:
        """Carry the option, so that it is made as every other."""
        del units

    option: Any = typer.main.get_command(app).params[0]
    option.expose_value = False
    return option
