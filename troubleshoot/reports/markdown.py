"""Words in Markdown: whatever was typed or read from a file shows as it stands and is never markup."""

from __future__ import annotations

_MARKS = "\\`*_{}[]<>#|~&!$^=@"
"""What can begin markup anywhere in a line."""


def escaped(text: str) -> str:
    """Return text that Markdown (CommonMark) shows literally, on one line.

    A backslash before ASCII punctuation makes it literal (CommonMark 0.31, section 2.4).

    >>> escaped("*bold* <b>")
    '\\\\*bold\\\\* \\\\<b\\\\>'
    """
    flat = " ".join(text.split())
    return "".join(f"\\{one}" if one in _MARKS else one for one in flat)


def start_safe(text: str) -> str:
    """Return escaped text that is also safe at the start of a block: no list, heading, rule or number."""
    made = escaped(text)
    if made[:1] in ("-", "+"):
        return "\\" + made
    number = len(made) - len(made.lstrip("0123456789"))
    if number and made[number : number + 1] in (".", ")"):
        return f"{made[:number]}\\{made[number:]}"
    return made
