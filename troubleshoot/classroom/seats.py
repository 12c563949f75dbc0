"""The seats of a class: one folder a trainee with its own casebook, and the folder where hand-ins are collected."""

from __future__ import annotations

import re
from pathlib import Path

from troubleshoot.problems import TroubleshootError

SEAT_NAME = re.compile(r"[0-9a-f]{16}")
"""What a seat's own number looks like; anything else from a browser is not taken."""
HAND_INS, SEATS, CASEBOOK = "hand-ins", "seats", "casebook.sqlite"


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


def hand_in_path(into: Path, name: str, seat: str) -> Path:
    """Return a path for a hand-in that is not there yet; two trainees of one name get the seat's number behind it."""
    folder = into / HAND_INS
    wanted = folder / name
    if not wanted.exists():
        return wanted
    stem = name.removesuffix(".handin.json")
    for number in range(1, 1000):
        again = folder / f"{stem}-{seat[:6]}{'' if number == 1 else f'-{number}'}.handin.json"
        if not again.exists():
            return again
    raise SeatRefused(f"{folder} is full of hand-ins of one name.", "Clear it.")
