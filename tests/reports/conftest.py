"""A finished case on the small trees, with hostile words typed into it."""

from __future__ import annotations

from pathlib import Path

import pytest

from troubleshoot.casebook.store import IN_MEMORY, Casebook
from troubleshoot.investigation.walk import Investigation, open_case
from troubleshoot.knowledge.car import car_from
from troubleshoot.knowledge.reading import read_catalogue

SMALL_TREES = Path(__file__).parent.parent / "investigation" / "small_trees"


@pytest.fixture
def finished() -> Investigation:
    small = read_catalogue((SMALL_TREES,)).catalogue
    now = [1_700_000_000.0]

    def tick() -> float:
        now[0] += 60
        return now[0]

    walk = open_case(Casebook(IN_MEMORY), small, tick)
    car = car_from({"title": "<b>Car</b> *one* | two", "rated-pressure": 50})
    walk.start_with(car, ["lean-top"], customer="# it goes [lean](http://example.org) <script>alert(1)</script>")
    walk.acknowledge("moving-parts")
    walk.take("pressure", "38 psi")
    walk.take("pump-volts", "13.4 V")
    walk.skip("look", "- no lamp `here`")
    walk.note("1. first | second\n# not a heading")
    walk.repair("strainer-blocked")
    walk.retest("gone")
    walk.close("proved")
    return walk
