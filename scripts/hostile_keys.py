"""Random keys, pastes, clicks and new sizes on every screen, down to three columns and three lines."""

from __future__ import annotations

import asyncio
import contextlib
import io
import os
import random
import tempfile
import time
from collections import Counter
from pathlib import Path

from hostile_kills import filled
from hostile_texts import drill, hand_in_bytes
from rich.console import Console
from textual import events
from textual.errors import NoWidget

from troubleshoot.casebook.backups import faults
from troubleshoot.classroom.drill_file import drill_text
from troubleshoot.classroom.key_file import key_text
from troubleshoot.tui.app import TroubleshootApp
from troubleshoot.tui.workspace import Workspace

WORDS = """enter escape tab shift+tab up down left right home end pageup pagedown backspace delete space
ctrl+f ctrl+p ctrl+a ctrl+k ctrl+u f1 f2 f5 y y y y enter enter escape"""
KEYS = (*"abcdefghijklmnopqrstuvwxyz0123456789?/.,+-=*[]", *WORDS.split())
PASTES = (
    "38 psi", "1e308", "-5", "nan", "13.4 V", "[bold red]x[/]", "\x1b[2J", "x" * 5000, "a\nb\nc", "=1+1", "\u202e abc",
    "../../etc/passwd", "hill.drill.json", "hill.key.json", "log.csv", "½ ± µ", "[/]", "{}", "12:61",
)  # fmt: skip
STARTS = (None, "new", "example", "casebook", "calculators", "settings", "CASE")
AT_ONCE = 400
"""Events in one run of the program; then it is begun again from another place."""
LONGEST = 10.0
"""Seconds that one event may take."""


async def one_run(folder: Path, start: str | None, count: int, draw: random.Random, met: Counter[str]) -> str:
    """Do so many things to the screens; return what went wrong, or nothing."""
    workspace = Workspace(None, folder / "casebook.sqlite")
    app = TroubleshootApp(workspace, start)
    app.error_console = Console(file=io.StringIO())
    done = list[str]()
    stayed = Counter[str]()
    try:
        async with app.run_test(size=(100, 30)) as pilot:
            if start is None:
                await pilot.press("p")  # practice and the drills
            for _ in range(count):
                screen = type(app.screen).__name__
                met[screen] += 1
                stayed[screen] += 1
                began = time.monotonic()
                match draw.random():
                    case chance if stayed[screen] % 60 == 0 or chance < 0.04:
                        done.append("escape")
                        await pilot.press("escape")
                    case chance if chance < 0.09:
                        size = draw.choice(((3, 3), (1, 1), (6, 10), (40, 12), (80, 24), (120, 40), (300, 80)))
                        size = size if draw.random() < 0.6 else (draw.randint(1, 130), draw.randint(1, 50))
                        done.append(f"size {size}")
                        await pilot.resize_terminal(*size)
                    case chance if chance < 0.16:
                        paste = draw.choice(PASTES)
                        done.append(f"paste {paste[:20]!r}")
                        if app.focused is not None:
                            app.focused.post_message(events.Paste(paste))
                        await pilot.pause()
                    case chance if chance < 0.28:
                        width, height = app.size
                        place = draw.randrange(max(1, width)), draw.randrange(max(1, height))
                        done.append(f"click {place}")
                        with contextlib.suppress(NoWidget):  # the pilot's own refusal, where nothing is drawn
                            await pilot.click(offset=place, times=draw.choice((1, 1, 2)))
                    case _:
                        key = draw.choice(KEYS)
                        done.append(key)
                        if not (key in ("q", "ctrl+q") and screen == "StartScreen"):
                            await pilot.press(key)
                if time.monotonic() - began > LONGEST:
                    return f"{screen}: {time.monotonic() - began:.0f} s after {done[-1]}"
                if not app.is_running:
                    break
    except Exception as problem:
        return f"{type(problem).__name__}: {str(problem)[:300]} on {screen} after {done[-8:]}"
    finally:
        workspace.close()
    return "" if app.return_code in (None, 0) else f"ended with {app.return_code} after {done[-8:]}"


def main(count: int, seed: int = 1) -> int:
    """Do so many things in all, print on which screens they fell and return how many runs went wrong."""
    draw, met, wrong = random.Random(seed), Counter[str](), list[str]()
    runs = 0
    while met.total() < count:
        with tempfile.TemporaryDirectory() as place:
            folder = Path(place)
            os.environ["TROUBLESHOOT_DATA"] = place
            os.chdir(place)
            case = filled(folder / "casebook.sqlite", 3)
            (folder / "hill.drill.json").write_text(drill_text(drill().drill), encoding="utf-8")
            (folder / "hill.key.json").write_text(key_text(drill().key), encoding="utf-8")
            (folder / "hill-Kim.handin.json").write_bytes(hand_in_bytes())
            rows = "".join(f"{at / 10:.1f},{750 + at % 9},0.98\n" for at in range(200))
            (folder / "log.csv").write_text(f"time,rpm,lambda\n{rows}", encoding="utf-8")
            start = STARTS[runs % len(STARTS)]
            many = min(AT_ONCE, count - met.total())
            found = asyncio.run(one_run(folder, case if start == "CASE" else start, many, draw, met))
            damaged = faults(folder / "casebook.sqlite")
            wrong += [f"run {runs} from {start}: {found}"] if found else []
            wrong += [f"run {runs}: {line}" for line in damaged]
            runs += 1
            os.chdir("/")
    print(f"{met.total()} events in {runs} runs, {len(wrong)} wrong", *wrong[:12], sep="\n  ")
    print("  " + ", ".join(f"{name} {many}" for name, many in met.most_common()))
    return len(wrong)
