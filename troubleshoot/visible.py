"""Words as they can be looked at anywhere: what a terminal or an editor would obey is shown instead."""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping

UNSEEN = {"Cc", "Cf", "Cs", "Co"}
"""Unicode categories that move the cursor, turn the direction of writing, take no room, or cannot be written."""


def visible(text: str) -> str:
    """Return text in which every character shows: controls as \\\\x1b, the rest as \\\\u202e; lines and tabs stay.

    JSON stays JSON: it writes controls as escapes itself, and reads \\\\u202e as the character.

    >>> visible("a\\x1b[2J\\u202eb")
    'a\\\\x1b[2J\\\\u202eb'
    """
    text = text.replace("\r\n", "\n")
    if text.replace("\n", "").replace("\t", "").isprintable():
        return text
    return "".join(
        one if one in "\n\t" or unicodedata.category(one) not in UNSEEN else _named(ord(one)) for one in text
    )


def _named(code: int) -> str:
    if code < 0x20:
        return f"\\x{code:02x}"
    if code < 0x10000:
        return f"\\u{code:04x}"
    pair = code - 0x10000  # as JSON writes a character beyond four figures
    return f"\\u{0xD800 + (pair >> 10):04x}\\u{0xDC00 + (pair & 0x3FF):04x}"


def wants_ascii(environ: Mapping[str, str]) -> bool:
    """Return whether the locale named by the environment (POSIX: LC_ALL, else LC_CTYPE, else LANG) has only ASCII.

    >>> wants_ascii({"LC_ALL": "C", "LANG": "en_GB.UTF-8"}), wants_ascii({"LANG": "C.UTF-8"}), wants_ascii({})
    (True, False, False)
    """
    named = next((environ[name] for name in ("LC_ALL", "LC_CTYPE", "LANG") if environ.get(name)), "")
    return named in ("C", "POSIX")
