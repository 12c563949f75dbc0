"""No advice that gets someone hurt passes the lint, whoever writes it; what warns of it does."""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path

import pytest
from careless_advice import CARELESS, SAFE
from hostile_advice import EVERYTHING, GOOD, PASSED_BEFORE, Bad
from hostile_trees import hostile_trees

from troubleshoot.knowledge.catalogue import Catalogue, load_catalogue, shipped_trees
from troubleshoot.knowledge.dangerous_advice import dangers
from troubleshoot.knowledge.hazards import cautions_needed
from troubleshoot.knowledge.lint_safety import safety
from troubleshoot.knowledge.load_trees import read_catalogue

ALL = (*EVERYTHING, *CARELESS)


@pytest.fixture(scope="module")
def trees() -> Catalogue:
    return load_catalogue()


@pytest.fixture(scope="module")
def findings(tmp_path_factory: pytest.TempPathFactory, trees: Catalogue) -> dict[str, set[str]]:
    """The codes of what the lint says of each record that holds a piece of hostile advice."""
    folder = tmp_path_factory.mktemp("hostile")
    names = hostile_trees(folder, ALL, trees.cautions)
    reading = read_catalogue((shipped_trees(), folder))
    assert not [fault for fault in reading.catalogue.faults if str(folder) in fault.file]
    columns = {
        (
            document.name,
            document.finding(trail, "", "", "").line,
            document.finding(trail, "", "", "").column,
        ): identifier
        for (_, identifier), (document, trail) in reading.sources.items()
        if identifier in names
    }
    starts = sorted(columns)
    found: defaultdict[str, set[str]] = defaultdict(set)
    for one in safety(reading):
        if str(folder) in one.file or one.file in {name for name, _, _ in starts}:
            before = [at for at in starts if at[0] == one.file and at[1:] <= (one.line, one.column)]
            if before:
                found[columns[before[-1]]].add(one.code)
    return found


def test_there_is_enough_of_it() -> None:
    assert len(EVERYTHING) >= 60 and len(PASSED_BEFORE) == 12
    assert len(CARELESS) >= 40 and len(SAFE) >= 40


@pytest.mark.parametrize(("number", "bad"), list(enumerate(ALL)), ids=lambda one: getattr(one, "words", one))
def test_it_is_refused(number: int, bad: Bad, findings: dict[str, set[str]]) -> None:
    assert findings.get(f"bad-{number}"), bad.words


@pytest.mark.parametrize("words", SAFE)
@pytest.mark.parametrize("state", ["key off", "cranking", "idle", "under load"])
def test_safe_advice_in_the_same_words_passes(words: str, state: str) -> None:
    assert not list(dangers([words], state)), words


def test_a_loaded_engine_is_loaded_somewhere_named(tmp_path: Path, trees: Catalogue) -> None:
    """Full load belongs on a dyno or closed course; a check that names no place at all is refused (common practice)."""
    words = (Bad("Read it as it pulls.", state="under load", hands=("cabin",)),
             Bad("At a steady cruise a helper reads it.", state="under load", hands=("cabin",)))  # fmt: skip
    hostile_trees(tmp_path, words, trees.cautions)
    found = [one for one in safety(read_catalogue((shipped_trees(), tmp_path))) if str(tmp_path) in one.file]
    assert [one.code for one in found] == ["road"]


@pytest.mark.parametrize("words", GOOD)
def test_what_warns_of_it_passes(words: str) -> None:
    for state in ("key off", "cranking", "idle", "under load"):
        assert not list(dangers([words], state, planted=True)), words


def test_what_is_shipped_carries_every_caution_that_follows_and_gives_no_such_advice(trees: Catalogue) -> None:
    assert not list(safety(read_catalogue((shipped_trees(),))))
    for check in trees.checks.values():
        setup = trees.setups.get(check.setup or "")
        assert {name for name, _ in cautions_needed(check, setup, trees.cautions)} <= set(check.cautions), check.ask


HAZARDS = {
    "pressure-at-idle": {"fuel-under-pressure", "let-the-pressure-down", "fuel-vapour", "moving-parts", "exhaust-gas"},
    "injector-spray": {"fuel-vapour", "intake-open", "high-voltage", "moving-parts", "exhaust-gas"},
    "compression-lowest": {"fuel-vapour", "high-voltage", "moving-parts", "battery"},
    "speed-limit-look": {"key-on-points"},
    "oxygen-free-air": {"fuel-vapour", "hot-parts", "lifting", "key-on-points"},
    "mixture-at-top": {"road-or-dyno-run"},
    "timing-at-idle": {"high-voltage", "moving-parts", "exhaust-gas", "hot-parts"},
    "relay-hot": {"hot-parts", "exhaust-gas", "moving-parts"},
}
"""What a safety officer asks for at these checks (common practice, no source)."""


@pytest.mark.parametrize("check", HAZARDS)
def test_the_cautions_are_those_a_safety_officer_asks_for(check: str, trees: Catalogue) -> None:
    assert HAZARDS[check] <= set(trees.checks[check].cautions)


def test_a_heading_of_the_road_needs_no_word_of_it() -> None:
    """Where full load is meant, the place stands in the same record."""
    assert list(dangers(["Full throttle from 2000 rpm."], "under load"))
    assert not list(dangers(["On a dyno or closed course.", "Full throttle from 2000 rpm."], "under load"))


def test_every_caution_is_read_in_five_short_lines(trees: Catalogue) -> None:
    """Signal word and title, then at most four lines that fit 80 columns; the first says what happens to you."""
    for name, caution in trees.cautions.items():
        assert 2 <= len(caution.card) <= 4, name
        assert all(len(line) <= 70 for line in caution.card), name


def test_the_folder_of_hostile_trees_is_read_at_all(tmp_path: Path, trees: Catalogue) -> None:
    names = hostile_trees(tmp_path, EVERYTHING[:3], trees.cautions)
    assert set(names) <= set(read_catalogue((shipped_trees(), tmp_path)).catalogue.checks)
