"""Kill the program (-9) at a random moment of a session, a sitting, an export, a backup and a merge, and count losses.

The program is started by forking a process in which everything is imported, so that a kill falls into the work and
not into the start. What was acknowledged on the output (`Noted.`, `Read:`) must be in the casebook afterwards.
"""

from __future__ import annotations

import os
import random
import signal
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from hostile_texts import SETTINGS, drill, trees, walked

from troubleshoot.case.case import open_case, resume_case
from troubleshoot.case.events import Note, ReadingTaken
from troubleshoot.case.kept_events import decode, decode_all
from troubleshoot.casebook.backups import faults
from troubleshoot.casebook.exchange import import_case
from troubleshoot.casebook.store import IN_MEMORY, Casebook
from troubleshoot.classroom.drill_file import drill_text
from troubleshoot.cli.app import run
from troubleshoot.problems import TroubleshootError

LONGEST = 120.0
"""Seconds after which a run that should have ended counts as hanging; other work on the machine counts too."""


def forked(arguments: list[str], answers: str, folder: Path, notes: Path | None = None) -> tuple[int, Path]:
    """Start the program in a process of its own and return its number and where its output goes.

    Answers and output lie in `notes`, or in the folder itself.
    """
    notes = notes or folder
    (notes / "answers").write_text(answers, encoding="utf-8")
    out = notes / "output"
    out.write_bytes(b"")
    child = os.fork()
    if child:
        return child, out
    code = 70
    try:
        os.chdir(folder)
        os.environ["TROUBLESHOOT_DATA"] = str(folder / "data")
        sys.stdin = (notes / "answers").open(encoding="utf-8")
        sys.stdout = sys.stderr = out.open("w", encoding="utf-8")
        code = run(arguments)
        sys.stdout.flush()
    finally:
        os._exit(code)


def ended(child: int, seconds: float) -> int | None:
    """Wait so long for a process, then kill it; return its exit code, None when it was killed."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.001)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return None


SESSION = (
    "y\nnote first\ny\n1\n1\ny\nnote second\n1\nback\ny\n1\nskip no time\nnote third\ny\n1\n1\nskip x\nnote last\n" * 4
)
SITTING = (
    "list pressure\npressure-when-lean\ny\ny\ny\n1\nnote first\npump-volts-under-load\ny\n1\nnote second\nclose\ny\n"
)


def lost_in(folder: Path, out: Path) -> str:
    """Return what the program acknowledged and the casebook does not hold; nothing when all is there."""
    told = out.read_text(encoding="utf-8", errors="replace").splitlines()
    path = folder / "data" / "casebook.sqlite"
    if not path.exists() or not path.stat().st_size:  # killed before the file had its tables
        return "no casebook" if any(line.startswith(("Noted.", "Read: ")) for line in told) else ""
    with Casebook(path) as book:  # as the next start opens it, which makes tables where the kill left none
        rows = book.cases()
        events = [one for row in rows for one in decode_all(book.events(row.id))]
        for row in rows:
            resume_case(book, trees(), row.id, time.time, SETTINGS)
    notes, readings = told.count("Noted."), sum(line.startswith("Read: ") for line in told)
    held = sum(isinstance(one, Note) for one in events), sum(isinstance(one, ReadingTaken) for one in events)
    said = "".join(faults(path))
    return (
        said if said else "" if held[0] >= notes and held[1] >= readings else f"{notes}, {readings} told, {held} held"
    )


def of_a_session(folder: Path) -> tuple[list[str], str, Callable[[Path], str]]:
    """A case by plain questions."""
    return ["ask", "lean-top", "--car", "tarn-six-160"], SESSION, lambda out: lost_in(folder, out)


def of_a_sitting(folder: Path) -> tuple[list[str], str, Callable[[Path], str]]:
    """A drill that is sat and handed in; given again, it must end in a whole hand-in."""
    (folder / "hill.drill.json").write_text(drill_text(drill().drill), encoding="utf-8")
    words = ["drill", "sit", "hill.drill.json", "--name", "Kim", "--no-screens"]

    def look(out: Path) -> str:
        missing = lost_in(folder, out)
        if missing:
            return missing
        path = folder / "hill-Kim.handin.json"
        if not path.exists():
            child, again = forked(words, SITTING + "close\ny\n", folder)
            if ended(child, LONGEST) != 0 or not path.exists():
                return f"no hand-in on going on: {again.read_text(encoding='utf-8')[-300:]}"
        with Casebook(IN_MEMORY) as book:
            import_case(book, path.read_text(encoding="utf-8"), decode)
        return ""

    return words, SITTING, look


def filled(path: Path, cases: int) -> str:
    """Make a casebook of so many cases and return the id of one."""
    with Casebook(path) as book:
        first = walked(open_case(book, trees(), time.time, SETTINGS), 0)
        first.start_with(trees().cars["tarn-six-160"], ["lean-top"], None)
        held = book.kept(walked(first, 6).case_id)
        with book.all_or_nothing():
            for _ in range(cases - 1):
                book.restore(held)
    return first.case_id


def of_an_export(folder: Path) -> tuple[list[str], str, Callable[[Path], str]]:
    """A case written over an older copy of itself: the old or the new is there, never half."""
    case = filled(folder / "data" / "casebook.sqlite", 2)
    path = folder / "case.json"
    path.write_text("old", encoding="utf-8")

    def look(_: Path) -> str:
        text = path.read_text(encoding="utf-8")
        if text != "old":
            with Casebook(IN_MEMORY) as book:
                import_case(book, text, decode)
        return ""

    return ["cases", "export", case, "-o", "case.json"], "", look


def of_a_backup(folder: Path) -> tuple[list[str], str, Callable[[Path], str]]:
    """A copy of the casebook: whole or not there."""
    filled(folder / "data" / "casebook.sqlite", 400)

    def look(_: Path) -> str:
        path = folder / "copy.sqlite"
        return "".join((*(faults(path) if path.exists() else ()), *faults(folder / "data" / "casebook.sqlite")))

    return ["cases", "backup", "-o", "copy.sqlite"], "", look


def of_a_merge(folder: Path) -> tuple[list[str], str, Callable[[Path], str]]:
    """Another casebook taken in: every case whole, none twice, and the rest comes when it is done again."""
    filled(folder / "other.sqlite", 30)

    def look(_: Path) -> str:
        child, out = forked(["cases", "merge", "other.sqlite"], "", folder)
        if ended(child, LONGEST) != 0:
            return out.read_text(encoding="utf-8")
        return "".join(faults(folder / "data" / "casebook.sqlite"))

    return ["cases", "merge", "other.sqlite"], "", look


KINDS = {
    "session": of_a_session,
    "sitting": of_a_sitting,
    "export": of_an_export,
    "backup": of_a_backup,
    "merge": of_a_merge,
}


def main(count: int, seed: int = 1) -> int:
    """Kill so often, each kind in its turn; print what came of it and return how often something was lost."""
    draw, bad = random.Random(seed), 0
    trees(), drill()
    for number, (name, make) in enumerate(KINDS.items()):
        share = count // len(KINDS) + (number < count % len(KINDS))
        killed, turn, wrong, usual = 0, 0, list[str](), 0.0
        while killed < share and turn < 3 * share + 1:
            turn += 1
            with tempfile.TemporaryDirectory() as place:
                folder = Path(place)
                (folder / "data").mkdir()
                arguments, answers, look = make(folder)
                child, out = forked(arguments, answers, folder)
                began = time.monotonic()
                code = ended(child, draw.uniform(0, 0.9 * usual) if usual else LONGEST)
                whole, usual = not usual, usual or time.monotonic() - began
                killed += code is None and not whole
                told = out.read_text(encoding="utf-8", errors="replace")
                if "fault in this program" in told or "Traceback" in told or (whole and code is None):
                    wrong.append(f"{turn}: {told[-300:]}")
                    continue
                try:
                    lost = look(out)
                except (TroubleshootError, ValueError, OSError) as problem:
                    lost = f"{type(problem).__name__}: {problem}"
                wrong += [f"{turn}: {lost}"] if lost else []
        bad += len(wrong)
        print(
            f"{name}: {killed} killed of {turn}, each {usual:.2f} s long, {len(wrong)} wrong",
            *wrong[:5],
            sep="\n  ",
            flush=True,
        )
    return bad
