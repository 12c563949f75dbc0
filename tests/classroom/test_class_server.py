"""The server of a class with a stand-in for a seat's program: one process a seat whatever pages do, and none left."""

from __future__ import annotations

import asyncio
import contextlib
import random
import sys
from pathlib import Path

import aiohttp
import pytest
from browser import free_port, until

from troubleshoot.classroom import seats as class_seats
from troubleshoot.classroom.board import board_lines, seats_in
from troubleshoot.classroom.name_list import Person, with_codes

pytest.importorskip("textual_serve.server")

STAND_IN = """
import sys, time
from pathlib import Path
Path(sys.argv[1]).joinpath(str(__import__("os").getpid())).write_text("")
HOW = sys.argv[2]
def say(text):
    sys.stdout.buffer.write(b"D" + len(text).to_bytes(4, "big") + text)
    sys.stdout.buffer.flush()
if HOW == "slow to start":
    time.sleep(60)
sys.stdout.buffer.write(b"__GANGLION__\\n")
say(b"here")
while True:
    kind = sys.stdin.buffer.read(1)
    if not kind:
        break
    text = sys.stdin.buffer.read(int.from_bytes(sys.stdin.buffer.read(4), "big"))
    if kind == b"M" and b"quit" in text and HOW != "deaf":
        break
    if kind == b"D" and text == b"flood":
        for _ in range(400):
            say(b"x" * 65536)
    elif kind == b"D":
        say(b"heard " + text)
"""


@pytest.fixture
def served(tmp_path, monkeypatch):
    """Return what serves a class whose seats run the stand-in; checks at the end that no process is left."""
    from troubleshoot.classroom.class_server import ClassServer

    monkeypatch.setattr("troubleshoot.classroom.seat.STOPS_WITHIN", 1.0)
    begun = tmp_path / "begun"
    begun.mkdir()
    (tmp_path / "seat.py").write_text(STAND_IN, encoding="utf-8")

    @contextlib.asynccontextmanager
    async def serve(how="as it should", seats=3):
        port = free_port()
        command = (sys.executable, str(tmp_path / "seat.py"), str(begun), how)
        server = ClassServer(command, "a seal", seats, tmp_path / "class", "127.0.0.1", port)
        standing = asyncio.create_task(server.stand())
        await until(lambda: listens(port), "the server listens")
        visitor = Visitor(port, class_seats.COOKIE)
        try:
            yield server, visitor, lambda: alive(begun)
        finally:
            for page in visitor.pages:
                await page.go()
            standing.cancel()
            await asyncio.wait([standing], timeout=10)
        assert standing.done() and not alive(begun)

    return serve


def listens(port: int) -> bool:
    import socket

    with contextlib.suppress(OSError), socket.create_connection(("127.0.0.1", port), 0.2):
        return True
    return False


def alive(begun: Path) -> list[int]:
    """Return the stand-ins that still run."""
    found = []
    for one in begun.iterdir():
        with contextlib.suppress(OSError):
            state = Path(f"/proc/{one.name}/stat").read_text(encoding="utf-8").rpartition(")")[2].split()[0]
            found += [int(one.name)] if state != "Z" else []
    return found


class Visitor:
    """Opens pages of seats."""

    def __init__(self, port: int, cookie: str) -> None:
        self.url, self.cookie = f"http://127.0.0.1:{port}/ws", cookie
        self.pages: list[Page] = []

    async def come(self, seat: str, **more: str) -> Page:
        """Open a page of a seat, with more headers."""
        session = aiohttp.ClientSession(headers={"Cookie": f"{self.cookie}={seat}", **more})
        page = Page(session, await session.ws_connect(self.url))
        self.pages.append(page)
        return page


class Page:
    """One page: what it was sent, and whether it is closed."""

    def __init__(self, session, socket) -> None:
        self.session, self.socket, self.text = session, socket, b""
        self.reader = asyncio.create_task(self._read())

    async def _read(self) -> None:
        async for message in self.socket:
            self.text += message.data

    async def type(self, text: str) -> None:
        """Send keys."""
        await self.socket.send_json(["stdin", text])

    async def shows(self, text: bytes) -> None:
        """Wait until it shows something."""
        await until(lambda: text in self.text, f"the page shows {text!r}")

    async def go(self) -> None:
        """Vanish, as a browser whose network is cut."""
        self.reader.cancel()
        line = self.socket._response.connection
        if line is not None and line.transport is not None:
            line.transport.abort()
        await self.session.close()


SEAT = "0123456789abcdef"
pytestmark = pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="processes are looked up in /proc")


async def test_two_pages_at_the_same_moment_leave_one_process_and_the_last_who_came_has_it(served):
    """Two processes on one casebook would each hold half of the answers."""
    async with served() as (_, visitor, running):
        for _ in range(5):
            pages = await asyncio.gather(visitor.come(SEAT), visitor.come(SEAT), visitor.come(SEAT))
            await until(lambda pages=pages: sum(one.socket.closed for one in pages) == 2, "two pages are closed")
            last = next(one for one in pages if not one.socket.closed)
            await last.type("k")
            await last.shows(b"heard k")
            assert len(running()) == 1
            for one in pages:
                await one.go()


@pytest.mark.parametrize("seed", range(3))
async def test_reloads_at_random_moments_leave_one_process_a_seat_and_nothing_on_the_books(served, seed):
    draw = random.Random(seed)
    async with served(seats=2) as (server, visitor, running):
        here: dict[str, Page] = {}
        for _ in range(40):
            seat = draw.choice((SEAT, SEAT[::-1]))
            if seat in here and draw.random() < 0.7:
                await here.pop(seat).go()
            here[seat] = await visitor.come(seat)
            await asyncio.sleep(draw.choice((0.0, 0.0, 0.02, 0.1)))
        for page in here.values():
            await page.type("k")
            await page.shows(b"heard k")
        await until(lambda: len(running()) == len(here), "one process a seat")
        for page in here.values():
            await page.go()
        await until(lambda: not running() and not server.taken, "everybody has gone")


@pytest.mark.parametrize("how", ["deaf", "slow to start"])
async def test_a_process_that_does_not_end_is_ended_when_its_seat_is_taken_over(served, how):
    async with served(how) as (_, visitor, running):
        await visitor.come(SEAT)
        await until(lambda: len(running()) == 1, "it runs")
        first = running()
        page = await visitor.come(SEAT)
        await until(lambda: running() and running() != first, "another runs")
        if how == "deaf":
            await page.shows(b"here")


async def test_a_page_that_takes_nothing_in_does_not_keep_its_seat_from_the_next(served):
    """A laptop that was shut: what it is sent fills every buffer, and the process waits on it."""
    async with served() as (_, visitor, running):
        shut = await visitor.come(SEAT)
        await shut.shows(b"here")
        shut.socket._response.connection.transport.pause_reading()
        await shut.type("flood")
        await asyncio.sleep(0.5)
        page = await visitor.come(SEAT)
        await page.shows(b"here")
        assert len(running()) == 1


async def test_a_full_class_lets_nobody_in_but_those_who_sit_in_it(served):
    async with served(seats=1) as (_, visitor, running):
        await visitor.come(SEAT)
        await until(lambda: len(running()) == 1, "it runs")
        stranger = await visitor.come(SEAT[::-1])
        await stranger.shows(b"Every seat of this class is taken")
        again = await visitor.come(SEAT)
        await again.shows(b"here")


async def test_what_no_keyboard_sends_closes_nothing(served):
    """Half of a character, a list, a number: dropped, and the seat goes on."""
    async with served() as (_, visitor, _running):
        page = await visitor.come(SEAT)
        await page.shows(b"here")
        deep = "[" * 30_000
        for text in ('["stdin", "\\ud83d"]', "[]", deep, "7", "{", '["resize", {"width": "wide"}]', '["stdin", 4]'):
            await page.socket.send_str(text)
        await page.type("k")
        await page.shows(b"heard k")


@pytest.mark.parametrize(
    "headers",
    [
        {"Host": "elsewhere.example", "Origin": "http://elsewhere.example"},
        {"Host": "elsewhere.example"},
        {"Origin": "http://elsewhere.example"},
    ],
)
async def test_a_page_from_elsewhere_gets_no_seat(served, headers):
    """A page can have its own name lead to this computer; it then asks under that name."""
    async with served() as (server, visitor, running):
        stranger = await visitor.come(SEAT, **headers)
        await until(lambda: stranger.socket.closed, "it is sent away")
        assert not running() and not server.taken


async def test_a_crowd_at_the_door_takes_no_seat_that_somebody_has_begun_in(served):
    """Whoever reloads while others crowd in comes back to the same seat."""
    async with served(seats=2) as (server, visitor, running):
        class_seats.seat_folder(server.into, SEAT).mkdir(parents=True)
        class_seats.note_sitting(server.into, SEAT, "a seal")
        crowd = [await visitor.come(f"{number:016x}") for number in range(12)]
        await until(lambda: sum(one.socket.closed for one in crowd) == 11, "one seat is left for strangers")
        mine = await visitor.come(SEAT)
        await mine.shows(b"here")
        assert len(running()) == 2


async def front(visitor, cookie="", query="") -> str:
    """Return the words of the page that a browser with this cookie gets."""
    async with aiohttp.ClientSession(headers={"Cookie": f"{class_seats.COOKIE}={cookie}"} if cookie else {}) as one:
        return await (await one.get(visitor.url.removesuffix("/ws") + f"/{query}")).text()


async def test_full_handed_in_and_closed_are_three_pages(served):
    """And each is what there is: who has a seat goes on, who has handed in is told so, who comes late as well."""
    async with served(seats=1) as (server, visitor, _running):
        assert "textual-terminal" in await front(visitor, SEAT)
        page = await visitor.come(SEAT)
        await page.shows(b"here")
        assert "The class is full" in await front(visitor)
        assert "textual-terminal" in await front(visitor, SEAT)
        class_seats.note_handed_in(server.into, SEAT, "a seal")
        text = await front(visitor, SEAT)
        assert "Handed in" in text and "textual-terminal" not in text
        assert server.state_of(SEAT) == "handed-in"
        server.over = True
        assert "The class is closed" in await front(visitor, SEAT)
        server.over = False


async def test_a_code_brings_back_to_the_same_seat_and_nothing_else_gets_one(served, tmp_path):
    """On whatever computer it is typed, and however; a guess gets the page that asks for it."""
    people = with_codes([Person("Anna Berg"), Person("Bo Lind")], tmp_path / "class")
    async with served() as (server, visitor, running):
        assert "Your code" in await front(visitor)
        assert "There is no code" in await front(visitor, query="?code=AAAAAA")
        stranger = await visitor.come(SEAT)
        await until(lambda: stranger.socket.closed, "it is sent away")
        code = people[0].code
        assert "textual-terminal" in await front(visitor, query=f"?code={code[:3].lower()}-{code[3:]}")
        page = await visitor.come(people[0].seat)
        await page.shows(b"here")
        assert len(running()) == 1
        board = list(board_lines(seats_in(server.into), 0.0))
        assert "not come" in next(line for line in board if "Bo Lind" in line)
    assert with_codes([Person("Anna Berg")], tmp_path / "class")[0].code == code


async def test_the_page_takes_the_focus_and_looks_why_its_seat_closed(served):
    async with served() as (_server, visitor, _running):
        text = await front(visitor, SEAT)
        assert ".focus()" in text and 'fetch("/state")' in text


async def test_a_request_that_is_none_leaves_no_traceback_with_the_trainer(served, caplog):
    """A heading of 100,000 letters is answered 400, and that is all."""
    async with served() as (server, _visitor, _running):
        reader, writer = await asyncio.open_connection(server.host, server.port)
        writer.write(b"GET / HTTP/1.1\r\nHost: x\r\nX: " + b"a" * 100_000 + b"\r\n\r\n")
        assert b" 400 " in await reader.readline()
        writer.close()
    assert not caplog.records
