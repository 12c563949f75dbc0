"""Drills for the tests: the starters computed once, and a sitting played from a short list of steps."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from troubleshoot.case.settings import CaseSettings
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.drill_maker import make_drills
from troubleshoot.classroom.sitting import sit
from troubleshoot.classroom.solvability import solve, with_best
from troubleshoot.classroom.story import read_plan, starters
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
def lean(made, solved):
    """The drill of the long hill with its finished key."""
    name = "06-lean-on-the-long-hill"
    return made[name].drill, with_best(made[name].key, solved[name])


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
