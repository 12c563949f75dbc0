"""Cautions and the stop on the screens: nothing goes on before they are read."""

from __future__ import annotations

from dataclasses import replace

import pytest

from troubleshoot.case.cautioning import STOP_PREFIX, cautions_shown
from troubleshoot.case.view import CautionShown
from troubleshoot.knowledge.catalogue import load_catalogue
from troubleshoot.tui.screens.caution import CautionScreen
from troubleshoot.tui.screens.session import SessionScreen
from troubleshoot.tui.screens.start import StartScreen
from troubleshoot.tui.screens.stop import StopScreen

BEGIN = ("a", "1", "y", "y")


async def test_a_caution_stops_until_it_is_acknowledged(screens) -> None:
    """The check stays closed while its caution is unread; Enter is not enough, `y` is."""
    async with screens() as (app, press):
        text = await press("a", "1")
        assert isinstance(app.screen, CautionScreen)
        assert "WARNING" in text
        text = await press("enter", "3", "8")
        assert isinstance(app.screen, CautionScreen)
        assert "8 does nothing here. Press y" in text
        text = await press("escape")
        assert "Fuel pressure at the moment" not in text
        assert "Read the caution" in text
        text = await press("enter", "y", "y", "y")
        assert "Fuel pressure at the moment it leans out" in text
        assert "does nothing" not in text, "a y too many is no mistake"
        assert "y does nothing here" in await press("3", "8", "enter", "y")


BATTERY = CautionShown(
    "battery", "DANGER", "Battery", "Gas explodes.", ("Rings off.", "Goggles on.", "No sparks."), "The maker's data.",
    ("A short welds a ring to your finger; the gas explodes in your face.", "Rings off, eye protection on.",
     "Ground lead off first and on last, positive post covered.", "No sparks near it, no cigarette, nobody leaning."),
)  # fmt: skip


async def test_one_hazard_a_card_each_rule_on_a_line_of_its_own(screens) -> None:
    """Never set as run-on text: five lines where they fit, and the next hazard only after this one was read."""
    for width, height in ((80, 24), (120, 40), (60, 20)):
        async with screens(width, height) as (app, press):
            shown = CautionScreen()
            other = replace(BATTERY, id="other", title="Other")
            shown.show((BATTERY, other), "Before: volts")
            app.push_screen(shown)
            text = await press()
            rules = [line.strip(" ┃") for line in text.splitlines()]
            assert not shown.unread() and "when you have read this" in text
            assert all(any(rule.startswith(f"· {one[:20]}") for rule in rules) for one in BATTERY.card[1:])
            assert "1 of 2" in text and "Other" not in text and "DANGER" in text
            assert "Gas explodes." in await press("space")
            assert "Gas explodes." not in await press("space")
            text = await press("y")
            assert "2 of 2" in text and "Other" in text
            await press("y")
            assert app.screen is not shown


async def test_a_smell_of_fuel_stops_at_a_caution(screens) -> None:
    async with screens() as (app, press):
        await press("a", "1")
        assert isinstance(app.screen, CautionScreen)
        await press("exclamation_mark")
        assert isinstance(app.screen, StopScreen)


@pytest.mark.parametrize(("width", "height"), [(60, 20), (80, 24)])
async def test_every_shipped_card_is_seen_whole_and_help_is_there(screens, width: int, height: int) -> None:
    """The longest question ahead and any card: nothing is cut above `I have read it`, and one press reads it."""
    trees = load_catalogue()
    stops = [STOP_PREFIX + name for name, concern in trees.concerns.items() if concern.stop]
    ahead = max((check.ask for check in trees.checks.values()), key=len)
    async with screens(width, height) as (app, press):
        for caution in cautions_shown(trees, [*trees.cautions, *stops]):
            shown = CautionScreen()
            shown.show((caution,), f"Before: {ahead} (the engine will turn)")
            app.push_screen(shown)
            text = await press()
            assert not shown.unread() and "I have read it" in text, caution.id
            assert len(caution.card) <= 4, caution.id
            for line in caution.card:
                assert " ".join(line.split()[:3]) in text, (caution.id, line)
            assert "full text" in await press("question_mark")
            await press("escape", "y")
            assert app.screen is not shown


async def test_help_is_there_on_a_caution_and_on_a_stop(screens) -> None:
    """`?` says what each key does, and comes back to the same card."""
    async with screens() as (app, press):
        await press("a", "1")
        assert "full text" in await press("question_mark")
        await press("escape")
        assert isinstance(app.screen, CautionScreen)
        while isinstance(app.screen, CautionScreen):
            await press("y")
        await press("exclamation_mark")
        assert "by mistake" in await press("question_mark")
        await press("escape")
        assert isinstance(app.screen, StopScreen)


@pytest.mark.parametrize("width", [1, 2, 6, 7, 20])
async def test_a_card_holds_at_any_width(screens, width: int) -> None:
    async with screens(width, 10) as (app, press):
        shown = CautionScreen()
        shown.show((BATTERY,), "Before: volts")
        app.push_screen(shown)
        await press("y", "space", "y", "escape")
        assert app.screen is not shown


async def test_the_smell_of_fuel_ends_everything_else(screens) -> None:
    """`!` stops; only the repaired leak, or a slip of the finger taken back, leads on."""
    async with screens() as (app, press):
        await press(*BEGIN)
        text = await press("exclamation_mark")
        assert isinstance(app.screen, StopScreen) and "DANGER" in text
        await press("3", "enter", "u", "o")
        assert isinstance(app.screen, StopScreen)
        await press("escape")
        assert isinstance(app.screen, StartScreen)
        await press("1")
        assert isinstance(app.screen, StopScreen)
        await press("m")
        while isinstance(app.screen, CautionScreen):
            await press("y")
        assert isinstance(app.screen, SessionScreen)
        await press("exclamation_mark", "b")
        assert isinstance(app.screen, SessionScreen)
