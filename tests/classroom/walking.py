"""Walk the screens of drills: what stands there, keys pressed, cautions read, a check taken."""

from __future__ import annotations

import html
import re
import time

_PIECE = re.compile(r"<text[^>]*?>(.*?)</text>", re.DOTALL)


def words(app) -> str:
    """Return what stands on the screen, from the public picture of it."""
    return " ".join(html.unescape(one).replace("\xa0", " ") for one in _PIECE.findall(app.export_screenshot()))


async def until(pilot, app, wanted, seconds=120.0):
    deadline = time.monotonic() + seconds
    while wanted not in words(app):
        assert time.monotonic() < deadline, f"no {wanted!r} in:\n{words(app)}"
        await pilot.pause(0.05)


async def until_gone(pilot, app, words_there, seconds=120.0):
    deadline = time.monotonic() + seconds
    while words_there in words(app):
        assert time.monotonic() < deadline, f"{words_there!r} still in:\n{words(app)}"
        await pilot.pause(0.05)


async def press(pilot, *keys):
    for key in keys:
        for one in [key] if key in ("enter", "escape", "down", "right", "tab", "space") else list(key):
            await pilot.press("space" if one == " " else one)
        await pilot.pause()


async def read_cautions(pilot, app, then):
    """Read what must be read before, until the awaited words stand there."""
    deadline = time.monotonic() + 120.0
    while then not in words(app):
        assert time.monotonic() < deadline, f"no {then!r} in:\n{words(app)}"
        await (press(pilot, "y") if "I have read it" in words(app) else pilot.pause(0.05))


async def take(pilot, app, wanted):
    """Choose a check, read its cautions, take the reading from the bench."""
    await press(pilot, "o", wanted, "enter")
    await read_cautions(pilot, app, "Enter  take")
    await press(pilot, "enter")
