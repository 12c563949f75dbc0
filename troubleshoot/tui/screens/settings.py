"""The settings: units, colours, animations, what a minute is worth, whether closed cases teach."""

from __future__ import annotations

from collections.abc import Mapping

from msgspec.structs import replace

from troubleshoot.calculations.units import read_quantity, show_number
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.screens.form_screen import FormScreen, System
from troubleshoot.tui.settings import ScreenSettings
from troubleshoot.tui.themes import THEMES
from troubleshoot.tui.widgets.form import FormField

UNITS = {"US (psi, °F, inches)": "us", "metric (bar, °C, mm)": "metric"}
LONGEST = {"currency": 12, "name": 60}
"""Characters of what is typed here."""
YES_NO = {"yes": True, "no": False}
COLOURS = {words: theme.name for theme, words in THEMES}


def settings_screen(settings: ScreenSettings) -> FormScreen:
    """Return the form of the settings."""
    choices: dict[str, tuple[str, Mapping[str, object]]] = {
        "units": ("Units", UNITS),
        "theme": ("Colours", COLOURS),
        "animations": ("Animations", YES_NO),
        "learn": ("Let closed cases teach how often a cause is to blame", YES_NO),
    }

    def fields(_: System) -> list[FormField]:
        shown = [
            FormField(name, words, _named(options, getattr(settings, name)), choices=tuple(options))
            for name, (words, options) in choices.items()
        ]
        rate = FormField(
            "money",
            "What a minute of your time is worth, in your money",
            show_number(settings.money_per_minute),
            "0 to 100; 0 for a hobby",
        )
        typed = [
            FormField("currency", "What your money is called, for reports", settings.currency, "such as USD or EUR"),
            FormField("name", "Who works here, for reports", settings.name, "may stay empty"),
        ]
        return [*shown, rate, *typed]

    def reads(changed: Mapping[str, str], _: System) -> tuple[object, Mapping[str, str]]:
        chosen = {name: options[changed[name]] for name, (_words, options) in choices.items() if name in changed}
        chosen |= {name: changed[name].strip()[: LONGEST[name]] for name in LONGEST if name in changed}
        if "money" in changed:
            try:
                worth = read_quantity(changed["money"], "count").value
            except TroubleshootError as refused:
                return settings, {"money": str(refused)}
            if not 0 <= worth <= 100:
                return settings, {"money": "This must lie between 0 and 100."}
            chosen["money_per_minute"] = worth
        return replace(settings, **chosen), {}

    return FormScreen("Settings", "Left and Right step through choices, Enter keeps them.", fields, reads)


def _named(options: Mapping[str, object], value: object) -> str:
    return next(words for words, one in options.items() if one == value)
