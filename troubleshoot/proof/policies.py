"""The policies that the proof compares: ours, the authored order, repairs only, and a deeper search."""

from __future__ import annotations

from troubleshoot.case.assessing import Assessment
from troubleshoot.case.available import available_checks
from troubleshoot.case.proposing import Proposal, propose
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.proof.walk import Policy
from troubleshoot.reasoning.worth import NOTHING_WRONG, Appraisal, two_steps


def authored_order(seen: Assessment, catalogue: Catalogue) -> Proposal:
    """Walk the trees as written, past what cannot be done; past their end repair by probability over cost."""
    for concern in seen.state.concerns:
        steps = catalogue.concerns[concern].steps
        name = next(iter(steps), None)
        for _ in range(len(steps)):
            step = steps.get(name) if name else None
            if step is None:
                break
            if step.repair is not None:
                if step.repair not in seen.repaired and seen.problem and step.repair in seen.problem.repair_named:
                    return Proposal("repair", step.repair)
                break
            if step.check is None or seen.problem is None:
                break
            read = seen.latest.get(step.check)
            if read is None and step.check in seen.problem.check_named and step.check not in seen.skipped:
                return Proposal("check", step.check)
            name = step.next.get(read.outcome if read else catalogue.checks[step.check].normal or "")
    return probability_over_cost(seen, catalogue)


def probability_over_cost(seen: Assessment, catalogue: Catalogue) -> Proposal:
    """Make the repair of greatest probability over cost until it is gone or nothing is left; no checks."""
    del catalogue
    assert seen.problem is not None and seen.belief is not None
    best, most = "", 0.0
    for cause in seen.problem.causes:
        if cause.repair is None or cause.id in seen.repaired:
            continue
        repair = seen.problem.repair_named[cause.repair]
        ratio = seen.belief.probability(cause.id) / seen.problem.cost(repair.minutes, repair.parts)
        if ratio > most:
            best, most = cause.id, ratio
    return Proposal("repair", best) if best else Proposal("refer")


def two_step(seen: Assessment, catalogue: Catalogue) -> Proposal:
    """Make the check that pays most with the best check after it, while one does; then repair."""
    assert seen.problem is not None and seen.belief is not None
    if seen.belief.none >= NOTHING_WRONG:
        return Proposal("healthy")
    made = seen.repairs_made
    now = Appraisal(seen.problem, seen.belief, available_checks(seen, catalogue), seen.in_place, seen.taken, made)
    found = two_steps(now)
    if found is not None:
        return Proposal("check", found.id)
    return probability_over_cost(seen, catalogue)


TWO_STEPS = "two steps ahead"

POLICIES: dict[str, Policy] = {
    "the tool": propose,
    "authored order": authored_order,
    "probability over cost": probability_over_cost,
    TWO_STEPS: two_step,
}
"""Name in the table -> policy."""
