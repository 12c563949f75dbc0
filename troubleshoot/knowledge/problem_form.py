"""The typed form of a self-contained problem file: concern, causes, checks and repairs in one small YAML file.

Unlike the trees it needs no catalogue and no car, and it may state what a tree does not: a single
fault with given probabilities, repairs that cure several causes, a look before a repair, a referral, and what an ending
costs with each cause.
"""

from __future__ import annotations

from typing import Annotated

from msgspec import Meta, Struct, field

from troubleshoot.knowledge.model import Cost, Frequency, Identifier, Step, Words

NoneOrMore = Annotated[float, Meta(ge=0, le=5_000)]
"""Minutes of a problem made up or published, where something may cost nothing."""

Adds = dict[str, NoneOrMore]
"""For each cause that makes something dearer while it is there, by how many minutes."""


class _Form(Struct, frozen=True, forbid_unknown_fields=True, rename="kebab"):
    """What all records share: frozen, hyphenated names, nothing unknown let through."""


class FileCause(_Form, frozen=True, kw_only=True):
    """One cause: its probability, how often it shows the concern, and what cures it.

    `repair` is the id of one of the repairs, or the minutes of a repair of its own.
    """

    title: str = ""
    prior: Annotated[float, Meta(gt=0, le=1)]
    shows: Frequency = 1.0
    repair: NoneOrMore | Identifier | None = None


class FileCheck(_Form, frozen=True, kw_only=True):
    """One check: its outcomes, and how each cause that moves it shifts them.

    A cause's line is one outcome, which is then certain, or outcomes with their frequencies; what
    is left goes to the normal outcome, else evenly to the outcomes not named.
    """

    ask: str = ""
    minutes: NoneOrMore
    parts: Cost = 0.0
    setup: Identifier | None = None
    outcomes: Annotated[list[Identifier], Meta(min_length=2)]
    normal: Identifier | None = None
    usual: dict[str, Frequency] = field(default_factory=dict)
    moved_by: dict[str, Identifier | dict[str, Frequency]] = field(default_factory=dict)


class FileRepair(_Form, frozen=True, kw_only=True):
    """One repair: what it costs and how often it cures each of its causes; with `look`, a look comes first.

    `with` a cause that is there, it takes so many minutes more.
    """

    do: str = ""
    minutes: NoneOrMore
    parts: Cost = 0.0
    cures: dict[str, Frequency]
    look: NoneOrMore | None = None
    undoes: list[Identifier] = field(default_factory=list)
    with_: Adds = field(default_factory=dict, name="with")


class FileEnding(_Form, frozen=True, kw_only=True):
    """A way to end without a repair: what it costs, and `with` a cause that is there so much more."""

    do: str = ""
    minutes: NoneOrMore = 0.0
    with_: Adds = field(default_factory=dict, name="with")


class FileSetup(_Form, frozen=True, kw_only=True):
    """Something put in place for checks, paid once while it stays."""

    words: str = ""
    minutes: NoneOrMore
    undone_by: list[Identifier] = field(default_factory=list)


class FileAnswer(_Form, frozen=True, kw_only=True):
    """What a policy must come to on this problem; checked by whoever keeps the file."""

    cost: float
    first: Identifier | None = None
    within: Annotated[float, Meta(gt=0)] = 1e-6


class ProblemForm(_Form, frozen=True, kw_only=True):
    """The whole file."""

    title: Words
    concern: Words
    source: str = ""
    status: str = ""
    exactly_one: bool = False
    most_at_once: Annotated[int, Meta(ge=1, le=3)] = 2
    reported_anyway: Frequency = 0.01
    money_per_minute: Annotated[float, Meta(ge=0)] = 1.0
    referral: Annotated[float, Meta(ge=0)] | FileEnding = 0.0
    stops: dict[Identifier, FileEnding] = field(default_factory=dict)
    mistakes: Annotated[float, Meta(ge=0, le=0.5)] = 0.0
    causes: dict[Identifier, FileCause]
    checks: dict[Identifier, FileCheck] = field(default_factory=dict)
    repairs: dict[Identifier, FileRepair] = field(default_factory=dict)
    setups: dict[Identifier, FileSetup] = field(default_factory=dict)
    steps: dict[str, Step] = field(default_factory=dict)
    answers: dict[str, FileAnswer] = field(default_factory=dict)
