"""The example: a whole case by Enter alone, in which the virtual engine answers."""

from __future__ import annotations

from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.example import CAUSE
from troubleshoot.tui.app import TroubleshootApp
from troubleshoot.tui.screens.caution import CautionScreen
from troubleshoot.tui.screens.example import ExampleScreen
from troubleshoot.tui.workspace import Workspace

MOST = 30
"""Keys after which a newcomer would have given up."""


async def go_on(app: TroubleshootApp, pilot) -> None:
    """Read a caution, or press Enter, and let the engine answer."""
    await pilot.press("y" if isinstance(app.screen, CautionScreen) else "enter")
    await app.workers.wait_for_complete()
    await pilot.pause()


async def test_enter_alone_leads_from_the_start_to_a_proved_cause(tmp_path, look) -> None:
    """`x`, then Enter (and y for cautions): readings, a repair, a clean retest; left in between, it goes on there.

    That points which float at speed end the revs early, and that dwell at speed shows it, is common practice.
    """
    path = tmp_path / "casebook.sqlite"
    app = TroubleshootApp(Workspace(None, path))
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        assert "First time?" in look(app)
        await pilot.press("enter")  # what ▸ marks
        for _ in range(MOST):
            if isinstance(app.screen, ExampleScreen) and app.screen.view.readings:
                break
            await go_on(app, pilot)
        await pilot.press("escape")
        await pilot.pause()
        await pilot.press("1")
        await pilot.pause()
        for _ in range(MOST):
            if isinstance(app.screen, ExampleScreen) and app.screen.view.step.kind == "closed":
                break
            await go_on(app, pilot)
        assert isinstance(app.screen, ExampleScreen)
        case = app.screen.case
        assert case.assessment.repaired == (CAUSE,)
        assert app.screen.view.result == "proved" and app.screen.view.readings >= 2
        assert "PROVED" in look(app) and "SUSPECTS" not in look(app)
        await pilot.resize_terminal(160, 50)
        await pilot.pause()
        seen = look(app)
        assert "SUSPECTS" in seen and "points █" in seen, "who was suspected, and the part on the map"
        assert "▼ 5600 ± 10 rpm" in seen and "as meant" in seen, "the reading on its ruler"
    book = Casebook(path)
    assert book.proved() == {}, "an invented engine teaches nothing of real cars"
    book.close()


async def test_the_program_may_end_at_any_moment_of_a_case(tmp_path) -> None:
    """The parts of a screen go one by one while the program ends; a late change of size must not meet a missing one."""
    app = TroubleshootApp(Workspace(None, tmp_path / "casebook.sqlite"), "example")
    async with app.run_test(size=(100, 30)) as pilot:
        await pilot.pause()
        while isinstance(app.screen, CautionScreen):
            await pilot.press("y")
    assert app.return_code in (None, 0)
