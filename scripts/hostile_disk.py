"""A full disk, a folder that may not be written or goes away, two programs on one case, a clock put back, a newer file.

Full and read-only disks are made with `mount`; where that is not allowed (it wants the superuser) they are left out.
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import tempfile
import time
from collections.abc import Callable
from contextlib import contextmanager
from pathlib import Path

from hostile_kills import LONGEST, SESSION, ended, filled, forked
from hostile_texts import SETTINGS, drill, trees

from troubleshoot.case.case import open_case, resume_case
from troubleshoot.case.events import Note
from troubleshoot.case.kept_events import decode_all
from troubleshoot.casebook.backups import faults
from troubleshoot.casebook.refusing import CasebookRefused, CaseMovedOn
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.drill_file import drill_text
from troubleshoot.cli.output import BUG, EXIT_CODES
from troubleshoot.problems import TroubleshootError
from troubleshoot.reports.case_report import report_of
from troubleshoot.reports.case_text import as_text

DISK_KB = 700
DOCUMENTED = {code for code, _ in EXIT_CODES} - {BUG}


@contextmanager
def mounted(folder: Path, *arguments: str):
    """Mount something at a folder and yield whether that was allowed."""
    done = subprocess.run(["mount", *arguments, str(folder)], capture_output=True, check=False).returncode == 0
    try:
        yield done
    finally:
        if done:
            subprocess.run(["umount", str(folder)], check=True)


def commands(case: str) -> list[list[str]]:
    """Return every command that writes, and those that must read all the same."""
    return [
        ["ask", "lean-top", "--car", "tarn-six-160"],
        ["ask", "--case", case],
        ["cases"],
        ["cases", "export", case, "-o", "old.json"],
        ["cases", "backup"],
        ["cases", "import", "in.json"],
        ["cases", "merge", "other.sqlite"],
        ["cases", "rescue", "other.sqlite", "-o", "rescued.sqlite"],
        ["report", case, "--html", "-o", "old.html"],
        ["chart", "lean-top", "--paper", "old.svg"],
        ["calc", "dwell-time", "--dwell-angle", "30", "--engine-speed", "4000", "--svg", "old.svg"],
        ["drill", "rubric", "-o", "new.yaml"],
        ["drill", "sit", "hill.drill.json", "--name", "Kim", "--no-screens"],
        ["tree", "schema", "schema"],
        ["rank", "lean-top", "--car", "tarn-six-160"],
    ]


def prepared(folder: Path) -> str:
    """Fill a folder with a casebook and the files that the commands want; return a case's id."""
    case = filled(folder / "data" / "casebook.sqlite", 3)
    filled(folder / "other.sqlite", 3)
    for name in ("old.json", "old.html", "old.svg"):
        (folder / name).write_text("old", encoding="utf-8")
    (folder / "hill.drill.json").write_text(drill_text(drill().drill), encoding="utf-8")
    return case


def told(arguments: list[str], answers: str, folder: Path) -> str:
    """Run a command and return what is wrong with how it ended; nothing when it is a documented code and words."""
    notes = Path(tempfile.mkdtemp())
    child, out = forked(arguments, answers, folder, notes)
    code = ended(child, 3 * LONGEST)
    said = out.read_text(encoding="utf-8", errors="replace")
    shutil.rmtree(notes)
    words = " ".join(arguments)
    if code is None:
        return f"{words}: hung"
    if code not in DOCUMENTED or "Traceback" in said or "fault in this program" in said or not said.strip():
        return f"{words}: {code}: {said[-300:]}"
    return ""


def full_disk(count: int) -> tuple[int, list[str]]:
    """Run every command with so many different amounts of room left."""
    tried, wrong = 0, list[str]()
    for turn in range(count):
        disk = ("-t", "tmpfs", "-o", f"size={DISK_KB}k", "disk")
        with tempfile.TemporaryDirectory() as place, mounted(Path(place), *disk) as done:
            if not done:
                return 0, []
            folder = Path(place)
            case = prepared(folder)
            for arguments in commands(case):
                room = shutil.disk_usage(folder).free - turn * 4096
                if room > 0:
                    (folder / "filling").write_bytes(b"x" * room)
                tried += 1
                wrong += filter(None, [told(arguments, SESSION, folder)])
                with Casebook(folder / "data" / "casebook.sqlite", writable=False) as book:
                    wrong += [f"{arguments}: the case is gone"] if not book.cases(case_id=case) else []
                for one in folder.glob("old.*"):
                    text = one.read_text(encoding="utf-8")
                    if text != "old" and not text.rstrip().endswith(("}", "</html>", "</svg>")):
                        wrong.append(f"{arguments}: {one.name} was cut")
                left = [one.name for one in folder.rglob("*.unfinished")]
                wrong += [f"{arguments}: left behind: {left}"] if left else []
                (folder / "filling").unlink(missing_ok=True)
            wrong += faults(folder / "data" / "casebook.sqlite")
    return tried, wrong


def read_only(_: int) -> tuple[int, list[str]]:
    """Run every command on a disk that cannot be written; what only reads must work."""
    with tempfile.TemporaryDirectory() as place, tempfile.TemporaryDirectory() as above:
        case = prepared(Path(place))
        with mounted(Path(above), "--bind", place) as done:
            if not done:
                return 0, []
            subprocess.run(["mount", "-o", "remount,ro,bind", above], check=True)
            every = commands(case)
            return len(every), [one for each in every if (one := told(each, SESSION, Path(above)))]


def folder_gone(_: int) -> tuple[int, list[str]]:
    """Take the folder away in the middle of a case: the next answer is refused, never acknowledged and lost."""
    wrong = []
    for away in ("removed", "moved", "replaced"):
        with tempfile.TemporaryDirectory() as place:
            path = Path(place) / "data" / "casebook.sqlite"
            with Casebook(path) as book:
                case = open_case(book, trees(), time.time, SETTINGS)
                case.start_with(trees().cars["tarn-six-160"], ["lean-top"], None)
                if away == "removed":
                    shutil.rmtree(path.parent)
                else:
                    path.parent.rename(Path(place) / "elsewhere")
                if away == "replaced":
                    Casebook(path).close()
                try:
                    case.note("kept nowhere")
                    wrong.append(f"{away}: an answer was acknowledged that is in no file")
                except CasebookRefused:
                    pass
    return 3, wrong


def two_programs(count: int) -> tuple[int, list[str]]:
    """Let two programs write to one case: each answer is kept or refused, and the case stays one."""
    written, wrong = 0, list[str]()
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / "casebook.sqlite"
        with Casebook(path) as book:
            case_id = open_case(book, trees(), time.time, SETTINGS).case_id
        kept = [Path(place) / f"kept{number}" for number in range(2)]
        children = []
        for mine in kept:
            child = os.fork()
            if not child:
                _write_notes(path, case_id, mine, 20 * count)
                os._exit(0)
            children.append(child)
        for child in children:
            wrong += ["a writer failed or hung"] if ended(child, 6 * LONGEST) != 0 else []
        promised = [line for mine in kept for line in mine.read_text(encoding="utf-8").split()]
        with Casebook(path) as book:
            held = [one.text for one in decode_all(book.events(case_id)) if isinstance(one, Note)]
        written = len(promised)
        wrong += [] if sorted(held) == sorted(promised) else [f"{len(promised)} promised, {len(held)} held"]
        wrong += faults(path)
    return written, wrong


def _write_notes(path: Path, case_id: str, told_to: Path, count: int) -> None:
    """Write notes to a case as fast as it goes, opening it again after each refusal; tell which were taken."""
    taken = []
    with Casebook(path) as book:
        case = resume_case(book, trees(), case_id, time.time, SETTINGS)
        for number in range(count):
            try:
                case.note(f"{told_to.name}-{number}")
                taken.append(f"{told_to.name}-{number}")
            except CaseMovedOn:
                case = resume_case(book, trees(), case_id, time.time, SETTINGS)
    told_to.write_text("\n".join(taken), encoding="utf-8")


def clock_back(_: int) -> tuple[int, list[str]]:
    """Put the clock back by a minute, a day and to 1970 in the middle of a case; it reads and reports as before."""
    wrong = []
    for back in (60.0, 86_400.0, 1.7e9):
        with tempfile.TemporaryDirectory() as place, Casebook(Path(place) / "casebook.sqlite") as book:
            now = [1.7e9]
            case = open_case(book, trees(), lambda now=now: now[0], SETTINGS)
            case.start_with(trees().cars["tarn-six-160"], ["lean-top"], None)
            now[0] -= back
            case.note("after the clock was put back")
            try:
                as_text(report_of(resume_case(book, trees(), case.case_id, lambda now=now: now[0], SETTINGS)))
            except (TroubleshootError, ValueError, OverflowError) as problem:
                wrong.append(f"{back}: {type(problem).__name__}: {problem}")
    return 3, wrong


def newer_file(_: int) -> tuple[int, list[str]]:
    """Give every command a casebook of a later release: refused in a sentence, and not a byte of it changed."""
    with tempfile.TemporaryDirectory() as place:
        folder = Path(place)
        case = prepared(folder)
        path = folder / "data" / "casebook.sqlite"
        with sqlite3.connect(path) as raw:
            raw.execute("PRAGMA journal_mode = DELETE")
            raw.execute("PRAGMA user_version = 99")
        raw.close()
        before, wrong = path.read_bytes(), []
        every = commands(case)
        for arguments in every:
            wrong += filter(None, [told(arguments, SESSION, folder)])
            wrong += [f"{arguments}: changed the file"] if path.read_bytes() != before else []
        return len(every), wrong


TRIES: dict[str, Callable[[int], tuple[int, list[str]]]] = {
    "full disk": full_disk,
    "read-only disk": read_only,
    "folder gone": folder_gone,
    "two programs on one case": two_programs,
    "clock put back": clock_back,
    "casebook of a newer release": newer_file,
}


def main(count: int, seed: int = 1) -> int:  # noqa: ARG001 - nothing is drawn here
    """Make all the tries, print what came of them and return how many went wrong."""
    bad = 0
    for name, attempt in TRIES.items():
        tried, wrong = attempt(count)
        bad += len(wrong)
        print(f"{name}: {tried or 'not'} tried, {len(wrong)} wrong", *wrong[:6], sep="\n  ", flush=True)
    return bad
