"""The only place that prints: data on stdout, words on stderr; survives narrow encodings and closed pipes."""

from __future__ import annotations

import errno
import io
import json
import os
import sys
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import NoReturn, TextIO

from troubleshoot.file_reading import held_at_most
from troubleshoot.file_writing import write_whole
from troubleshoot.problems import TroubleshootError
from troubleshoot.visible import visible, wants_ascii

DONE = 0
FOUND_WRONG = 1
REFUSED = 2
NO_FILE = 4
BUG = 70
INTERRUPTED = 130
PIPE_CLOSED = 141

EXIT_CODES: tuple[tuple[int, str], ...] = (
    (DONE, "done"),
    (FOUND_WRONG, "done, and what was looked at is not right"),
    (REFUSED, "the command, a name or a value was refused"),
    (NO_FILE, "a file or the casebook could not be read or written"),
    (BUG, "a fault in this program"),
    (INTERRUPTED, "interrupted from the keyboard"),
    (PIPE_CLOSED, "the reader of the output went away"),
)
"""The exit codes of every command; `--help` shows them."""


USUAL_ADVICE = "Look at the name and the rights of the file."
_ADVICE = {
    errno.ENOSPC: "Make room on that disk, then do it again.",
    errno.EROFS: "Name a place that can be written.",
    errno.EEXIST: "Name another, or move that one away.",
    errno.EISDIR: "Name a file in it.",
}
"""What to do about what the system refused."""


class ReaderGone(Exception):
    """Whoever read the output went away; not an OSError, so that it reaches `protected` unchanged."""


_PLAIN = str.maketrans({
    "“": '"', "”": '"', "‘": "'", "’": "'", "…": "...", "—": "-", "–": "-", "−": "-", "·": "-", "±": "+/-",
    "≤": "<=", "≥": ">=", "×": "x", "→": "->", "█": "#", "▌": "#", "░": ".", "─": "-", "│": "|", "▣": "#",
    "┬": "+", "├": "+", "┤": "+", "└": "+", "┘": "+", "┌": "+", "┐": "+", "┼": "+", "▸": ">", "✓": "ok",
    "°": " deg ", "Ω": "ohm", "µ": "u", "μ": "u", "²": "^2", "³": "^3",
})  # fmt: skip


def fit(text: str, encoding: str | None) -> str:
    """Return text as it can be written: control characters made visible, the rest in the nearest plain characters.

    >>> fit("3 ± 1\\x1b[2J", "ascii")
    '3 +/- 1\\\\x1b[2J'
    """
    seen = visible(text)
    encoding = encoding or "utf-8"
    try:
        seen.encode(encoding)
    except UnicodeEncodeError:
        seen = "".join(one if _writable(one, encoding) else one.translate(_PLAIN) for one in seen)
        seen = seen.encode(encoding, "replace").decode(encoding)
    except LookupError:
        seen = seen.encode("ascii", "replace").decode("ascii")
    return seen


def ready_streams() -> None:
    """Let a standard stream that was closed before the start read as empty and write to nowhere.

    It also takes the stream's number, so that no file opened later is written to by mistake. Bytes typed that are no
    text in the terminal's encoding are read as \\x.., so that they are refused like any other answer.
    """
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:
            setattr(sys, name, Path(os.devnull).open(mode, encoding="utf-8"))  # noqa: SIM115 - it stays open
    if isinstance(sys.stdin, io.TextIOWrapper):
        sys.stdin.reconfigure(errors="backslashreplace")


def _writable(character: str, encoding: str) -> bool:
    try:
        character.encode(encoding)
    except UnicodeEncodeError:
        return False
    return True


def _encoding(stream: TextIO) -> str:
    """Return what words are written in: ASCII where the locale asks for it, whatever the stream could take."""
    return "ascii" if wants_ascii(os.environ) else stream.encoding or "utf-8"


def _write(stream: TextIO, text: str, encoding: str, end: str = "\n") -> None:
    try:
        stream.write(fit(text, encoding) + end)
    except BrokenPipeError as error:
        raise ReaderGone from error


def data(text: str = "", end: str = "\n") -> None:
    """Write data to stdout."""
    _write(sys.stdout, text, _encoding(sys.stdout), end)


def as_json(value: object) -> None:
    """Write JSON to stdout; where the locale has only ASCII, other characters stand as \\u.., so that none is lost."""
    data(json.dumps(value, indent=1, ensure_ascii=_encoding(sys.stdout).lower() not in ("utf-8", "utf8")))


def say(text: str) -> None:
    """Write words for the person to stderr."""
    try:
        sys.stdout.flush()
    except BrokenPipeError as error:
        raise ReaderGone from error
    _write(sys.stderr, text, _encoding(sys.stderr))
    sys.stderr.flush()


def question(text: str) -> str | None:
    """Write a question without a new line and return the line typed; None at the end of input.

    Answers that come from a file are written too, so that the record reads as the conversation went.
    """
    _write(sys.stdout, text, _encoding(sys.stdout), end=" ")
    sys.stdout.flush()
    line = sys.stdin.readline()
    if not sys.stdin.isatty():
        data(line.rstrip("\r\n"))
    elif not line:
        data()
    return line.rstrip("\r\n") if line else None


def everything_typed(most: int) -> bytes:
    """Return all that comes on stdin; TooLong past `most` bytes."""
    return held_at_most(sys.stdin.buffer, most)


def write_out(text: str, path: Path | None, private: bool = False) -> None:
    """Write a whole document to a file, or to stdout when no file is named: in all its characters, if stdout can."""
    if path is None:
        _write(sys.stdout, text, sys.stdout.encoding, end="")
        return
    write_whole(path, text, private)
    say(f"Written to {path}.")


def fail(sentence: str, advice: str = "") -> NoReturn:
    """Refuse what was asked for, with exit code 2."""
    raise TroubleshootError(sentence, advice)


def protected(command: Callable[[], int | None], debug: Callable[[], bool]) -> int:
    """Run a command and return its exit code; whatever goes wrong becomes one sentence unless `debug` says so."""
    try:
        code = command()
        sys.stdout.flush()
        return DONE if code is None else code
    except (BrokenPipeError, ReaderGone):
        _forget_stdout()
        return PIPE_CLOSED
    except KeyboardInterrupt:
        return _said("Interrupted; what was answered is saved.", INTERRUPTED)
    except TroubleshootError as error:
        if debug():
            traceback.print_exc()
        return _said(str(error), error.exit_code)
    except OSError as error:
        if debug():
            traceback.print_exc()
        what = f"{error.filename}: " if error.filename else ""
        return _said(f"{what}{error.strerror or error}. {_ADVICE.get(error.errno or 0, USUAL_ADVICE)}", NO_FILE)
    except Exception as error:
        if debug():
            traceback.print_exc()
        kind = type(error).__name__
        return _said(f"A fault in this program ({kind}: {error}). Run it again with --debug and report that.", BUG)


def _said(sentence: str, code: int) -> int:
    try:
        say(sentence)
    except (BrokenPipeError, ReaderGone):
        _forget_stdout()
        return PIPE_CLOSED
    return code


def _forget_stdout() -> None:
    """Let the interpreter's own last flush go nowhere, so that it does not complain."""
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
    except (OSError, ValueError):
        pass
