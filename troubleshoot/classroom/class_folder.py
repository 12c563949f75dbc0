"""What the trainer's computer keeps of a class: what is served, its secret, who is connected.

The secret never leaves that computer. Each hand-in that a seat writes is stamped with it, so that one which was written
elsewhere, or changed on its way, is noticed when the class is marked.
"""

from __future__ import annotations

import contextlib
import hashlib
import hmac
import json
import os
import secrets
from pathlib import Path
from typing import Any

import msgspec
from msgspec import Struct

from troubleshoot.file_reading import TooLong, read_at_most
from troubleshoot.file_writing import write_whole

SECRET, SERVED, CONNECTED = "secret", "class.json", "connected"
LARGEST = 100_000
"""Bytes of a file of the class folder."""


class ServedClass(Struct, frozen=True, kw_only=True, rename="kebab"):
    """What is served: the drill's seal and title, minutes of work and by the clock, seats, the server's process."""

    drill: str
    title: str
    minutes: float | None = None
    clock: float | None = None
    seats: int = 0
    process: int = 0

    @property
    def stands(self) -> bool:
        """Return whether the server that wrote this runs still."""
        if not self.process:
            return False
        try:
            os.kill(self.process, 0)
        except PermissionError:
            return True
        except OSError:
            return False
        return True


def note_class(into: Path, served: ServedClass) -> None:
    """Note what is served, and forget who was connected to a server before."""
    write_whole(into / SERVED, msgspec.json.format(msgspec.json.encode(served), indent=1), private=True)
    for left in (into / "seats").glob(f"*/{CONNECTED}"):
        left.unlink(missing_ok=True)


def served_class(into: Path) -> ServedClass | None:
    """Return what is or was served from a folder; None where nobody noted it."""
    try:
        return msgspec.json.decode(read_at_most(into / SERVED, LARGEST), type=ServedClass)
    except (OSError, TooLong, msgspec.MsgspecError, UnicodeError):
        return None


def note_connected(folder: Path, is_there: bool) -> None:
    """Note whether a page of a seat is open, for the board."""
    mark = folder / CONNECTED
    with contextlib.suppress(OSError):
        folder.mkdir(parents=True, exist_ok=True)
        if is_there:
            mark.touch()
        else:
            mark.unlink(missing_ok=True)


def class_secret(into: Path) -> str:
    """Return the secret of a class, made when it is first asked for."""
    kept = kept_secret(into)
    if kept:
        return kept
    made = secrets.token_hex(32)
    into.mkdir(parents=True, exist_ok=True)
    write_whole(into / SECRET, made, private=True)
    return made


def kept_secret(into: Path) -> str:
    """Return the secret of a class; empty where there is none."""
    try:
        return read_at_most(into / SECRET, LARGEST).decode("ascii").strip()
    except (OSError, TooLong, UnicodeError):
        return ""


def stamped(hand_in: str, secret: str, seat: str) -> str:
    """Return a hand-in with the stamp of the class and its seat."""
    whole: dict[str, Any] = json.loads(hand_in)
    whole["served"] = {"seat": seat, "stamp": _stamp(whole, secret, seat)}
    return json.dumps(whole, indent=1, ensure_ascii=False) + "\n"


def stamp_holds(hand_in: str, secret: str) -> bool:
    """Return whether a hand-in was written in this class and is as it was written."""
    try:
        whole = json.loads(hand_in)
        served = whole.pop("served")
        return hmac.compare_digest(str(served["stamp"]), _stamp(whole, secret, str(served["seat"])))
    except (ValueError, KeyError, TypeError, RecursionError):
        return False


def _stamp(whole: dict[str, Any], secret: str, seat: str) -> str:
    content = json.dumps([seat, whole["events"]], sort_keys=True, ensure_ascii=True).encode()
    return hmac.new(secret.encode(), content, hashlib.sha256).hexdigest()
