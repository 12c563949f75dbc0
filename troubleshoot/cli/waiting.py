"""A bar on stderr while something takes seconds; where nobody watches, one line that says what it is."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager

from troubleshoot.cli import output


@contextmanager
def waiting(words: str) -> Iterator[None]:
    """Show a moving bar and the seconds so far until the block is left; it leaves nothing behind."""
    if not sys.stderr.isatty():
        output.say(f"{words} …")
        yield
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as shown:
        shown.add_task(words, total=None)
        yield
