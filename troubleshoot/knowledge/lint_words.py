"""Words and drawings: no emoji, lines that fit the screen, a drawing wherever something is connected."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator

import msgspec

from troubleshoot.knowledge.findings import Finding
from troubleshoot.knowledge.load_trees import SourcedTrees
from troubleshoot.knowledge.loading import YamlPath
from troubleshoot.knowledge.model import Check

TITLE_WIDTH = 60
"""Columns a title, a question or the words of an outcome may take; they stand on one line."""
DRAWING_WIDTH = 56
"""Columns a drawing may take, so that it stands beside the ranking at 80."""
DRAWING_LINES = 12

_CONNECTED = (
    "voltmeter", "ohmmeter", "ammeter", "gauge", "dwell-meter", "test-lamp", "noid-lamp", "timing-light",
    "leak-down-tester", "smoke-machine", "hose-clamp-pliers", "measuring-can", "capacitance-meter", "spark-tester",
)  # fmt: skip
_NOT_CONNECTED = ("feeler-gauge",)
_CONNECTS = re.compile(
    r"\b(?:unplug(?! coil plus)|back-prob|teed?\b|clip (?:it|the)\b|bridge\b|red on|black on)", re.IGNORECASE
)
"""Words of what is done by which something is connected or taken apart."""
_METER = re.compile(r"\[ *(?:m?V~?|A|ohm|uF|DWELL) *\]")
_LEADS = (re.compile(r"(?<![A-Za-z])R(?![A-Za-z])"), re.compile(r"(?<![A-Za-z])B(?![A-Za-z])"))


def words(trees: SourcedTrees) -> Iterator[Finding]:
    """Find emoji, lines that are too wide, and checks that connect something and draw nothing."""
    catalogue = trees.catalogue
    for kind in ("concerns", "causes", "checks", "cautions", "setups", "tools"):
        for identifier, record in getattr(catalogue, kind).items():
            yield from _emoji(trees, (kind, identifier), record)
    for identifier, concern in catalogue.concerns.items():
        for name in ("title", "says"):
            yield from _width(trees, ("concerns", identifier), (name,), getattr(concern, name), TITLE_WIDTH)
    for identifier, cause in catalogue.causes.items():
        yield from _width(trees, ("causes", identifier), ("title",), cause.title, TITLE_WIDTH)
    for identifier, check in catalogue.checks.items():
        yield from _check(trees, ("checks", identifier), check)


def _check(trees: SourcedTrees, record: tuple[str, str], check: Check) -> Iterator[Finding]:
    yield from _width(trees, record, ("ask",), check.ask, TITLE_WIDTH + 12)
    part = check.kind.written
    for position, (_, told) in enumerate(check.named_outcomes):
        yield from _width(trees, record, (part, position, "words"), told, TITLE_WIDTH)
    lines = check.drawing.splitlines()
    for line in lines:
        yield from _width(trees, record, ("drawing",), line, DRAWING_WIDTH)
    if len(lines) > DRAWING_LINES:
        what, advice = f"the drawing has {len(lines)} lines", f"keep it to {DRAWING_LINES}"
        yield trees.at(record, ("drawing",), what, advice, "drawing-tall")
    connected = [one for one in check.tools if one.endswith(_CONNECTED) and one not in _NOT_CONNECTED]
    said = _CONNECTS.search(" ".join(check.do))
    if (connected or said) and not check.drawing.strip():
        which = connected[0] if connected else said[0] if said else ""
        what = f"“{which}”: something is connected and no drawing shows where"
        yield trees.at(record, ("tools",) if connected else ("do",), what, "add drawing: as others have", "no-drawing")
    if _METER.search(check.drawing) and not all(one.search(check.drawing) for one in _LEADS):
        what = "a meter is drawn and its leads are not marked"
        yield trees.at(record, ("drawing",), what, "mark the red lead R and the black lead B", "leads-unmarked")


def _width(
    trees: SourcedTrees, record: tuple[str, str], yaml_path: YamlPath, text: str, most: int
) -> Iterator[Finding]:
    if len(text) > most:
        what = f"{len(text)} columns do not fit where {most} do"
        yield trees.at(record, yaml_path, what, "say it shorter", "too-wide")


def _emoji(trees: SourcedTrees, record: tuple[str, str], value: object) -> Iterator[Finding]:
    for yaml_path, text in _texts(msgspec.to_builtins(value), ()):
        if not text.isascii():
            for letter in text:
                if ord(letter) >= 0x1F000 or letter in "\ufe0f\u200d" or (0x2600 <= ord(letter) <= 0x27BF):
                    name = unicodedata.name(letter, "a pictogram").lower()
                    yield trees.at(record, yaml_path, f"{name} is a pictogram", "use a word", "emoji")
                    break


def _texts(value: object, yaml_path: YamlPath) -> Iterator[tuple[YamlPath, str]]:
    if isinstance(value, str):
        yield yaml_path, value
    elif isinstance(value, dict):
        for name, part in value.items():
            yield from _texts(part, (*yaml_path, name))
    elif isinstance(value, list):
        for position, part in enumerate(value):
            yield from _texts(part, (*yaml_path, position))
