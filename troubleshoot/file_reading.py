"""Reading a file someone named, or what comes on a stream, without trusting its length."""

from __future__ import annotations

import os
from pathlib import Path
from typing import BinaryIO


class TooLong(Exception):
    """The file holds more than was allowed; each caller says it in the words of what it expected."""


def read_at_most(path: Path, most: int) -> bytes:
    """Return what a file holds; TooLong past `most` bytes, OSError when it cannot be read.

    The bytes are counted, not the size believed: a device or a pipe has no size and may never end. A named pipe that
    nobody writes to is empty; it is not waited for.
    """
    with os.fdopen(_opened(path), "rb") as file:
        return held_at_most(file, most)


def _opened(path: Path) -> int:
    """Open without waiting for somebody to write; reading then waits as usual for one who does."""
    if not hasattr(os, "O_NONBLOCK"):
        return os.open(path, os.O_RDONLY | getattr(os, "O_BINARY", 0))
    number = os.open(path, os.O_RDONLY | os.O_NONBLOCK | getattr(os, "O_CLOEXEC", 0))
    os.set_blocking(number, True)
    return number


def held_at_most(stream: BinaryIO, most: int) -> bytes:
    """Return all that a stream holds; TooLong past `most` bytes."""
    held = stream.read(most + 1)
    if len(held) > most:
        raise TooLong
    return held
