"""A small catalogue of invented trees, a clock that stands, and the screen as text."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from pathlib import Path
from typing import Any

import pytest
from textual.app import App

from troubleshoot.tui.app import TroubleshootApp
from troubleshoot.tui.picture import screen_text
from troubleshoot.tui.workspace import Workspace

TREES = Path(__file__).parent / "trees"
SNAPSHOTS = Path(__file__).parent / "snapshots"


@pytest.fixture
def look() -> Callable[[App[Any]], str]:
    """Return the function that reads the screen."""
    return screen_text


class Clock:
    """A clock that goes a minute further each time it is asked."""

    def __init__(self) -> None:
        self.now = 1_700_000_000.0

    def __call__(self) -> float:
        self.now += 60
        return self.now


@pytest.fixture
def workspace(tmp_path: Path) -> Workspace:
    """Return a workspace over the small trees and a fresh casebook."""
    return Workspace(None, tmp_path / "casebook.sqlite", Clock(), trees=TREES)


Running = AbstractAsyncContextManager[Any]


@pytest.fixture
def screens(workspace: Workspace) -> Callable[..., Running]:
    """Return the way to run the screens: `async with screens(width, height) as (app, press)`."""

    @asynccontextmanager
    async def run(width: int = 80, height: int = 24, start: str | None = None) -> AsyncIterator[tuple[Any, Any]]:
        app = TroubleshootApp(workspace, start)
        async with app.run_test(size=(width, height)) as pilot:
            await pilot.pause()

            async def press(*keys: str, size: tuple[int, int] | None = None) -> str:
                if size is not None:
                    await pilot.resize_terminal(*size)
                for key in keys:
                    await pilot.press(key)
                await pilot.pause()
                return screen_text(app)

            yield app, press

    return run


@pytest.fixture
def same(request: pytest.FixtureRequest) -> Callable[[str, str], None]:
    """Return the comparison with a kept picture; `TROUBLESHOOT_DRAW=1` draws them anew."""
    import os

    def compare(name: str, now: str) -> None:
        kept = SNAPSHOTS / f"{name}.txt"
        if os.environ.get("TROUBLESHOOT_DRAW"):
            kept.write_text(now + "\n", encoding="utf-8")
        assert now + "\n" == kept.read_text(encoding="utf-8"), f"{kept} differs; look at both"

    return compare
