"""A search that has gone on for long says so: what is wrong may not be listed."""

from __future__ import annotations

from troubleshoot.case.case import case_in_memory
from troubleshoot.case.doubting import MANY
from troubleshoot.case.settings import CaseSettings
from troubleshoot.knowledge.catalogue import Catalogue, car_with


def test_many_sound_looks_are_said_to_speak_for_something_unlisted(shipped: Catalogue) -> None:
    """Common practice, no source: who has looked thirty times without a find asks somebody else."""
    case = case_in_memory(shipped, car_with(shipped, "harrow-240", {}), ("lean-top",), CaseSettings(learn=False))
    problem = case.assessment.problem
    assert problem is not None
    looks = [name for name in problem.check_named if shipped.checks[name].reading is None]

    def said() -> list[str]:
        return [one for one in case.view().notices if "somebody else" in one]

    for name in looks[: MANY - 1]:
        case.take(name, shipped.checks[name].normal, sure=True)
    assert said() == []
    case.take(looks[MANY - 1], shipped.checks[looks[MANY - 1]].normal, sure=True)
    assert said() and said()[0].startswith(f"{MANY} checks, and nothing is found.")
    case.repair("filter-blocked")
    case.retest("still")
    assert said() == []
