"""Draw every main screen as text and picture, at four sizes and in three themes, to look at before landing.

    .venv/bin/python scripts/draw_screens.py FOLDER [--only start,session] [--sizes 80x24,120x40] [--themes dark]

Writes NAME-WxH.txt and NAME-WxH-THEME.svg; a browser shows the pictures.
"""

from __future__ import annotations

import argparse
import asyncio
import os
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from troubleshoot.__main__ import use_one_thread

SIZES = ("60x20", "80x24", "120x40", "160x50")
THEMES = ("dark", "bright-sun", "high-contrast")
LEAN = ("a", "4", "!")
"""An invented car that goes lean at the top; `!` stands for reading every caution."""
TYPED = (*LEAN, "1", "enter", "!", "o", *"moment", "enter", "!", "3", "8")
"""Nothing is to be seen; then the fuel pressure at the moment it goes lean."""
READ = (*TYPED, "enter", "!")
PROVED = ("x", "!", *(("enter", "!") * 5))
PRACTICE = ("p", "1", "1", "1", "1", "!")
"""A car of the first level that may show anything; which one is drawn anew each time."""
SCREENS: dict[str, tuple[str, ...]] = {
    "start": (),
    "examples": ("a",),
    "caution": ("a", "4"),
    "check": LEAN,
    "typed": TYPED,
    "session": READ,
    "choices": ("a", "2", "!"),
    "why": (*READ, "w"),
    "others": (*READ, "o"),
    "cannot": (*READ, "u"),
    "change": (*READ, "e"),
    "report": (*READ, "g"),
    "help": (*READ, "question_mark"),
    "palette": (*READ, "slash", *"pump"),
    "repair": (*READ, "m", "1"),
    "retest": (*READ, "m", "1", "enter"),
    "close": (*READ, "f"),
    "note": (*READ, "i"),
    "details": (*READ, "d"),
    "stop": (*LEAN, "exclamation_mark"),
    "example": ("x", "!", "enter", "!"),
    "proof": PROVED,
    "closed": (*PROVED, "enter", "!"),
    "proof-report": (*PROVED, "enter", "!", "g"),
    "new": ("n",),
    "cars": ("n", "3", "enter"),
    "car": ("n", "3", "enter", "enter"),
    "tools": ("n", "3", "enter", "enter", "enter"),
    "drills": ("p",),
    "levels": ("p", "1", "1"),
    "practice": PRACTICE,
    "ranking": (*PRACTICE, "w"),
    "told": (*PRACTICE, "m", "1", "f", "1"),
    "plant": ("p", "7"),
    "card": ("p", "7", *"pump feed", "enter", "enter"),
    "calculators": ("k",),
    "calculation": ("k", *"float", "enter"),
    "chart": ("k", *"float", "enter", *"17", "tab", "8", "tab", *"30", "f3"),
    "settings": ("s",),
    "casebook": ("c",),
}


async def walk(
    keys: Sequence[str], size: tuple[int, int], themes: Sequence[str], folder: str
) -> tuple[str, dict[str, str]]:
    """Return the screen after these keys, as text and as an SVG for each theme."""
    from troubleshoot.tui.app import TroubleshootApp
    from troubleshoot.tui.picture import screen_text
    from troubleshoot.tui.screens.caution import CautionScreen
    from troubleshoot.tui.workspace import Workspace

    app = TroubleshootApp(Workspace(None, Path(folder) / "casebook.sqlite"))
    async with app.run_test(size=size) as pilot:
        app.theme = themes[0]
        await app.workers.wait_for_complete()
        for key in keys:
            if key == "!":
                await pilot.pause()
                while isinstance(app.screen, CautionScreen):
                    await pilot.press("y")
                    await pilot.pause()
            else:
                await pilot.press(key)
                engine = [one for one in app.workers if one.name in ("engine", "wait")]
                if engine:
                    await app.workers.wait_for_complete(engine)
                await pilot.pause()
        pictures = {}
        for theme in themes:
            app.theme = theme
            await pilot.pause(0.2)
            pictures[theme] = app.export_screenshot()
        return screen_text(app), pictures


def draw(into: Path, names: Sequence[str], sizes: Sequence[str], themes: Sequence[str]) -> None:
    """Draw these screens; the text once a size, the picture once a theme."""
    into.mkdir(parents=True, exist_ok=True)
    for name in names:
        for size in sizes:
            width, height = map(int, size.split("x"))
            with tempfile.TemporaryDirectory() as folder:
                os.environ["TROUBLESHOOT_DATA"] = folder
                text, pictures = asyncio.run(walk(SCREENS[name], (width, height), themes, folder))
            (into / f"{name}-{size}.txt").write_text(text + "\n", encoding="utf-8")
            for theme, picture in pictures.items():
                (into / f"{name}-{size}-{theme}.svg").write_text(picture, encoding="utf-8")
            sys.stdout.write(f"{name} {size}\n")


def main() -> None:
    """Draw what the command line asks for."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("folder", type=Path)
    for option, usual in (("only", SCREENS), ("sizes", SIZES), ("themes", THEMES)):
        asked.add_argument(f"--{option}", default=",".join(usual))
    wanted = asked.parse_args()
    use_one_thread()
    draw(wanted.folder, wanted.only.split(","), wanted.sizes.split(","), wanted.themes.split(","))


if __name__ == "__main__":
    main()
