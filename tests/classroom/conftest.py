"""Drills for the tests: the starters computed once, and a sitting played from a short list of steps."""

from __future__ import annotations

import io
import sys
from pathlib import Path

import msgspec
import pytest

from troubleshoot.bench.answer_table import NUMBERS
from troubleshoot.case.settings import CaseSettings
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.drill_file import drill_text, sealed
from troubleshoot.classroom.drill_maker import make_drills
from troubleshoot.classroom.grading import mark
from troubleshoot.classroom.handing_in import hand_in
from troubleshoot.classroom.key_file import write_key
from troubleshoot.classroom.marks_pages import Marked
from troubleshoot.classroom.replaying import replay
from troubleshoot.classroom.rubric import read_rubric
from troubleshoot.classroom.sitting import sit
from troubleshoot.classroom.solvability import solve, with_best
from troubleshoot.classroom.story import read_plan, starters
from troubleshoot.cli.app import run
from troubleshoot.knowledge.catalogue import load_catalogue
from troubleshoot.tui.app import TroubleshootApp
from troubleshoot.tui.workspace import Workspace

sys.path.insert(0, str(Path(__file__).parent))


@pytest.fixture(scope="session")
def trees():
    return load_catalogue()


@pytest.fixture(scope="session")
def made(trees):
    """The twelve starters by id, computed in one batch for each kind of car."""
    plans = {name: read_plan(path) for name, path in starters().items()}
    found = make_drills(list(plans.values()), [0] * len(plans), trees)
    return dict(zip(plans, found, strict=True))


@pytest.fixture(scope="session")
def solved(made, trees):
    """How the policies fare on each starter."""
    return {name: solve(one.drill, one.key, one.car, trees) for name, one in made.items()}


@pytest.fixture(scope="session")
def hill(trees):
    """The drill of the long hill with its finished key; by itself, since most tests need no other."""
    one = make_drills([read_plan(starters()["06-lean-on-the-long-hill"])], [0], trees)[0]
    return one.drill, with_best(one.key, solve(one.drill, one.key, one.car, trees, ("the tool",)))


@pytest.fixture(scope="session")
def lean(hill):
    """The same; a module may put another in its place."""
    return hill


def by_numbers(key):
    """Return the key of the same drill with hardly any look in it, so that few readings tell all there is to tell."""
    read = {
        name: read if name == "pump-runs-at-key-on" or (name in NUMBERS and name != "delivery-into-can") else None
        for name, read in key.drill.readings.items()
    }
    return msgspec.structs.replace(key, drill=sealed(msgspec.structs.replace(key.drill, readings=read, seal="")))


class Clock:
    """A clock that moves on by half a minute each time it is read."""

    def __init__(self, later: float = 0.0) -> None:
        self.now = 1_800_000_000.0 + later

    def __call__(self) -> float:
        self.now += 30.0
        return self.now


@pytest.fixture
def sitting(trees, lean):
    """Begin a sitting in a casebook of its own."""

    def begin(name="Ann", drill=None, book=None, clock=None):
        settings = CaseSettings(learn=False)
        book = book or Casebook(":memory:")
        return sit(book, trees, clock or Clock(), drill or lean[0], name, settings)[0]

    return begin


@pytest.fixture
def work():
    """Do checks (with cautions read and the reading judged as it lies) and name causes, then hand in."""

    def play(sitting, checks=(), causes=(), judge=True, cautions=True, close=True):
        for name in checks:
            read_one(sitting, name, judge, cautions)
        for cause in causes:
            sitting.repair(cause)
        if close:
            sitting.case.close("left" if causes else "referred")
        return sitting

    return play


def read_one(sitting, name, judge=True, cautions=True):
    sitting.case.choose(name)
    while cautions and (caution := sitting.case.view().step.caution) is not None:
        sitting.case.acknowledge(caution.id)
    read = sitting.case.bench.read(name)
    sitting.case.take(name, read)
    understood = sitting.case.assessment.latest[name]
    if judge and understood.value is not None:
        sitting.case.judge(name, understood.outcome)


@pytest.fixture
def app(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    workspace = Workspace(None, tmp_path / "data" / "casebook.sqlite", draw=lambda _: 515)
    yield TroubleshootApp(workspace)
    workspace.close()


@pytest.fixture
def marked(lean, trees):
    """Replay and mark a drill that was handed in."""

    def come_to(sitting, rubric=None, text=None):
        replayed = replay(text or hand_in(sitting), "a.handin.json", lean[0], trees)
        return Marked(replayed, mark(replayed, lean[1], rubric or read_rubric(), trees), lean[1])

    return come_to


@pytest.fixture
def here(tmp_path, lean, monkeypatch, capsys):
    """A folder with a drill and its key, and a way to type commands in it."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("TROUBLESHOOT_DATA", str(tmp_path / "data"))
    (tmp_path / "hill.drill.json").write_text(drill_text(lean[0]), encoding="utf-8")
    write_key(tmp_path / "hill.key", lean[1])

    def command(line, text=""):
        monkeypatch.setattr(sys, "stdin", io.StringIO(text))
        code = run(line.split())
        said = capsys.readouterr()
        return code, said.out, said.err

    command.folder = tmp_path
    return command
