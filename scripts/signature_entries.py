"""Change entries of `moved-by` in the lines of a checks file: order, comments and every `why` stay as they are.

The lines are edited rather than loaded and written, since a person's layout would not come through that.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

WIDTH = 72
Changes = dict[str, dict[str, str]]
"""By check and cause, the outcomes with how often, as they stand between the braces."""

_CHECK = re.compile(r"([a-z0-9-]+):\s*$")
_ENTRY = re.compile(r"    ([a-z0-9-]+):(?:\s|$)")


def rewritten(lines: list[str], changes: Changes) -> list[str]:
    """Return the lines of a checks file with the changed entries in place and the new ones after the last."""
    out: list[str] = []
    left: dict[str, str] = {}
    check, inside = "", False
    for block in blocks(lines):
        first = block[0]
        if inside and first.strip() and not first.startswith("    "):
            add_new(out, left)
            inside = False
        if named := _CHECK.match(first):
            check = named[1]
        if first.rstrip() == "  moved-by:":
            inside, left = True, dict(changes.get(check, {}))
        entry = _ENTRY.match(first)
        if inside and entry and entry[1] in left:
            block = changed(entry[1], block, left.pop(entry[1]))
        out += block
    if inside:
        add_new(out, left)
    return out


def blocks(lines: list[str]) -> Iterator[list[str]]:
    """Yield a line with the lines below it that stand further in than an entry's name."""
    block: list[str] = []
    for line in lines:
        if block and block[0].startswith("    ") and line.startswith("     ") and line.strip():
            block.append(line)
            continue
        if block:
            yield block
        block = [line]
    if block:
        yield block


def changed(cause: str, block: list[str], outcomes: str) -> list[str]:
    """Return an entry with other outcomes; its `why` keeps its words, quotes and lines."""
    text = "\n".join(block)
    name = f"    {cause}:"
    within = text.removeprefix(name).strip()
    why = re.search(r"(?:^|[\s{,])(why:\s.*)", within, re.DOTALL)
    if not within.startswith("{"):
        each = [f"      {one}" for one in outcomes.split(", ")]
        return [name, *each, *(f"      {why[1]}".split("\n") if why else [])]
    if why is None:
        return [f"{name} {{{outcomes}}}"]
    one_line = f"{name} {{{outcomes}, {why[1]}"
    if len(block) == 1 and len(one_line) <= WIDTH:
        return [one_line]
    return [f"{name} {{{outcomes},", *f"        {why[1]}".split("\n")]


def add_new(out: list[str], entries: dict[str, str]) -> None:
    """Put entries after the last line of the section, ahead of the empty lines and comments of what follows."""
    end = len(out)
    while end and (not out[end - 1].strip() or out[end - 1].startswith("#")):
        end -= 1
    out[end:end] = [f"    {cause}: {{{outcomes}}}" for cause, outcomes in entries.items()]
