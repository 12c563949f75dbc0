"""Finding one's way: the palette, keys that do nothing, the mouse on what looks like a button, colours one can see."""

from __future__ import annotations

import pytest
from textual.color import Color
from textual.screen import Screen
from textual.widgets import Input, OptionList

from troubleshoot.tui.screens.calculators import CalculatorScreen
from troubleshoot.tui.themes import THEMES

BEGIN = ("a", "1", "y", "y")


async def test_a_calculation_is_found_by_its_words(screens) -> None:
    async with screens(80, 24) as (app, press):
        await press("slash")
        text = await press(*"dwell", "space", *"perc")
        assert "Dwell angle to dwell percent" in text
        await press("down", "enter")
        await app.workers.wait_for_complete()
        assert isinstance(app.screen, CalculatorScreen)


async def test_an_enter_too_many_in_the_palette_leaves_no_other_screen(screens) -> None:
    """Two come before the first is answered: what was found is done once, and the start stays below it."""
    async with screens(80, 24) as (app, press):
        await press("slash")
        await press(*"dwell", "space", *"perc")
        await press("down")
        palette = app.screen
        field = palette.query_one(Input)
        for _ in range(4):
            palette.post_message(Input.Submitted(field, field.value))
        await press()
        await app.workers.wait_for_complete()
        assert isinstance(app.screen, CalculatorScreen)
        assert len(app.screen_stack) == 3


async def test_an_action_is_found_and_done_as_its_key_does(screens) -> None:
    async with screens(80, 24) as (app, press):
        before = await press(*BEGIN)
        await press("slash", *"add", "space", *"note")
        await press("down", "enter")
        await app.workers.wait_for_complete()
        assert await press() != before
        assert "note" in (await press()).casefold()


async def test_a_cause_is_found_and_explained(screens) -> None:
    """By its words or those of the trade; what the readings say of it is shown."""
    async with screens(80, 24) as (app, press):
        await press(*BEGIN)
        assert "cause" in await press("slash", *"strainer")
        await press("down", "enter")
        await app.workers.wait_for_complete()
        assert (await press()).startswith(" Why: ")


async def test_why_and_other_checks_stand_beside_the_check_where_there_is_room(screens) -> None:
    """At 160 columns the check stays in view; at 80 there is no room for both."""
    for width, both in ((160, True), (80, False)):
        async with screens(width, 50) as (_, press):
            await press(*BEGIN)
            for key, words in (("w", "Why: "), ("o", "Other checks")):
                text = await press(key)
                assert words in text and ("in psi" in text) == both
                await press("escape")


async def test_a_key_that_does_nothing_says_so(screens) -> None:
    async with screens(80, 24) as (_, press):
        assert "z does nothing here" in await press("z")
        assert "does nothing" not in await press("k")


async def test_the_bottom_line_can_be_clicked(screens) -> None:
    async with screens(80, 24) as (app, press):
        line = app.screen.query_one("#keys")
        at = line.render().plain.index("k calc")
        from textual.pilot import Pilot

        await Pilot(app).click("#keys", offset=(at + 1 + 2, 0))
        assert "Calculations" in await press()


async def test_what_looks_like_a_button_in_a_case_can_be_clicked(screens) -> None:
    """The line of a caution that names its key, a cause of the ranking, a key under it, the edge that reads on."""
    from textual.pilot import Pilot

    async with screens(80, 24) as (app, press):
        await press("a", "1")
        for _ in range(2):
            await Pilot(app).click("#press", offset=(5, 0))
        assert "LIKELY" in await press()
        likely = app.screen.query_one("#likely")
        cause = app.screen.view.ranked[1]
        at = likely.told.index(cause.id)
        await Pilot(app).click("#likely", offset=(4, at))
        assert f"Why: {cause.title}" in await press()
        await press("escape")
        row = next(at for at, line in enumerate(likely.render().plain.split("\n")) if "o other checks" in line)
        await Pilot(app).click("#likely", offset=(likely.render().plain.split("\n")[row].index("o other") + 1, row))
        assert "Other checks" in await press()


@pytest.mark.parametrize("keys", [("a",), ("a", "1"), ("k",), ("n",)])
async def test_the_way_out_is_named_at_any_size(screens, keys) -> None:
    async with screens(40, 12) as (_, press):
        assert "Esc" in await press(*keys)


def luminance(colour: str) -> float:
    """Return the relative luminance of a colour, as WCAG 2.1 defines it (W3C, 2018)."""
    parts = [part / 255 for part in Color.parse(colour).rgb]
    red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("theme", [theme for theme, _ in THEMES], ids=lambda theme: theme.name)
def test_every_colour_can_be_seen(theme) -> None:
    """Words have a contrast of 4.5 to 1, rules and scrollbars of 3 to 1 (WCAG 2.1, 1.4.3 and 1.4.11)."""
    behind = luminance(theme.background)
    words = [theme.foreground, theme.primary, theme.accent, theme.warning, theme.error, theme.success]
    words += [theme.variables["quiet"], theme.variables["strong"]]
    for colour, least in [*((one, 4.5) for one in words), (theme.variables["rule"], 3.0)]:
        bright, dark = sorted((luminance(colour), behind), reverse=True)
        assert (bright + 0.05) / (dark + 0.05) >= least, colour


@pytest.mark.parametrize("width", [1, 3, 4, 6, 9])
async def test_finding_in_a_window_of_a_few_columns(screens, width: int) -> None:
    """However narrow the window is made, before or after, the program goes on."""
    async with screens(width, 10) as (_, press):
        await press("ctrl+p", "a", "escape")
    async with screens(60, 20) as (_, press):
        await press("ctrl+p", "a")
        await press("down", size=(width, 10))


async def test_what_is_typed_behind_the_palette_searches_nothing(screens) -> None:
    """Keys of one burst may reach its field when another screen is on top and its list has gone."""
    async with screens(80, 24) as (app, press):
        await press("slash")
        palette = app.screen
        field = palette.query_one(Input)
        await app.workers.wait_for_complete()
        await app.push_screen(Screen())
        await palette.query(OptionList).remove()
        palette.post_message(Input.Changed(field, "more"))
        await press()
        await app.workers.wait_for_complete()
