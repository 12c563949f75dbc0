"""Handing in: the file is written whole before the sitting is closed, and can be written again afterwards."""

from __future__ import annotations

import json
import os
import re
from dataclasses import replace
from pathlib import Path

from troubleshoot.casebook.exchange import LARGEST, export_case
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.sitting import LONGEST_NAME, Sitting
from troubleshoot.file_reading import TooLong, read_at_most
from troubleshoot.file_writing import write_whole
from troubleshoot.problems import TroubleshootError

ENDING = ".handin.json"
"""How the name of a hand-in file ends."""
SAME = 5
"""Events by which a hand-in is known to be of one sitting: how it began, and when."""


class FileThere(TroubleshootError):
    """A file would be written over."""


class HandInUnwritten(TroubleshootError):
    """The hand-in could not be written; the sitting is open still, and nothing of it is lost."""


def to_hand_in_at(sitting: Sitting, path: Path) -> Sitting:
    """Return the sitting with the file it is handed in as; refuses one that holds something else."""
    if path.exists() and not _is_of(sitting, path):
        raise FileThere(f"{path} is there already.", "Name another with -o, or move that one away.")
    return replace(sitting, hand_in_at=path)


def refuse_unwritable(folder: Path) -> None:
    """Refuse a folder that no hand-in can be written to, before anything is begun."""
    if not folder.is_dir():
        raise TroubleshootError(f"There is no folder {folder}.", "Name a folder that is there with -o.")
    if not os.access(folder, os.W_OK):
        raise TroubleshootError(f"{folder} may not be written to.", "Name a file in another folder with -o.")


def finish(sitting: Sitting) -> None:
    """Write the hand-in, where there is one, and close; HandInUnwritten leaves the sitting open.

    Where the power goes between the two, the sitting is open still and can be handed in again.
    """
    result = "left" if sitting.named else "referred"
    if sitting.hand_in_at is None:
        sitting.case.close(result)
        return
    with sitting.case.all_or_nothing():
        sitting.case.close(result)
        write_hand_in(sitting)


def write_hand_in(sitting: Sitting) -> None:
    """Write the hand-in of a sitting, or write it again."""
    path = sitting.hand_in_at
    if path is None:
        return
    text = hand_in(sitting)
    try:
        write_whole(path, text if sitting.stamp is None else sitting.stamp(text))
    except OSError as refused:
        raise HandInUnwritten(
            f"The hand-in {path} cannot be written: {refused.strerror or refused}. It is not handed in yet.",
            "Make room or ask the trainer, then hand in again; nothing is lost.",
        ) from refused


def hand_in(sitting: Sitting) -> str:
    """Return the trail as the text of a hand-in file: the export of the case."""
    book = sitting.case.store
    assert isinstance(book, Casebook), "a sitting is kept in a casebook"
    return export_case(book, sitting.case.case_id)


def file_name(drill_name: str, trainee: str, attempt: int = 1) -> str:
    """Return a file name for a hand-in that any system takes.

    >>> file_name("lean-top", "Änne  O'Hara")
    'lean-top-Änne-O-Hara.handin.json'
    >>> file_name("lean-top", "Bo", 2)
    'lean-top-Bo-2.handin.json'
    """
    words = "-".join(re.findall(r"\w+", trainee))[:LONGEST_NAME] or "trainee"
    return f"{drill_name}-{words}{f'-{attempt}' if attempt > 1 else ''}{ENDING}"


def drill_name(drill: Path) -> str:
    """Return what a drill file is called, without the endings.

    >>> drill_name(Path("school/hill.drill.json"))
    'hill'
    """
    return drill.name.removesuffix(".json").removesuffix(".drill")


def _is_of(sitting: Sitting, path: Path) -> bool:
    """Return whether a file is the hand-in of this sitting, or an empty one that a full disk left."""
    try:
        kept = read_at_most(path, LARGEST)
        if not kept.strip():
            return True
        return bool(json.loads(kept)["events"][:SAME] == json.loads(hand_in(sitting))["events"][:SAME])
    except (OSError, TooLong, ValueError, KeyError, TypeError, RecursionError):
        return False
