"""A file of readings already taken: check id to `38 psi`, an outcome, or `skipped`; every fault said at once."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from troubleshoot.case.case import Case
from troubleshoot.cli import output
from troubleshoot.file_reading import TooLong
from troubleshoot.knowledge.loading import LARGEST_FILE, Document, read_bytes, read_document
from troubleshoot.problems import TroubleshootError

SKIPPED = "skipped"
MOST_FAULTS = 20
"""So many are named; whoever gave the wrong file need not read more."""


class ReadingsRefused(TroubleshootError):
    """One or more readings cannot be taken; one sentence each."""


def read_readings(path: Path | None) -> dict[str, str]:
    """Return the readings of a YAML file (None: of stdin) as written; ReadingsRefused with the place of every fault."""
    document = read_document(path) if path is not None else _typed()
    faults = [str(finding) for finding in document.findings]
    found: dict[str, str] = {}
    if not faults and not isinstance(document.value, dict):
        faults = [f"{document.name}: readings are check ids with what was read — one to a line, as pressure: 38 psi"]
    for name, value in _items(document.value):
        if isinstance(value, dict | list) or value is None:
            line, column = document.place((name,))
            faults.append(f"{document.name}:{line}:{column}: {name} has no reading — write one, or {SKIPPED}")
        else:
            found[name] = _as_written(value)
    if faults:
        raise ReadingsRefused("\n".join(faults))
    return found


def _typed() -> Document:
    try:
        return read_bytes(output.everything_typed(LARGEST_FILE), "stdin")
    except TooLong:
        raise ReadingsRefused(
            f"What comes on stdin is over {LARGEST_FILE / 1e6:.0f} MB long.", "Give the readings of one case."
        ) from None


def _items(value: Any) -> list[tuple[str, Any]]:
    return [(str(name), one) for name, one in value.items()] if isinstance(value, dict) else []


def _as_written(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return str(value)


def take_readings(case: Case, readings: Mapping[str, str]) -> None:
    """Take all readings into a case, or raise ReadingsRefused with a sentence for each that cannot be taken.

    A bare number is in the unit that the case shows, as everywhere: `checks` names it.
    """
    faults: list[str] = []
    for name, text in readings.items():
        if len(faults) == MOST_FAULTS:
            faults.append("There may be more like these.")
            break
        try:
            if text.strip().casefold() == SKIPPED:
                case.skip(name, "")
            else:
                case.take(name, text)
        except TroubleshootError as problem:
            what = problem.sentence if name in problem.sentence else f"{name}: {problem.sentence}"
            faults.append(f"{what} {problem.advice}".strip())
    if faults:
        raise ReadingsRefused("\n".join(faults))
