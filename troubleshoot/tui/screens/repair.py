"""Small forms of a case: what a repair took, and a note."""

from __future__ import annotations

from collections.abc import Mapping

from troubleshoot.calculations.units import read_quantity, show_number
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.screens.form_screen import FormScreen, System
from troubleshoot.tui.widgets.form import FormField


def repair_form(title: str, minutes: float, parts: float) -> FormScreen:
    """Return the form of a repair: minutes and parts money, as usual unless another figure is typed."""
    fields = [
        FormField("minutes", "Minutes it took", show_number(minutes), "as usual"),
        FormField("parts", "Parts, in your money", show_number(parts), "as usual"),
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
        return (spent.get("minutes"), spent.get("parts")), wrong

    return FormScreen(
        f"Repair made: {title}", "Enter notes the repair; then the car is tested again.", lambda _: fields, reads
    )


def _amount(text: str, unit: str) -> float:
    value = read_quantity(text, unit).value
    if not 0 <= value <= 100_000:
        raise TroubleshootError("This must be 0 or more.", "Type a number.")
    return value


def note_form() -> FormScreen:
    """Return the form of a note."""

    def reads(changed: Mapping[str, str], _: System) -> tuple[object, Mapping[str, str]]:
        return changed.get("note", ""), {}

    return FormScreen(
        "A note for this case",
        "It stands in the trail and in the report.",
        lambda _: [FormField("note", "Note", "")],
        reads,
    )
