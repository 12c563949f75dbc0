"""Shipped concerns walked on the screens: whatever is answered, the next step comes and is drawn."""

from __future__ import annotations

import random

import pytest

from troubleshoot.tui.app import TroubleshootApp
from troubleshoot.tui.screens.caution import CautionScreen
from troubleshoot.tui.screens.new_case import begin
from troubleshoot.tui.screens.session import SessionScreen
from troubleshoot.tui.screens.stop import StopScreen
from troubleshoot.tui.workspace import Workspace

STEPS = 7
CONCERNS = ("wont-rev", "lean-top", "idle-surge", "floods-key-on", "fuel-smell", "fit-up")


def an_answer(check, chance: random.Random) -> list[str]:
    """Return keys that answer a check somehow, now and then with "can't measure"."""
    if chance.random() < 0.15:
        return ["u", "5"]
    if check.choices:
        return [str(chance.randint(1, min(9, len(check.choices)))), "enter"]
    low, high = check.plausible
    value = round(low + chance.random() ** 2 * (high - low), 2)
    return [*str(value), "enter"]


@pytest.mark.slow
@pytest.mark.parametrize("concern", CONCERNS)
async def test_a_walk_through_a_shipped_concern(tmp_path, look, concern: str) -> None:
    """Answers drawn from a seeded chance, seven steps or to the end; then the report opens."""
    chance = random.Random(concern)
    workspace = Workspace(None, tmp_path / "casebook.sqlite")
    app = TroubleshootApp(workspace)
    async with app.run_test(size=(80, 24)) as pilot:
        car = workspace.catalogue.cars[chance.choice(sorted(workspace.catalogue.cars))]
        await app.push_screen(SessionScreen(workspace, begin(workspace, car, [concern], None)))
        for _ in range(STEPS):
            await pilot.pause()
            while isinstance(app.screen, CautionScreen):
                await pilot.press("y")
                await pilot.pause()
            if isinstance(app.screen, StopScreen):
                await pilot.press("m")
                continue
            session = app.screen
            assert isinstance(session, SessionScreen)
            step = session.view.step
            text = look(app)
            assert text.strip() and "Traceback" not in text
            if step.kind == "closed":
                break
            if step.kind == "check":
                await pilot.press(*an_answer(step.check, chance))
            elif step.kind == "repair":
                await pilot.press("1", "enter", "enter")
            else:
                await pilot.press("1", "enter")
        while not isinstance(app.screen, SessionScreen):
            await pilot.press({CautionScreen: "y", StopScreen: "m"}.get(type(app.screen), "escape"))
            await pilot.pause()
        if app.screen.query_one("#answer").typed:
            await pilot.press("escape")
        await pilot.press("g")
        await pilot.pause()
        assert "CONCERN" in look(app)
