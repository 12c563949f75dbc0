"""What may still be looked at before a repair: nothing once a check has shown the place, else what tells two apart."""

from __future__ import annotations

from collections.abc import Collection

import numpy as np

from troubleshoot.case.assessing import Assessment
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.reasoning.appraising import check_cost
from troubleshoot.reasoning.belief import Belief, chance_it_ends
from troubleshoot.reasoning.problem import Problem
from troubleshoot.reasoning.repair_cost import expected_repair_cost
from troubleshoot.reasoning.states import Floats

CLEAR = 0.7
"""A repair that the tree or a check leads to is proposed when what it puts right is at least this probable ..."""

ENDS = 0.5
"""... if it is also at least this probable that it ends all that was complained of.

On 400 pairs of faults kept for work on the trees both then stand in the first four at the first repair in 51 %, without
it in 38 % (78 and 58 % where each fault can be heard), for 3 % more minutes; with one fault it takes 3 % more as well.
"""

NOT_TO_BE_HURRIED = ("held speed", "under load")
"""Engine states that no short check is worth going to."""

SHORT = 5.0
"""Minutes, set-up and parts included, of a check that comes before anything is taken apart."""

SECOND = 0.1
"""A cause under this is no second one that has to be told from the first."""

LEADING = 12
"""So many of the leading causes a check is to tell apart while the belief is flat."""

LEAST_NATS = 1e-3
"""Below this uncertainty nothing is left to tell apart."""

TELLS_APART = 0.5
"""Half the sum of the differences between what two causes do to a check; with less it does not tell them apart."""


def clear(belief: Belief, cause: str) -> bool:
    """Return whether its repair is probably needed, and likely to end all that was complained of."""
    repair = belief.problem.cause_named[cause].repair
    if repair is None or belief.chance_of(repair) < CLEAR:
        return False
    return chance_it_ends(belief, repair) >= ENDS


def shown_place(seen: Assessment, catalogue: Catalogue, belief: Belief) -> str:
    """Return the cause whose own proving check was found bad, where its repair is likely enough; else nothing.

    Where it is has been seen, so nothing dearer need be made first.
    """
    for cause in belief.ranked(3):
        known = catalogue.causes.get(cause.cause)
        if known is None or cause.cause in seen.repaired or known.proof.check not in seen.taken:
            continue
        read = seen.latest.get(known.proof.check or "")
        if read is not None and read.normal is False and clear(belief, cause.cause):
            return cause.cause
    return ""


def look_first(
    seen: Assessment, catalogue: Catalogue, belief: Belief, cause: str, available: Collection[str]
) -> tuple[str, str]:
    """Return a check that comes before a repair of this cause, or before a referral where it is empty, and why."""
    telling = telling_check(seen, belief, belief.problem.cause_named[cause].repair if cause else None, available)
    if telling:
        return telling, "No repair is clear yet; this tells most about the leading causes for its minutes."
    look, rival = short_check_first(seen, catalogue, belief, cause, available) if cause else ("", "")
    if not look:
        return "", ""
    one, other = (catalogue.causes[name].title for name in (cause, rival))
    return look, f"It is short and tells “{one}” from “{other}” before anything is taken apart."


def short_check_first(
    seen: Assessment, catalogue: Catalogue, belief: Belief, cause: str, available: Collection[str]
) -> tuple[str, str]:
    """Return a short check that tells the cause about to be repaired from its likeliest rival, and the rival.

    Nothing where no part is taken off, where no other repair has a likely cause, or where no such check is open.
    """
    problem = belief.problem
    repair = problem.cause_named[cause].repair
    work = catalogue.causes[cause].repair if cause in catalogue.causes else None
    if work is None or (work.parts <= 0.0 and work.minutes <= SHORT):
        return "", ""
    rivals = [one for one in belief.ranked(4) if problem.cause_named[one.cause].repair not in (repair, None)]
    if not rivals or rivals[0].probability < SECOND:
        return "", ""
    rival = rivals[0].cause
    found = [
        (apart, -check_cost(problem, problem.check_named[name], seen.in_place), name)
        for name in sorted(available)
        if check_cost(problem, problem.check_named[name], seen.in_place) <= SHORT
        and catalogue.checks[name].state not in NOT_TO_BE_HURRIED
        and (apart := _apart(problem, belief, name, cause, rival)) >= TELLS_APART
    ]
    return (max(found)[2], rival) if found else ("", "")


def telling_check(seen: Assessment, belief: Belief, repair: str | None, available: Collection[str]) -> str:
    """Return the check that tells most about the leading causes for its minutes, while no repair is clear; or nothing.

    One check ahead a flat belief looks hopeless: no single answer saves more than it takes, though several would. So
    what is learnt is priced evenly: of what is still to be paid, the share of the uncertainty that a check takes away.
    """
    problem = belief.problem
    if repair is not None and belief.chance_of(repair) >= CLEAR:
        return ""
    leading = [(one.cause, one.probability) for one in belief.ranked(LEADING) if one.cause not in seen.repaired]
    shares = np.array([probability for _, probability in leading])
    shares /= max(shares.sum(), LEAST_NATS)
    unsure = _nats(shares)
    if unsure < LEAST_NATS:
        return ""
    price = expected_repair_cost(problem, belief, seen.repairs_made) / unsure
    best, most = "", 0.0
    for name in sorted(available):
        check = problem.check_named[name]
        if not any(cause in check.moved_by for cause, _ in leading):
            continue
        answers = np.array([_answers(belief, name, cause) for cause, _ in leading])
        learnt = _nats(shares @ answers) - float(shares @ [_nats(one) for one in answers])
        worth = price * learnt - check_cost(problem, check, seen.in_place)
        if worth > most:
            best, most = name, worth
    return best


def _nats(shares: Floats) -> float:
    """Return the entropy of a distribution, in nats."""
    some = shares[shares > 0.0]
    return float(-(some * np.log(some)).sum())


def _apart(problem: Problem, belief: Belief, check: str, one: str, other: str) -> float:
    """Return from 0 to 1 how differently a check answers with one cause and with another."""
    moved_by = problem.check_named[check].moved_by
    if one not in moved_by and other not in moved_by:
        return 0.0
    return float(0.5 * np.abs(_answers(belief, check, one) - _answers(belief, check, other)).sum())


def _answers(belief: Belief, check: str, cause: str) -> Floats:
    """Return the distribution of a check's outcomes with one cause, its forms as likely as they are now."""
    known = belief.problem.check_named[check]
    usual = np.array(known.usual)
    forms = belief.problem.cause_named[cause].variants
    if cause not in known.moved_by:
        return usual
    shares = np.array(belief.variants(cause))
    each = [usual if one is None else np.array(one) for one in known.by_variant(cause, len(forms))]
    answers: Floats = shares @ np.array(each)
    return answers
