"""The case as faces show it: records put together from what is known and what is proposed."""

from __future__ import annotations

import math

from troubleshoot.case.assessing import Assessment
from troubleshoot.case.cautioning import cautions_due, cautions_of_repair, cautions_shown, new_here
from troubleshoot.case.contradicting import contradictions
from troubleshoot.case.doubting import doubt, long_search, unexplained
from troubleshoot.case.history import proof_of
from troubleshoot.case.proposing import (
    NOT_CLEARED,
    Proposal,
    inspection_items,
    measurable_proof,
    not_cleared,
)
from troubleshoot.case.trail import trail
from troubleshoot.case.view import (
    BandShown,
    CaseView,
    CauseShown,
    CheckShown,
    ChoiceShown,
    PairShown,
    ProofShown,
    RepairShown,
    Step,
)
from troubleshoot.knowledge.answers import (
    ReadingContext,
    System,
    band_in_words,
    id_words,
    in_shown_unit,
    limit_number,
    shown_uncertainty,
    shown_unit_of,
)
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.model import Check
from troubleshoot.reasoning.belief import Belief, Ranked

LIKELIHOOD_WORDS = (
    (0.95, "almost certain"),
    (0.80, "very likely"),
    (0.55, "likely"),
    (0.25, "possible"),
    (0.08, "less likely"),
    (0.02, "unlikely"),
    (0.0, "very unlikely"),
)
LEAST_PAIR = 0.05
FORM_FROM, FORM_TOLD = 0.25, 0.7
"""How far a cause has gone is said of one at least so probable, where one degree has at least that share of it."""
STOP_WORDS = (
    "Key off. No spark, no flame. Everyone away. Let it air. "
    "Air clear: battery off, find the leak, repair it. "
    "Look again under pressure, engine still, extinguisher at hand. "
    "Not found? NOT CLEARED: do not start it."
)
REFER_WORDS = (
    "What is listed here does not explain what was read. Hand the car on, with this record, to someone with more means."
)


def likelihood_words(probability: float) -> str:
    """Return a probability in words.

    >>> likelihood_words(0.97), likelihood_words(0.3)
    ('almost certain', 'possible')
    """
    return next(words for least, words in LIKELIHOOD_WORDS if probability >= least)


def view_of(
    case: str,
    seen: Assessment,
    proposal: Proposal,
    catalogue: Catalogue,
    reading_context: ReadingContext,
    extra: tuple[str, ...],
    now: float = 0.0,
) -> CaseView:
    """Return everything a face shows of a case."""
    state = seen.state
    lines = trail(seen, catalogue)
    known = [one for one in state.concerns if one in catalogue.concerns]
    doubt_words, doubt_check = doubt(seen, catalogue)
    put_right = _to_put_right(seen, catalogue)
    due = _caution_step(seen, catalogue, proposal, now)
    ahead = _step(seen, catalogue, proposal, reading_context, put_right)
    return CaseView(
        case=case,
        car=seen.car.title,
        concerns=state.concerns,
        concern_titles=tuple(catalogue.concerns[one].title for one in known),
        step=due or ahead,
        ranked=_ranked(seen, catalogue),
        pairs=_pairs(seen, catalogue),
        none=seen.belief.none if seen.belief else 0.0,
        none_words=_none_words(seen, catalogue),
        something_else=_something_else(seen),
        trail=lines,
        minutes=seen.minutes,
        readings=sum(1 for line in lines if line.kind == "reading"),
        doubt=doubt_words,
        doubt_check=doubt_check,
        notices=(
            *seen.notices,
            *contradictions(seen, catalogue),
            *unexplained(seen, catalogue),
            *long_search(seen),
            *extra,
        ),
        result=state.closed.result if state.closed else "",
        to_put_right=put_right,
        behind=ahead if due is not None else None,
        proof=_proof(seen, catalogue, proposal),
    )


def _none_words(seen: Assessment, catalogue: Catalogue) -> str:
    """Return what the share of no cause at all is called."""
    if not_cleared(seen, catalogue):
        return "not found, NOT CLEARED"
    return "nothing else" if seen.repaired else "nothing wrong"


def _proof(seen: Assessment, catalogue: Catalogue, proposal: Proposal) -> ProofShown | None:
    closed = seen.state.closed
    if closed is not None:
        causes = closed.causes if closed.result == "proved" else ()
    else:
        causes = (proposal.id,) if proposal.kind == "retest" and proposal.proved else ()
    if not causes:
        return None
    proof = measurable_proof(seen, catalogue, causes[0])
    return proof_of(seen, catalogue, causes[0], (proof, catalogue.checks[proof].ask) if proof else None)


def _something_else(seen: Assessment) -> float:
    other = seen.problem.something_else if seen.problem else None
    return seen.belief.probability(other) if seen.belief and other else 0.0


def _ranked(seen: Assessment, catalogue: Catalogue) -> tuple[CauseShown, ...]:
    if seen.belief is None or seen.problem is None:
        return ()
    return tuple(
        CauseShown(
            one.cause,
            catalogue.causes[one.cause].title,
            catalogue.causes[one.cause].term,
            one.probability,
            likelihood_words(one.probability) + _form_words(seen.belief, one),
            catalogue.causes[one.cause].happens,
        )
        for one in seen.belief.ranked()
        if one.cause != seen.problem.something_else and one.cause in catalogue.causes
    )


def _form_words(belief: Belief, ranked: Ranked) -> str:
    """Return how far a cause that may well be there has gone, where the readings tell: ", probably mild"."""
    if ranked.probability < FORM_FROM:
        return ""
    shares: dict[str, float] = {}
    forms = belief.problem.cause_named[ranked.cause].variants
    for form, share in zip(forms, belief.variants(ranked.cause), strict=True):
        shares[form.degree] = shares.get(form.degree, 0.0) + share
    told = next((degree for degree in ("mild", "gross") if shares.get(degree, 0.0) >= FORM_TOLD), "")
    return f", probably {told}" if told else ""


def _pairs(seen: Assessment, catalogue: Catalogue) -> tuple[PairShown, ...]:
    if seen.belief is None or seen.problem is None or seen.problem.most_at_once < 2:
        return ()
    found = seen.belief.pairs(3)
    return tuple(
        PairShown((_title(catalogue, first), _title(catalogue, second)), (first, second), probability)
        for first, second, probability in found
        if probability >= LEAST_PAIR
    )


def _title(catalogue: Catalogue, cause: str) -> str:
    return catalogue.causes[cause].title if cause in catalogue.causes else "Something not listed here"


def _to_put_right(seen: Assessment, catalogue: Catalogue) -> tuple[str, ...]:
    found: dict[str, str] = {}
    for concern in seen.state.concerns:
        known = catalogue.concerns.get(concern)
        if known is None or known.kind != "inspection":
            continue
        for item in inspection_items(known, seen, catalogue):
            read = seen.latest.get(item)
            if read is not None and read.normal is False:
                shown = read.words if read.value is None else f"{read.shown}, {read.words}"
                found[item] = f"{catalogue.checks[item].ask}: {shown}"
            elif item in seen.skipped:
                found[item] = f"{catalogue.checks[item].ask}: not looked at ({seen.skipped[item] or 'no reason given'})"
    return tuple(found.values())


def _caution_step(seen: Assessment, catalogue: Catalogue, proposal: Proposal, now: float) -> Step | None:
    due = cautions_due(seen, catalogue, proposal, now)
    if due is None:
        return None
    words = "The engine will turn." if due.running else ""
    return Step("caution", words, caution=due.cautions[0], cautions=due.cautions)


def _step(
    seen: Assessment, catalogue: Catalogue, proposal: Proposal, context: ReadingContext, put_right: tuple[str, ...]
) -> Step:
    if proposal.kind == "check":
        return Step("check", proposal.why, check=check_shown(seen, catalogue, proposal, context))
    if proposal.kind == "repair":
        return Step("repair", proposal.why, repair=repair_shown(seen, catalogue, proposal.id, proposal.why))
    if proposal.kind == "retest":
        return _retest_step(seen, catalogue, proposal)
    return Step(proposal.kind, _end_words(seen, catalogue, proposal, put_right))


def _retest_step(seen: Assessment, catalogue: Catalogue, proposal: Proposal) -> Step:
    repair = repair_shown(seen, catalogue, proposal.id, "") if proposal.id in catalogue.causes else None
    proof = measurable_proof(seen, catalogue, proposal.id)
    measure = (proof, catalogue.checks[proof].ask) if proof else None
    if proposal.proved:
        words = "The concern is gone. Close the case as proved, or go on looking."
        return Step("retest", words, repair=repair, proved=True, measure=measure)
    shows = f" What proves it: {repair.proof}" if repair else ""
    words = f"Try the car the way the concern shows.{shows} Is the concern still there?"
    return Step("retest", words, repair=repair, measure=measure)


def _end_words(seen: Assessment, catalogue: Catalogue, proposal: Proposal, put_right: tuple[str, ...]) -> str:
    if proposal.kind == "stop":
        return STOP_WORDS
    if proposal.kind == "refer":
        return NOT_CLEARED if proposal.why == NOT_CLEARED else REFER_WORDS
    if proposal.kind == "concern":
        return "What does the customer say?"
    if proposal.kind == "closed":
        closed = seen.state.closed
        if closed is None or closed.result != "proved":
            if closed is not None and not_cleared(seen, catalogue):
                return f"Closed. {NOT_CLEARED}"
            return "Closed: handed on." if closed and closed.result == "referred" else "Closed."
        titles = [catalogue.causes[cause].title for cause in closed.causes if cause in catalogue.causes]
        return "Closed: proved by a clean retest." + (f" It was: {'; '.join(titles)}." if titles else "")
    if proposal.by == "inspection" and put_right:
        things = "one thing" if len(put_right) == 1 else f"{len(put_right)} things"
        return f"The inspection is finished, with {things} to put right."
    if proposal.by == "inspection":
        return "The inspection is finished: nothing to put right."
    return "Nothing wrong was found. If the concern comes back, note when, and open the case again."


def check_shown(seen: Assessment, catalogue: Catalogue, proposal: Proposal, context: ReadingContext) -> CheckShown:
    """Return a check to do now, its numbers in the units the person reads."""
    check = catalogue.checks[proposal.id]
    system = context.system
    setup = catalogue.setups.get(check.setup) if check.setup else None
    in_place = check.setup in seen.in_place if check.setup else False
    return CheckShown(
        id=proposal.id,
        ask=check.ask,
        term=check.term,
        why=check.why,
        do=tuple(check.do),
        drawing=check.drawing,
        state=check.state,
        tools=tuple(catalogue.tools[one].words if one in catalogue.tools else one for one in check.tools),
        setup=setup.words if setup else "",
        setup_in_place=in_place,
        minutes=check.minutes,
        setup_minutes=0.0 if in_place or setup is None else setup.minutes,
        cautions=cautions_shown(catalogue, check.cautions, seen.car),
        new_here=new_here(seen, catalogue, check),
        unit=shown_unit_of(check, system),
        plausible=_plausible(check, system),
        uncertainty=shown_uncertainty(check, system) or None,
        bands=bands_shown(check, context),
        choices=_choices(check),
        basis=check.basis,
        cannot=check.cannot,
        reason=proposal.why,
        proposed_by=proposal.by,
        place=proposal.place,
    )


def _choices(check: Check) -> tuple[ChoiceShown, ...]:
    if check.kind.measured:
        return ()
    return tuple(ChoiceShown(outcome, words, outcome == check.normal) for outcome, words in check.named_outcomes)


def _plausible(check: Check, system: System | None) -> tuple[float, float] | None:
    if check.reading is None:
        return None
    low, high = (in_shown_unit(check, value, system) for value in check.reading.plausible)
    return (min(low, high), max(low, high))


def bands_shown(check: Check, context: ReadingContext, beside: float | None = None) -> tuple[BandShown, ...]:
    """Return the bands that a reading of a check can lie in, in the unit shown; `beside` is one in the check's unit."""

    system = context.system

    def limit(value: float) -> float | None:
        return None if math.isinf(value) else in_shown_unit(check, value, system)

    return tuple(
        BandShown(
            one.outcome, one.words or id_words(one.outcome), limit(one.low), limit(one.high), one.normal, one.why,
            band_in_words(one, check, system, beside),
            "" if math.isinf(one.low) else limit_number(check, one.low, system, beside),
        )
        for one in context.bands(check)
    )  # fmt: skip


def repair_shown(seen: Assessment, catalogue: Catalogue, cause: str, why: str) -> RepairShown:
    """Return a repair to make now, with the retest that proves it."""
    known = catalogue.causes[cause]
    return RepairShown(
        cause=cause,
        title=known.title,
        term=known.term,
        happens=known.happens,
        do=tuple(known.repair.do),
        minutes=known.repair.minutes,
        parts=known.repair.parts,
        cautions=cautions_shown(catalogue, cautions_of_repair(catalogue, cause), seen.car),
        proof=known.proof.words,
        reason=why,
    )
