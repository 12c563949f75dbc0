"""A class in a real browser: two seats at once, a reload, a seat that dies, hand-ins that arrive and are marked."""

from __future__ import annotations

import asyncio
import os
import re
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from browser import CHROMIUM, Browser, free_port, until

from troubleshoot.classroom.board import seats_in
from troubleshoot.classroom.drill_file import drill_text
from troubleshoot.classroom.grading import mark
from troubleshoot.classroom.key_file import key_text
from troubleshoot.classroom.replaying import replay
from troubleshoot.classroom.rubric import read_rubric

pytestmark = [
    pytest.mark.slow,
    pytest.mark.skipif(CHROMIUM is None, reason="no Chromium here"),
]


def seat_processes(into: Path) -> list[int]:
    """Return the processes that sit in this class, by their command lines."""
    found = []
    for one in Path("/proc").iterdir():
        if one.name.isdecimal():
            try:
                words = (one / "cmdline").read_bytes().split(b"\0")
            except OSError:
                continue
            if b"--seat" in words and str(into).encode() in words:
                found.append(int(one.name))
    return sorted(found)


@pytest.fixture
def served(tmp_path, lean):
    """Serve the drill of the long hill; its key lies in a folder beside it that no seat may touch."""
    (tmp_path / "hill.drill.json").write_text(drill_text(lean[0]), encoding="utf-8")
    secret = tmp_path / "trainer"
    secret.mkdir()
    (secret / "hill.key").write_text(key_text(lean[1]), encoding="utf-8")
    port, into = free_port(), tmp_path / "class"
    command = [
        sys.executable, "-m", "troubleshoot", "drill", "serve", "hill.drill.json", "--port", str(port), "--seats", "3",
    ]  # fmt: skip
    environment = {**os.environ, "TROUBLESHOOT_DATA": str(tmp_path / "data")}
    server = subprocess.Popen(
        [*command, "--into", "class"], cwd=tmp_path, env=environment, stderr=subprocess.PIPE, text=True
    )
    try:
        assert f"http://127.0.0.1:{port}" in server.stderr.readline()
        yield f"http://127.0.0.1:{port}/", into, tmp_path, server
    finally:
        server.send_signal(signal.SIGINT)
        try:
            server.wait(15)
        except subprocess.TimeoutExpired:
            server.kill()
            server.wait(5)
    assert seat_processes(into) == []


def at(into: Path, name: str) -> str:
    """Return where the board has a trainee."""
    return next((f"{one.at}, {one.state}" for one in seats_in(into) if one.trainee == name), "")


async def sit_down(page, into, name):
    await asyncio.sleep(0.5)
    await page.type(name)
    await page.press("Enter")
    await until(lambda: at(into, name), f"{name} sits down")
    await asyncio.sleep(0.5)
    # The words of caution of this complaint are read before anything is chosen.
    await page.type("y")
    await asyncio.sleep(0.5)


async def read(page, into, name, wanted, check):
    """Choose a check by its words, read its cautions, take the reading and judge it low."""
    await page.type("o")
    await asyncio.sleep(0.5)
    await page.type(wanted)
    await page.press("Enter")
    await until(lambda: f"at {check}" in at(into, name), f"{name} chooses {check}")
    for _ in range(30):
        for _ in range(6):  # more cautions than any of these checks has; one y too many does nothing
            await page.type("y")
            await asyncio.sleep(0.1)
        await page.press("Enter")
        # One Enter too many would judge the reading, so the board has all the time it wants to show it.
        if await comes(lambda: f"read {check}" in at(into, name)):
            break
    assert f"read {check}" in at(into, name)
    await asyncio.sleep(0.3)


async def comes(true, seconds=6.0) -> bool:
    """Return whether it becomes true within these seconds."""
    end = time.monotonic() + seconds
    while not true() and time.monotonic() < end:
        await asyncio.sleep(0.1)
    return true()


async def judge(page, into, name, digit):
    """Press what the reading says; again where a page that was just loaded did not listen yet."""

    def touched() -> float:
        return next(one.touched for one in seats_in(into) if one.trainee == name)

    before = touched()
    for _ in range(30):
        await page.type(digit)
        if await comes(lambda: touched() != before):
            return
    raise AssertionError(f"{name} judges nothing; at {at(into, name)}")


async def name_cause(page, into, name, wanted):
    await page.type("m")
    await asyncio.sleep(0.5)
    await page.type(wanted)
    await page.press("Enter")
    await until(lambda: "named" in at(into, name), f"{name} names a cause")
    await page.type("f")
    await asyncio.sleep(0.5)
    await page.type("1")
    await until(lambda: "handed in" in at(into, name), f"{name} hands in")


async def test_two_trainees_sit_one_reloads_one_seat_dies_and_both_are_marked(served, lean, trees):
    url, into, folder, server = served
    async with Browser() as browser:
        first, second = await browser.open(url), await browser.open(url)
        await sit_down(first, into, "Ann")
        await sit_down(second, into, "Bo")
        both = seat_processes(into)
        assert len(both) == 2
        for process in both:
            key_is_nowhere(process, folder / "trainer")
        await read(first, into, "Ann", "moment the", "pressure-when-lean")
        await read(second, into, "Bo", "moment the", "pressure-when-lean")
        await judge(second, into, "Bo", "1")
        assert all(re.match(r"http://127\.0\.0\.1:", one) for one in await first.addresses())

        await first.reload()
        await asyncio.sleep(1.5)
        await judge(first, into, "Ann", "1")
        await read(first, into, "Ann", "across the pump at the top", "pump-volts-under-load")
        await judge(first, into, "Ann", "2")
        assert len([one for one in seats_in(into) if one.trainee == "Ann"]) == 1

        os.kill(next(one for one in seat_processes(into) if one in both), signal.SIGKILL)
        await name_cause(first, into, "Ann", "inlet strainer")
        await second.reload()
        await asyncio.sleep(1.0)
        await name_cause(second, into, "Bo", "fuel filter")
        await until(lambda: len(list((into / "hand-ins").glob("*.handin.json"))) == 2, "hand-ins arrive")
        for page in (first, second):
            await page.wait_for_words("Handed in")
        third = await browser.open(url)
        await sit_down(third, into, "Cy")
        await (await browser.open(url, terminal=False)).wait_for_words("The class is full")
        server.send_signal(signal.SIGINT)
        await third.wait_for_words("The class is closed")
    found = {}
    for path in (into / "hand-ins").glob("*.handin.json"):
        replayed = replay(path.read_text(encoding="utf-8"), path.name, lean[0], trees)
        found[replayed.trainee] = mark(replayed, lean[1], read_rubric(), trees)
    assert found["Ann"].found and not found["Bo"].found
    assert all("2 of 2" in one.why for one in found["Ann"].scores if one.criterion == "judged")
    assert set(found["Ann"].checks) == {"pressure-when-lean", "pump-volts-under-load"}


def key_is_nowhere(process: int, secret: Path) -> None:
    """The key is not among a seat's arguments, environment, open files or mapped files."""
    root = Path(f"/proc/{process}")
    told = (root / "cmdline").read_bytes() + (root / "environ").read_bytes() + (root / "maps").read_bytes()
    told += b" ".join(os.fsencode(one.readlink()) for one in (root / "fd").iterdir())
    assert b"hill.key" not in told and str(secret).encode() not in told
