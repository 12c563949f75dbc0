"""A small set of trees, a casebook in memory, and a clock that ticks once a minute."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from troubleshoot.case.case import Case, open_case
from troubleshoot.case.settings import CaseSettings
from troubleshoot.casebook.store import IN_MEMORY, Casebook
from troubleshoot.knowledge.catalogue import Catalogue, load_catalogue
from troubleshoot.knowledge.load_trees import read_catalogue

SMALL_TREES = Path(__file__).with_name("small_trees")


@pytest.fixture(scope="session")
def small() -> Catalogue:
    found = read_catalogue((SMALL_TREES,)).catalogue
    assert not found.faults
    return found


@pytest.fixture(scope="session")
def shipped() -> Catalogue:
    return load_catalogue()


@pytest.fixture
def clock() -> Callable[[], float]:
    now = [1.7e9]

    def tick() -> float:
        now[0] += 60
        return now[0]

    return tick


Begin = Callable[..., Case]


@pytest.fixture
def begin(small: Catalogue, clock: Callable[[], float]) -> Begin:
    def start(*concerns: str, tools: list[str] | None = None, units: str = "us", book: Casebook | None = None) -> Case:
        settings = CaseSettings(units="metric" if units == "metric" else "us")
        case = open_case(book or Casebook(IN_MEMORY), small, clock, settings)
        if concerns:
            case.start_with(small.cars["bench-car"], list(concerns), tools)
        return case

    return start
