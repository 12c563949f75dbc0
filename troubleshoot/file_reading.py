"""Reading a file someone named, or what comes on a stream, without trusting its length."""

from __future__ import annotations

from pathlib import Path
from typing import BinaryIO


class TooLong(Exception):
    """The file holds more than was allowed; each caller says it in the words of what it expected."""


def read_at_most(path: Path, most: int) -> bytes:
    """Return what a file holds; TooLong past `most` bytes, OSError when it cannot be read.

    The bytes are counted, not the size believed: a device or a pipe has no size and may never end.
    """
    with path.open("rb") as file:
        return held_at_most(file, most)


def held_at_most(stream: BinaryIO, most: int) -> bytes:
    """Return all that a stream holds; TooLong past `most` bytes."""
    held = stream.read(most + 1)
    if len(held) > most:
        raise TooLong
    return held
