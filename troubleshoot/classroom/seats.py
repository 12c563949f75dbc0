"""The seats of a class: one folder a trainee with its own casebook, and the folder where hand-ins are collected."""

from __future__ import annotations

import ipaddress
import re
import secrets
from collections.abc import Iterator, Mapping
from pathlib import Path

from troubleshoot.problems import TroubleshootError

SEAT_NAME = re.compile(r"[0-9a-f]{16}")
"""What a seat's own number looks like; anything else from a browser is not taken."""
HAND_INS, SEATS, CASEBOOK = "hand-ins", "seats", "casebook.sqlite"

COOKIE = "troubleshoot-seat"
COOKIE_LASTS = 14 * 24 * 3600
"""Seconds for which a browser keeps its seat."""
TEXTUAL_IN_BROWSER = {
    "TEXTUAL_DRIVER": "textual.drivers.web_driver:WebDriver",
    "TEXTUAL_FPS": "60",
    "TEXTUAL_COLOR_SYSTEM": "truecolor",
    "TERM_PROGRAM": "textual",
}
"""What a seat's environment says to Textual: draw for a browser."""


class SeatRefused(TroubleshootError):
    """There is no such seat."""


def seat_folder(into: Path, seat: str) -> Path:
    """Return the folder of a seat; SeatRefused for what is no seat's number."""
    if not SEAT_NAME.fullmatch(seat):
        raise SeatRefused("That is no seat of this class.", "Open the page of the class again.")
    return into / SEATS / seat


def seat_casebook(into: Path, seat: str) -> Path:
    """Return where a seat keeps its case."""
    return seat_folder(into, seat) / CASEBOOK


def hand_in_paths(folder: Path, name: str, seat: str) -> Iterator[Path]:
    """Yield paths for a hand-in, the plain one first; two trainees of one name get the seat's number behind it."""
    yield folder / name
    stem = name.removesuffix(".handin.json")
    for number in range(1, 1000):
        yield folder / f"{stem}-{seat[:6]}{'' if number == 1 else f'-{number}'}.handin.json"


def seat_of(cookie: str | None) -> str:
    """Return the seat a browser's cookie names, or a new one for anything that is no seat's number."""
    return cookie if cookie is not None and SEAT_NAME.fullmatch(cookie) else secrets.token_hex(8)


def seat_environment(environment: Mapping[str, str], into: Path, seat: str, size: tuple[int, int]) -> dict[str, str]:
    """Return what a seat's process is told: which seat it is, its size in cells, to keep everything in its folder."""
    folder = seat_folder(into, seat)
    folder.mkdir(parents=True, exist_ok=True)
    return {
        **environment, **TEXTUAL_IN_BROWSER, "COLUMNS": str(size[0]), "ROWS": str(size[1]),
        "TROUBLESHOOT_SEAT": seat, "TROUBLESHOOT_DATA": str(folder),
    }  # fmt: skip


def note_sitting(into: Path, seat: str, seal: str) -> None:
    """Note that somebody has begun the drill with this seal in a seat, so that the class keeps it for them."""
    (seat_folder(into, seat) / _sits(seal)).touch()


def note_handed_in(into: Path, seat: str, seal: str) -> None:
    """Note that the drill with this seal was handed in from a seat."""
    (seat_folder(into, seat) / f"handed-in-{seal[:16]}").touch()


def is_handed_in(into: Path, seat: str, seal: str) -> bool:
    """Return whether the drill with this seal was handed in from a seat."""
    return SEAT_NAME.fullmatch(seat) is not None and (into / SEATS / seat / f"handed-in-{seal[:16]}").exists()


def seats_sat_in(into: Path, seal: str) -> Iterator[str]:
    """Yield the seats in which somebody has begun the drill with this seal."""
    for path in sorted((into / SEATS).glob(f"*/{_sits(seal)}")):
        yield path.parent.name


def _sits(seal: str) -> str:
    return f"sits-{seal[:16]}"


def is_address(name: str) -> bool:
    """Return whether a host is given by its address, which nobody else's page can be under."""
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True
