"""A log taken into a case on the screens: file, picture, readings to mark."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest
from textual.screen import Screen

from troubleshoot.tui.app import TroubleshootApp
from troubleshoot.tui.screens.form_screen import FormScreen
from troubleshoot.tui.screens.recording import PictureScreen
from troubleshoot.tui.screens.waiting import WaitScreen

SIZES = [(80, 24), (120, 40)]


def log_file(path: Path) -> None:
    rows = [f"{at / 20:.2f};{1500 + 30 * at};100;{50 - at / 10:.2f};{0.86 + at / 500:.3f}" for at in range(110)]
    path.write_text("\n".join(["Zeit;Drehzahl;TP;Fuel Pressure;Lambda", *rows]).replace(".", ","), encoding="utf-8")


@pytest.mark.parametrize("size", SIZES)
async def test_a_log_is_picked_drawn_and_taken(
    screens, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, size: tuple[int, int]
) -> None:
    """Headings that mean nothing are offered as a list; readings stand marked under the picture; Enter takes them."""
    monkeypatch.chdir(tmp_path)
    log_file(tmp_path / "p")
    async with screens(*size) as (app, press):
        await press("e", "1", "y", "y")
        text = await press("l")
        assert "A recording" in text
        text = await press("p", "enter")
        assert "What the headings mean" in text
        assert text.count("not used") == 2
        text = await press("enter")
        assert "No heading is the time" in text
        await press("2", "1")
        text = await press("2", "2")
        assert "not used" not in text
        await press("enter")
        await shown(app, PictureScreen)
        text = await press()
        assert "log: p" in text
        assert "*" in text
        assert "Fuel pressure at the moment" in text
        pressure = [await press("right") for _ in range(4)]
        assert any("(1" in one and "normal: pressure when lean" in one for one in pressure)
        text = await press("enter")
        assert "Readings taken" in text
        await press("l")
        await press("p", "enter")
        await shown(app, PictureScreen)  # these headings were gone through before, so nothing is asked


async def test_a_capture_that_is_none_is_asked_for_again(
    screens, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was typed stays, and the refusal stands above it."""
    monkeypatch.chdir(tmp_path)
    async with screens(80, 24) as (app, press):
        await press("e", "1", "y", "y", "l")
        await press("q", "down", "right", "enter")
        await shown(app, WaitScreen, gone=True)
        text = await press()
        assert "q: the file cannot be read" in text
        assert isinstance(app.screen, FormScreen)


async def shown(app: TroubleshootApp, screen: type[Screen[object]], gone: bool = False) -> None:
    """Wait for a screen, or until it is gone."""
    for _ in range(200):
        if isinstance(app.screen, screen) is not gone:
            return
        await asyncio.sleep(0.1)
    raise AssertionError(f"{screen.__name__} did not come")
