"""How belief in a cause came about: its probability before and after everything that bore on it."""

from __future__ import annotations

from typing import assert_never

from troubleshoot.case.assessing import Assessment
from troubleshoot.case.view import MomentShown, ProofShown
from troubleshoot.knowledge.answers import id_words
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.reasoning import belief as beliefs
from troubleshoot.reasoning.events import Evidence, Looked, Repaired, Retested


def history(seen: Assessment, catalogue: Catalogue, cause: str) -> tuple[MomentShown, ...]:
    """Return the probability of a cause before and after each reading, repair and retest, in their order."""
    problem = seen.problem
    if problem is None or cause not in problem.cause_named:
        return ()
    shown = []
    belief = beliefs.believe(problem, ())
    for count, event in enumerate(seen.happened, start=1):
        after = beliefs.believe(problem, seen.happened[:count])
        before_it, after_it = belief.probability(cause), after.probability(cause)
        belief = after
        match event:
            case Evidence(check=check):
                read = seen.latest.get(check)
                title = catalogue.checks[check].ask if check in catalogue.checks else id_words(check)
                answer = read.shown if read is not None else ""
                shown.append(MomentShown("reading", title, answer, before_it, after_it, check))
            case Repaired(repair=repair):
                cured = {one.id for one in problem.causes if one.repair == repair}
                known = next((one for one in seen.repaired if one in cured), repair)
                title = catalogue.causes[known].title if known in catalogue.causes else id_words(known)
                shown.append(MomentShown("repair", title, "repaired", before_it, after_it))
            case Retested(remains=remains):
                answer = "gone" if remains == 0.0 else "still there" if remains == 1.0 else "better, not gone"
                shown.append(MomentShown("retest", "Retest", answer, before_it, after_it))
            case Looked():
                continue
            case never:
                assert_never(never)
    return tuple(shown)


def proof_of(seen: Assessment, catalogue: Catalogue, cause: str, measure: tuple[str, str] | None) -> ProofShown | None:
    """Return what proves that a repaired cause was the cause; None for one that is not in the case.

    `measure` is the check, by id and question, that would still prove it by a measurement.
    """
    if cause not in catalogue.causes or seen.belief is None or seen.problem is None:
        return None
    known = catalogue.causes[cause]
    others = [
        (one.cause, one.probability)
        for one in seen.belief.ranked(3)
        if one.cause not in (cause, seen.problem.something_else) and one.cause in catalogue.causes
    ]
    second = (catalogue.causes[others[0][0]].title, others[0][1]) if others else ("", 0.0)
    return ProofShown(
        cause=cause,
        title=known.title,
        moments=history(seen, catalogue, cause),
        words=known.proof.words,
        measure=measure[1] if measure else "",
        second=second[0],
        second_probability=second[1],
    )
