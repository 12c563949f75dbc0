"""No step of a tree gives way to one that exposes a person to more; the last reading of a check stands."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from troubleshoot.case.case import Case, case_in_memory
from troubleshoot.case.proposing import propose
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.load_trees import read_catalogue

CAUSE = """
{name}:
  title: Cause {name}
  system: fuel
  rate: 0.02
  basis: common practice
  happens: It is so.
  repair: {{do: [Put it right.], minutes: 120, parts: 100}}
  proof: {{words: It is gone.}}
  plant: {{never: No.}}
"""
CHECK = """
{name}:
  ask: Check {name}?
  why: It tells.
  do: [Look.]
  state: {state}
  minutes: 3
  cautions: [{cautions}]
  choices: [{{outcome: good, words: good}}, {{outcome: bad, words: bad}}]
  normal: good
  usual: {{good: 0.97, bad: 0.03}}
  basis: common practice
  moved-by: {{{moved}}}
"""
TELLS = "one: {bad: 0.97}, two: {bad: 0.97}"
CONCERN = """
title: It is weak
says: It is weak
meaning: Weak.
shows: {one: often, two: often, three: often, four: often}
steps:
  first: {check: opening, next: {good: next, bad: next}}
  next: {check: weak, next: {}}
"""


Begun = Callable[[str, str], Case]


@pytest.fixture
def second_step(tmp_path: Path) -> Callable[[str, str], Case]:
    """Return a case one reading into its tree, where another check (in a state, with a caution) tells much more."""

    def begun(state: str, caution: str) -> Case:
        for folder in ("causes", "checks", "concerns"):
            (tmp_path / folder).mkdir(exist_ok=True)
        causes = "".join(CAUSE.format(name=name) for name in ("one", "two", "three", "four"))
        checks = CHECK.format(name="opening", state="idle", cautions="", moved="one: {bad: 0.04}")
        checks += CHECK.format(name="weak", state="idle", cautions="", moved="one: {bad: 0.05}")
        checks += CHECK.format(
            name="telling", state=state, cautions=caution, moved="one: {bad: 0.97}, two: {bad: 0.97}"
        )
        (tmp_path / "causes" / "fuel.yaml").write_text(causes, encoding="utf-8")
        (tmp_path / "checks" / "fuel.yaml").write_text(checks, encoding="utf-8")
        (tmp_path / "concerns" / "weak.yaml").write_text(CONCERN, encoding="utf-8")
        trees = read_catalogue((tmp_path,)).catalogue
        assert not trees.faults
        case = case_in_memory(trees, Car(), ["weak"])
        case.take("opening", "good")
        return case

    return begun


def proposed(case: Case) -> tuple[str, str]:
    found = propose(case.assessment, case.catalogue)
    return found.id, found.over


def test_a_check_that_tells_much_more_passes_the_step_of_the_tree(second_step: Callable[[str, str], Case]) -> None:
    """The control: where it exposes a person to no more, the better check is made first, and says what it passed."""
    assert proposed(second_step("idle", "")) == ("telling", "weak")


@pytest.mark.parametrize("state", ["held speed", "under load"])
def test_no_step_gives_way_to_a_more_dangerous_engine_state(
    second_step: Callable[[str, str], Case], state: str
) -> None:
    """The tree asks at idle; what is worth more but needs more of the engine waits (common practice, no source)."""
    assert proposed(second_step(state, "")) == ("weak", "")


def test_no_step_gives_way_to_open_fuel(second_step: Callable[[str, str], Case]) -> None:
    """The tree's step opens no fuel; what is worth more but meets open fuel waits (common practice, no source)."""
    assert proposed(second_step("idle", "fuel-vapour")) == ("weak", "")
    assert proposed(second_step("key off", "fuel-vapour")) == ("weak", "")


def test_the_last_reading_of_a_check_stands(begin: Callable[..., Case]) -> None:
    """Measured again between two repairs, a check counts once, as it was read last."""
    again, once = begin("lean-top"), begin("lean-top")
    for text in ("38 psi", "52 psi"):
        again.choose("pressure")
        again.take("pressure", text)
    once.take("pressure", "52 psi")
    assert again.assessment.happened == once.assessment.happened
    assert again.assessment.belief is not None and once.assessment.belief is not None
    assert again.assessment.belief.marginals == pytest.approx(once.assessment.belief.marginals)


def test_a_changed_answer_says_what_it_was(begin: Callable[..., Case]) -> None:
    """Answers are numbered from 1, on every face alike, and a change leaves its trace; nothing else has a number."""
    case = begin("lean-top")
    case.note("seen at the roadside")
    case.take("pressure", "38 psi")
    case.take("pump-volts", "13.4 V")
    (index,) = [line.index for line in case.view().trail if line.check == "pressure"]
    case.correct(index, "52 psi")
    lines = {line.title: line for line in case.view().trail}
    assert [line.number for line in case.view().trail] == [0, 1, 2]
    assert lines["Fuel pressure when it goes lean"].verdict == "as set; changed from 38 psi"
