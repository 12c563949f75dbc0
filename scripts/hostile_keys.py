"""Random keys, pastes, clicks and new sizes on every screen, down to three columns and three lines."""

from __future__ import annotations

import asyncio
import contextlib
import io
import os
import random
import resource
import tempfile
import time
import traceback
from collections import Counter
from functools import cache
from pathlib import Path

from hostile_kills import filled
from hostile_texts import SETTINGS, drill, hand_in_bytes, trees
from rich.console import Console
from textual import events
from textual.errors import NoWidget
from textual.pilot import Pilot, WaitForScreenTimeout

from troubleshoot.casebook.backups import faults
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.drill_file import drill_text
from troubleshoot.classroom.drill_maker import MadeDrill
from troubleshoot.classroom.key_file import key_text
from troubleshoot.classroom.practising import draw_practice
from troubleshoot.classroom.seats import SEATS
from troubleshoot.classroom.sitting import sit
from troubleshoot.tui.app import TroubleshootApp
from troubleshoot.tui.drill_app import DrillApp
from troubleshoot.tui.screens import practice
from troubleshoot.tui.screens.caution import CautionScreen
from troubleshoot.tui.screens.waiting import WaitScreen
from troubleshoot.tui.workspace import Workspace

WORDS = """enter escape tab shift+tab up down left right home end pageup pagedown backspace delete space
ctrl+f ctrl+p ctrl+a ctrl+k ctrl+u f1 f2 f3 f4 f5 y y y y enter enter"""
KEYS = (*"abcdefghijklmnopqrstuvwxyz0123456789?!/.,+-=*[]", *WORDS.split())
PASTES = (
    "38 psi", "1e308", "-5", "nan", "13.4 V", "[bold red]x[/]", "\x1b[2J", "x" * 5000, "a\nb\nc", "=1+1", "\u202e abc",
    "../../etc/passwd", "hill.drill.json", "hill.key.json", "log.csv", "½ ± µ", "[/]", "{}", "12:61",
)  # fmt: skip
SIZES = ((3, 3), (1, 1), (6, 10), (40, 12), (80, 24), (120, 40), (150, 50), (300, 80))
PLACES: dict[str, tuple[str, ...]] = {
    "start": (), "new": (), "example": (), "examples": ("enter",), "casebook": (), "calculators": (), "settings": (),
    "CASE": (), "CASE why": ("w",), "CASE checks": ("o",), "CASE report": ("g",), "CASE repair": ("m",),
    "CASE log": ("l", "l", "o", "g", ".", "c", "s", "v", "enter"), "CASE facts": ("d",),
    "CASE smell": ("exclamation_mark",), "CASE finish": ("f",), "CASE change": ("e", "enter"), "DRILL": (),
    "DRILL checks": ("o", "1"), "DRILL end": ("f",),
    "practise": ("p", "1", "1", "1", "1"), "practise repair": ("p", "1", "1", "1", "1", "m"), "sit": ("p", "2", "1"),
    "set": ("p", "3"), "check": ("p", "4", "1"), "watch": ("p", "5", "1"), "mark": ("p", "6", "1", "1"),
    "plant": ("p", "7", "1", "1"),
}  # fmt: skip
"""Where a run begins, and the keys that lead on from there."""
AT_ONCE = 500
"""Events in one run of the program; then it is begun again from another place."""
LONGEST = 10.0
"""Seconds of work that a burst of keys may cost."""


@cache
def practised() -> MadeDrill:
    """Return a car to practise on, computed once for all runs."""
    return draw_practice(1, None, 1, None, "asked", trees())


def begun(folder: Path, place: str, case: str) -> TroubleshootApp:
    """Return the program as it is begun for a place."""
    workspace = Workspace(None, folder / "casebook.sqlite")
    start = place.split()[0]
    if start == "DRILL":
        return DrillApp(workspace, sit(workspace.casebook, trees(), time.time, drill().drill, "Kim", SETTINGS)[0])
    opened = case if start == "CASE" else start
    return TroubleshootApp(workspace, None if start == "start" or PLACES[place][:1] == ("p",) else opened)


async def one_thing(app: TroubleshootApp, pilot: Pilot[int], draw: random.Random, out: bool, done: list[str]) -> None:
    """Do one thing to the screens, or type several keys before the program can answer; tell beforehand what it is."""
    match draw.random():
        case _ if out:
            done.append("escape")
            await pilot.press("escape")
        case chance if chance < 0.06:
            size = draw.choice(SIZES) if draw.random() < 0.6 else (draw.randint(1, 130), draw.randint(1, 50))
            done.append(f"size {size}")
            await pilot.resize_terminal(*size)
        case chance if chance < 0.14:
            paste = draw.choice(PASTES)
            done.append(f"paste {paste[:20]!r}")
            if app.focused is not None:
                app.focused.post_message(events.Paste(paste))
            await pilot.pause()
        case chance if chance < 0.3:
            width, height = app.size
            place = draw.randrange(max(1, width)), draw.randrange(max(1, height))
            done.append(f"click {place}")
            with contextlib.suppress(NoWidget):  # the pilot's own refusal, where nothing is drawn
                await pilot.click(offset=place, times=draw.choice((1, 1, 2)))
        case _:
            done += draw.choices(KEYS, k=draw.choice((1, 2, 4, 8, 16, 24)))
            for key in done:
                app.simulate_key(key)
            await pilot.pause()


async def led_in(app: TroubleshootApp, pilot: Pilot[int], keys: tuple[str, ...]) -> None:
    """Press the keys that lead on; cautions before them are acknowledged, what is computed is waited for."""
    for key in (*keys, ""):
        until = time.monotonic() + LONGEST
        while isinstance(app.screen, WaitScreen | CautionScreen) and time.monotonic() < until:
            await (pilot.press("y") if isinstance(app.screen, CautionScreen) else pilot.pause(0.05))
        if key:
            await pilot.press(key)


async def one_run(app: TroubleshootApp, place: str, count: int, draw: random.Random, met: Counter[str]) -> str:
    """Do so many things to the screens; return what went wrong, or nothing."""
    app.error_console = Console(file=io.StringIO())
    done, new, stayed, screen = list[str](), list[str](), Counter[str](), ""
    try:
        async with app.run_test(size=draw.choice(((80, 24), (100, 30), (120, 40), (150, 50)))) as pilot:
            await led_in(app, pilot, PLACES[place])
            while len(done) < count and app.is_running:
                screen = type(app.screen).__name__
                stayed[screen] += 1
                began = time.process_time()
                new.clear()
                try:
                    await one_thing(app, pilot, draw, stayed[screen] % 25 == 0, new)
                except WaitForScreenTimeout:  # the pilot waits in vain for a widget that was taken away meanwhile
                    await pilot.pause()  # where the program hangs, this fails too
                done += new
                met[screen] += len(new)
                if time.process_time() - began > LONGEST:
                    return f"{screen}: {time.process_time() - began:.0f} s of work after {new}"
            await pilot.pause(0.2)  # the pilot ends the program at once, where a key would first be answered
    except Exception as problem:
        frames = [f"{Path(one.filename).name}:{one.lineno}" for one in traceback.extract_tb(problem.__traceback__)]
        ahead = [*done[-12:], *new]
        return f"{type(problem).__name__}: {str(problem)[:300]} on {screen} after {ahead}: {' '.join(frames[-9:])}"
    finally:
        app.workspace.close()
    return "" if app.return_code in (None, 0) else f"ended with {app.return_code} after {done[-12:]}"


def laid_out(folder: Path) -> str:
    """Put into a folder what the screens may read, and return a case's id."""
    case = filled(folder / "casebook.sqlite", 3)
    (folder / "hill.drill.json").write_text(drill_text(drill().drill), encoding="utf-8")
    (folder / "hill.key.json").write_text(key_text(drill().key), encoding="utf-8")
    (folder / "hill-Kim.handin.json").write_bytes(hand_in_bytes())
    seat = folder / "class" / SEATS / ("0" * 16) / "casebook.sqlite"
    seat.parent.mkdir(parents=True)
    with Casebook(seat) as book:
        sit(book, trees(), time.time, drill().drill, "Kim", SETTINGS)
    rows = "".join(f"{at / 10:.1f},{750 + at % 9},0.98\n" for at in range(200))
    (folder / "log.csv").write_text(f"time,rpm,lambda\n{rows}", encoding="utf-8")
    return case


def main(count: int, seed: int = 1) -> int:
    """Do so many things in all, print on which screens they fell and return how many runs went wrong."""
    draw, met, wrong = random.Random(seed), Counter[str](), list[str]()
    practice.draw_practice = lambda *_: practised()
    places, runs = list(PLACES), 0
    while met.total() < count:
        with tempfile.TemporaryDirectory() as made:
            folder, place = Path(made), places[runs % len(places)]
            os.environ["TROUBLESHOOT_DATA"] = made
            os.chdir(made)
            app = begun(folder, place, laid_out(folder))
            found = asyncio.run(one_run(app, place, min(AT_ONCE, count - met.total()), draw, met))
            wrong += [f"run {runs} from {place}: {found}"] if found else []
            wrong += [f"run {runs}: {line}" for line in faults(folder / "casebook.sqlite")]
            print(f"  {met.total()} {place}: {found or 'well'}", flush=True)
            runs += 1
            os.chdir("/")
    print(f"{met.total()} events in {runs} runs, {len(wrong)} wrong", *wrong[:12], sep="\n  ")
    print("  " + ", ".join(f"{name} {many}" for name, many in met.most_common()))
    print(f"largest memory {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3:.0f} MB")
    return len(wrong)
