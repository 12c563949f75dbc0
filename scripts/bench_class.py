"""Measure a class: memory, processor time and waiting of so many seats: `python scripts/bench.py class`.

Each seat is a real process behind a real socket, as a browser would have it; no browser is started.
"""

from __future__ import annotations

import asyncio
import os
import signal
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

SEATS = 20
KEYS = 5
"""Times each seat opens the list of checks and closes it again."""
LONGEST = 300.0
"""Seconds that all seats have to come up."""


class Page:
    """One page of a seat: when it was last drawn to, and what it has been sent."""

    def __init__(self, socket_of_page: object) -> None:
        self.socket = socket_of_page
        self.drawn = b""

    async def read(self) -> None:
        """Take in what is drawn until the socket closes."""
        async for message in self.socket:  # type: ignore[attr-defined]  # aiohttp is imported late
            self.drawn += message.data if isinstance(message.data, bytes) else b""

    async def shows(self, text: bytes) -> float:
        """Wait until it shows something, and return the seconds that took."""
        began = time.perf_counter()
        while text not in self.drawn:
            if time.perf_counter() - began > LONGEST:
                raise TimeoutError(text.decode())
            await asyncio.sleep(0.02)
        return time.perf_counter() - began

    async def type(self, text: str) -> None:
        """Send keys one by one."""
        for key in text:
            await self.socket.send_json(["stdin", key])  # type: ignore[attr-defined]  # see above


def processes(into: Path) -> list[Path]:
    """Return the seats' processes by their folder in /proc."""
    found = []
    for one in Path("/proc").iterdir():
        if one.name.isdecimal():
            try:
                words = (one / "cmdline").read_bytes()
            except OSError:
                continue
            if b"--seat" in words and str(into).encode() in words:
                found.append(one)
    return found


def megabytes(found: list[Path]) -> float:
    """Return the memory of processes, what they share counted once (PSS), in megabytes."""
    kilobytes = 0
    for one in found:
        for line in (one / "smaps_rollup").read_text(encoding="ascii").splitlines():
            if line.startswith("Pss:"):
                kilobytes += int(line.split()[1])
    return kilobytes / 1024.0


def processor_seconds(found: list[Path]) -> float:
    """Return the processor time that processes have taken, in seconds."""
    ticks = 0
    for one in found:
        fields = (one / "stat").read_text(encoding="ascii").rpartition(")")[2].split()
        ticks += int(fields[11]) + int(fields[12])
    return ticks / os.sysconf("SC_CLK_TCK")


async def sit(port: int, into: Path) -> None:
    """Let every seat come, give its name and open the list of checks, and print what it takes."""
    import aiohttp

    async with aiohttp.ClientSession() as session:
        pages, readers = [], []
        began = time.perf_counter()
        for number in range(SEATS):
            headers = {"Cookie": f"troubleshoot-seat={number + 1:016x}"}
            page = Page(await session.ws_connect(f"http://127.0.0.1:{port}/ws?width=100&height=30", headers=headers))
            pages.append(page)
            readers.append(asyncio.create_task(page.read()))
        await asyncio.gather(*(page.shows(b"Your name") for page in pages))
        _row("all at once until each asks the name", f"{time.perf_counter() - began:.1f} s")
        found = processes(into)
        each, bare = processor_seconds(found) / len(found), bare_python()
        _row("processor time of a seat until then", f"{each:.2f} s, {each / bare:.0f} x a bare Python's")
        began = time.perf_counter()
        for number, page in enumerate(pages):
            await page.type(f"Seat {number}\r")
        await asyncio.gather(*(page.shows(b"read this") for page in pages))
        _row("names given until each is at work", f"{time.perf_counter() - began:.1f} s")
        for page in pages:
            await page.type("y")
        await asyncio.gather(*(page.shows(b"Your turn") for page in pages))
        taken = []
        for turn in range(KEYS):
            for page in pages[turn::KEYS]:
                page.drawn = b""
                await page.type("o")
                taken.append(await page.shows(b"Which check"))
                await page.type("\x1b")
        _row("a key until the list of checks stands", f"{statistics.median(taken) * 1000:.0f} ms, worst "
             f"{max(taken) * 1000:.0f} ms")  # fmt: skip
        found = processes(into)
        whole = megabytes(found)
        _row("memory of all seats", f"{whole:.0f} MB, {whole / len(found):.0f} MB each")
        for one in readers:
            one.cancel()


def bare_python() -> float:
    """Return the processor time in which Python starts and ends, at the load there is: what the ratio is to."""
    before = os.times()
    for _ in range(5):
        subprocess.run([sys.executable, "-c", "pass"], check=True)
    after = os.times()
    return (after.children_user + after.children_system - before.children_user - before.children_system) / 5


def _row(words: str, figure: str) -> None:
    sys.stdout.write(f"{words:<40} {figure}\n")
    sys.stdout.flush()


def main() -> None:
    """Serve a starter drill to so many seats and measure."""
    from troubleshoot.classroom.drill_file import drill_text
    from troubleshoot.classroom.drill_maker import make_drills
    from troubleshoot.classroom.story import plan_named
    from troubleshoot.knowledge.catalogue import load_catalogue

    with tempfile.TemporaryDirectory() as folder:
        here = Path(folder)
        plan = plan_named("06-lean-on-the-long-hill", here)
        (here / "hill.drill.json").write_text(drill_text(make_drills([plan], [1], load_catalogue())[0].drill), "utf-8")
        with socket.socket() as trial:
            trial.bind(("127.0.0.1", 0))
            port = trial.getsockname()[1]
        line = [sys.executable, "-m", "troubleshoot", "drill", "serve", "hill.drill.json", "--port", str(port)]
        server = subprocess.Popen(
            [*line, "--seats", str(SEATS)], cwd=here, stderr=subprocess.PIPE, text=True,
            env={**os.environ, "TROUBLESHOOT_DATA": str(here / "data")},
        )  # fmt: skip
        try:
            assert server.stderr is not None
            server.stderr.readline()
            _row("seats, and the load of the machine before", f"{SEATS}, {os.getloadavg()[0]:.1f}")
            asyncio.run(sit(port, (here / "class").resolve()))
            _row("memory of the server", f"{megabytes([Path('/proc') / str(server.pid)]):.0f} MB")
        finally:
            server.send_signal(signal.SIGINT)
            try:
                server.wait(30)
            except subprocess.TimeoutExpired:
                server.kill()
                server.wait(5)


if __name__ == "__main__":
    main()
