"""Answers given, changed, refused and taken back on the screens."""

from __future__ import annotations

from troubleshoot.case.case import resume_case
from troubleshoot.casebook.store import Casebook
from troubleshoot.tui.screens.session import SessionScreen
from troubleshoot.tui.screens.stop import StopScreen

BEGIN = ("a", "1", "y", "y")


async def test_undo_takes_back_the_last_answer(screens) -> None:
    """`b` brings the check back and takes the reading out of the ranking."""
    async with screens() as (_, press):
        before = await press(*BEGIN)
        await press("3", "8", "enter")
        after = await press("b")
        assert "Taken back: Fuel pressure at the moment it leans out" in after
        assert before.split("LIKELY")[1].splitlines()[:6] == after.split("LIKELY")[1].splitlines()[:6]


async def test_an_earlier_answer_can_be_changed(screens) -> None:
    """`e` lists the answers, a digit picks one, and another reading stands in its place."""
    async with screens() as (_, press):
        await press(*BEGIN, "3", "8", "enter")
        text = await press("e")
        assert "Fuel pressure at the moment it leans out" in text
        text = await press("1", "5", "0")
        assert "50 psi: as set" in text
        text = await press("enter")
        assert "as set" in text and "below the set pressure" not in text


async def test_letters_are_commands_first_and_units_after_a_digit(screens) -> None:
    """`b` alone steps back; the b of `2.6 bar` and of `[bold]` is typed, and words that a number may follow."""
    async with screens() as (app, press):
        await press(*BEGIN)
        for words in ("about 40", "circa 40", "roughly 40", "[bold]38[/]"):
            keys = [
                {" ": "space", "[": "left_square_bracket", "]": "right_square_bracket"}.get(one, one) for one in words
            ]
            assert f"▸ {words}▁" in await press(*keys)
            await press("escape")
        text = await press(*"2.6 bar")
        assert "▸ 2.6 bar" in text and "37.7" in text
        text = await press("escape")
        assert isinstance(app.screen, SessionScreen) and "2.6" not in text


async def test_a_refused_reading_keeps_the_text(screens) -> None:
    """What cannot be read is told in the message line, and the entry keeps what was typed."""
    async with screens() as (_, press):
        await press(*BEGIN)
        text = await press(*"3 volts", "enter")
        assert "▸ 3 volts" in text and "! " in text
        text = await press(*(["backspace"] * 6), "8", "enter")
        assert "Volts at the pump" in text


async def test_a_hardly_possible_reading_needs_a_second_enter(screens) -> None:
    """300 psi is doubted once and taken at the second Enter."""
    async with screens() as (_, press):
        await press(*BEGIN)
        text = await press(*"300", "enter")
        assert "outside what this can be" in text.replace("\n", " ") and "▸ 300" in text
        text = await press("enter")
        assert "1 reading" in text


async def test_a_check_left_out_says_what_may_stand_in(screens) -> None:
    """`u` asks why not, shows what to do instead, and the check is not asked again."""
    async with screens() as (_, press):
        await press(*BEGIN)
        text = await press("u")
        assert "Use the delivery into a can" in text and "The tool is not here" in text
        text = await press("1")
        assert "skipped" in text and "Fuel pressure at the moment it leans out: skipped" in " ".join(text.split())


async def test_a_choice_is_marked_by_its_digit_and_taken_by_enter(screens) -> None:
    """A digit alone stores nothing; fuel found by looking stops like fuel smelt."""
    async with screens() as (app, press):
        text = await press("a", "2", "2")
        assert "Enter takes: Soot or a puff" in text and "0 readings" in text
        await press("3", "enter")
        assert isinstance(app.screen, StopScreen)


async def test_typing_replaces_a_reading_that_was_refused(screens) -> None:
    """`5600 rpm` where psi is asked is refused and selected: a digit begins anew, and `~` begins an estimate."""
    async with screens() as (_, press):
        await press(*BEGIN, *"5600 rpm", "enter")
        text = await press(*"38")
        assert "▸ 38▁" in text and "5600" not in text.split("▸ 38▁")[1].splitlines()[0]
        await press("escape")
        assert "~38" in await press(*"~38")


async def test_what_another_window_added_is_shown_and_nothing_typed_is_lost(screens, workspace) -> None:
    """A note goes in after the other's; a reading waits, beside the case as it stands now, for a second Enter."""
    async with screens() as (app, press):
        await press(*BEGIN)
        case_id = app.screen.case.case_id
        with Casebook(workspace.casebook_path) as other:
            second = resume_case(other, workspace.catalogue, case_id, workspace.clock)
            second.note("from the other")
            text = await press(*"38", "enter")
            assert "Another window added to this case" in text and "▸ 38" in text and "from the other" in text
            text = await press("enter")
            assert "Taken: 38" in text
            resume_case(other, workspace.catalogue, case_id, workspace.clock).note("again")
            text = await press("i", *"mine", "enter")
            assert "Note: again" in text and "Note: mine" in text and "Noted." in text
