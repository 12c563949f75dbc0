"""Turns what a person asks for into an event, or refuses it in a sentence; nothing is stored here."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

import msgspec

from troubleshoot.case.assessing import Assessment
from troubleshoot.case.cache import reading_context
from troubleshoot.case.errors import NotNow, UnknownCause, UnknownCheck
from troubleshoot.case.events import (
    CheckChosen,
    CheckSkipped,
    Closed,
    Event,
    Fitted,
    Judged,
    Measured,
    ReadingTaken,
    RepairMade,
    Seen,
)
from troubleshoot.case.explaining import minutes_now
from troubleshoot.knowledge.answers import SKIPPED, InterpretedReading, ReadingRefused, System, id_words, read_text
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.findings import nearest
from troubleshoot.knowledge.model import Cause, Check
from troubleshoot.problems import TroubleshootError

LONGEST = 4_000
"""Characters of free words kept; a note longer than this is a book."""


def clean(text: str) -> str:
    """Return free words as they can be kept: no broken characters, not endless."""
    return text[:LONGEST].encode("utf-8", "replace").decode("utf-8")


def cleaned(fitted: Fitted) -> Fitted:
    """Return what was said of a repair as it can be kept."""
    return Fitted(**{name: clean(words).strip() for name, words in msgspec.structs.asdict(fitted).items()})


def known_check(catalogue: Catalogue, check: str) -> Check:
    """Return a check of the catalogue; UnknownCheck with the nearest spelling."""
    if check not in catalogue.checks:
        hint = nearest(check, catalogue.checks)
        raise UnknownCheck(f"There is no check {clean(check)[:60]}{hint}.", "Use the id of a check.")
    return catalogue.checks[check]


def known_cause(catalogue: Catalogue, cause: str) -> Cause:
    """Return a cause of the catalogue; UnknownCause with the nearest spelling."""
    if cause not in catalogue.causes:
        hint = nearest(cause, catalogue.causes)
        raise UnknownCause(f"There is no cause {clean(cause)[:60]}{hint}.", "Use the id of a cause.")
    return catalogue.causes[cause]


def refuse_unknown_concerns(catalogue: Catalogue, concerns: Sequence[str]) -> None:
    """Refuse concerns that are not in the trees, or none at all."""
    if not concerns:
        raise TroubleshootError("No concern was chosen.", "Choose at least one thing the customer says.")
    for one in concerns:
        if one not in catalogue.concerns:
            hint = nearest(one, catalogue.concerns)
            known = ", ".join(sorted(catalogue.concerns))
            raise TroubleshootError(f"There is no concern {clean(one)[:60]}{hint}.", f"Use one of: {known}.")


def refuse_unknown_tools(catalogue: Catalogue, tools: Sequence[str] | None) -> None:
    """Refuse tools that are not in the trees."""
    for one in tools or ():
        if one not in catalogue.tools:
            hint = nearest(one, catalogue.tools)
            known = ", ".join(sorted(catalogue.tools))
            raise TroubleshootError(f"There is no tool {clean(one)[:60]}{hint}.", f"Use one of: {known}.")


def understand(
    seen: Assessment, catalogue: Catalogue, system: System, check_id: str, text: str, sure: bool
) -> InterpretedReading:
    """Return what a typed answer to a check says."""
    return read_text(known_check(catalogue, check_id), clean(text), reading_context(seen, catalogue, system), sure)


def reading(
    seen: Assessment, catalogue: Catalogue, system: System, check_id: str, text: str, sure: bool
) -> ReadingTaken:
    """Return the reading that a typed answer is."""
    found = understand(seen, catalogue, system, check_id, text, sure)
    minutes = minutes_now(seen, check_id, catalogue.checks[check_id])
    return ReadingTaken(
        check=check_id,
        typed=clean(text),
        answer=Seen(outcome=found.outcome)
        if found.value is None
        else Measured(value=found.value, uncertainty=found.uncertainty, unit=found.unit, outcome=found.outcome),
        minutes=minutes,
    )


def corrected(
    seen: Assessment, catalogue: Catalogue, system: System, index: int, text: str, sure: bool
) -> ReadingTaken | CheckSkipped:
    """Return what stands in the place of an earlier answer."""
    earlier = next((one.event for one in seen.state.done if one.index == index), None)
    if not isinstance(earlier, ReadingTaken | CheckSkipped):
        raise NotNow("There is no answer in that place to change.", "Choose a line of the trail that is an answer.")
    if text.strip().casefold() == SKIPPED:
        return CheckSkipped(at=earlier.at, check=earlier.check, why="")
    made = reading(seen, catalogue, system, earlier.check, text, sure)
    minutes = earlier.minutes if isinstance(earlier, ReadingTaken) else made.minutes
    return msgspec.structs.replace(made, at=earlier.at, minutes=minutes)


def amount(given: float | None, usual: float, what: str) -> float:
    """Return minutes or money: as given when that is a sensible number, else as usual."""
    if given is None:
        return usual
    if not (math.isfinite(given) and 0 <= given <= 1_000_000):
        raise TroubleshootError(f"{given} cannot be the {what} of a repair.", "Give a number from 0 up.")
    return float(given)


def retest_result(result: str) -> Literal["gone", "partly", "still"]:
    """Return a retest's result; refuses other words."""
    known: Literal["gone", "partly", "still"]
    for known in ("gone", "partly", "still"):
        if result == known:
            return known
    raise TroubleshootError(f"{clean(result)[:40]!r} is no result of a retest.", "Say gone, partly or still.")


def closed(seen: Assessment, result: str, causes: Sequence[str]) -> Closed:
    """Return the end of a case; proved needs a clean retest or causes named."""
    if result == "proved":
        named = tuple(causes) or seen.repaired[-1:]
        if not named:
            raise NotNow("Nothing has been repaired, so nothing is proved.", "Close the case as left, or repair first.")
        return Closed(result="proved", causes=named)
    if result in ("referred", "left"):
        return Closed(result="referred" if result == "referred" else "left", causes=tuple(causes))
    raise TroubleshootError(f"{clean(result)[:40]!r} is no way to close a case.", "Say proved, referred or left.")


def judged(check: Check, check_id: str, outcome: str) -> Judged:
    """Return a judgement of a reading: the outcome of the check that the person says it lies in."""
    if outcome not in check.outcomes:
        raise ReadingRefused(f"{outcome[:40]!r} is no outcome of this check.", f"Use {', '.join(check.outcomes)}.")
    return Judged(check=check_id, outcome=outcome)


def in_words(event: Event, catalogue: Catalogue) -> str:
    """Return what an event was, in words, for "taken back: …"."""
    if isinstance(event, ReadingTaken | CheckSkipped | CheckChosen):
        known = catalogue.checks.get(event.check)
        ask = known.ask if known else id_words(event.check)
        return f"{'choosing ' if isinstance(event, CheckChosen) else ''}{ask}"
    if isinstance(event, RepairMade):
        known_one = catalogue.causes.get(event.cause)
        return f"the repair of {known_one.title if known_one else id_words(event.cause)}"
    return event.WORDS
