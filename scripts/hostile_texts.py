"""The forms of text that the program reads, for `hostile_files`: a good one to change, and what reads it."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from functools import cache
from pathlib import Path

import msgspec

from troubleshoot.case.case import Case, case_in_memory, resume_case
from troubleshoot.case.events import CautionAcknowledged
from troubleshoot.case.kept_events import decode
from troubleshoot.case.settings import CaseSettings
from troubleshoot.casebook.exchange import export_case, import_case
from troubleshoot.casebook.store import IN_MEMORY, Casebook
from troubleshoot.classroom.drill_file import Drill, drill_text, read_drill, sealed
from troubleshoot.classroom.drill_maker import MadeDrill, make_drills
from troubleshoot.classroom.handing_in import hand_in
from troubleshoot.classroom.key_file import key_text, read_key
from troubleshoot.classroom.replaying import replay
from troubleshoot.classroom.rubric import read_rubric, usual_rubric
from troubleshoot.classroom.sitting import sit
from troubleshoot.classroom.story import read_plan, starters
from troubleshoot.cli.car_choice import car_asked_for
from troubleshoot.cli.readings_file import read_readings, take_readings
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import Catalogue, load_catalogue, shipped_trees
from troubleshoot.knowledge.compiling import compile_problem
from troubleshoot.knowledge.load_trees import read_catalogue
from troubleshoot.knowledge.problem_file import read_problem
from troubleshoot.reasoning.problem import Problem
from troubleshoot.reports.case_html import as_html
from troubleshoot.reports.case_markdown import as_markdown
from troubleshoot.reports.case_report import report_of
from troubleshoot.reports.case_text import as_text
from troubleshoot.tui.settings import read_settings

NOW = 1.7e9
CAR = Car()
SETTINGS = CaseSettings(learn=False)
PROBLEMS = Path(__file__).parents[1] / "tests" / "published" / "problems"
READINGS = (
    "pressure-at-idle: 58 psi\npressure-when-lean: 38 psi\npump-volts-under-load: 13.4 V\nsuction-vacuum: 11 inHg\n"
)


@cache
def trees() -> Catalogue:
    """Return the shipped trees, read once."""
    return load_catalogue()


@cache
def compiled() -> Problem:
    """Return the problem of one car, made once."""
    return compile_problem(trees(), CAR, ("lean-top",))


@cache
def drill() -> MadeDrill:
    """Return a starter drill with its key, computed once."""
    return make_drills([read_plan(starters()["06-lean-on-the-long-hill"])], [0], trees())[0]


def walked(case: Case, steps: int) -> Case:
    """Take cautions and the first outcome of so many checks."""
    for _ in range(steps):
        step = case.view().step
        if step.cautions:
            case.acknowledge(step.cautions[0].id)
        elif step.check is not None:
            read = case.bench.read(step.check.id) if case.bench is not None else None
            case.take(step.check.id, read or "1", sure=True) if read or step.check.choices else case.skip(
                step.check.id, "no time"
            )
        else:
            break
    return case


def case_bytes() -> bytes:
    """Return an exported case."""
    with Casebook(IN_MEMORY) as book:
        case = resume_case(book, trees(), book.new_case(NOW), lambda: NOW, SETTINGS)
        case.start_with(trees().cars["tarn-six-160"], ["lean-top"], None)
        case.note("a *note* with <b>marks</b> and =1+1")
        return export_case(book, walked(case, 9).case_id).encode()


def hand_in_bytes() -> bytes:
    """Return a hand-in."""
    with Casebook(IN_MEMORY) as book:
        clock = iter(range(1_700_000_000, 1_800_000_000, 30))
        sitting, _ = sit(book, trees(), lambda: float(next(clock)), drill().drill, "Kim", SETTINGS)
        for name in ("pressure-when-lean", "pump-volts-under-load"):
            sitting.case.choose(name)
            while (caution := sitting.case.view().step.caution) is not None:
                sitting.case.acknowledge(caution.id)
            sitting.case.take(name, sitting.case.bench.read(name) or "1")  # type: ignore[union-attr] # a drill has one
        sitting.case.close("referred")
        assert any(isinstance(one, CautionAcknowledged) for one in sitting.case.events)
        return hand_in(sitting).encode()


def read_a_case(path: Path) -> None:
    """Take a case in and write it up in every form."""
    with Casebook(IN_MEMORY) as book:
        taken = import_case(book, path.read_text(encoding="utf-8", errors="replace"), decode)
        made = report_of(resume_case(book, trees(), taken.case_id, lambda: NOW, SETTINGS))
        for form in (as_text, as_markdown, as_html):
            form(made)
        list(book.cases("lean"))


def read_some_readings(path: Path) -> None:
    """Take readings into a case."""
    case = case_in_memory(trees(), CAR, ["lean-top"], SETTINGS, compile_for=lambda _car, _heard: compiled())
    take_readings(case, read_readings(path))
    case.view()


def read_a_drill(path: Path) -> None:
    """Read a drill, with a new seal where it is one still, and sit down to one in sixteen."""
    with suppress(msgspec.MsgspecError, UnicodeError):
        drill_now = msgspec.json.decode(path.read_bytes(), type=Drill)
        path.write_text(drill_text(sealed(drill_now)), encoding="utf-8")
    found = read_drill(path)
    if found.seal.startswith("0"):  # as good as drawn, and the same each time
        with Casebook(IN_MEMORY) as book:
            sit(book, trees(), lambda: NOW, found, "Kim", SETTINGS)[0].checks(appraised=False)


def read_trees(path: Path) -> None:
    """Read a folder with one concern in it, over nothing."""
    place = path.parent / "concerns"
    place.mkdir(exist_ok=True)
    (place / "lean-top.yaml").write_bytes(path.read_bytes())
    for fault in read_catalogue((path.parent,)).catalogue.faults:
        assert str(fault).strip()


TEXT_KINDS: dict[str, tuple[Callable[[], bytes], Callable[[Path], None]]] = {
    "car": (
        lambda: (shipped_trees() / "cars" / "tarn-six-160.yaml").read_bytes(),
        lambda path: car_asked_for(trees().cars, str(path), Path()) and None,
    ),
    "readings": (READINGS.encode, read_some_readings),
    "tree": (lambda: (shipped_trees() / "concerns" / "lean-top.yaml").read_bytes(), read_trees),
    "problem": ((PROBLEMS / "gauge-on-once.yaml").read_bytes, lambda path: read_problem(path) and None),
    "case": (case_bytes, read_a_case),
    "drill": (lambda: drill_text(drill().drill).encode(), read_a_drill),
    "key": (lambda: key_text(drill().key).encode(), lambda path: read_key(path) and None),
    "hand-in": (
        hand_in_bytes,
        lambda path: replay(path.read_text(encoding="utf-8", errors="replace"), "x", drill().drill, trees()) and None,
    ),
    "story": (starters()["06-lean-on-the-long-hill"].read_bytes, lambda path: read_plan(path) and None),
    "rubric": (usual_rubric().read_bytes, lambda path: read_rubric(path) and None),
    "settings": (lambda: b'{"units":"metric","theme":"dark"}', lambda path: read_settings(path) and None),
}
"""Name of a form -> what makes a good file of it, and what reads one."""
