"""What a person meets first: three keys to a check, notices of the trees, paging, finding, and a program fault."""

from __future__ import annotations

import msgspec
import pytest
from textual.app import App

from troubleshoot.case.case import resume_case
from troubleshoot.knowledge.findings import Finding
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.app import ProgramFault, TroubleshootApp, run_app
from troubleshoot.tui.screens.caution import CautionScreen
from troubleshoot.tui.screens.choice_screen import ChooseScreen
from troubleshoot.tui.screens.new_case import OFFERED_FIRST
from troubleshoot.tui.screens.session import SessionScreen
from troubleshoot.tui.widgets.card import Card
from troubleshoot.tui.widgets.numbered import Numbered
from troubleshoot.tui.workspace import Workspace


async def past_cautions(app: TroubleshootApp, pilot) -> None:
    """Read every card."""
    await pilot.pause()
    while isinstance(app.screen, CautionScreen):
        await pilot.press("y")
        await pilot.pause()


@pytest.mark.parametrize("digit", ["1", "2", "3", "4"])
async def test_three_keys_from_launch_to_the_first_check(tmp_path, look, digit: str) -> None:
    """On the shipped trees at 80 by 24: e, a digit, and y for each caution; each stands whole on a card of its own."""
    app = TroubleshootApp(Workspace(None, tmp_path / "casebook.sqlite"))
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        await pilot.press("a")
        await pilot.pause()
        assert isinstance(app.screen, ChooseScreen)
        offered = app.screen.rows[: len(OFFERED_FIRST)]
        assert {row.id.split()[1] for row in offered} == {"wont-rev", "idle-surge", "floods-key-on", "lean-top"}
        shown = look(app)
        assert all(row.words.split(":")[1].strip()[:20] in shown for row in offered)
        await pilot.press(digit)
        await pilot.pause()
        while isinstance(app.screen, CautionScreen):
            assert not app.screen.unread()
            text, caution = " ".join(look(app).split()), app.screen.cautions[app.screen.place]
            assert caution.title in text
            assert all(line.split()[-1] in text for line in caution.card)
            assert "before: " in text
            await pilot.press("y")
            await pilot.pause()
        assert isinstance(app.screen, SessionScreen)
        assert app.screen.view.step.check is not None
        assert app.screen.view.concerns == (offered[int(digit) - 1].id.split()[1],)


async def test_page_down_reads_on_and_never_answers(tmp_path) -> None:
    """PgDn on a check with answers scrolls the card; no answer becomes marked."""
    app = TroubleshootApp(Workspace(None, tmp_path / "casebook.sqlite"))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("a", "1")
        await past_cautions(app, pilot)
        assert isinstance(app.screen, SessionScreen) and app.screen.view.step.check.choices
        card = app.screen.query_one(Card)
        assert card.max_scroll_y > 0
        await pilot.press("pagedown")
        await pilot.pause()
        assert card.scroll_target_y > 0
        assert app.screen.query_one("#answers", Numbered).marked is None
        assert app.screen.case.view().readings == 0
        await pilot.press("pageup")
        await pilot.pause()
        assert card.scroll_target_y == 0


async def test_the_foot_of_the_card_says_which_way_more_is(tmp_path) -> None:
    """At the top it points down, on the last page back up; a cold reader never presses PgDn for nothing."""
    app = TroubleshootApp(Workspace(None, tmp_path / "casebook.sqlite"))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("a", "1")
        await past_cautions(app, pilot)
        card, answer = app.screen.query_one(Card), app.screen.query_one("#answer")
        assert answer.border_title == "PgDn: more"
        while card.scroll_y < card.max_scroll_y:
            before = card.scroll_y
            await pilot.press("pagedown")
            await pilot.pause(0.1)
            assert card.scroll_y > before
        assert answer.border_title == "PgUp: back"


async def test_words_with_a_hyphen_can_be_found(screens) -> None:
    """The sign is part of what is wanted, not dropped."""
    async with screens() as (app, press):
        await press("a", "f", "i", "t", "-", "u", "p")
        assert app.screen.wanted == "fit-up"


async def test_what_is_left_out_or_replaced_is_said_at_the_start(screens, workspace, monkeypatch) -> None:
    """Faults of the trees and own trees in place of shipped ones are said before a case is opened."""
    fault = Finding("mine/checks/fuel.yaml", 3, 5, "what is wrong [red]", "what to do", "shape")
    workspace._catalogue = msgspec.structs.replace(workspace.catalogue, faults=(fault,), own_overrides=("lean-top",))
    workspace._worded.clear()
    async with screens() as (app, press):
        await app.workers.wait_for_complete()
        text = " ".join((await press()).split())
    assert "1 fault in the trees; what is faulty is left out" in text
    assert "mine/checks/fuel.yaml:3:5: what is wrong [red]" in text
    assert "in place of the shipped ones for: lean-top" in text


async def test_a_case_of_other_trees_says_so_when_opened(screens, workspace) -> None:
    """A case whose trees have changed says it below its first step, readings or not, and in the card."""
    async with screens() as (app, press):
        await press("a", "1", "y", "y", "3", "8", "enter")
        case = app.screen.case.case_id
        while app.screen.NAME != "start":
            await press("escape")
        workspace._catalogue = other = msgspec.structs.replace(workspace.catalogue, version="other")
        workspace._worded.clear()
        notices = resume_case(workspace.casebook, other, case, workspace.clock).view().notices
        assert notices
        text = " ".join((await press("1", "y", "y")).split())
        assert notices[0][:40] in text


class Broken(App[int]):
    """An app whose first key meets a defect."""

    def on_mount(self) -> None:
        """Meet it."""
        raise ZeroDivisionError("a defect [in] a handler")


def test_a_defect_in_a_handler_is_one_sentence_and_a_file(tmp_path, capsys) -> None:
    """No traceback comes to the terminal: a sentence that nothing is lost, and the traceback in a file."""
    with pytest.raises(ProgramFault) as caught:
        run_app(Broken(), tmp_path / "data" / "fault.txt", headless=True)
    assert isinstance(caught.value, TroubleshootError) and caught.value.exit_code == 70
    assert "Nothing is lost" in str(caught.value) and "fault.txt" in str(caught.value)
    assert "ZeroDivisionError" in (tmp_path / "data" / "fault.txt").read_text(encoding="utf-8")
    assert "ZeroDivisionError" in caught.value.__notes__[0]
    said = capsys.readouterr()
    assert "Traceback" not in said.out + said.err and "ZeroDivisionError" not in said.out + said.err


async def test_a_smell_of_fuel_stops_before_the_tools_are_asked(tmp_path, look) -> None:
    """The concern, and the next thing on the screen is STOP."""
    app = TroubleshootApp(Workspace(None, tmp_path / "casebook.sqlite"))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("n")
        await pilot.pause()
        await pilot.press(*"smell", "1", "enter")
        await pilot.pause()
        assert "STOP: Do not turn the key" in look(app).replace("\n", " ")
