"""The web server of a class, on textual-serve: a page, static files, and a socket that each seat's process is on."""

from __future__ import annotations

import asyncio
import contextlib
import logging
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import aiohttp_jinja2
from aiohttp import WSMsgType, web
from textual_serve.server import Server

from troubleshoot.classroom.seat import SeatService
from troubleshoot.classroom.serving import COOKIE, COOKIE_LASTS, seat_command, seat_of

log = logging.getLogger(__name__)

FULL = b"Every seat of this class is taken. Ask the trainer.\r\n"


@dataclass
class Chair:
    """One seat that somebody is at: its process, how many have come to it, and how many of them are still here.

    Two pages of one browser come to the same chair. They come in one at a time, and the last who came has it.
    """

    service: SeatService | None = None
    came: int = 0
    here: int = 0
    door: asyncio.Lock = field(default_factory=asyncio.Lock)


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
        self.chairs: dict[str, Chair] = {}
        self.over = False

    async def stand(self) -> None:
        """Serve until cancelled."""
        runner = web.AppRunner(await self._make_app(), access_log=None, shutdown_timeout=2.0)
        await runner.setup()
        try:
            await web.TCPSite(runner, self.host, self.port).start()
            await asyncio.Event().wait()
        finally:
            self.over = True
            services = [one.service for one in self.chairs.values() if one.service is not None]
            await asyncio.gather(*(service.end() for service in services), return_exceptions=True)
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
        if not same_site or (seat not in self.chairs and len(self.chairs) >= self.seats):
            with contextlib.suppress(ConnectionError):
                await socket.send_bytes(FULL)
                await socket.close()
            return socket
        chair = self.chairs.setdefault(seat, Chair())
        chair.here += 1
        try:
            with contextlib.suppress(ConnectionError):  # the browser went while it was being answered
                await self._sit(request, socket, seat, chair)
        except Exception:
            log.exception("Seat %s", seat)
        finally:
            chair.here -= 1
            if not chair.here:
                del self.chairs[seat]
        return socket

    async def _sit(self, request: web.Request, socket: web.WebSocketResponse, seat: str, chair: Chair) -> None:
        """Take the chair over from whoever has it, unless another page has come to it since."""
        chair.came += 1
        mine = chair.came
        async with chair.door:
            if chair.service is not None:
                await chair.service.end()
            if mine != chair.came or self.over:
                return
            service = SeatService(self.command, socket, request, self.download_manager, seat, self.into)
            chair.service = service
            await service.start(_cells(request, "width", 80), _cells(request, "height", 24))
        over = asyncio.create_task(_close_after(service, socket))
        try:
            await _pass_on(socket, service)
        finally:
            over.cancel()
            await service.end()


def _cells(request: web.Request, name: str, usual: int) -> int:
    text = request.query.get(name, "")
    return min(max(int(text), 20), 500) if text.isdecimal() and len(text) < 6 else usual


async def _close_after(service: SeatService, socket: web.WebSocketResponse) -> None:
    """Close the socket when the process is over, so that the page says so."""
    await service.until_over()
    with contextlib.suppress(ConnectionError):
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
        await service.send_bytes(value.encode("utf-8", "ignore"))
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
