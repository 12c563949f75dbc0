"""The state is a fold: replay gives the same view, a step back gives the view before, no typed text breaks anything."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from shutil import copy
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from troubleshoot.case.case import Case, open_case, resume_case
from troubleshoot.case.events import Opened, Undone
from troubleshoot.case.folding import fold
from troubleshoot.case.kept_events import decode, encode
from troubleshoot.casebook.store import IN_MEMORY, Casebook
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.load_trees import read_catalogue
from troubleshoot.problems import TroubleshootError

Begin = Callable[..., Case]
SMALL_TREES = Path(__file__).with_name("small_trees")
SMALL = read_catalogue((SMALL_TREES,)).catalogue
CHECKS = st.sampled_from([*SMALL.checks, "no-such-check"])
TEXTS = st.one_of(
    st.text(max_size=30),
    st.sampled_from(
        ["38 psi", "50", "13.4 V", "10.8", "92 %", "40", "dry", "fuel found", "1", "2", "skipped", "1e999"]
    ),
    st.from_regex(r"-?[0-9]{1,4}([.,][0-9]{1,3})? ?(psi|V|%|kPa|bar|)", fullmatch=True),
)
MOVES = st.one_of(
    st.tuples(st.just("take"), CHECKS, TEXTS),
    st.tuples(st.just("take"), CHECKS, TEXTS),
    st.tuples(st.just("skip"), CHECKS, st.text(max_size=10)),
    st.tuples(st.just("choose"), CHECKS),
    st.tuples(st.just("undo")),
    st.tuples(st.just("correct"), st.integers(-1, 20), TEXTS),
    st.tuples(st.just("repair"), st.sampled_from([*SMALL.causes, "none-such"])),
    st.tuples(st.just("retest"), st.sampled_from(["gone", "partly", "still", "what"])),
    st.tuples(st.just("smell_fuel")),
    st.tuples(st.just("leak_repaired")),
    st.tuples(st.just("note"), st.text(max_size=20)),
    st.tuples(st.just("acknowledge"), st.sampled_from(["moving-parts", "fuel-under-pressure", "none-such"])),
    st.tuples(st.just("set_concerns"), st.lists(st.sampled_from([*SMALL.concerns, "what"]), max_size=2)),
    st.tuples(st.just("set_tools"), st.none() | st.lists(st.sampled_from([*SMALL.tools, "what"]), max_size=2)),
    st.tuples(st.just("close"), st.sampled_from(["proved", "left", "referred", "what"])),
)
WALKS = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


def new_case() -> Case:
    case = open_case(Casebook(IN_MEMORY), SMALL, lambda: 1.7e9)
    case.start_with(SMALL.cars["bench-car"], ["lean-top"])
    return case


def do(case: Case, move: tuple[Any, ...]) -> bool:
    """Make a move; False when it was refused, in a sentence."""
    name, *arguments = move
    try:
        getattr(case, name)(*arguments)
    except TroubleshootError as problem:
        assert problem.sentence
        return False
    return True


@WALKS
@given(moves=st.lists(MOVES, max_size=12))
def test_replay_gives_the_same_view_and_belief_sums_to_one(moves: list[tuple[Any, ...]]) -> None:
    case = new_case()
    for move in moves:
        do(case, move)
    again = resume_case(case.store, SMALL, case.case_id, lambda: case.events[-1].at)
    assert again.view() == case.view()
    assert again.events == case.events
    belief = case.assessment.belief
    assert belief is None or belief.weights.sum() == pytest.approx(1.0)


@WALKS
@given(moves=st.lists(MOVES, max_size=8), last=MOVES)
def test_a_step_back_gives_the_view_before(moves: list[tuple[Any, ...]], last: tuple[Any, ...]) -> None:
    case = new_case()
    for move in moves:
        do(case, move)
    before = case.view()
    if last[0] != "undo" and do(case, last):
        case.undo()
        assert case.view() == before


@WALKS
@given(check=st.sampled_from(list(SMALL.checks)), text=st.text())
def test_no_typed_text_breaks_a_reading(check: str, text: str) -> None:
    case = new_case()
    before = case.events
    try:
        understood = case.understand(check, text)
    except TroubleshootError as problem:
        assert problem.sentence
    else:
        assert sum(understood.shares) == pytest.approx(1.0)
        assert understood.outcome in SMALL.checks[check].outcomes
    assert case.events == before


@WALKS
@given(text=st.text(st.characters(exclude_categories=[])))
def test_notes_with_any_characters_are_kept(text: str) -> None:
    case = new_case()
    case.note(text)
    case.skip("duty", text)
    case.set_concerns(["lean-top"], text)
    assert resume_case(case.store, SMALL, case.case_id, lambda: case.events[-1].at).view() == case.view()


@WALKS
@given(moves=st.lists(MOVES, max_size=8))
def test_the_order_of_readings_between_repairs_does_not_matter(moves: list[tuple[Any, ...]]) -> None:
    readings = {move[1]: move for move in moves if move[0] == "take"}
    one, other = new_case(), new_case()
    for move in readings.values():
        do(one, move)
    for move in reversed(readings.values()):
        do(other, move)
    first, second = one.assessment.belief, other.assessment.belief
    assert first is not None
    assert second is not None
    assert first.weights == pytest.approx(second.weights, abs=1e-9)


def test_an_event_goes_out_and_comes_in_the_same(begin: Begin) -> None:
    case = begin("lean-top")
    case.take("pressure", "38")
    case.correct(case.view().trail[0].index, "39")
    for event in case.events:
        assert decode(encode(event)) == event


def test_undone_never_takes_the_opening_away() -> None:
    opened = Opened(at=1.0, trees="x")
    assert fold([opened, Undone(), Undone()]).opened == opened
    assert fold([]).opened is None


def test_a_case_of_the_first_casebook_form_still_opens(
    tmp_path: Path, clock: Callable[[], float], small: Catalogue
) -> None:
    """Its event has no unit; the number is in the unit the check then had."""
    copy(SMALL_TREES.parent.parent / "casebook" / "casebook-form-1.sqlite", tmp_path / "old.sqlite")
    with Casebook(tmp_path / "old.sqlite") as book:
        case = resume_case(book, small, book.cases()[0].id, clock)
        assert case.view().trail[-1].answer == "38 ± 1 psi"
        assert "other trees" in case.view().notices[0]
        before = case.view()
        case.take("pump-volts", "13.4 V")
        case.undo()
        assert replace(case.view(), notices=()) == replace(before, notices=())
