"""What stands on the screen as plain lines: for tests, for the README, and for telling somebody else what one sees."""

from __future__ import annotations

import html
import re
from typing import Any

from textual.app import App

CELL = 12.2
"""Width of one column in the exported picture."""

PIECE = re.compile(r'<text[^>]*? x="([\d.]+)"[^>]*?-line-(\d+)\)[^>]*>(.*?)</text>', re.DOTALL)


def screen_text(app: App[Any]) -> str:
    """Return what stands on the screen, line by line, from the public picture of it."""
    width, height = app.size
    rows = [[" "] * (width + 200) for _ in range(height)]
    for x, line, text in PIECE.findall(app.export_screenshot()):
        words = html.unescape(text).replace("\xa0", " ")
        start = round(float(x) / CELL)
        rows[int(line)][start : start + len(words)] = words
    return "\n".join("".join(row).rstrip() for row in rows)
