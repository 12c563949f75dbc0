"""A real headless Chromium, driven over its DevTools protocol: pages in contexts of their own, keys, and what shows."""

from __future__ import annotations

import asyncio
import itertools
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from pathlib import Path
from typing import Any

import aiohttp

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
PATIENCE = 180.0
"""Seconds, for a machine that is busy with other things; nothing waits longer than it has to."""
KEYS = {"Enter": ("\r", 13), "Escape": ("\x1b", 27)}


class Browser:
    """One browser process; `async with` starts and ends it."""

    def __init__(self) -> None:
        self.folder = tempfile.mkdtemp(prefix="browser-")
        self.answers: dict[int, asyncio.Future] = {}
        self.numbers = itertools.count(1)

    async def __aenter__(self) -> Browser:
        self.process = subprocess.Popen(
            [
                CHROMIUM, "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
                "--disable-background-networking", "--disable-component-update", "--disable-sync",
                "--remote-debugging-port=0", f"--user-data-dir={self.folder}", "about:blank",
            ],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
        )  # fmt: skip
        where = Path(self.folder) / "DevToolsActivePort"
        await until(lambda: where.exists() and len(where.read_text().splitlines()) == 2, "the browser starts")
        port, path = where.read_text().splitlines()
        self.http = aiohttp.ClientSession()
        self.socket = await self.http.ws_connect(f"ws://127.0.0.1:{port}{path}", max_msg_size=0)
        self.reader = asyncio.create_task(self._read())
        return self

    async def __aexit__(self, *_: object) -> None:
        self.reader.cancel()
        await self.socket.close()
        await self.http.close()
        self.process.send_signal(signal.SIGTERM)
        try:
            self.process.wait(5)
        except subprocess.TimeoutExpired:
            self.process.kill()
            self.process.wait(5)
        shutil.rmtree(self.folder, ignore_errors=True)

    async def _read(self) -> None:
        async for message in self.socket:
            found = message.json()
            waiting = self.answers.pop(found.get("id"), None)
            if waiting is not None and not waiting.done():
                waiting.set_result(found)

    async def ask(self, method: str, session: str | None = None, **values: Any) -> dict[str, Any]:
        """Send one command and return its result."""
        number = next(self.numbers)
        self.answers[number] = asyncio.get_running_loop().create_future()
        message = {"id": number, "method": method, "params": values}
        await self.socket.send_json({**message, "sessionId": session} if session else message)
        found = await asyncio.wait_for(self.answers[number], PATIENCE)
        assert "error" not in found, found
        return found["result"]

    async def open(self, url: str, terminal: bool = True) -> Page:
        """Open a page in a context of its own, as another person's browser would; `terminal` False for a notice."""
        context = await self.ask("Target.createBrowserContext")
        target = await self.ask("Target.createTarget", url=url, browserContextId=context["browserContextId"],
                                width=1100, height=700)  # fmt: skip
        session = await self.ask("Target.attachToTarget", targetId=target["targetId"], flatten=True)
        page = Page(self, session["sessionId"])
        if terminal:
            await page.wait_for_terminal()
        return page


class Page:
    """One page with a terminal in it."""

    def __init__(self, browser: Browser, session: str) -> None:
        self.browser, self.session = browser, session

    async def run(self, script: str) -> Any:
        """Run a script in the page and return its value."""
        found = await self.browser.ask("Runtime.evaluate", self.session, expression=script, returnByValue=True)
        return found["result"].get("value")

    async def wait_for_terminal(self) -> None:
        """Wait until the program behind the page has drawn something; the page puts the keyboard there by itself."""
        deadline = time.monotonic() + PATIENCE
        while not await self.run("document.body && document.body.classList.contains('-first-byte')"):
            assert time.monotonic() < deadline, "the terminal drew nothing"
            await asyncio.sleep(0.1)

    async def wait_for_words(self, words: str) -> None:
        """Wait until these words stand on the page, where no terminal is."""
        deadline = time.monotonic() + PATIENCE
        while words not in str(await self.run("document.body && document.body.innerText")):
            assert time.monotonic() < deadline, f"no {words!r} on the page"
            await asyncio.sleep(0.1)

    async def type(self, text: str) -> None:
        """Type letters, one key each."""
        for letter in text:
            await self._key(letter, letter, ord(letter.upper()))

    async def press(self, key: str) -> None:
        """Press a key by its name."""
        letter, code = KEYS[key]
        await self._key(key, letter, code)

    async def _key(self, key: str, text: str, code: int) -> None:
        same = {"key": key, "windowsVirtualKeyCode": code, "nativeVirtualKeyCode": code}
        await self.browser.ask("Input.dispatchKeyEvent", self.session, type="keyDown", text=text, **same)
        await self.browser.ask("Input.dispatchKeyEvent", self.session, type="keyUp", **same)

    async def reload(self) -> None:
        """Load the page again."""
        await self.run("document.body.classList.remove('-first-byte')")
        await self.browser.ask("Page.reload", self.session)
        await asyncio.sleep(0.3)
        await self.wait_for_terminal()

    async def addresses(self) -> list[str]:
        """Return every address the page loaded something from."""
        return await self.run("performance.getEntriesByType('resource').map(one => one.name)")


def free_port() -> int:
    """Return a port of this computer that nobody listens on."""
    with socket.socket() as trial:
        trial.bind(("127.0.0.1", 0))
        return int(trial.getsockname()[1])


async def until(true: Any, what: str) -> None:
    """Wait until something is true; fail when it does not come true in time."""
    deadline = time.monotonic() + PATIENCE
    while not true():
        assert time.monotonic() < deadline, f"not in {PATIENCE:.0f} s: {what}"
        await asyncio.sleep(0.1)
