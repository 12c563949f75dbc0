"""A log taken into a case on the screens: file, picture, readings to mark."""

from __future__ import annotations

from pathlib import Path

import pytest

from troubleshoot.tui.screens.tick_screen import MarkScreen

SIZES = [(80, 24), (120, 40)]


def log_file(path: Path) -> None:
    rows = [f"{at / 20:.2f};{1500 + 30 * at};100;{50 - at / 10:.2f};{0.86 + at / 500:.3f}" for at in range(110)]
    path.write_text("\n".join(["Zeit;Drehzahl;TP;Fuel Pressure;Lambda", *rows]).replace(".", ","), encoding="utf-8")


@pytest.mark.parametrize("size", SIZES)
async def test_a_log_is_picked_drawn_and_taken(
    screens, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, size: tuple[int, int]
) -> None:
    """Headings that mean nothing are asked for; the readings stand marked under the picture; Enter takes them."""
    monkeypatch.chdir(tmp_path)
    log_file(tmp_path / "p")
    async with screens(*size) as (app, press):
        await press("e", "1", "y", "y")
        text = await press("l")
        assert "A recording" in text
        text = await press("p", "enter")
        assert "no column is the time" in " ".join(text.split())
        await press(*("equals_sign" if one == "=" else "semicolon" if one == ";" else "minus" if one == "-" else one
                      for one in "time=Zeit;engine-speed=Drehzahl"))  # fmt: skip
        text = await press("enter")
        assert isinstance(app.screen, MarkScreen)
        assert "log: p" in text
        assert "*" in text
        assert "Fuel pressure at the moment" in text
        text = await press("enter")
        assert "Readings taken" in text
