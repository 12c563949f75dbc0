"""Cars of a population, gross mistakes, measuring again, and the coverage of concerns the other way round."""

from __future__ import annotations

import numpy as np
import pytest

from troubleshoot.bench.patients import Patient, patients
from troubleshoot.case.assessing import Assessment
from troubleshoot.case.proposing import Proposal
from troubleshoot.knowledge.catalogue import Catalogue, load_catalogue
from troubleshoot.proof.cases import DEGREE_SHARES, DEGREES, draw_case, severity
from troubleshoot.proof.coverage import LISTED_FROM, not_listed, shown_in_population
from troubleshoot.proof.mistakes import with_mistake
from troubleshoot.proof.policies import POLICIES
from troubleshoot.proof.walk import Conduct, Problems, car_of, on_the_day, walk
from troubleshoot.virtual_engine.population import Day

TREES = load_catalogue()


def test_degrees_come_as_often_as_the_trees_take_them_to() -> None:
    rng = np.random.default_rng(1)
    drawn = np.array([severity(rng) for _ in range(4000)])
    for (low, high), share in zip(DEGREES, DEGREE_SHARES, strict=True):
        assert np.mean((drawn >= low) & (drawn < high)) == pytest.approx(share, abs=0.03)


def test_the_tool_gets_the_nominal_file_with_only_what_can_be_known_of_the_day() -> None:
    """20 degC is 68 degF. The height stays that of the file."""
    car = TREES.cars["harrow-240"]
    told = on_the_day(car, Day(80.0, 89.88, 20.0, 9.5))
    assert (told.air_temperature, told.pump_flow, told.vapour_pressure) == (68, 80, 9.5)
    same = {name: getattr(told, name) == getattr(car, name) for name in car.__struct_fields__}
    assert {name for name, equal in same.items() if not equal} <= {
        "air_temperature",
        "pump_flow",
        "vapour_pressure",
    }
    assert on_the_day(car, None) is car


def test_one_reading_in_twenty_is_wrong_and_could_still_be_written_down() -> None:
    check = TREES.checks["pressure-at-idle"]
    low, high = check.reading.plausible
    found = [with_mistake(check, 58.0, (number, 1), 0) for number in range(2000)]
    wrong = [one for one in found if one != 58.0]
    assert len(wrong) / 2000 == pytest.approx(0.05, abs=0.015)
    assert all(low <= one <= high for one in wrong)
    choice = TREES.checks["plug-reading"]
    other = {with_mistake(choice, "tan", (number, 2), 0, share=1.0) for number in range(50)}
    assert "tan" not in other and other <= set(choice.outcomes)
    assert with_mistake(check, 58.0, (3, 1), 0) == with_mistake(check, 58.0, (3, 1), 0)


@pytest.fixture(scope="module")
def ill() -> list[Patient]:
    """Two cars of a population with a fault."""
    cases = [draw_case(31, number, False, (), drawn=True) for number in range(0, 8, 2)]
    return [one for one in patients(cases, 31) if one is not None][:2]


@pytest.fixture(scope="module")
def problems() -> Problems:
    """Their problems, each made once."""
    return Problems(TREES)


def test_a_walk_with_mistakes_may_measure_again_and_each_walk_is_the_same_twice(
    ill: list[Patient], problems: Problems
) -> None:
    assert len(ill) == 2
    for patient in ill:
        assert patient.day is not None
        assert car_of(patient, TREES).altitude == TREES.cars["harrow-240"].altitude
        conduct = Conduct(mistakes=True)
        first, second = (
            walk(patient, TREES, problems.of(patient), POLICIES["authored order"], conduct) for _ in range(2)
        )
        assert first.trail == second.trail


def test_who_does_not_obey_keeps_what_is_written(ill: list[Patient], problems: Problems) -> None:
    """A reading that is asked for twice is taken twice by who obeys, and once by who does not."""
    left: list[str] = []

    def twice(seen: Assessment, catalogue: Catalogue) -> Proposal:
        """Ask for one reading, for it again, and give up."""
        del seen, catalogue
        return Proposal("check", left.pop()) if left else Proposal("refer")

    read = []
    for obeys in (True, False):
        left += ["battery-rest-volts"] * 2
        result = walk(ill[0], TREES, problems.of(ill[0]), twice, Conduct(mistakes=True, obeys=obeys))
        read.append((result.checks, any("kept as it is written" in line for line in result.trail)))
    assert read == [(2, False), (1, True)]


@pytest.mark.slow
def test_what_the_population_shows_is_listed_by_its_concern() -> None:
    """Every cause that a twentieth of its cars report under a concern stands in that concern's tree."""
    shown = shown_in_population(4)
    certain = [one for one in not_listed(TREES, shown) if one.share - 1.64 * np.sqrt(0.0475 / one.cars) > LISTED_FROM]
    assert not certain, [f"{one.concern}: {one.cause} {100 * one.share:.0f} %" for one in certain]
