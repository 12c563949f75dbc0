"""The whole way of one seat without a browser: `drill serve`, a socket, a name typed, and the board shows it."""

from __future__ import annotations

import asyncio
import os
import re
import signal
import subprocess
import sys

import aiohttp
import pytest
from browser import until
from test_class_server import free_port

from troubleshoot.classroom.board import seats_in
from troubleshoot.classroom.drill_file import drill_text
from troubleshoot.classroom.seats import COOKIE

pytest.importorskip("textual_serve")
pytestmark = pytest.mark.slow


@pytest.fixture
def address(tmp_path, lean):
    """Serve the drill of the long hill and return where."""
    (tmp_path / "hill.drill.json").write_text(drill_text(lean[0]), encoding="utf-8")
    port = free_port()
    command = [sys.executable, "-m", "troubleshoot", "drill", "serve", "hill.drill.json", "--port", str(port)]
    environment = {**os.environ, "TROUBLESHOOT_DATA": str(tmp_path / "data")}
    server = subprocess.Popen(command, cwd=tmp_path, env=environment, stderr=subprocess.PIPE, text=True)
    try:
        assert f"http://127.0.0.1:{port}" in server.stderr.readline()
        yield f"http://127.0.0.1:{port}"
    finally:
        server.send_signal(signal.SIGINT)
        assert "everything is saved" in server.communicate(timeout=180)[1]


def names(into) -> set[str]:
    return {one.trainee for one in seats_in(into)} if into.exists() else set()


async def test_a_name_typed_into_the_page_takes_the_seat(address, tmp_path):
    async with aiohttp.ClientSession() as session:
        front = await session.get(address)
        page = await front.text()
        script = re.search(r'src="([^"]+\.js)"', page)[1]
        assert (await session.get(address + script)).status == 200
        seat = front.cookies[COOKIE].value
        where = re.search(r'session-websocket-url="([^"]+)"', page)[1]
        async with session.ws_connect(where, headers={"Cookie": f"{COOKIE}={seat}"}) as socket:
            await socket.send_json(["resize", {"width": 100, "height": 30}])
            await until(lambda: (tmp_path / "class" / "seats" / seat / "casebook.sqlite").exists(), "it runs")
            drawn = b""
            while b"Your name" not in drawn:  # before that nobody listens to keys
                drawn += await asyncio.wait_for(socket.receive_bytes(), 120)
            for key in ("A", "n", "n", "\r"):
                await socket.send_json(["stdin", key])
            await until(lambda: names(tmp_path / "class") == {"Ann"}, "Ann has sat down")
    faults = tmp_path / "class" / "seats" / seat / "faults.txt"
    assert faults.read_text(encoding="utf-8") == ""
