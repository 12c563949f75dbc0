"""The web server of a class, on textual-serve: a page, static files, and a socket that each seat's process is on."""

from __future__ import annotations

import asyncio
import contextlib
import logging
from pathlib import Path
from typing import Any

import aiohttp_jinja2
from aiohttp import WSMsgType, web
from textual_serve.app_service import AppService
from textual_serve.server import Server

from troubleshoot.drills.serving import COOKIE, COOKIE_LASTS, STOPS_WITHIN, seat_command, seat_environment, seat_of

log = logging.getLogger(__name__)


class SeatService(AppService):
    """One seat's process."""

    seat: str
    into: Path

    def _build_environment(self, width: int = 80, height: int = 24) -> dict[str, str]:
        built: dict[str, str] = super()._build_environment(width, height)
        return seat_environment(built, self.into, self.seat)

    async def until_over(self) -> None:
        """Wait until the process has said its last."""
        if self._task is not None:
            await asyncio.wait([self._task])

    async def end(self) -> None:
        """Ask the process to end, and end it when it does not."""
        with contextlib.suppress(asyncio.TimeoutError, OSError, RuntimeError):
            await asyncio.wait_for(self.stop(), STOPS_WITHIN)
        process = self._process
        if process is not None and process.returncode is None:
            try:
                await asyncio.wait_for(process.wait(), STOPS_WITHIN)
            except TimeoutError:
                with contextlib.suppress(ProcessLookupError):
                    process.kill()
                await process.wait()


class ClassServer(Server):
    """Serves one drill to so many seats; a browser keeps its seat by a cookie, so that a reload goes on."""

    def __init__(
        self, drill: Path, seats: int, into: Path, host: str, port: int, own_trees: Path | None = None
    ) -> None:
        pages = Path(__file__).with_name("pages")
        super().__init__(
            seat_command(drill, into, own_trees), host=host, port=port, title="Drill", templates_path=pages
        )
        self.into, self.seats = into, seats
        self.taken: dict[str, SeatService] = {}

    async def stand(self) -> None:
        """Serve until cancelled."""
        runner = web.AppRunner(await self._make_app(), access_log=None, shutdown_timeout=2.0)
        await runner.setup()
        try:
            await web.TCPSite(runner, self.host, self.port).start()
            await asyncio.Event().wait()
        finally:
            await asyncio.gather(*(service.end() for service in list(self.taken.values())), return_exceptions=True)
            await runner.cleanup()

    async def on_startup(self, app: web.Application) -> None:
        """Say nothing: the command has said where the class is."""

    async def handle_index(self, request: web.Request) -> web.StreamResponse:
        """Give the page with addresses of the host it was asked under, and the browser its seat."""
        here = f"{request.scheme}://{request.host}"
        size = request.query.get("fontsize", "")
        values = {
            "font_size": int(size) if size.isdecimal() and len(size) < 3 else 16,
            "app_websocket_url": f"ws{here.removeprefix('http')}/ws",
            "config": {"static": {"url": f"{here}/static/"}},
            "application": {"name": self.title},
        }
        response = aiohttp_jinja2.render_template("app_index.html", request, values)
        seat = seat_of(request.cookies.get(COOKIE))
        response.set_cookie(COOKIE, seat, max_age=COOKIE_LASTS, httponly=True, samesite="Strict")
        return response

    async def handle_websocket(self, request: web.Request) -> web.WebSocketResponse:
        """Run a seat's process for as long as its browser is there."""
        socket = web.WebSocketResponse(heartbeat=15)
        await socket.prepare(request)
        seat = seat_of(request.cookies.get(COOKIE))
        same_site = request.headers.get("Origin", "").split("://")[-1] in ("", request.host)
        if not same_site or (seat not in self.taken and len(self.taken) >= self.seats):
            await socket.send_bytes(b"Every seat of this class is taken. Ask the trainer.\r\n")
            await socket.close()
            return socket
        await self._sit(request, socket, seat)
        return socket

    async def _sit(self, request: web.Request, socket: web.WebSocketResponse, seat: str) -> None:
        before = self.taken.pop(seat, None)
        if before is not None:
            await before.end()
        service = SeatService(
            self.command, write_bytes=socket.send_bytes, write_str=socket.send_str, close=_nothing,
            download_manager=self.download_manager, debug=False,
        )  # fmt: skip
        service.seat, service.into = seat, self.into
        self.taken[seat] = service
        over: asyncio.Task[None] | None = None
        try:
            await service.start(_cells(request, "width", 80), _cells(request, "height", 24))
            over = asyncio.create_task(_close_after(service, socket))
            await _pass_on(socket, service)
        except Exception:
            log.exception("Seat %s", seat)
        finally:
            if over is not None:
                over.cancel()
            if self.taken.get(seat) is service:
                del self.taken[seat]
            await service.end()


def _cells(request: web.Request, name: str, usual: int) -> int:
    text = request.query.get(name, "")
    return min(max(int(text), 20), 500) if text.isdecimal() and len(text) < 6 else usual


async def _nothing() -> None:
    """Leave the socket open when the program says it ends: `_close_after` closes it, and nobody waits for that."""


async def _close_after(service: SeatService, socket: web.WebSocketResponse) -> None:
    """Close the socket when the process is over, so that the page says so."""
    await service.until_over()
    await socket.close()


async def _pass_on(socket: web.WebSocketResponse, service: SeatService) -> None:
    """Pass what the browser sends on to the process; what is not understood is dropped."""
    async for message in socket:
        if message.type != WSMsgType.TEXT:
            continue
        try:
            kind, value = (*message.json(), None)[:2]
        except (ValueError, TypeError):
            continue
        await _one(socket, service, kind, value)


async def _one(socket: web.WebSocketResponse, service: SeatService, kind: Any, value: Any) -> None:
    if kind == "stdin" and isinstance(value, str):
        await service.send_bytes(value.encode("utf-8"))
    elif kind == "resize" and isinstance(value, dict):
        width, height = value.get("width"), value.get("height")
        if isinstance(width, int) and isinstance(height, int):
            await service.set_terminal_size(min(max(width, 20), 500), min(max(height, 5), 200))
    elif kind == "ping":
        await socket.send_json(["pong", value])
    elif kind == "blur":
        await service.blur()
    elif kind == "focus":
        await service.focus()
