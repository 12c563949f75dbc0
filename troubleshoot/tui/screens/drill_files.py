"""Choose a file or a folder of a drill: what lies where one works, or another by its name."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from textual.app import App

from troubleshoot.classroom.handing_in import ENDING
from troubleshoot.classroom.key_file import key_files, key_stem
from troubleshoot.classroom.seats import HAND_INS, SEATS
from troubleshoot.tui.screens.choice_screen import ChooseScreen
from troubleshoot.tui.screens.form_screen import FormScreen, System
from troubleshoot.tui.widgets.form import FormField
from troubleshoot.tui.widgets.numbered import Row

OTHER, NEW = "?", "*"
"""The rows for another file and for a new one; no file of that name is listed."""
DRILL = ".drill.json"


async def choose_file(app: App[Any], title: str, words: str, ending: str, new: str = "") -> Path | None:
    """Return a file of this ending that lies here, or one named; None when left. `new` offers one not there yet."""
    here = sorted(Path.cwd().glob(f"*{ending}"))
    rows = [Row(one.name, one.name.removesuffix(ending)) for one in here]
    rows += [Row(NEW, new)] if new else []
    found = await _choose(app, title, words, rows, "Another file")
    if found is None or found.name != NEW:
        return found
    typed = await app.push_screen_wait(new_file_form(title, ending))
    return Path.cwd() / typed if isinstance(typed, str) else None


def new_file_form(title: str, ending: str) -> FormScreen:
    """Return the form that asks what a new file is to be called."""

    def reads(changed: Mapping[str, str], _: System) -> tuple[object, Mapping[str, str]]:
        name = changed.get("file", "").strip().removesuffix(ending)
        if not re.fullmatch(r"\w[\w.-]*", name):
            return None, {"file": "Use letters, digits and dashes."}
        if (Path.cwd() / f"{name}{ending}").exists():
            return None, {"file": "It is there already."}
        return f"{name}{ending}", {}

    return FormScreen(title, "", lambda _: [FormField("file", "What to call it", "")], reads)


async def choose_key(app: App[Any], title: str, words: str) -> Path | None:
    """Return a key that lies here, a folder of variants with their keys, or one named; None when left."""
    here = Path.cwd()
    rows = [Row(one.name, key_stem(one)) for one in key_files(here)]
    folders = [one for one in sorted(here.iterdir()) if one.is_dir() and key_files(one)]
    rows += [Row(one.name, one.name, f"{len(key_files(one))} variants") for one in folders]
    return await _choose(app, title, words, rows, "Another file")


async def choose_hand_ins(app: App[Any]) -> Path | None:
    """Return a folder with hand-ins in it, or one named; None when left."""
    here = Path.cwd()
    found = {one: len(list((here / one).glob(f"*{ENDING}"))) for one in [".", *_classes(HAND_INS)]}
    rows = [Row(one, "Where I work" if one == "." else one, _many(count)) for one, count in found.items() if count]
    return await _choose(app, "Where are the hand-ins?", "", rows, "Another folder")


async def choose_class(app: App[Any]) -> Path | None:
    """Return the folder of a class, or one named; None when left."""
    rows = [Row(str(Path(one).parent), str(Path(one).parent)) for one in _classes(SEATS)]
    return await _choose(app, "Which class?", "The folder that `drill serve --into` names.", rows, "Another folder")


def _classes(inside: str) -> list[str]:
    here = Path.cwd()
    return [one.relative_to(here).as_posix() for one in sorted(here.glob(f"*/{inside}")) if one.is_dir()]


def _many(count: int) -> str:
    return "1 hand-in" if count == 1 else f"{count} hand-ins"


async def _choose(app: App[Any], title: str, words: str, rows: Sequence[Row], other: str) -> Path | None:
    """Let one of the rows be chosen, or another be typed."""
    chosen: str | None = OTHER
    if rows:
        chosen = await app.push_screen_wait(ChooseScreen(title, [*rows, Row(OTHER, other)], words))
    if chosen == OTHER:
        typed = await app.push_screen_wait(path_form(title, words))
        chosen = typed if isinstance(typed, str) else None
    return None if chosen is None else Path.cwd() / chosen


def path_form(title: str, words: str) -> FormScreen:
    """Return the form for a file or folder that is not listed."""

    def reads(changed: Mapping[str, str], _: System) -> tuple[object, Mapping[str, str]]:
        text = changed.get("file", "").strip()
        if not text:
            return None, {"file": "Type its name."}
        try:
            there = (Path.cwd() / text).exists()
        except OSError as refused:
            return None, {"file": f"It cannot be looked at: {refused.strerror}."}
        return text, {} if there else {"file": f"There is nothing of that name in {Path.cwd()}."}

    return FormScreen(title, words, lambda _: [FormField("file", "Its name", "")], reads)
