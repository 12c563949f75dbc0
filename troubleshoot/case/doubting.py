"""Which reading of a case to take again, in words, and before which end it is proposed."""

from __future__ import annotations

from troubleshoot.case.assessing import Assessment
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.reasoning import explaining
from troubleshoot.reasoning.belief import last_readings
from troubleshoot.reasoning.doubting import PROBABLY
from troubleshoot.reasoning.explaining import Unexplained

LEAST_SAID = 0.02
"""A cause that gives a reading less often than this comes no nearer to it than any other."""

MANY = 30
"""So many checks since the start or the last repair are a sign that what is wrong is not listed.

Of cars walked for the proof one in seven (of 675) takes so many where its cause is listed, one in two (of 110) where
it is not.
"""

NEAR = 0.9
"""A cause that is at least this probable is found, however long it took."""


def doubt(seen: Assessment, catalogue: Catalogue) -> tuple[str, str]:
    """Return a sentence and the check whose reading is to be taken again; nothing where no reading is doubtful."""
    if seen.belief is not None and seen.belief.nothing_fits:
        check = seen.belief.doubtful or ""
        ask = catalogue.checks[check].ask if check in catalogue.checks else ""
        again = f" Measure again: {ask}." if ask else ""
        return f"Nothing listed can give all these readings at once.{again}", check
    found = seen.doubted
    if found is None or found.check not in catalogue.checks:
        return "", ""
    known, read = catalogue.checks[found.check], seen.latest.get(found.check)
    how = "was probably" if found.wrong >= PROBABLY else "may have been"
    slip = "misread (unit, decimal point, terminal or hose)" if known.reading else "answered wrongly"
    shown = f" ({read.shown})" if read is not None else ""
    price = f"It takes {found.costs:.0f} minutes and is expected to save {found.saves:.0f}."
    if not found.worth > 0.0:
        price = "Nothing hangs on it now, for it counts for little."
    return f"Measure this again: {known.ask.rstrip('.?')}{shown}. It {how} {slip}. {price}", found.check


def unexplained(seen: Assessment, catalogue: Catalogue) -> tuple[str, ...]:
    """Return words for each reading since the last repair that no listed cause explains: which comes nearest to it."""
    if seen.belief is None:
        return ()
    found = explaining.unexplained(seen.belief, last_readings(seen.happened))
    return tuple(_unexplained(one, seen, catalogue) for one in found if one.check in seen.latest)


def long_search(seen: Assessment) -> tuple[str, ...]:
    """Return words for a search that has gone on for long with nothing found; nothing before that."""
    if seen.belief is None or seen.state.closed is not None:
        return ()
    checks = len(last_readings(seen.happened))
    if checks < MANY or seen.belief.ranked(1)[0].probability >= NEAR:
        return ()
    return (
        f"{checks} checks, and nothing is found. Most faults that are listed here are found in half as many. Expect "
        "something that is not listed: ask what was changed last, and let somebody else look.",
    )


def _unexplained(one: Unexplained, seen: Assessment, catalogue: Catalogue) -> str:
    ask, read = catalogue.checks[one.check].ask.rstrip(".?"), seen.latest[one.check]
    words = f"Nothing listed explains “{ask}: {read.shown}, {read.words}”"
    near = catalogue.causes.get(one.nearest)
    if near is not None and one.share >= LEAST_SAID:
        words += (
            f" well. Nearest is “{near.title}”, and of cars with it only one in {1.0 / one.share:.0f} reads like that;"
            " of cars with any other listed cause still fewer do"
        )
    return f"{words}. If it was read right, expect something that is not listed."


def to_take_again(seen: Assessment) -> str:
    """Return the check that is worth taking again before anything is repaired or given up; "" where there is none."""
    found = seen.doubted
    return found.check if found is not None and found.worth > 0.0 and found.check not in seen.skipped else ""
