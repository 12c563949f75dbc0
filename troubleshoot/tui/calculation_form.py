"""The form of a calculation, made from its definition: fields, what was entered, what comes of it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from textual.content import Content

from troubleshoot.calculations.units import (
    Measured,
    System,
    read_quantities,
    read_quantity,
    show_worked_out,
    shown_unit,
)
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.plain import beside, lines, plain
from troubleshoot.tui.widgets.form import FormField

if TYPE_CHECKING:
    from troubleshoot.calculations.definition import Calculation
    from troubleshoot.calculations.fields import Field


Entered = dict[str, Measured | tuple[Measured, ...]]


def form_fields(calculation: Calculation, system: System) -> list[FormField]:
    """Return the fields of a calculation; one with a default begins with it."""
    from troubleshoot.calculations.fields import default_in

    return [
        FormField(field.name, field.words, default_in(field, field.unit_in(system)), _allowed(field, system))
        for field in calculation.inputs
    ]


def _allowed(field: Field, system: System) -> str:
    from troubleshoot.calculations.fields import range_in_words

    many = "several, with ; between: " if field.many else ""
    words = range_in_words(field, field.unit_in(system))
    return many + (words or shown_unit(field.unit_in(system)))


def entered(
    calculation: Calculation, texts: Mapping[str, str], system: System
) -> tuple[Entered, dict[str, str], list[str]]:
    """Return what was entered by field, what is wrong by field, and the words of fields still needed."""
    from troubleshoot.calculations.fields import default_in

    given: Entered = {}
    wrong: dict[str, str] = {}
    missing: list[str] = []
    for field in calculation.inputs:
        text = texts.get(field.name, "").strip()
        if not text:
            if field.default is None:
                missing.append(field.words)
            continue
        unit = field.unit_in(system)
        if isinstance(field.default, float | int) and text == default_in(field, unit):
            given[field.name] = Measured(field.default, None, field.unit, text)  # what it stands for, not its rounding
            continue
        try:
            given[field.name] = read_quantities(text, unit) if field.many else read_quantity(text, unit)
        except TroubleshootError as refused:
            wrong[field.name] = refused.sentence
    return given, wrong, missing


def result_lines(calculation: Calculation, given: Entered, system: System) -> Content:
    """Return the results with their uncertainty, and what should be said about them."""
    answer = calculation.answer(given, system)
    shown = [
        beside(
            plain(f"{field.words}  "),
            plain(show_worked_out(answer.outputs[field.name], field.unit_in(system)), "bold $strong"),
        )
        for field in calculation.outputs
    ]
    notes = (in_words_of(note, system) for note in answer.notes)
    return lines(*shown, *(beside(plain("Note  ", "bold $primary"), plain(note)) for note in notes))


def in_words_of(text: str, system: System) -> str:
    """Return a sentence with its figures in the units of a system."""
    from troubleshoot.knowledge.prose import metric_words

    return metric_words(text) if system == "metric" else text
