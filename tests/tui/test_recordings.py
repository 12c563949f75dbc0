"""A log taken into a case on the screens: file, picture, readings to mark."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest
from textual.screen import Screen

from tests.recordings.test_comparing import table
from troubleshoot.reports.case_html import as_html
from troubleshoot.reports.case_report import report_of
from troubleshoot.tui.app import TroubleshootApp
from troubleshoot.tui.screens.form_screen import FormScreen
from troubleshoot.tui.screens.pictures import ComparedScreen, PictureScreen
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
        await press("a", "1", "y", "y")
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
        await press("a", "1", "y", "y", "l")
        await press("q", "down", "right", "enter")
        await shown(app, WaitScreen, gone=True)
        text = await press()
        assert "q: the file cannot be read" in text
        assert isinstance(app.screen, FormScreen)


@pytest.mark.parametrize("size", SIZES)
async def test_pulls_are_compared_and_kept_with_the_case(
    screens, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, size: tuple[int, int]
) -> None:
    """The baseline is kept with the car; the sentence and both pictures are shown, and the report has them."""
    monkeypatch.chdir(tmp_path)
    for name, gain in (("b", 0), ("c", 1), ("d", 20), ("f", 21)):
        table(tmp_path / name, gain)
    async with screens(*size) as (app, press):
        await press("a", "1", "y", "y", "v")
        await press("b", "semicolon", "c", "down", "down", "right", "enter")
        await shown(app, FormScreen, gone=True)
        await shown(app, WaitScreen, gone=True)
        assert "are kept as the baseline of" in await press()
        text = await press("v")
        assert "left empty" in text
        await press("down", "down", "down", "d", "semicolon", "f", "enter")
        await shown(app, ComparedScreen)
        text = await press()
        assert "After it has more from 2000 to 5000 rpm" in text
        assert "* before" in text
        assert "upper 95 %" in await press("right")
        assert "Kept with the case" in await press("enter")
        report = as_html(report_of(app.screen.case))
        assert "After it has more from 2000 to 5000 rpm" in report
        assert "<title>Difference</title>" in report


async def shown(app: TroubleshootApp, screen: type[Screen[object]], gone: bool = False) -> None:
    """Wait for a screen, or until it is gone."""
    for _ in range(200):
        if isinstance(app.screen, screen) is not gone:
            return
        await asyncio.sleep(0.1)
    raise AssertionError(f"{screen.__name__} did not come")
