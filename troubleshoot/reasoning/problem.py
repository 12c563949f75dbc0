"""What is to be reasoned about: causes, checks, repairs and set-ups as plain frozen records.

All costs are minutes; money is turned into minutes by `Problem.money_per_minute`. A `Problem` is
checked when it is made, so that belief and worth never meet a number that cannot be.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

from troubleshoot.reasoning.check_rows import CheckRows, lay_out
from troubleshoot.reasoning.refusing import (
    ProblemRefused,
    all_distributions,
    refuse_bad_distribution,
    refuse_bad_number,
    refuse_repeated,
)
from troubleshoot.reasoning.repair_plan import RepairPlan, make_plan
from troubleshoot.reasoning.tables import Tables, build_tables

if TYPE_CHECKING:
    from collections.abc import Iterable

MOST_AT_ONCE_LIMIT = 3
"""States of more causes than this are not kept."""


@dataclass(frozen=True)
class Cause:
    """Something that can be wrong.

    `prior` is the base rate (probability that it is present, before any concern is heard);
    `shows[i]` is P(concern i | this cause alone); `repair` names the repair that mends it.
    """

    id: str
    prior: float
    shows: tuple[float, ...] = ()
    repair: str | None = None


@dataclass(frozen=True)
class Check:
    """Something a person does that yields a reading in one of `outcomes`.

    `usual` is the distribution when no cause moves the check; `moved_by` gives the distribution
    when that cause alone is present. `minutes` leaves out the minutes of `setup`. Checks of one
    `group` look at the same thing and share evidence.
    """

    id: str
    outcomes: tuple[str, ...]
    normal: str | None
    usual: tuple[float, ...]
    moved_by: Mapping[str, tuple[float, ...]]
    minutes: float = 1.0
    parts: float = 0.0
    setup: str | None = None
    group: str | None = None


@dataclass(frozen=True)
class Repair:
    """Work that mends each cause in `cures` with the given probability, and undoes set-ups.

    With `looks_first` the part is looked at for `look_minutes`, and `minutes` and `parts` are
    spent only when one of the causes is found.
    """

    id: str
    minutes: float
    parts: float = 0.0
    cures: Mapping[str, float] = field(default_factory=dict)
    undoes: frozenset[str] = frozenset()
    looks_first: bool = False
    look_minutes: float = 0.0


@dataclass(frozen=True)
class Setup:
    """A state of the car that checks need; its minutes are paid once while it stays in place.

    It is undone by any set-up in `undone_by` that is brought about after it.
    """

    id: str
    minutes: float
    undone_by: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Problem:
    """The whole problem: what can be wrong, what can be looked at, what can be done.

    `leak[i]` is P(concern i | no listed cause present). With `exactly_one` the priors are taken as
    the probabilities that this cause is the one that is present, as single-fault problems in the
    literature state them; "none" and pairs then have no weight. `group_share` is the share of
    evidence that checks of one group have in common (0 independent, 1 the same thing twice).
    `evidence_power` is the power to which the likelihood of every reading is taken: above 1 where the
    signatures are mixtures that say less of one car than its readings do together.
    `retest_error` is the probability that a retest misleads.
    """

    causes: tuple[Cause, ...]
    checks: tuple[Check, ...] = ()
    repairs: tuple[Repair, ...] = ()
    concerns: tuple[str, ...] = ()
    leak: tuple[float, ...] = ()
    setups: tuple[Setup, ...] = ()
    most_at_once: int = 2
    money_per_minute: float = 1.0
    something_else: str | None = None
    referral_minutes: float = 0.0
    group_share: float = 0.5
    evidence_power: float = 1.0
    exactly_one: bool = False
    retest_error: float = 0.02

    def __post_init__(self) -> None:
        """Refuse a problem that does not hang together."""
        _refuse_bad_ids(self)
        _refuse_bad_scalars(self)
        for cause in self.causes:
            _refuse_bad_cause(self, cause)
        known = frozenset(cause.id for cause in self.causes)
        for check in self.checks:
            _refuse_bad_check(check, known)
        _refuse_bad_signatures(self.checks)
        for repair in self.repairs:
            _refuse_bad_repair(repair, known)

    @cached_property
    def tables(self) -> Tables:
        """The same problem as numpy arrays, built once."""
        return build_tables(self)

    @cached_property
    def check_rows(self) -> CheckRows:
        """All checks side by side, for worth; built once."""
        return lay_out(self.tables.stacked)

    @cached_property
    def first_plan(self) -> RepairPlan:
        """The repairs as long as none has been made; worked out once."""
        return make_plan(self, ())

    @cached_property
    def cause_named(self) -> Mapping[str, Cause]:
        """Causes by id."""
        return {cause.id: cause for cause in self.causes}

    @cached_property
    def check_named(self) -> Mapping[str, Check]:
        """Checks by id."""
        return {check.id: check for check in self.checks}

    @cached_property
    def repair_named(self) -> Mapping[str, Repair]:
        """Repairs by id."""
        return {repair.id: repair for repair in self.repairs}

    @cached_property
    def setup_named(self) -> Mapping[str, Setup]:
        """Set-ups by id."""
        return {setup.id: setup for setup in self.setups}

    @cached_property
    def check_minutes(self) -> tuple[tuple[float, float], ...]:
        """For each check what it takes with its set-up in place, and without; money as minutes."""
        return tuple(
            (taken, taken + (self.setup_named[check.setup].minutes if check.setup is not None else 0.0))
            for check in self.checks
            for taken in (self.cost(check.minutes, check.parts),)
        )

    def cost(self, minutes: float, parts: float) -> float:
        """Minutes and money as minutes; with no labour rate one unit of money counts as one minute."""
        return minutes + parts / (self.money_per_minute or 1.0)


def _refuse_bad_ids(problem: Problem) -> None:
    refuse_repeated("cause", (cause.id for cause in problem.causes))
    refuse_repeated("check", (check.id for check in problem.checks))
    refuse_repeated("repair", (repair.id for repair in problem.repairs))
    refuse_repeated("set-up", (setup.id for setup in problem.setups))
    if not problem.causes:
        raise ProblemRefused("The problem lists no cause.", "Give it at least one cause.")
    _refuse_unknown("something_else", [problem.something_else], (cause.id for cause in problem.causes))
    repairs = [repair.id for repair in problem.repairs]
    _refuse_unknown("repair of a cause", [cause.repair for cause in problem.causes], repairs)
    for cause in problem.causes:
        if cause.repair is not None and not problem.repair_named[cause.repair].cures.get(cause.id, 0.0) > 0.0:
            raise ProblemRefused(
                f"{cause.repair} is the repair of {cause.id} but does not say how often it cures it.",
                "List the cause among those it cures, with a probability above 0.",
            )
    setups = [setup.id for setup in problem.setups]
    _refuse_unknown("set-up of a check", [check.setup for check in problem.checks], setups)


def _refuse_unknown(what: str, used: Iterable[str | None], known: Iterable[str]) -> None:
    names = set(known)
    for name in used:
        if name is not None and name not in names:
            raise ProblemRefused(f"The {what} names {name!r}, which is not listed.", "Correct the name or list it.")


def _refuse_bad_scalars(problem: Problem) -> None:
    if not 1 <= problem.most_at_once <= MOST_AT_ONCE_LIMIT:
        raise ProblemRefused(
            f"most_at_once is {problem.most_at_once}.", f"It must be 1 to {MOST_AT_ONCE_LIMIT} causes at once."
        )
    if len(problem.leak) != len(problem.concerns):
        raise ProblemRefused(
            f"There are {len(problem.concerns)} concerns but {len(problem.leak)} leak probabilities.",
            "Give one leak probability for each concern.",
        )
    for value in problem.leak:
        refuse_bad_number("leak", value, 0.0, 1.0)
    refuse_bad_number("group_share", problem.group_share, 0.0, 1.0)
    refuse_bad_number("evidence_power", problem.evidence_power, 0.0, 4.0)
    refuse_bad_number("retest_error", problem.retest_error, 0.0, 0.5)
    refuse_bad_number("money_per_minute", problem.money_per_minute, 0.0)
    refuse_bad_number("referral_minutes", problem.referral_minutes, 0.0)
    for setup in problem.setups:
        refuse_bad_number(f"minutes of set-up {setup.id}", setup.minutes, 0.0)


def _refuse_bad_cause(problem: Problem, cause: Cause) -> None:
    refuse_bad_number(f"prior of {cause.id}", cause.prior, 0.0, 1.0)
    if cause.prior == 1.0 and not problem.exactly_one:
        raise ProblemRefused(f"The prior of {cause.id} is 1.", "A base rate must be below 1.")
    if len(cause.shows) != len(problem.concerns):
        raise ProblemRefused(
            f"{cause.id} says how often it shows {len(cause.shows)} concerns; the problem has {len(problem.concerns)}.",
            "Give one probability for each concern.",
        )
    for value in cause.shows:
        refuse_bad_number(f"shows of {cause.id}", value, 0.0, 1.0)


def _refuse_bad_check(check: Check, causes: frozenset[str]) -> None:
    refuse_repeated(f"outcome of {check.id}", check.outcomes)
    if check.normal is not None and check.normal not in check.outcomes:
        raise ProblemRefused(
            f"The normal outcome of {check.id} is {check.normal!r}, which is not one of its outcomes.",
            f"Use one of {', '.join(check.outcomes)}.",
        )
    if not check.moved_by.keys() <= causes:
        _refuse_unknown(f"list of causes that move {check.id}", check.moved_by, causes)
    refuse_bad_number(f"minutes of {check.id}", check.minutes, 0.0)
    refuse_bad_number(f"parts of {check.id}", check.parts, 0.0)


def _refuse_bad_signatures(checks: Sequence[Check]) -> None:
    """Refuse what is no distribution; they are a thousand, so all are looked at together before one is named."""
    if all_distributions([
        (len(check.outcomes), shares) for check in checks for shares in (check.usual, *check.moved_by.values())
    ]):  # fmt: skip
        return
    for check in checks:
        refuse_bad_distribution(f"usual outcomes of {check.id}", check.usual, len(check.outcomes))
        for cause, signature in check.moved_by.items():
            refuse_bad_distribution(f"outcomes of {check.id} with {cause}", signature, len(check.outcomes))


def _refuse_bad_repair(repair: Repair, causes: frozenset[str]) -> None:
    _refuse_unknown(f"list of causes that {repair.id} cures", repair.cures, causes)
    for cause, probability in repair.cures.items():
        refuse_bad_number(f"probability that {repair.id} cures {cause}", probability, 0.0, 1.0)
    refuse_bad_number(f"minutes of {repair.id}", repair.minutes, 0.0)
    refuse_bad_number(f"parts of {repair.id}", repair.parts, 0.0)
    refuse_bad_number(f"look_minutes of {repair.id}", repair.look_minutes, 0.0)
