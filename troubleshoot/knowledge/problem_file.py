"""Read a self-contained problem file, or say everything that is wrong with it and where."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from troubleshoot.knowledge.findings import Finding, in_order, nearest
from troubleshoot.knowledge.forms import fit
from troubleshoot.knowledge.frequencies import FrequencyRefused, frequency
from troubleshoot.knowledge.loading import Document, YamlPath, read_document
from troubleshoot.knowledge.model import Frequency, Step
from troubleshoot.knowledge.problem_form import FileCause, FileCheck, FileEnding, FileRepair, ProblemForm
from troubleshoot.problems import TroubleshootError
from troubleshoot.reasoning.problem import Cause, Check, Ending, Problem, Repair, Setup
from troubleshoot.reasoning.refusing import SUM_TOLERANCE, ProblemRefused

REPAIR_NAME = "repair-{}"
"""The id of the repair that a cause with minutes of its own is given."""


class ProblemFileRefused(TroubleshootError):
    """A problem file that cannot be used; the sentence has one line for each fault, with its place."""

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        self.findings = findings
        super().__init__("\n".join(str(finding) for finding in findings), "")


@dataclass(frozen=True)
class ProblemFromFile:
    """A problem as read: the problem itself, its words by id, the written steps, and the answers it must have."""

    form: ProblemForm
    problem: Problem
    words: Mapping[str, str]
    notices: tuple[Finding, ...]

    @property
    def steps(self) -> dict[str, Step]:
        """The steps a practitioner wrote, by name."""
        return self.form.steps


def read_problem(path: Path) -> ProblemFromFile:
    """Read a problem file; ProblemFileRefused names every fault with line and column."""
    document = read_document(path)
    form = fit(document.value, ProblemForm, document) if not document.findings else None
    if form is None:
        raise ProblemFileRefused(in_order(document.findings))
    _Reading(form, document).look()
    errors = [finding for finding in document.findings if finding.level == "error"]
    if errors:
        raise ProblemFileRefused(in_order(errors))
    try:
        problem = _problem(form)
    except ProblemRefused as refusal:
        fault = document.finding((), refusal.sentence, refusal.advice, "problem")
        raise ProblemFileRefused((fault,)) from None
    return ProblemFromFile(form, problem, _words(form), in_order(document.findings))


class _Reading:
    """Looks for what a form alone cannot see: names that lead nowhere, sums that are not 1, what nothing moves."""

    def __init__(self, form: ProblemForm, document: Document) -> None:
        self.form = form
        self.document = document

    def look(self) -> None:
        """Add every finding to the document."""
        self.frequency(("reported-anyway",), self.form.reported_anyway)
        for name, cause in self.form.causes.items():
            self.cause(name, cause)
        for name, check in self.form.checks.items():
            self.check(name, check)
        for name, repair in self.form.repairs.items():
            self.repair(name, repair)
        if isinstance(self.form.referral, FileEnding):
            self.adds(("referral",), self.form.referral)
        for name, ending in self.form.stops.items():
            self.adds(("stops", name), ending)
        for name, step in self.form.steps.items():
            self.step(name, step)
        for name, setup in self.form.setups.items():
            for other in setup.undone_by:
                self.known(("setups", name, "undone-by"), other, self.form.setups, "set-up")
        self.sums()

    def cause(self, name: str, cause: FileCause) -> None:
        """Look at one cause."""
        where: YamlPath = ("causes", name)
        self.frequency((*where, "shows"), cause.shows)
        if isinstance(cause.repair, str):
            self.known((*where, "repair"), cause.repair, self.form.repairs, "repair")
            cures = self.form.repairs[cause.repair].cures if cause.repair in self.form.repairs else {name: 1.0}
            if name not in cures:
                self.blame(
                    (*where, "repair"),
                    f"{cause.repair} does not cure {name}",
                    "list the cause under its cures",
                    "does-not-cure",
                )
        cured = any(name in repair.cures for repair in self.form.repairs.values())
        if cause.repair is None and not cured and _referral(self.form).minutes <= 0.0 and not self.form.stops:
            self.blame(
                where, f"nothing repairs {name}", "give it a repair, or give a referral its minutes", "no-repair"
            )
        if not self.form.exactly_one and cause.prior >= 1.0:
            self.blame((*where, "prior"), "a prior of 1 leaves nothing to find", "write a number below 1", "sure-cause")
        if self.form.checks and not any(name in check.moved_by for check in self.form.checks.values()):
            what, advice = f"no check can move {name}", "add it to the moved-by of a check, if one would tell"
            self.notice(where, what, advice, "no-check-moves")

    def check(self, name: str, check: FileCheck) -> None:
        """Look at one check."""
        where: YamlPath = ("checks", name)
        if check.normal is not None:
            self.known((*where, "normal"), check.normal, check.outcomes, "outcome")
        if check.setup is not None:
            self.known((*where, "setup"), check.setup, self.form.setups, "set-up")
        if not check.moved_by:
            self.notice(where, f"no cause moves {name}", "add moved-by, or leave the check out", "moves-nothing")
        if check.usual:
            self.shares((*where, "usual"), check, check.usual)
        for cause, signature in check.moved_by.items():
            self.known((*where, "moved-by", cause), cause, self.form.causes, "cause")
            if isinstance(signature, str):
                self.known((*where, "moved-by", cause), signature, check.outcomes, "outcome")
            else:
                self.shares((*where, "moved-by", cause), check, signature)

    def shares(self, where: YamlPath, check: FileCheck, named: Mapping[str, Frequency]) -> None:
        """Look at a distribution over a check's outcomes."""
        good = True
        for outcome, value in named.items():
            self.known((*where, outcome), outcome, check.outcomes, "outcome")
            good = self.frequency((*where, outcome), value) and good
        total = math.fsum(frequency(value) for value in named.values()) if good else 1.0
        if total > 1.0 + SUM_TOLERANCE:
            self.blame(where, f"the outcomes sum to {total:.9g}", "they must not sum to more than 1", "sum")
        elif total < 1.0 - SUM_TOLERANCE and not _takers(check, named):
            self.blame(where, f"the outcomes sum to {total:.9g}", "they must sum to 1", "sum")

    def repair(self, name: str, repair: FileRepair) -> None:
        """Look at one repair."""
        where: YamlPath = ("repairs", name)
        for cause, takes in repair.cures.items():
            self.known((*where, "cures", cause), cause, self.form.causes, "cause")
            self.frequency((*where, "cures", cause), takes)
        if not repair.cures:
            self.blame(where, f"{name} cures nothing", "list the causes it cures, or leave it out", "cures-nothing")
        for setup in repair.undoes:
            self.known((*where, "undoes"), setup, self.form.setups, "set-up")
        self.adds(where, repair)

    def adds(self, where: YamlPath, costs: FileRepair | FileEnding) -> None:
        """Look at what causes make something dearer."""
        for cause in costs.with_:
            self.known((*where, "with", cause), cause, self.form.causes, "cause")

    def step(self, name: str, step: Step) -> None:
        """Look at one written step."""
        where: YamlPath = ("steps", name)
        if step.check is not None:
            self.known((*where, "check"), step.check, self.form.checks, "check")
        if step.repair is not None:
            self.known((*where, "repair"), step.repair, _repair_ids(self.form), "repair")
        for outcome, after in step.next.items():
            self.known((*where, "next", outcome), after, self.form.steps, "step")
            if step.check in self.form.checks:
                self.known((*where, "next", outcome), outcome, self.form.checks[step.check].outcomes, "outcome")

    def sums(self) -> None:
        """Look at the priors of a single fault, which must sum to 1."""
        total = math.fsum(cause.prior for cause in self.form.causes.values())
        if self.form.exactly_one and abs(total - 1.0) > SUM_TOLERANCE:
            self.blame(("causes",), f"the priors sum to {total:.9g}", "with exactly-one they must sum to 1", "sum")

    def frequency(self, where: YamlPath, value: Frequency) -> bool:
        """Look at a frequency; whether it is one."""
        try:
            frequency(value)
        except FrequencyRefused as refusal:
            self.blame(where, refusal.sentence, refusal.advice, "frequency")
            return False
        return True

    def known(self, where: YamlPath, name: str, among: Mapping[str, object] | list[str], what: str) -> None:
        """Look whether a name is one of those listed."""
        if name not in among:
            self.blame(where, f"there is no {what} {name}{nearest(name, among)}", f"use a listed {what}", "unknown-id")

    def blame(self, where: YamlPath, what: str, advice: str, code: str) -> None:
        """Add an error."""
        self.document.blame(where, what, advice, code)

    def notice(self, where: YamlPath, what: str, advice: str, code: str) -> None:
        """Add something worth knowing that does not fail the file."""
        line, column = self.document.place(where)
        self.document.findings.append(Finding(self.document.name, line, column, what, advice, code, "notice"))


def _takers(check: FileCheck, named: Mapping[str, Frequency]) -> list[str]:
    """The outcomes that take what a distribution leaves over."""
    if check.normal is not None and check.normal not in named:
        return [check.normal]
    return [outcome for outcome in check.outcomes if outcome not in named]


def _repair_ids(form: ProblemForm) -> dict[str, object]:
    own = {REPAIR_NAME.format(name): cause for name, cause in form.causes.items() if isinstance(cause.repair, float)}
    return {**form.repairs, **own}


def _problem(form: ProblemForm) -> Problem:
    repairs = [_repair(name, repair) for name, repair in form.repairs.items()]
    causes = []
    for name, cause in form.causes.items():
        own = cause.repair if isinstance(cause.repair, str) else None
        if isinstance(cause.repair, float):
            own = REPAIR_NAME.format(name)
            repairs.append(Repair(own, cause.repair, 0.0, {name: 1.0}))
        causes.append(Cause(name, cause.prior, (frequency(cause.shows),), own))
    return Problem(
        causes=tuple(causes),
        checks=tuple(_check(name, check) for name, check in form.checks.items()),
        repairs=tuple(repairs),
        concerns=("concern",),
        leak=(frequency(form.reported_anyway),),
        setups=tuple(Setup(name, setup.minutes, frozenset(setup.undone_by)) for name, setup in form.setups.items()),
        most_at_once=form.most_at_once,
        money_per_minute=form.money_per_minute,
        referral_minutes=_referral(form).minutes,
        referral_adds=_referral(form).with_,
        stops=tuple(Ending(name, one.minutes, one.with_) for name, one in form.stops.items()),
        mistakes=form.mistakes,
        exactly_one=form.exactly_one,
    )


def _check(name: str, check: FileCheck) -> Check:
    if check.usual:
        usual = _whole(check, check.usual)
    elif check.normal is not None:
        usual = tuple(float(outcome == check.normal) for outcome in check.outcomes)
    else:
        usual = (1.0 / len(check.outcomes),) * len(check.outcomes)
    moved = {
        cause: tuple(float(outcome == signature) for outcome in check.outcomes)
        if isinstance(signature, str)
        else _whole(check, signature)
        for cause, signature in check.moved_by.items()
    }
    outcomes = tuple(check.outcomes)
    return Check(name, outcomes, check.normal, usual, moved, check.minutes, check.parts, check.setup)


def _whole(check: FileCheck, named: Mapping[str, Frequency]) -> tuple[float, ...]:
    """A distribution over all outcomes from those that are named."""
    shares = {outcome: frequency(value) for outcome, value in named.items()}
    takers = _takers(check, named)
    left = max(0.0, 1.0 - math.fsum(shares.values()))
    shares.update(dict.fromkeys(takers, left / len(takers)) if takers else {})
    return tuple(shares.get(outcome, 0.0) for outcome in check.outcomes)


def _repair(name: str, repair: FileRepair) -> Repair:
    cures = {cause: frequency(takes) for cause, takes in repair.cures.items()}
    looks = repair.look is not None
    undoes = frozenset(repair.undoes)
    return Repair(name, repair.minutes, repair.parts, cures, undoes, looks, repair.look or 0.0, repair.with_)


def _referral(form: ProblemForm) -> FileEnding:
    return form.referral if isinstance(form.referral, FileEnding) else FileEnding(minutes=form.referral)


def _words(form: ProblemForm) -> dict[str, str]:
    """The words for every id that has some."""
    words = {name: cause.title for name, cause in form.causes.items()}
    words |= {REPAIR_NAME.format(name): cause.title for name, cause in form.causes.items() if cause.title}
    words |= {name: check.ask for name, check in form.checks.items()}
    words |= {name: repair.do for name, repair in form.repairs.items()}
    words |= {name: ending.do for name, ending in form.stops.items()}
    return {name: said for name, said in words.items() if said}
