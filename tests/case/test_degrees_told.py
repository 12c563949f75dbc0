"""How far a cause has gone is said beside it once the readings tell."""

from __future__ import annotations

from troubleshoot.case.case import case_in_memory
from troubleshoot.knowledge.catalogue import load_catalogue

TREES = load_catalogue()


def told(*readings: tuple[str, str]) -> dict[str, str]:
    case = case_in_memory(TREES, TREES.cars["harrow-240"], ("knock",))
    for check, typed in readings:
        case.take(check, typed, sure=True)
    return {one.id: one.words for one in case.view().ranked}


def test_what_far_too_much_timing_comes_from_has_gone_far() -> None:
    """A hose on the wrong port adds all its advance at idle; 34 degrees for 10 is not a little (common practice,
    no source)."""
    assert "probably" not in " ".join(told().values())
    words = told(("timing-at-idle", "34 deg"))
    assert words["vacuum-advance-wrong-port"] == "possible, probably gross"
    assert all("probably" not in said for said in words.values() if "unlikely" in said)
