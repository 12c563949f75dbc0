"""The one gate for words that people type or files hold: shown literally, never as markup or control codes."""

from __future__ import annotations

import re
import unicodedata

from textual.content import Content

from troubleshoot.case.shares import asked as asked
from troubleshoot.case.shares import percent as percent

UNSHOWABLE = {"Cc", "Cf", "Cs", "Co"}
"""Unicode categories that move the cursor, turn the direction of writing, or cannot be written out."""

ENDLESS = re.compile(r"\S{301,}")
"""A word no screen can wrap in reasonable time."""


def _cut(found: re.Match[str]) -> str:
    return f"{found[0][:300]}…"


def literal(value: object) -> str:
    """Return the words with every control, direction and surrogate character made visible or dropped.

    Line breaks stay, tabs become blanks, the rest becomes the replacement sign;
    a run of more than 300 characters without a blank is cut there.
    """
    text = ENDLESS.sub(_cut, str(value).replace("\t", "  ").replace("\r\n", "\n"))
    if text.isprintable():
        return text
    return "".join(
        letter if letter == "\n" or unicodedata.category(letter) not in UNSHOWABLE else "�" for letter in text
    )


def plain(value: object, style: str = "") -> Content:
    """Return words as content in which no character is markup, in one style (theme tokens such as `$text-muted`)."""
    content = Content(literal(value))
    return content.stylize(style) if style else content


def lines(*parts: Content | str) -> Content:
    """Stack parts, one under another; strings go through `literal`."""
    return Content("\n").join(part if isinstance(part, Content) else plain(part) for part in parts)


def beside(*parts: Content | str) -> Content:
    """Put parts in one line, one after another; strings go through `literal`."""
    return Content("").join(part if isinstance(part, Content) else plain(part) for part in parts)


def bar(share: float, width: int) -> str:
    """Return a bar of eighth blocks as wide as the share (0 to 1) of the width in columns."""
    eighths = round(max(0.0, min(1.0, share)) * width * 8)
    whole, rest = divmod(eighths, 8)
    return "█" * whole + ("" if rest == 0 else " ▏▎▍▌▋▊▉"[rest])


def counted(number: float, one: str, many: str = "") -> str:
    """Return a count with its noun: `1 reading`, `3 readings`."""
    return f"{number:.0f} {one if round(number) == 1 else many or one + 's'}"
