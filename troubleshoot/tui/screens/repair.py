"""Small forms of a case: what a repair took, and a note."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from troubleshoot.calculations.units import read_quantity, show_number
from troubleshoot.case.attached import described
from troubleshoot.case.events import Fitted
from troubleshoot.knowledge.model import Cause
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.screens.form_screen import FormScreen, System
from troubleshoot.tui.settings import ScreenSettings
from troubleshoot.tui.widgets.form import FormField

AS_DESCRIBED, OTHERWISE = "as described", "in my own words below"


def ways_of(do: Sequence[str]) -> tuple[str, ...]:
    """Return the ways to put something right where its steps offer a choice; none where they do not.

    >>> ways_of(["Fit points with the specified tension, or a pickup without an arm.", "Set the dwell."])
    ('Fit points with the specified tension', 'a pickup without an arm')
    """
    for step in do:
        first, found, rest = step.partition(", or ")
        if found:
            return first.split(". ")[-1], rest.split(". ")[0].rstrip(".")
    for place, step in enumerate(do[1:], start=1):
        if step.startswith("Or "):
            return do[place - 1].rstrip("."), step.removeprefix("Or ").rstrip(".")
    return ()


def repair_form(cause: Cause, settings: ScreenSettings) -> FormScreen:
    """Return the form of a repair: what was fitted, chosen or typed, and the minutes and money, as usual or typed.

    It reads as minutes, parts and what was fitted.
    """
    minutes, parts = cause.repair.minutes, cause.repair.parts
    ways = ways_of(cause.repair.do)
    chosen = [FormField("way", "What was done", AS_DESCRIBED, choices=(AS_DESCRIBED, *ways, OTHERWISE))] if ways else []
    fields = [
        *chosen,
        FormField("words", "In your own words", "", "may stay empty"),
        FormField("part", "Part number", "", "may stay empty"),
        FormField("minutes", "Minutes it took", show_number(minutes), "as usual"),
        FormField("parts", f"Parts, in {settings.currency or 'your money'}", show_number(parts), "as usual"),
    ]

    def reads(changed: Mapping[str, str], _: System) -> tuple[object, Mapping[str, str]]:
        spent: dict[str, float] = {}
        wrong: dict[str, str] = {}
        for name, unit in (("minutes", "min"), ("parts", "count")):
            try:
                spent[name] = (
                    _amount(changed[name], unit) if name in changed else (minutes if name == "minutes" else parts)
                )
            except TroubleshootError as refused:
                wrong[name] = str(refused)
        way = changed.get("way", AS_DESCRIBED)
        words = [way if way in ways else "", changed.get("words", "").strip()]
        fitted = Fitted(
            words="; ".join(one for one in words if one), part=changed.get("part", ""),
            by=settings.name, currency=settings.currency,
        )  # fmt: skip
        said = None if fitted == Fitted() else fitted
        return (spent.get("minutes"), spent.get("parts"), said), wrong

    return FormScreen(
        f"Repair made: {cause.title}", "Enter notes the repair; then the car is tested again.", lambda _: fields, reads
    )


def _amount(text: str, unit: str) -> float:
    value = read_quantity(text, unit).value
    if not 0 <= value <= 100_000:
        raise TroubleshootError("This must be 0 or more.", "Type a number.")
    return value


def note_form(files: bool) -> FormScreen:
    """Return the form of a note, and of a photograph or another file where `files` may be attached."""

    def reads(changed: Mapping[str, str], _: System) -> tuple[object, Mapping[str, str]]:
        name = changed.get("file", "").strip()
        try:
            return (changed.get("note", ""), described(Path(name).expanduser()) if name else None), {}
        except TroubleshootError as refused:
            return None, {"file": str(refused)}

    fields = [FormField("note", "Note", "")]
    if files:
        fields.append(FormField("file", "Photograph or file", "", "its name; the file stays where it is"))
    return FormScreen("A note for this case", "It stands in the trail and in the report.", lambda _: fields, reads)
