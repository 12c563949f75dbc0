"""Measure the screens: first paint against a blank Textual app, and key to painted answer on the session screen.

Each start is a fresh interpreter; the blank app is measured in the same run, turn by turn.
"""

from __future__ import annotations

import asyncio
import os
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from troubleshoot.__main__ import use_one_thread

BLANK = """
import sys, time
from textual.app import App
class Blank(App):
    def on_mount(self):
        self.call_after_refresh(self.exit)
Blank().run(headless=True)
"""
OURS = """
import sys
from pathlib import Path
from troubleshoot.tui.app import TroubleshootApp
from troubleshoot.tui.workspace import Workspace
class Once(TroubleshootApp):
    def settle(self, screen):
        screen.call_after_refresh(self.exit, 0)
Once(Workspace(None, Path(sys.argv[1]) / "casebook.sqlite")).run(headless=True)
"""
STARTS = 9
ANSWERS = 40
ANSWER_SHARE = 0.10
"""p95 of answer to painted step is to be at most this share of the blank app's start to paint, in the same run."""


def started(code: str, folder: str) -> float:
    """Return the seconds a fresh interpreter takes to first paint and out again."""
    began = time.perf_counter()
    subprocess.run([sys.executable, "-c", code, folder], check=True, capture_output=True)
    return time.perf_counter() - began


def first_paint(folder: str) -> float:
    """Print the first paint of the start screen as a ratio to a blank app; return the seconds of the blank one."""
    started(BLANK, folder), started(OURS, folder)
    pairs = [(started(BLANK, folder), started(OURS, folder)) for _ in range(STARTS)]
    blank = statistics.median(pair[0] for pair in pairs)
    ours = statistics.median(pair[1] for pair in pairs)
    sys.stdout.write(f"blank Textual app, start to paint    {blank * 1000:7.0f} ms\n")
    ratio = f"{ours / blank:.2f} x (wanted 1.6)"
    sys.stdout.write(f"start screen, start to paint         {ours * 1000:7.0f} ms   {ratio}\n")
    return blank


async def answers(folder: str, concerns: tuple[str, ...] = ("lean-top",)) -> list[float]:
    """Return the seconds from Enter to the painted next step, over answers given and taken back."""
    from troubleshoot.tui.app import TroubleshootApp
    from troubleshoot.tui.screens.new_case import begin
    from troubleshoot.tui.screens.session import SessionScreen
    from troubleshoot.tui.workspace import Workspace

    workspace = Workspace(None, Path(folder) / f"{'-'.join(concerns)}.sqlite")
    app = TroubleshootApp(workspace)
    taken: list[float] = []
    async with app.run_test(size=(80, 24)) as pilot:
        await app.workers.wait_for_complete()
        car = next(iter(workspace.catalogue.cars.values()))
        case = begin(workspace, car, concerns, None)
        session = SessionScreen(workspace, case)
        await app.push_screen(session)
        for _ in range(ANSWERS):
            while session.case.view().step.kind == "caution":
                for caution in session.case.view().step.cautions:
                    session.case.acknowledge(caution.id)
                session.show_case()
            check = session.view.step.check
            if check is None:
                while session.case.view().readings:
                    session.case.undo()
                session.show_case()
                await pilot.pause()
                continue
            while not isinstance(app.screen, SessionScreen):
                await pilot.press("y")
            await pilot.pause()
            answer = "1" if check.choices else str(middle(check.plausible))
            painted = asyncio.Event()
            began = time.perf_counter()
            session.take(check.id, answer, sure=True)
            session.call_after_refresh(painted.set)
            await painted.wait()
            taken.append(time.perf_counter() - began)
    return taken


def middle(ends: tuple[float, float] | None) -> float:
    """Return a plausible number."""
    low, high = ends or (0.0, 1.0)
    return round(low + 0.4 * (high - low), 1)


def main() -> None:
    """Print both measurements."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ["TROUBLESHOOT_DATA"] = folder
        use_one_thread()
        blank = first_paint(folder)
        for concerns in (("lean-top",), ("lean-top", "wont-rev"), ("idle-surge", "stalls")):
            taken = sorted(asyncio.run(answers(folder, concerns)))
            last = taken[int(len(taken) * 0.95) - 1]
            sys.stdout.write(
                f"answer to painted next step          {statistics.median(taken) * 1000:7.1f} ms median, "
                f"{last * 1000:.1f} ms p95 of {len(taken)}, "
                f"{last / blank:.2f} x the blank app (wanted {ANSWER_SHARE}): {' + '.join(concerns)}\n"
            )


if __name__ == "__main__":
    main()
