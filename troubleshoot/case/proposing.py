"""What to do next: the tree's own step while it is worth its minutes, else the best check, a repair or a referral."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from troubleshoot.case.assessing import Assessment, leak_may_be_it
from troubleshoot.case.available import available_checks, concerns_named, missing_for
from troubleshoot.case.before_repair import clear, look_first, shown_place
from troubleshoot.case.doubting import doubt, to_take_again
from troubleshoot.case.events import (
    Aside,
    CheckChosen,
    CheckSkipped,
    LeakRepaired,
    ReadingTaken,
    RepairMade,
    Retested,
)
from troubleshoot.case.happened import LEAK_CAUSE
from troubleshoot.case.view import StepKind
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.compiling import fits
from troubleshoot.knowledge.model import Check, Concern
from troubleshoot.reasoning.belief import Belief
from troubleshoot.reasoning.problem import Problem
from troubleshoot.reasoning.worth import NOTHING_WRONG, Appraisal, CheckWorth, NextStep, step_from

By = Literal["tree", "worth", "person", "inspection"]

TREE_KEEPS = 0.2
"""The tree's step is followed while it is worth at least this share of the best check's worth.

On 91 cases of the closed-loop proof 0.2 and 0.5 come to 193 and 196 minutes (money counted): the order
that a practitioner knows costs nothing, so it is left only where something is worth five times as much.
"""

TINY = 2.0
"""Minutes; when the best check saves no more than this, the tree's order is as good as any."""

EXPOSURE = ("key off", "key on", "after stop", "cranking", "cold start", "idle", "held speed", "under load")
"""Engine states in the order of what they expose a person to, the least first."""

OPENS_FUEL = "fuel-vapour"
"""The caution of a check that meets open fuel."""

LEADS = 0.5
"""While the leading cause is less probable than this, the tree is walked on before any repair is proposed."""

NOT_CLEARED = (
    "NOT CLEARED. No leak was found, and that is no proof that there is none. Do not start it and do not turn the key:"
    " have the lines pressure-tested, engine off, by someone equipped for it."
)
"""How a danger ends that nobody found: never in the words that nothing is wrong."""


@dataclass(frozen=True)
class Proposal:
    """What to do next: `id` is a check, a cause, or empty; `over` is the tree's check that was passed over."""

    kind: StepKind
    id: str = ""
    why: str = ""
    by: By = "worth"
    place: str = ""
    over: str = ""
    proved: bool = False


def propose(seen: Assessment, catalogue: Catalogue) -> Proposal:
    """Return the next step of a case, cautions left aside."""
    state = seen.state
    if state.closed is not None:
        return Proposal("closed")
    if state.smelt:
        return Proposal("stop")
    if seen.problem is None or seen.belief is None:
        return Proposal("concern")
    if state.chosen is not None and state.chosen in catalogue.checks:
        return Proposal("check", state.chosen, "You chose this check.", "person")
    waiting = _retest(seen, catalogue)
    if waiting is not None:
        return waiting
    item = _inspection(seen, catalogue)
    if item is not None:
        return _danger(seen, catalogue) or item
    if _only_inspections(seen, catalogue):
        return Proposal("healthy", by="inspection")
    end = _decide(seen, catalogue, seen.problem, seen.belief)
    return _never_cleared(seen, catalogue, _doubt_first(seen, catalogue, end))


def _doubt_first(seen: Assessment, catalogue: Catalogue, end: Proposal) -> Proposal:
    """Return the proposal, but a reading that is worth taking again comes before a repair and before giving up."""
    if end.kind not in ("repair", "refer"):
        return end
    again = to_take_again(seen)
    if not again or again not in catalogue.checks or missing_for(seen, catalogue, again):
        return end
    return Proposal("check", again, doubt(seen, catalogue)[0], "worth")


def _never_cleared(seen: Assessment, catalogue: Catalogue, end: Proposal) -> Proposal:
    """Return the proposal, but a danger that ends with nothing found says that the car is not cleared."""
    danger = any(concern.stops for concern in concerns_named(seen, catalogue))
    return Proposal("refer", why=NOT_CLEARED) if danger and end.kind in ("healthy", "refer") else end


def not_cleared(seen: Assessment, catalogue: Catalogue) -> bool:
    """Return whether a danger was named or met in this case and no repair of it has been proved."""
    return seen.state.smelt or any(concern.stops for concern in concerns_named(seen, catalogue))


def same_question(one: Assessment, other: Assessment) -> bool:
    """Return whether two moments of a case ask for the same proposal: only cautions or notes lie between them."""
    work = [[done for done in each.state.done if not isinstance(done.event, Aside)] for each in (one, other)]
    return one.problem is other.problem and work[0] == work[1]


def worths(seen: Assessment, available: Iterable[str], least: float = 0.0) -> tuple[CheckWorth, ...]:
    """Return what each of these checks is worth now, best first; what cannot save `least` minutes saves none."""
    if seen.problem is None or seen.belief is None:
        return ()
    made = seen.repairs_made
    return Appraisal(seen.problem, seen.belief, frozenset(available), seen.in_place, seen.taken, made).all(least)


def _retest(seen: Assessment, catalogue: Catalogue) -> Proposal | None:
    """Return the retest that a repair still waits for, or the close that a clean retest offers.

    The measurement that proves the repair belongs to the retest; while it finds the fault again, nothing is proved.
    """
    leak = leak_may_be_it(seen.problem)
    measured: set[str] = set()
    for one in reversed(seen.state.done):
        event = one.event
        if isinstance(event, Aside | CheckChosen):
            continue
        if isinstance(event, ReadingTaken | CheckSkipped):
            measured.add(event.check)
            continue
        if isinstance(event, RepairMade) and measured <= _proof_of(event.cause, catalogue):
            return Proposal("retest", event.cause)
        if isinstance(event, LeakRepaired) and leak and not measured:
            return Proposal("retest", LEAK_CAUSE)
        if isinstance(event, Retested) and event.result == "gone":
            cause = seen.repaired[-1] if seen.repaired else ""
            proof = _proof_of(cause, catalogue)
            good = measured <= proof and not _found_again(seen, proof)
            return Proposal("retest", cause, proved=True) if good else None
        return None
    return None


def _found_again(seen: Assessment, proof: frozenset[str]) -> bool:
    """Return whether the newest measurement of the proof since the last repair, ahead of the retest too, is bad."""
    for one in reversed(seen.state.done):
        if isinstance(one.event, RepairMade | LeakRepaired):
            return False
        if isinstance(one.event, ReadingTaken) and one.event.check in proof and one.index in seen.understood:
            return seen.understood[one.index].normal is False
    return False


def _proof_of(cause: str, catalogue: Catalogue) -> frozenset[str]:
    """Return the check that proves a cause repaired, where it names one."""
    known = catalogue.causes.get(cause)
    return frozenset({known.proof.check} if known is not None and known.proof.check else ())


def measurable_proof(seen: Assessment, catalogue: Catalogue, cause: str) -> str:
    """Return the check that would prove a repair by measurement and can be made now, or nothing."""
    for name in _proof_of(cause, catalogue):
        known = catalogue.checks.get(name)
        open_to_do = known is not None and fits(seen.car, known.for_) and name not in seen.taken | seen.skipped.keys()
        if open_to_do and not missing_for(seen, catalogue, name):
            return name
    return ""


def _inspection(seen: Assessment, catalogue: Catalogue) -> Proposal | None:
    """Return the next item of an inspection: every item in order, whatever the odds."""
    for concern in concerns_named(seen, catalogue):
        if concern.kind != "inspection":
            continue
        items = inspection_items(concern, seen, catalogue)
        for place, item in enumerate(items, start=1):
            if item not in seen.latest and item not in seen.skipped:
                return Proposal("check", item, concern.title, "inspection", f"{place} of {len(items)}")
    return None


def _danger(seen: Assessment, catalogue: Catalogue) -> Proposal | None:
    """Return the next check of a concern that is a danger: an inspection waits for it."""
    available = available_checks(seen, catalogue)
    dangers = [concern for concern in concerns_named(seen, catalogue) if concern.stops]
    steps = [step for concern in dangers if (step := _walk_tree(concern, seen, catalogue, available))]
    return next((step for step in steps if step.kind == "check"), None)


def inspection_items(concern: Concern, seen: Assessment, catalogue: Catalogue) -> list[str]:
    """Return the items of an inspection that this car has."""
    return [item for item in concern.items if item in catalogue.checks and fits(seen.car, catalogue.checks[item].for_)]


def _only_inspections(seen: Assessment, catalogue: Catalogue) -> bool:
    concerns = concerns_named(seen, catalogue)
    return bool(concerns) and all(concern.kind == "inspection" for concern in concerns)


def _decide(seen: Assessment, catalogue: Catalogue, problem: Problem, belief: Belief) -> Proposal:
    """Weigh what comes next; before a repair whose place has not been shown comes what tells it from its rival."""
    danger = any(concern.stops for concern in concerns_named(seen, catalogue))
    shown = "" if danger else shown_place(seen, catalogue, belief)
    if shown:
        return Proposal("repair", shown, "A check has shown the place.")
    available = available_checks(seen, catalogue)
    end = _weighed(seen, catalogue, problem, belief, available)
    if danger or end.kind not in ("repair", "refer"):
        return end
    look, why = look_first(seen, catalogue, belief, end.id, available)
    return Proposal("check", look, why) if look else end


def _weighed(
    seen: Assessment, catalogue: Catalogue, problem: Problem, belief: Belief, available: frozenset[str]
) -> Proposal:
    """Weigh the tree's step, the best check, the repair and the referral against each other."""
    tree = _tree_step(seen, catalogue, available)
    if tree and tree.kind == "repair" and clear(belief, tree.id):
        return tree
    tree_check = tree if tree and tree.kind == "check" else None
    asked = tree_check.id if tree_check else None
    now = Appraisal(problem, belief, available, seen.in_place, seen.taken, seen.repairs_made, asked)
    found = step_from(now)
    if found.kind == "check":
        return _check(seen, catalogue, now, found, tree_check)
    if found.kind == "done":
        if tree_check and belief.none < NOTHING_WRONG:
            return tree_check
        if _still_there(seen):
            return Proposal("refer", why="The concern is still there, and no listed cause is left that explains it.")
        return Proposal("healthy", why=found.why)
    return _end(seen, problem, belief, found, tree)


def _check(seen: Assessment, catalogue: Catalogue, now: Appraisal, found: NextStep, tree: Proposal | None) -> Proposal:
    """Choose between the best check and the tree's.

    The tree's first step stands, and so does its next one once a cause leads: nobody goes after the rare cause while
    the likely two are not told apart (120 cases of the proof come out the same). All of its steps stand where the
    concern is a danger, and none gives way to more exposure.
    """
    if tree is not None and any(concern.stops for concern in concerns_named(seen, catalogue)):
        return tree
    if tree is None or tree.id == found.id:
        return Proposal("check", found.id, found.why, "tree" if tree else "worth", tree.place if tree else "")
    value, tree_value = now.of(found.id), now.of(tree.id)
    best = max(value.worth, 0.0) if value else 0.0
    if best <= TINY or (tree_value and tree_value.worth >= TREE_KEEPS * best):
        return tree
    leads = seen.belief is not None and seen.belief.leader.probability >= LEADS
    if not seen.taken or leads or _exposes_more(catalogue.checks[found.id], catalogue.checks[tree.id]):
        return tree
    passed = catalogue.checks[tree.id].ask
    stop = "" if passed.endswith("?") else "."
    return Proposal(
        "check", found.id, f"{found.why} The tree would look next at: {passed}{stop}", "worth", over=tree.id
    )


def _exposes_more(check: Check, than: Check) -> bool:
    """Return whether a check exposes a person to more than another: a more dangerous engine state, or open fuel."""
    if OPENS_FUEL in check.cautions and OPENS_FUEL not in than.cautions:
        return True
    return EXPOSURE.index(check.state) > EXPOSURE.index(than.state)


def _end(seen: Assessment, problem: Problem, belief: Belief, found: NextStep, tree: Proposal | None) -> Proposal:
    """Choose between repair and referral once no check is worth its minutes."""
    leader = belief.leader
    if tree and tree.kind == "check" and leader.probability < LEADS:
        return tree
    if tree and tree.kind == "repair" and belief.probability(tree.id) >= LEADS:
        return tree
    if found.kind == "refer" or leader.cause == problem.something_else:
        return Proposal("refer", why=found.why)
    causes = [cause.id for cause in problem.causes if cause.repair == found.id and cause.id not in seen.repaired]
    cause = max(causes, key=belief.probability, default="")
    if not cause:
        return Proposal("refer", why=found.why)
    return Proposal("repair", cause, found.why)


def _still_there(seen: Assessment) -> bool:
    """Return whether the newest retest found the concern again, so that nobody may be told that nothing is wrong."""
    results = [one.event.result for one in seen.state.done if isinstance(one.event, Retested)]
    return bool(results) and results[-1] != "gone"


def _tree_step(seen: Assessment, catalogue: Catalogue, available: frozenset[str]) -> Proposal | None:
    """Return where the trees of the concerns stand: a repair one of them is clear about, a check, or any repair."""
    ends = [
        end for concern in concerns_named(seen, catalogue) if (end := _walk_tree(concern, seen, catalogue, available))
    ]
    repairs = [end for end in ends if end.kind == "repair"]
    likely = [end for end in repairs if seen.belief is not None and clear(seen.belief, end.id)]
    checks = [end for end in ends if end.kind == "check"]
    return next(iter([*likely, *checks, *repairs]), None)


def _walk_tree(concern: Concern, seen: Assessment, catalogue: Catalogue, available: frozenset[str]) -> Proposal | None:
    """Walk from answer to answer; a check that cannot be done is passed as if it had found nothing."""
    name = next(iter(concern.steps), None)
    for _ in range(len(concern.steps)):
        step = concern.steps.get(name) if name else None
        if step is None:
            return None
        if step.repair is not None:
            known = seen.problem is not None and step.repair in seen.problem.cause_named
            if not known or step.repair in seen.repaired:
                return None
            return Proposal("repair", step.repair, "The checks lead here.", "tree", str(name))
        if step.check is None:
            return None
        read = seen.latest.get(step.check)
        passed = catalogue.checks.get(step.check)
        if read is None and step.check in available and not (passed and gone_past(concern, step.check, passed, seen)):
            return Proposal("check", step.check, "The tree looks here next.", "tree", str(name))
        sound = passed.normal if passed else None
        name = step.next.get(read.outcome if read else sound or "")
    return None


def gone_past(concern: Concern, identifier: str, check: Check, seen: Assessment) -> bool:
    """Return whether a tree's opening look was left behind: something further on has been read already.

    Whoever begins with the gauge is not sent back to look at the fuses; a danger's first look is never passed.
    """
    first = next(iter(concern.steps.values())).check
    opening = identifier == first and not check.kind.measured and check.state == "key off" and not concern.stops
    return opening and any(step.check in seen.taken for step in concern.steps.values() if step.check)
