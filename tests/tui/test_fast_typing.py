"""Keys typed faster than the screens they are for can be laid out: none is lost, none closes what lies below."""

from __future__ import annotations

import asyncio
import threading

import pytest
from textual import events

from troubleshoot.tui.app import TroubleshootApp
from troubleshoot.tui.screens.help import HelpScreen
from troubleshoot.tui.screens.report import ReportScreen
from troubleshoot.tui.screens.start import StartScreen
from troubleshoot.tui.screens.waiting import WaitScreen
from troubleshoot.tui.workspace import Workspace

BEGIN = ("a", "1", "y", "y")


async def test_keys_wait_for_the_case_they_are_typed_into(screens) -> None:
    """A case is opened from the list and its report asked for in one go."""
    async with screens() as (app, press):
        await press(*BEGIN, "escape")
        assert isinstance(app.screen, StartScreen)
        for key in ("1", "enter", "g"):
            app.simulate_key(key)
        for _ in range(200):
            await press()
            if isinstance(app.screen, ReportScreen):
                break
            await asyncio.sleep(0.05)  # the keys are handed on by a timer
        assert isinstance(app.screen, ReportScreen)


async def test_a_second_answer_closes_nothing_below(screens) -> None:
    """A case that is left twice, as by Esc behind the Esc of a stop, is left once; the start stays."""
    async with screens() as (app, press):
        await press(*BEGIN)
        case = app.screen
        case.dismiss(None)
        case.dismiss(None)
        await press()
        assert isinstance(app.screen, StartScreen) and app.is_running


async def test_a_case_that_was_left_is_not_shown_again(screens) -> None:
    """What a screen above answers may come after the case was left; it is kept, and nothing is drawn."""
    async with screens() as (app, press):
        await press(*BEGIN)
        case = app.screen
        await press("escape")
        case.show_case(said="Noted.")
        case.show_parts()
        case.action_back()
        await press()
        assert isinstance(app.screen, StartScreen)


async def test_what_is_typed_after_leaving_goes_nowhere(screens) -> None:
    """Keys behind the one that leaves the program do nothing, and it ends well."""
    async with screens() as (app, press):
        for key in ("ctrl+q", "x", "enter", "z"):
            app.simulate_key(key)
        await press()
    assert app.return_code == 0


async def test_the_palette_turns_its_page_where_there_is_no_room_for_one(screens) -> None:
    """One column and one line; the palette of the toolkit alone ends the program there."""
    async with screens() as (app, press):
        await press("ctrl+p", "n", "down", size=(1, 1))
        await press("pagedown", "pageup", "pagedown")
        assert app.is_running


@pytest.mark.parametrize(("key", "then", "handed"), [("f1", HelpScreen, "made"), ("escape", StartScreen, None)])
async def test_a_wait_ends_once_under_the_help_or_left(screens, key: str, then: type, handed: str | None) -> None:
    """Under the help what was made is handed over; what is made after Esc is thrown away, and the program goes on."""
    ready, got = threading.Event(), list[object]()
    async with screens() as (app, press):
        app.push_screen(WaitScreen("A wait", "words", lambda _: ready.wait(20) and "made"), got.append)
        await press(key)
        assert isinstance(app.screen, then)
        ready.set()
        await app.workers.wait_for_complete()
        await press()
        assert got == [handed]
        assert isinstance(app.screen, StartScreen) and app.is_running


async def test_a_key_behind_the_last_screen_is_nobodys(tmp_path) -> None:
    """Typed on while the program ends, a key meets no screen any more."""
    app = TroubleshootApp(Workspace(None, tmp_path / "casebook.sqlite"))
    async with app.run_test():
        pass
    assert not app.screen_stack
    app.on_key(events.Key("f5", None))
