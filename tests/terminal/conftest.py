"""A real terminal under tmux: start a command in it, press keys, read the screen."""

from __future__ import annotations

import os
import shlex
import shutil
import subprocess
import sys
import time
import uuid
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PATIENCE = 180.0
"""Seconds."""


class Terminal:
    """One tmux pane with a shell in it."""

    def __init__(self, width: int, height: int, environment: dict[str, str]) -> None:
        self.socket = f"troubleshoot-{uuid.uuid4().hex[:8]}"
        settings = [f"{name}={shlex.quote(value)}" for name, value in environment.items()]
        shell = f"env {' '.join(settings)} PS1='ready$ ' bash --norc --noprofile"
        self.tmux("-f", "/dev/null", "new-session", "-d", "-s", "a", "-x", str(width), "-y", str(height), shell)
        self.tmux("set", "-g", "status", "off")
        self.tmux("resize-window", "-t", "a", "-x", str(width), "-y", str(height))
        self.until("ready$")

    def tmux(self, *arguments: str) -> str:
        """Run a tmux command on this terminal's own server."""
        done = subprocess.run(["tmux", "-L", self.socket, *arguments], capture_output=True, text=True, check=True)
        return done.stdout

    def screen(self) -> str:
        """Return what stands on the screen."""
        return self.tmux("capture-pane", "-p", "-t", "a")

    def press(self, *keys: str) -> None:
        """Press keys by their tmux names."""
        for key in keys:
            self.tmux("send-keys", "-t", "a", key)

    def run(self, *command: str) -> None:
        """Type a command line and Enter."""
        self.tmux("send-keys", "-t", "a", "-l", shlex.join(command))
        self.press("Enter")

    def until(self, *words: str) -> str:
        """Wait until all words stand on the screen and return it."""
        return self.once(lambda text: all(word in text for word in words), f"{words} did not come")

    def once(self, there: Callable[[str], bool], complaint: str, press: Callable[[str], str] = lambda _: "") -> str:
        """Wait for a screen and return it, pressing what `press` says of the screens before it.

        The wait is long, for a machine that is busy with other things; nothing waits longer than it has to.
        """
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            text = self.screen()
            if there(text):
                return text
            if key := press(text):
                self.press(key)
            time.sleep(0.2)
        raise AssertionError(f"{complaint}; the screen was:\n{self.screen()}")

    def process_of(self, part: str) -> int:
        """Return the process in this pane whose command line holds some words."""
        shell = int(self.tmux("display-message", "-p", "-t", "a", "#{pane_pid}"))
        listed = subprocess.run(["ps", "-eo", "pid,ppid,args"], capture_output=True, text=True, check=True).stdout
        rows = [line.split(None, 2) for line in listed.splitlines()[1:]]
        family = {shell}
        for _ in range(4):
            family |= {int(pid) for pid, parent, _ in rows if int(parent) in family}
        return next(int(pid) for pid, _, args in rows if int(pid) in family and part in args and "bash" not in args)

    def close(self) -> None:
        """End the terminal."""
        subprocess.run(["tmux", "-L", self.socket, "kill-server"], capture_output=True, check=False)


@pytest.fixture
def terminal(tmp_path: Path) -> Iterator[Callable[..., Terminal]]:
    """Return the way to open a terminal; skipped where there is no tmux."""
    if shutil.which("tmux") is None:
        pytest.skip("tmux is not installed")
    opened: list[Terminal] = []

    def open_terminal(width: int = 80, height: int = 24, **environment: str) -> Terminal:
        given = {
            "TROUBLESHOOT_DATA": str(tmp_path / "data"),
            "TROUBLESHOOT_CACHE": str(tmp_path / "cache"),
            "PYTHONPATH": str(ROOT),
            "LANG": os.environ.get("LANG", "C.UTF-8"),
            "LC_ALL": "C.UTF-8",
        }
        opened.append(Terminal(width, height, given | environment))
        return opened[-1]

    yield open_terminal
    for one in opened:
        one.close()


@pytest.fixture
def program() -> tuple[str, ...]:
    """Return the command that starts the program."""
    return (sys.executable, "-m", "troubleshoot")
