"""The process of one seat as the server of a class holds it: what it draws goes to one socket, and it always ends."""

from __future__ import annotations

import asyncio
import contextlib
from pathlib import Path

from aiohttp import web
from textual_serve.app_service import AppService
from textual_serve.download_manager import DownloadManager

from troubleshoot.classroom.serving import STOPS_WITHIN, seat_environment


class SeatService(AppService):
    """One seat's process."""

    def __init__(
        self,
        command: str,
        socket: web.WebSocketResponse,
        request: web.Request,
        downloads: DownloadManager,
        seat: str,
        into: Path,
    ) -> None:
        super().__init__(
            command, write_bytes=socket.send_bytes, write_str=socket.send_str, close=_nothing,
            download_manager=downloads, debug=False,
        )  # fmt: skip
        self.seat, self.into, self._request = seat, into, request
        self._gone = self._drawn = False
        self._ending: asyncio.Task[None] | None = None

    def _build_environment(self, width: int = 80, height: int = 24) -> dict[str, str]:
        built: dict[str, str] = super()._build_environment(width, height)
        return seat_environment(built, self.into, self.seat)

    async def on_data(self, payload: bytes) -> None:
        """Send what is drawn to the browser; once that is gone, throw it away, so that the process never waits."""
        self._drawn = True
        if self._gone:
            return
        try:
            await super().on_data(payload)
        except (ConnectionError, RuntimeError):
            self._gone = True

    async def until_over(self) -> None:
        """Wait until the process has said its last."""
        if self._task is not None:
            await asyncio.wait([self._task])

    async def end(self) -> None:
        """Ask the process to end, and end it when it does not; whoever asks waits for the same end."""
        if self._ending is None:
            self._ending = asyncio.create_task(self._end())
        await asyncio.shield(self._ending)

    async def _end(self) -> None:
        """End the process: one that has drawn nothing yet has nothing to save, and is not waited for."""
        task, process = self._task, self._process
        if task is None or process is None:
            return
        if self._drawn and not task.done():
            with contextlib.suppress(TimeoutError, ConnectionError, RuntimeError):
                await asyncio.wait_for(self.send_meta({"type": "quit"}), STOPS_WITHIN)
            self._hang_up()
            await asyncio.wait([task], timeout=STOPS_WITHIN)
        if task.done():
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(process.wait(), STOPS_WITHIN)
        task.cancel()
        await asyncio.wait([task])
        if process.returncode is None:
            with contextlib.suppress(ProcessLookupError):
                process.kill()
            await process.wait()

    def _hang_up(self) -> None:
        """Let go of a browser that does not take what it is sent: whatever waits for it would wait for ever."""
        self._gone = True
        transport = self._request.transport
        if transport is not None and transport.get_write_buffer_size():
            transport.abort()


async def _nothing() -> None:
    """Leave the socket open when the program says it ends: the server closes it, and nobody waits for that."""
