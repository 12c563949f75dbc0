"""A finished case on the small trees, with hostile words typed into it."""

from __future__ import annotations

from pathlib import Path

import pytest

from troubleshoot.case.case import Case, open_case
from troubleshoot.casebook.store import IN_MEMORY, Casebook
from troubleshoot.knowledge.car import car_from
from troubleshoot.knowledge.load_trees import read_catalogue

SMALL_TREES = Path(__file__).parent.parent / "case" / "small_trees"


@pytest.fixture
def finished() -> Case:
    small = read_catalogue((SMALL_TREES,)).catalogue
    now = [1_700_000_000.0]

    def tick() -> float:
        now[0] += 60
        return now[0]

    case = open_case(Casebook(IN_MEMORY), small, tick)
    car = car_from({"title": "<b>Car</b> *one* | two", "rated-pressure": 50})
    case.start_with(car, ["lean-top"], customer="# it goes [lean](http://example.org) <script>alert(1)</script>")
    case.acknowledge("moving-parts")
    case.take("pressure", "38 psi")
    case.take("pump-volts", "13.4 V")
    case.skip("look", "- no lamp `here`")
    case.note("1. first | second\n# not a heading")
    case.repair("strainer-blocked")
    case.retest("gone")
    case.close("proved")
    return case
