"""The web server of a class: a page, the terminal's script and style, and a socket that each seat's process is on.

Of textual-serve only the files of its terminal in the browser are used (`static/`); the server is aiohttp's.
"""

from __future__ import annotations

import asyncio
import contextlib
import importlib.util
import logging
import os
import socket
import ssl
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import jinja2
from aiohttp import WSMsgType, web
from aiohttp.http import HttpProcessingError

from troubleshoot.classroom.class_folder import note_connected
from troubleshoot.classroom.name_list import kept_names, person_at, seat_of_code
from troubleshoot.classroom.seat import Seat, SeatProcess
from troubleshoot.classroom.seats import (
    COOKIE,
    COOKIE_LASTS,
    is_address,
    is_handed_in,
    seat_environment,
    seat_folder,
    seat_of,
    seats_sat_in,
)

log = logging.getLogger(__name__)

NOTICES = {
    "full": ("The class is full", "Every seat of this class is taken. Ask the trainer."),
    "handed-in": ("Handed in", "The trainer has what you handed in. You may close this page."),
    "no-code": ("Your code", "Type the code on your slip of paper. It brings you to your seat from any computer."),
    "over": ("The class is closed", "Everything is saved. Ask the trainer when it goes on."),
}
"""Heading and words of the pages that are no seat."""
FULL = b"Every seat of this class is taken. Ask the trainer.\r\n"
PAGES = Path(__file__).with_name("pages")
LONGEST_MESSAGE = 64 * 1024
"""Bytes of one message from a page: a paste is long, a keystroke is not."""


def terminal_files() -> Path:
    """Return the folder with the script, the style and the fonts of the terminal in the browser."""
    found = importlib.util.find_spec("textual_serve")
    assert found is not None and found.origin is not None
    return Path(found.origin).with_name("static")


class ClassServer:
    """Serves one drill to so many seats; a browser keeps its seat by a cookie, so that a reload goes on.

    `command` starts the process of a seat; which seat it is stands in its environment. `drill` is the drill's seal.
    """

    def __init__(self, command: Sequence[str], drill: str, seats: int, into: Path, host: str, port: int) -> None:
        self.command, self.seats, self.into, self.host, self.port = tuple(command), seats, into, host, port
        self.drill = drill
        self.taken: dict[str, Seat] = {}
        self.over = False
        self.tls: ssl.SSLContext | None = None
        self.named = bool(kept_names(into))
        self._page = jinja2.Environment(loader=jinja2.FileSystemLoader(PAGES), autoescape=True)

    async def stand(self, ready: Callable[[], object] = lambda: None) -> None:
        """Serve until cancelled; `ready` is called once the port answers."""
        app = web.Application()
        app.add_routes([
            web.get("/", self.front),
            web.get("/ws", self.seat),
            web.get("/state", self.state),
            web.static("/static", terminal_files()),
        ])  # fmt: skip
        logging.getLogger("aiohttp.server").addFilter(not_of_a_bad_request)
        runner = web.AppRunner(app, access_log=None, shutdown_timeout=2.0)
        await runner.setup()
        try:
            await web.TCPSite(runner, self.host, self.port, ssl_context=self.tls).start()
            ready()
            await asyncio.Event().wait()
        finally:
            self.over = True
            await asyncio.gather(*(seat.end() for seat in self.taken.values()), return_exceptions=True)
            await runner.cleanup()

    async def front(self, request: web.Request) -> web.Response:
        """Give the seat's page with addresses of the host it was asked under, or a page that says why there is none."""
        code = request.query.get("code", "")
        seat = seat_of_code(code) if self.named and code else seat_of(request.cookies.get(COOKIE))
        state = self.state_of(seat)
        if state == "open":
            size = request.query.get("fontsize", "")
            text = self._page.get_template("app_index.html").render(
                font_size=int(size) if size.isdecimal() and len(size) < 3 else 16,
                over=NOTICES["over"],
                socket=f"{request.scheme.replace('http', 'ws')}://{request.host}/ws",
            )
        else:
            heading, words = NOTICES[state]
            if state == "no-code" and code:
                words = f"There is no code {code[:20]} in this class. {words}"
            text = self._page.get_template("notice.html").render(
                heading=heading, words=words, asks=state == "no-code", again=state == "full"
            )
        response = web.Response(text=text, content_type="text/html")
        if state in ("open", "handed-in"):
            response.set_cookie(
                COOKIE, seat, max_age=COOKIE_LASTS, httponly=True, samesite="Strict", secure=self.tls is not None
            )
        return response

    async def state(self, request: web.Request) -> web.Response:
        """Say in one word what there is for this browser: open, handed-in, full, no-code or over."""
        return web.Response(text=self.state_of(seat_of(request.cookies.get(COOKIE))))

    def state_of(self, seat: str) -> str:
        """Return what there is for whoever comes to a seat."""
        if self.over:
            return "over"
        if self.named and person_at(self.into, seat) is None:
            return "no-code"
        if is_handed_in(self.into, seat, self.drill):
            return "handed-in"
        return "open" if self.has_place_for(seat) else "full"

    async def seat(self, request: web.Request) -> web.WebSocketResponse:
        """Run a seat's process for as long as its browser is there."""
        page = web.WebSocketResponse(heartbeat=15, max_msg_size=LONGEST_MESSAGE)
        await page.prepare(request)
        name = seat_of(request.cookies.get(COOKIE))
        if not (self.own_address(request) and self.state_of(name) == "open"):
            with contextlib.suppress(ConnectionError):
                await page.send_bytes(FULL)
                await page.close()
            return page
        seat = self.taken.setdefault(name, Seat(seat_folder(self.into, name)))
        seat.pages += 1
        try:
            note_connected(seat.folder, True)
            with contextlib.suppress(ConnectionError):  # the browser went while it was being answered
                await self._sit(request, page, name, seat)
        except Exception:
            log.exception("Seat %s", name)
        finally:
            seat.pages -= 1
            if not seat.pages:
                del self.taken[name]
                note_connected(seat.folder, False)
        return page

    def own_address(self, request: web.Request) -> bool:
        """Return whether a page of this server asks: a page elsewhere can have its name lead here, not an address."""
        origin = request.headers.get("Origin")
        if origin is not None and origin.split("://")[-1] != request.host:
            return False
        name = urlsplit(f"//{request.host}").hostname or ""
        return name in (self.host, "localhost", socket.gethostname().lower()) or is_address(name)

    def has_place_for(self, name: str) -> bool:
        """Return whether a seat can be taken; those where somebody sits already are kept, whoever else comes."""
        kept = set(self.taken) | set(seats_sat_in(self.into, self.drill))
        return name in kept or len(kept) < self.seats

    async def _sit(self, request: web.Request, page: web.WebSocketResponse, name: str, seat: Seat) -> None:
        """Take the seat over from whoever has it, unless another page has come to it since."""
        process = SeatProcess(page.send_bytes, lambda: hang_up(request))
        size = _cells(request, "width", 80), _cells(request, "height", 24)
        environment = seat_environment(os.environ, self.into, name, size)
        if not await seat.take_over(process, self.command, environment, lambda: self.over):
            return
        over = asyncio.create_task(_close_after(process, page))
        try:
            await _pass_on(page, process)
        finally:
            over.cancel()
            await process.end()


def not_of_a_bad_request(record: logging.LogRecord) -> bool:
    """Return whether a fault belongs in the log; what is no HTTP has had its answer, 400, and is no fault of ours."""
    return record.exc_info is None or not isinstance(record.exc_info[1], HttpProcessingError)


def hang_up(request: web.Request) -> None:
    """Let go of a browser that does not take what it is sent: whatever waits for it would wait for ever."""
    transport = request.transport
    if transport is not None and transport.get_write_buffer_size():
        transport.abort()


def _cells(request: web.Request, name: str, usual: int) -> int:
    text = request.query.get(name, "")
    return min(max(int(text), 20), 500) if text.isdecimal() and len(text) < 6 else usual


async def _close_after(process: SeatProcess, page: web.WebSocketResponse) -> None:
    """Close the socket when the process is over, so that the page says so."""
    await process.until_over()
    with contextlib.suppress(ConnectionError):
        await page.close()


async def _pass_on(page: web.WebSocketResponse, process: SeatProcess) -> None:
    """Pass what the browser sends on to the process; what is not understood is dropped."""
    async for message in page:
        if message.type != WSMsgType.TEXT:
            continue
        try:
            kind, value = (*message.json(), None)[:2]
        except (ValueError, TypeError, RecursionError):
            continue
        await _pass_one(page, process, kind, value)


async def _pass_one(page: web.WebSocketResponse, process: SeatProcess, kind: Any, value: Any) -> None:
    if kind == "stdin" and isinstance(value, str):
        await process.type(value)
    elif kind == "resize" and isinstance(value, dict):
        width, height = value.get("width"), value.get("height")
        if isinstance(width, int) and isinstance(height, int):
            await process.tell("resize", width=min(max(width, 20), 500), height=min(max(height, 5), 200))
    elif kind == "ping":
        await page.send_json(["pong", value])
    elif kind in ("blur", "focus"):
        await process.tell(kind)
