"""Read one YAML file into plain values, with the line and column of every part.

Trees use the plain core of YAML 1.2: mappings, lists, words, numbers, true and false. Anchors, aliases and tags are
refused, so a file cannot grow when it is read and cannot name anything to run.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
    StreamEndEvent,
)

from troubleshoot.file_reading import TooLong, read_at_most
from troubleshoot.knowledge.findings import Finding

LARGEST_FILE = 1_000_000
"""Bytes; the largest tree anyone wrote by hand is a twentieth of this."""
DEEPEST = 24
"""Levels of nesting; the form itself needs eight."""

_INTEGER = re.compile(r"[-+]?[0-9]{1,15}")
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]{1,2})?")
_WORDS = {"": None, "~": None, "null": None, "true": True, "True": True, "false": False, "False": False}

YamlPath = tuple[str | int, ...]
"""The way down to a part of a file: keys and list positions."""


@dataclass
class Document:
    """One file as read: its plain value, where each part stands, and what was wrong with its YAML."""

    name: str
    value: Any = None
    keys: dict[YamlPath, tuple[int, int]] = field(default_factory=dict)
    values: dict[YamlPath, tuple[int, int]] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)

    def place(self, yaml_path: YamlPath, of_value: bool = False) -> tuple[int, int]:
        """Return line and column (from 1) of a part, or of the nearest part above it that is there."""
        for end in range(len(yaml_path), -1, -1):
            part = yaml_path[:end]
            first, second = (self.values, self.keys) if of_value else (self.keys, self.values)
            found = first.get(part) or second.get(part)
            if found:
                return found
        return (1, 1)

    def blame(self, yaml_path: YamlPath, what: str, advice: str, code: str, of_value: bool = False) -> None:
        """Add a finding at a part of this file."""
        self.findings.append(self.finding(yaml_path, what, advice, code, of_value))

    def finding(self, yaml_path: YamlPath, what: str, advice: str, code: str, of_value: bool = False) -> Finding:
        """Return a finding at a part of this file."""
        line, column = self.place(yaml_path, of_value)
        return Finding(self.name, line, column, what, advice, code)


class _TooDeep(Exception):
    """The file nests deeper than any tree may."""


def read_document(path: Path, name: str | None = None) -> Document:
    """Read a YAML file; whatever is wrong with it becomes a finding, never an exception."""
    document = Document(name or str(path))
    try:
        raw = read_at_most(path, LARGEST_FILE)
    except OSError as problem:
        document.blame(
            (), f"the file cannot be read ({problem.strerror})", "check the name and its rights", "unreadable"
        )
        return document
    except TooLong:
        document.blame(
            (), f"the file is over {LARGEST_FILE / 1e6:.0f} MB long", "split it; no tree file needs that", "too-long"
        )
        return document
    return read_bytes(raw, document.name)


def read_bytes(raw: bytes, name: str) -> Document:
    """Read YAML from bytes; whatever is wrong becomes a finding, never an exception."""
    document = Document(name)
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as problem:
        line = raw[: problem.start].count(b"\n") + 1
        column = problem.start - (raw.rfind(b"\n", 0, problem.start) + 1) + 1
        document.findings.append(
            Finding(name, line, column, "this is not UTF-8 text", "save the file as UTF-8 in your editor", "not-utf-8")
        )
        return document
    return read_text(text, name)


def read_text(text: str, name: str) -> Document:
    """Read YAML from text; whatever is wrong becomes a finding, never an exception."""
    document = Document(name)
    try:
        _Builder(text, document).build()
    except MarkedYAMLError as problem:
        _blame_marked(document, problem, text)
    except _TooDeep:
        document.blame((), f"parts are nested more than {DEEPEST} deep", "flatten it; no tree needs that", "too-deep")
    except (YAMLError, UnicodeError, ValueError, RecursionError) as problem:
        words = str(problem).splitlines()[0] if str(problem) else type(problem).__name__
        document.blame((), f"this is not YAML: {words}", "remove the character the message names", "not-yaml")
    return document


def _blame_marked(document: Document, problem: MarkedYAMLError, text: str) -> None:
    mark = problem.problem_mark or problem.context_mark
    line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
    lines = text.splitlines()
    there = lines[line - 1][column - 1 : column] if line <= len(lines) else ""
    what, advice = str(problem.problem or "cannot be read"), "check indentation, colons, quotes and brackets just above"
    if there == "\t":
        what, advice = "a tab stands where spaces belong", "indent with spaces"
    elif (run_on := _no_space_after_colon(lines, line)) and "could not find expected" in what:
        line, column, name = run_on
        what, advice = f"no space stands after the colon of {name}", f"write {name}: and a space before the value"
    elif "could not find expected" in what:
        what, advice = "this line is no name with a colon, and no line of a list", "add its dash or colon, or indent it"
    elif "mapping values are not allowed" in what and _ONE_NAME.match(lines[line - 1]):
        what, advice = "this line is indented otherwise than the one above", "indent alike what belongs together"
    elif "mapping values are not allowed" in what:
        what, advice = "a second colon in one value", "put the words in quotes, or start them on the next line after >-"
    elif "did not find expected" in what:
        what = "the lines or brackets do not fit together here"
        if margin := _left_of_margin(lines, line):
            what = "this line stands left of the first line of its drawing or text, which sets the margin"
            advice = f"begin the first line as far left as any other, in column {margin}"
    elif "cannot start any token" in what:
        what, advice = f"a value cannot begin with {there!r}", "put it in quotes"
    elif problem.context and "quoted scalar" in problem.context:
        what, advice = "a quotation is opened and not closed", "add the missing quotation mark"
    document.findings.append(Finding(document.name, line, column, f"YAML: {what}", advice, "not-yaml"))


_ONE_NAME = re.compile(r"\s*[\w-]+:(\s+[^:]*)?$")
"""A line that is one name and its value, and holds no other colon."""
_RUN_ON = re.compile(r"\s*(?:- )?([\w-]+):[^\s/]")


def _no_space_after_colon(lines: list[str], line: int) -> tuple[int, int, str] | None:
    """Return line, column and name of a `name:value` just above a place the parser gave up at."""
    for place in range(min(line, len(lines)), max(0, line - 4), -1):
        found = _RUN_ON.match(lines[place - 1])
        if found:
            return place, found.end(1) + 1, found[1]
    return None


_BLOCK = re.compile(r"(\s*)(?:- )?[\w-]+:\s*[|>][-+]?\s*(?:#.*)?$")
"""A line after which text or a drawing begins, whose first line sets how far all of it is indented."""


def _left_of_margin(lines: list[str], line: int) -> int:
    """Return the column that a drawing should begin in, where a line of it stands left of its first; else 0."""
    for place in range(min(line, len(lines)) - 1, -1, -1):
        found = _BLOCK.match(lines[place])
        if found is None:
            continue
        inside = [one for one in lines[place + 1 : line] if one.strip()]
        margins = [len(one) - len(one.lstrip()) for one in inside]
        outside = len(found[1])
        if len(margins) > 1 and outside < margins[-1] < margins[0]:
            return min(one for one in margins if one > outside) + 1
        return 0
    return 0


class _Builder:
    """Turns the parser's events into plain values, noting where each part stands."""

    def __init__(self, text: str, document: Document) -> None:
        self.document = document
        self.parser = YAML(typ="safe").get_constructor_parser(text)[1]

    def next(self) -> Any:
        """Return the parser's next event."""
        return self.parser.get_event()

    def build(self) -> None:
        """Read the only document of the stream into the document record."""
        self.next()
        event = self.next()
        if isinstance(event, StreamEndEvent):
            self.document.blame((), "the file is empty", "write something in it, or remove it", "empty")
            return
        self.document.value = self.value(self.next(), (), 0)
        self.next()
        after = self.next()
        if isinstance(after, DocumentStartEvent):
            line, column = after.start_mark.line + 1, after.start_mark.column + 1
            finding = Finding(
                self.document.name,
                line,
                column,
                "a second document begins here",
                "one document a file",
                "two-documents",
            )
            self.document.findings.append(finding)
        elif self.document.value is None:
            self.document.blame((), "the file is empty", "write something in it, or remove it", "empty")

    def value(self, event: Any, yaml_path: YamlPath, depth: int) -> Any:
        """Return the plain value that begins with an event."""
        if depth > DEEPEST:
            raise _TooDeep
        mark = event.start_mark
        self.document.values[yaml_path] = (mark.line + 1, mark.column + 1)
        self.refuse_extras(event, yaml_path)
        if isinstance(event, ScalarEvent):
            return event.value if not event.implicit[0] else _plain(event.value)
        if isinstance(event, MappingStartEvent):
            return self.mapping(yaml_path, depth)
        if isinstance(event, SequenceStartEvent):
            return self.sequence(yaml_path, depth)
        return None

    def refuse_extras(self, event: Any, yaml_path: YamlPath) -> None:
        """Note anchors, aliases and tags, which trees do not use."""
        if isinstance(event, AliasEvent):
            what, code = f"*{event.anchor} stands for lines written elsewhere", "alias"
        elif event.anchor is not None:
            what, code = f"&{event.anchor} marks lines for use elsewhere", "alias"
        elif getattr(event, "tag", None) is not None:
            what, code = f"a tag ({event.tag}) asks the reader to make something of this value", "tag"
        else:
            return
        self.document.blame(yaml_path, what, "write the plain value itself", code, of_value=True)

    def mapping(self, yaml_path: YamlPath, depth: int) -> dict[str, Any]:
        """Read a mapping to its end; a key that comes twice is a finding."""
        made: dict[str, Any] = {}
        while not isinstance(event := self.next(), MappingEndEvent):
            place = (event.start_mark.line + 1, event.start_mark.column + 1)
            if isinstance(event, ScalarEvent):
                key, part = event.value, (*yaml_path, event.value)
                self.refuse_extras(event, yaml_path)
            else:
                self.value(event, (*yaml_path, "?"), depth + 1)
                key, part = None, (*yaml_path, "?")
                finding = Finding(self.document.name, *place, "a key must be a plain word", "write a word", "bad-key")
                self.document.findings.append(finding)
            if key is not None and key in made:
                earlier = self.document.keys[part][0]
                what, advice = f"{key} stands here a second time (first on line {earlier})", "keep one of the two"
                self.document.findings.append(Finding(self.document.name, *place, what, advice, "duplicate-key"))
                self.value(self.next(), (*yaml_path, "?", key), depth + 1)
                continue
            self.document.keys[part] = place
            value = self.value(self.next(), part, depth + 1)
            if key is not None:
                made[key] = value
        return made

    def sequence(self, yaml_path: YamlPath, depth: int) -> list[Any]:
        """Read a list to its end."""
        made: list[Any] = []
        while not isinstance(event := self.next(), SequenceEndEvent):
            made.append(self.value(event, (*yaml_path, len(made)), depth + 1))
        return made


def _plain(text: str) -> Any:
    """Return the number, truth value, nothing or word that an unquoted text stands for (YAML 1.2 core)."""
    if text in _WORDS:
        return _WORDS[text]
    first = text[0]
    if first.isdigit() or first in "+-.":
        if _INTEGER.fullmatch(text):
            return int(text)
        if _FLOAT.fullmatch(text):
            return float(text)
    return text
