"""One seat of a class: its process, whose drawing goes to the page that came last, and which always ends.

The process speaks the wire format of Textual's web driver: after a greeting line, packets of one letter ("D" what is
drawn or typed, "M" a JSON message), four bytes of length (big-endian) and that many bytes, both ways.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
from collections.abc import Awaitable, Callable, Mapping, Sequence
from pathlib import Path
from typing import IO

GREETING = b"__GANGLION__\n"
"""The line with which Textual's web driver says that packets follow."""
GREETS_WITHIN = 10
"""Lines that may come before the greeting."""
STOPS_WITHIN = 5.0
"""Seconds that a seat's process has to end by itself."""


class SeatProcess:
    """The process of one seat; what it draws is sent to one page until that page is gone."""

    def __init__(self, send: Callable[[bytes], Awaitable[None]], hang_up: Callable[[], None]) -> None:
        self._send, self._hang_up = send, hang_up
        self._gone = self._drawn = False
        self._process: asyncio.subprocess.Process | None = None
        self._reader: asyncio.Task[None] | None = None
        self._ending: asyncio.Task[None] | None = None

    async def start(self, command: Sequence[str], environment: Mapping[str, str], faults: IO[bytes]) -> None:
        """Start the command; what it writes to its error stream goes to `faults`."""
        pipe = asyncio.subprocess.PIPE
        self._process = await asyncio.create_subprocess_exec(
            *command, stdin=pipe, stdout=pipe, stderr=faults, env=dict(environment)
        )
        self._reader = asyncio.create_task(self._read(self._process))

    async def _read(self, process: asyncio.subprocess.Process) -> None:
        assert process.stdout is not None
        with contextlib.suppress(asyncio.IncompleteReadError, ConnectionError):
            for _ in range(GREETS_WITHIN):
                if await process.stdout.readline() == GREETING:
                    break
            else:
                return
            while True:
                head = await process.stdout.readexactly(5)
                payload = await process.stdout.readexactly(int.from_bytes(head[1:], "big"))
                if head[:1] == b"D":
                    await self._draw(payload)

    async def _draw(self, payload: bytes) -> None:
        """Send what is drawn to the page; once that is gone, throw it away, so that the process never waits."""
        self._drawn = True
        if self._gone:
            return
        try:
            await self._send(payload)
        except (ConnectionError, RuntimeError):
            self._gone = True

    async def type(self, text: str) -> None:
        """Pass on what was typed; half a character is left out."""
        await self._write(b"D", text.encode("utf-8", "ignore"))

    async def tell(self, kind: str, **more: int) -> None:
        """Send a message of the driver: "resize" with width and height, "focus", "blur" or "quit"."""
        await self._write(b"M", json.dumps({"type": kind, **more}).encode())

    async def _write(self, kind: bytes, payload: bytes) -> None:
        if self._process is None or self._process.stdin is None:
            return
        with contextlib.suppress(ConnectionError, RuntimeError):
            self._process.stdin.write(kind + len(payload).to_bytes(4, "big") + payload)
            await self._process.stdin.drain()

    async def until_over(self) -> None:
        """Wait until the process has drawn its last."""
        if self._reader is not None:
            await asyncio.wait([self._reader])

    async def end(self) -> None:
        """Ask the process to end, and end it when it does not; whoever asks waits for the same end."""
        if self._ending is None:
            self._ending = asyncio.create_task(self._end())
        await asyncio.shield(self._ending)

    async def _end(self) -> None:
        """End the process: one that has drawn nothing yet has nothing to save, and is not waited for."""
        reader, process = self._reader, self._process
        if reader is None or process is None:
            return
        if self._drawn and not reader.done():
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(self.tell("quit"), STOPS_WITHIN)
            self._gone = True
            self._hang_up()
            await asyncio.wait([reader], timeout=STOPS_WITHIN)
        if reader.done():
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(process.wait(), STOPS_WITHIN)
        reader.cancel()
        await asyncio.wait([reader])
        if process.returncode is None:
            with contextlib.suppress(ProcessLookupError):
                process.kill()
            await process.wait()


class Seat:
    """One seat that somebody is at: its process, and how many pages of it are open.

    Two pages of one browser come to the same seat. They come in one at a time, and the last that came has it.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.pages = 0
        self._process: SeatProcess | None = None
        self._came = 0
        self._door = asyncio.Lock()

    async def take_over(
        self, process: SeatProcess, command: Sequence[str], environment: Mapping[str, str], over: Callable[[], bool]
    ) -> bool:
        """End whatever has the seat and start this process; False where a later page has come, or the class is over."""
        self._came += 1
        mine = self._came
        async with self._door:
            await self.end()
            if mine != self._came or over():
                return False
            self._process = process
            self.folder.mkdir(parents=True, exist_ok=True)
            with (self.folder / "faults.txt").open("ab") as faults:
                await process.start(command, environment, faults)
        return True

    async def end(self) -> None:
        """End the process that has the seat."""
        if self._process is not None:
            await self._process.end()
