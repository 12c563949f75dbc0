"""What the car and the readings say stands in the fields of a calculation, and in the limits that rest on it."""

from __future__ import annotations

import pytest

from troubleshoot.calculations.registry import calculation, calculations
from troubleshoot.case.case import case_in_memory
from troubleshoot.case.given_inputs import SAME_FACT, SAME_READING, known_inputs
from troubleshoot.case.settings import CaseSettings
from troubleshoot.knowledge.car import CAR_FIELDS
from troubleshoot.knowledge.catalogue import load_catalogue

CATALOGUE = load_catalogue(None)


def test_the_float_speed_knows_the_car_and_then_the_reading() -> None:
    """Cam lobes and dwell of the car file; the spring once it was weighed, in the person's units (1 ozf = 28.35 g)."""
    case = case_in_memory(CATALOGUE, CATALOGUE.cars["harrow-240"], ["wont-rev"], CaseSettings(learn=False))
    wanted = calculation("points-float-speed")
    found = known_inputs(wanted, case.assessment, CATALOGUE, "us")
    assert found["cylinders"] == "8" and found["dwell-angle"].startswith("30°")
    assert "spring-force" not in found
    case.take("spring-tension", "13 oz", sure=True)
    assert known_inputs(wanted, case.assessment, CATALOGUE, "us")["spring-force"] == "13 ozf"


def test_what_is_named_is_there() -> None:
    """Every fact and every check that stands for an input exists, and an input of that name too."""
    inputs = {field.name for one in calculations() for field in one.inputs}
    assert set(SAME_FACT.values()) <= set(CAR_FIELDS) and set(SAME_READING.values()) <= set(CATALOGUE.checks)
    assert set(SAME_FACT) | set(SAME_READING) <= inputs


@pytest.mark.parametrize(("kpa", "outcome"), [("101.3", "low"), ("75", "normal")])
@pytest.mark.parametrize("first", [True, False])
def test_a_limit_rests_on_what_another_check_read_before_or_after(kpa: str, outcome: str, first: bool) -> None:
    """13 inHg is low by the sea and as a sound engine pulls in 75 kPa, the standard atmosphere (ISO 2533) at 8,000 ft.

    A sound engine's 16 to 21 inHg falls by about one for each 1,000 ft (common practice, no source).
    """
    case = case_in_memory(CATALOGUE, CATALOGUE.cars["harrow-240"], ["high-idle"], CaseSettings(learn=False))
    readings = [("barometer-here", f"{kpa} kPa"), ("idle-vacuum", "13 inHg")]
    for check, text in readings if first else reversed(readings):
        case.take(check, text, sure=True)
    seen = case.assessment
    assert seen.latest["idle-vacuum"].outcome == outcome
    shares = next(one.shares for one in seen.evidence.values() if one.check == "idle-vacuum")
    assert CATALOGUE.checks["idle-vacuum"].outcomes[max(range(3), key=shares.__getitem__)] == outcome
