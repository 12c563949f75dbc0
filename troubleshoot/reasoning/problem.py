"""What is to be reasoned about: causes, checks, repairs and set-ups as plain frozen records.

All costs are minutes; money is turned into minutes by `Problem.money_per_minute`. A `Problem` is
checked when it is made, so that belief and worth never meet a number that cannot be.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any, TypeVar

from troubleshoot.reasoning.refusing import (
    ProblemRefused,
    all_distributions,
    refuse_bad_distribution,
    refuse_bad_number,
    refuse_repeated,
)

T = TypeVar("T")

MOST_AT_ONCE_LIMIT = 3
"""States of more causes than this are not kept."""

DEGREES = ("mild", "clear", "gross")
"""How far a cause has gone, in the order in which the sizes of a reading name them (`events.Evidence`)."""

Outcomes = tuple[float, ...]
"""A distribution over the outcomes of a check."""


@dataclass(frozen=True)
class Variant:
    """One form of a cause: how far it has gone and which way, and how often it takes this form (`weight`).

    `shows[i]` is P(concern i | this form alone); None means as the cause itself says.
    """

    degree: str = ""
    way: str = ""
    weight: float = 1.0
    shows: tuple[float, ...] | None = None


@dataclass(frozen=True)
class Cause:
    """Something that can be wrong.

    `prior` is the base rate (probability that it is present, before any concern is heard); `shows[i]` is
    P(concern i | this cause alone); `repair` names the repair that cures it. It takes one of its `variants`, the same
    for all checks of a car. An `incidental` cause shows none of the concerns; it is believed beside another cause only
    once the readings speak for it (see `belief`).
    """

    id: str
    prior: float
    shows: tuple[float, ...] = ()
    repair: str | None = None
    variants: tuple[Variant, ...] = (Variant(),)
    incidental: bool = False


@dataclass(frozen=True)
class Check:
    """Something a person does that yields a reading in one of `outcomes`.

    `usual` is the distribution when no cause moves the check; `moved_by` gives the distribution when that cause alone
    is present, or one for each variant of it (None: that variant leaves the check alone). `minutes` leaves out the
    minutes of `setup`. Outcomes that are `shown` are a cause itself, seen with one's own eyes, hardly ever by mistake.
    """

    id: str
    outcomes: tuple[str, ...]
    normal: str | None
    usual: tuple[float, ...]
    moved_by: Mapping[str, Outcomes | tuple[Outcomes | None, ...]]
    minutes: float = 1.0
    parts: float = 0.0
    setup: str | None = None
    shown: frozenset[str] = frozenset()

    def by_variant(self, cause: str, count: int) -> tuple[Outcomes | None, ...]:
        """Return the distribution for each of the `count` variants of a cause that moves the check."""
        moved: Any = self.moved_by[cause]
        return moved if moved and (moved[0] is None or isinstance(moved[0], tuple)) else (moved,) * count


@dataclass(frozen=True)
class Comparison:
    """What the readings of two checks say held against each other: a `check` that nobody makes.

    Once both are read it takes the place of what `check_of` says by itself (see `weighing`).
    """

    check: Check
    check_of: str
    beside: str


@dataclass(frozen=True)
class Repair:
    """Work that cures each cause in `cures` with the given probability, and undoes set-ups.

    Each cause in `adds` that is there makes it so many minutes dearer. With `looks_first` the part is looked at for
    `look_minutes`, and `minutes` and `parts` are spent only when one of the causes is found.
    """

    id: str
    minutes: float
    parts: float = 0.0
    cures: Mapping[str, float] = field(default_factory=dict)
    undoes: frozenset[str] = frozenset()
    looks_first: bool = False
    look_minutes: float = 0.0
    adds: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Ending:
    """A way to end without a repair: a referral (no id), or to stop. Each cause in `adds` that is there costs more."""

    id: str
    minutes: float
    adds: Mapping[str, float] = field(default_factory=dict)


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

    `leak[i]` is P(concern i | no listed cause present). With `exactly_one` the priors are taken as the probabilities
    that this cause is the one that is present, as single-fault problems in the literature state them; "none" and pairs
    then have no weight. `mistakes` is the probability that a reading is grossly wrong (unit, terminal, choice) and may
    then be any outcome, evenly. A referral costs `referral_minutes` (0: it has no price and is made only when nothing
    else is left) and ends the concern with the probability `referral_cures`; each cause in `referral_adds` that is
    there makes it so many minutes dearer. `stops` are other ways to end. A retest misleads with the probability
    `retest_error`.
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
    referral_cures: float = 1.0
    mistakes: float = 0.0
    exactly_one: bool = False
    retest_error: float = 0.02
    comparisons: tuple[Comparison, ...] = ()
    referral_adds: Mapping[str, float] = field(default_factory=dict)
    stops: tuple[Ending, ...] = ()
    _kept: dict[Callable[..., Any], Any] = field(default_factory=dict, init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Refuse a problem that does not hang together."""
        _refuse_bad_ids(self)
        _refuse_bad_scalars(self)
        for cause in self.causes:
            _refuse_bad_cause(self, cause)
        known = frozenset(cause.id for cause in self.causes)
        for check in self.every_check:
            _refuse_bad_check(check, known)
        _refuse_bad_signatures(self)
        for repair in self.repairs:
            _refuse_bad_repair(repair, known)
        for ending in (*self.stops, Ending("a referral", self.referral_minutes, self.referral_adds)):
            _refuse_bad_ending(ending, known)

    def once(self, make: Callable[[Problem], T]) -> T:
        """Return what a function makes of this problem, made once and kept."""
        if make not in self._kept:
            self._kept[make] = make(self)
        found: T = self._kept[make]
        return found

    @cached_property
    def cause_named(self) -> Mapping[str, Cause]:
        """Causes by id."""
        return {cause.id: cause for cause in self.causes}

    @cached_property
    def check_named(self) -> Mapping[str, Check]:
        """Checks by id."""
        return {check.id: check for check in self.checks}

    @cached_property
    def every_check(self) -> tuple[Check, ...]:
        """The checks that can be made, then those that two of them make together."""
        return (*self.checks, *(one.check for one in self.comparisons))

    @cached_property
    def comparison_named(self) -> Mapping[str, Check]:
        """What two checks make together, by id."""
        return {one.check.id: one.check for one in self.comparisons}

    @cached_property
    def compared_with(self) -> Mapping[str, tuple[tuple[str, int], ...]]:
        """For each check the others it is held against, either way, each with the number of what the two make."""
        found: dict[str, tuple[tuple[str, int], ...]] = {}
        for number, one in enumerate(self.comparisons, len(self.checks)):
            for check, other in ((one.check_of, one.beside), (one.beside, one.check_of)):
                found[check] = (*found.get(check, ()), (other, number))
        return found

    @cached_property
    def repair_named(self) -> Mapping[str, Repair]:
        """Repairs by id."""
        return {repair.id: repair for repair in self.repairs}

    @cached_property
    def setup_named(self) -> Mapping[str, Setup]:
        """Set-ups by id."""
        return {setup.id: setup for setup in self.setups}

    @property
    def referral_cost(self) -> float:
        """What sending the car on costs in the end: it goes on at the same price until somebody finds it."""
        return self.referral_minutes / self.referral_cures

    @cached_property
    def endings(self) -> tuple[Ending, ...]:
        """The ways to end without a repair that have a price, the referral first; what a cause adds counts likewise."""
        adds = {cause: minutes / self.referral_cures for cause, minutes in self.referral_adds.items()}
        referral = (Ending("", self.referral_cost, adds),) if self.referral_minutes > 0.0 else ()
        return (*referral, *self.stops)

    @cached_property
    def costs_by_state(self) -> bool:
        """Whether what an ending or a repair costs depends on what is there."""
        return bool(self.stops or self.referral_adds or any(repair.adds for repair in self.repairs))

    def cost(self, minutes: float, parts: float) -> float:
        """Minutes and money as minutes; with no labour rate one unit of money counts as one minute."""
        return minutes + parts / (self.money_per_minute or 1.0)


def _refuse_bad_ids(problem: Problem) -> None:
    refuse_repeated("cause", (cause.id for cause in problem.causes))
    refuse_repeated("check", (check.id for check in problem.every_check))
    for one in problem.comparisons:
        _refuse_unknown("comparison", (one.check_of, one.beside), (check.id for check in problem.checks))
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
    refuse_repeated("ending", (ending.id for ending in problem.stops))
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
    refuse_bad_number("share of mistakes", problem.mistakes, 0.0, 0.5)
    refuse_bad_number("retest_error", problem.retest_error, 0.0, 0.5)
    refuse_bad_number("money_per_minute", problem.money_per_minute, 0.0)
    refuse_bad_number("referral_minutes", problem.referral_minutes, 0.0)
    if problem.referral_adds and not problem.referral_minutes > 0.0:
        raise ProblemRefused("What a referral costs depends on the cause, but it has no minutes.", "Give it minutes.")
    refuse_bad_number("chance that a referral cures", problem.referral_cures, 0.01, 1.0)
    for setup in problem.setups:
        refuse_bad_number(f"minutes of set-up {setup.id}", setup.minutes, 0.0)


def _refuse_bad_cause(problem: Problem, cause: Cause) -> None:
    refuse_bad_number(f"prior of {cause.id}", cause.prior, 0.0, 1.0)
    if cause.prior == 1.0 and not problem.exactly_one:
        raise ProblemRefused(f"The prior of {cause.id} is 1.", "A base rate must be below 1.")
    if not cause.variants:
        raise ProblemRefused(f"{cause.id} has no variant.", "Give it one, or leave variants out.")
    refuse_bad_distribution(f"variants of {cause.id}", [one.weight for one in cause.variants], len(cause.variants))
    for shows in (cause.shows, *(one.shows for one in cause.variants if one.shows is not None)):
        if len(shows) != len(problem.concerns):
            raise ProblemRefused(
                f"{cause.id} says how often it shows {len(shows)} concerns; the problem has {len(problem.concerns)}.",
                "Give one probability for each concern.",
            )
        for value in shows:
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


def _refuse_bad_signatures(problem: Problem) -> None:
    """Refuse what is no distribution; they are thousands, so all are looked at together before one is named."""
    counts = {cause.id: len(cause.variants) for cause in problem.causes}
    wanted: list[int] = []
    given: list[Outcomes] = []
    for check in problem.every_check:
        before = len(given)
        given.append(check.usual)
        for cause in check.moved_by:
            count = counts[cause]
            each = check.by_variant(cause, count)
            if len(each) != count:
                raise ProblemRefused(
                    f"The outcomes of {check.id} with {cause} are for another number of variants than its {count}.",
                    "Give one distribution for each variant, or one for all.",
                )
            given += [shares for shares in each if shares is not None]
        wanted += [len(check.outcomes)] * (len(given) - before)
    if all_distributions(wanted, given):
        return
    for check in problem.every_check:
        refuse_bad_distribution(f"usual outcomes of {check.id}", check.usual, len(check.outcomes))
        for cause in check.moved_by:
            for shares in check.by_variant(cause, counts[cause]):
                if shares is not None:
                    refuse_bad_distribution(f"outcomes of {check.id} with {cause}", shares, len(check.outcomes))


def _refuse_bad_repair(repair: Repair, causes: frozenset[str]) -> None:
    _refuse_unknown(f"list of causes that {repair.id} cures", repair.cures, causes)
    for cause, probability in repair.cures.items():
        refuse_bad_number(f"probability that {repair.id} cures {cause}", probability, 0.0, 1.0)
    refuse_bad_number(f"minutes of {repair.id}", repair.minutes, 0.0)
    refuse_bad_number(f"parts of {repair.id}", repair.parts, 0.0)
    refuse_bad_number(f"look_minutes of {repair.id}", repair.look_minutes, 0.0)
    _refuse_bad_ending(Ending(repair.id, repair.minutes, repair.adds), causes)


def _refuse_bad_ending(ending: Ending, causes: frozenset[str]) -> None:
    _refuse_unknown(f"list of causes that make {ending.id} dearer", ending.adds, causes)
    for value in (ending.minutes, *ending.adds.values()):
        refuse_bad_number(f"minutes of {ending.id}", value, 0.0)
