"""What every face shows of a case: plain frozen records, ready to print, no arithmetic left to do."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal


@dataclass(frozen=True)
class BandShown:
    """One band of the ruler, in the unit shown; None means open-ended; `why` tells how `high` was worked out.

    `limits` says where it lies, as "46 to 54 psi"; `low_written` is `low` to the last figure that the check can tell.
    """

    outcome: str
    words: str
    low: float | None
    high: float | None
    normal: bool
    why: str = ""
    limits: str = ""
    low_written: str = ""


@dataclass(frozen=True)
class ChoiceShown:
    """One answer that is seen and not measured; faces number them from 1."""

    outcome: str
    words: str
    normal: bool


@dataclass(frozen=True)
class CautionShown:
    """A caution to read and acknowledge."""

    id: str
    signal: str
    title: str
    happens: str
    avoid: tuple[str, ...]
    defer: str
    card: tuple[str, ...] = ()
    """What is read on screen, in short lines: what happens to you, then how to avoid it."""


@dataclass(frozen=True)
class CheckShown:
    """A check to do now."""

    id: str
    ask: str
    term: str
    why: str
    do: tuple[str, ...]
    drawing: str
    state: str
    tools: tuple[str, ...]
    setup: str
    setup_in_place: bool
    minutes: float
    setup_minutes: float
    cautions: tuple[CautionShown, ...]
    unit: str
    plausible: tuple[float, float] | None
    uncertainty: float | None
    bands: tuple[BandShown, ...]
    choices: tuple[ChoiceShown, ...]
    basis: str
    cannot: str
    reason: str
    proposed_by: Literal["tree", "worth", "person", "inspection"]
    place: str = ""
    new_here: str = ""
    """What is done here that was not done at the check before, for the line beside its cautions."""


@dataclass(frozen=True)
class RepairShown:
    """A repair to make now, and the retest that proves it."""

    cause: str
    title: str
    term: str
    happens: str
    do: tuple[str, ...]
    minutes: float
    parts: float
    cautions: tuple[CautionShown, ...]
    proof: str
    reason: str


@dataclass(frozen=True)
class CauseShown:
    """One line of the ranking."""

    id: str
    title: str
    term: str
    probability: float
    words: str
    happens: str = ""


@dataclass(frozen=True)
class PairShown:
    """Two causes at once."""

    titles: tuple[str, str]
    causes: tuple[str, str]
    probability: float


@dataclass(frozen=True)
class TrailLine:
    """One thing done, and where in the event list it stands (for a change of answer); a sum of two readings too."""

    index: int
    number: int
    kind: Literal["reading", "skipped", "repair", "retest", "note", "stop", "sum"]
    check: str
    title: str
    answer: str
    verdict: str
    normal: bool | None
    minutes: float
    at: float


@dataclass(frozen=True)
class WeightShown:
    """How a reading speaks for or against a cause."""

    check: str
    title: str
    read: str
    expected: str
    log_odds: float
    words: str
    why: str = ""


@dataclass(frozen=True)
class OtherCheck:
    """Another check that could be done, with what it is worth; `proposed` says why it is the one proposed, if it is."""

    id: str
    ask: str
    state: str
    minutes: float
    saves: float
    worth: float
    available: bool
    missing: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    proposed: str = ""


@dataclass(frozen=True)
class MomentShown:
    """What one reading, repair or retest did to the probability of a cause."""

    kind: Literal["reading", "repair", "retest"]
    title: str
    answer: str
    before: float
    after: float
    check: str = ""
    """The check that was read, by its id."""


@dataclass(frozen=True)
class ProofShown:
    """A cause that was repaired and did not come back: how it was found, and what is left to do.

    `words` say what its retest shows; `measure` asks the measurement that is still to be made, if any; `second` is
    the likeliest cause that could be there beside it.
    """

    cause: str
    title: str
    moments: tuple[MomentShown, ...]
    words: str
    measure: str
    second: str
    second_probability: float


StepKind = Literal["caution", "check", "repair", "retest", "refer", "stop", "healthy", "closed", "concern", "free"]


@dataclass(frozen=True)
class Step:
    """What to do now; the record that goes with `kind` is filled, the others are None.

    `free` leaves the choice to the person, as a drill does.
    A caution step holds every caution that is due, the first of them in `caution` too.
    A retest has the repair it proves; `proved` says that it was clean and the case may be closed as proved.
    `measure` is the check, by id and question, that would prove it by measurement and can be made now.
    """

    kind: StepKind
    words: str = ""
    caution: CautionShown | None = None
    check: CheckShown | None = None
    repair: RepairShown | None = None
    proved: bool = False
    cautions: tuple[CautionShown, ...] = ()
    measure: tuple[str, str] | None = None


@dataclass(frozen=True)
class CaseView:
    """Everything a face shows of a case at one moment; `behind` is the check or repair a caution stands before.

    `proof` is filled once a repair was followed by a clean retest, and in a case closed as proved.
    """

    case: str
    car: str
    concerns: tuple[str, ...]
    concern_titles: tuple[str, ...]
    step: Step
    ranked: tuple[CauseShown, ...]
    pairs: tuple[PairShown, ...]
    none: float
    something_else: float
    trail: tuple[TrailLine, ...]
    minutes: float
    readings: int
    doubt: str = ""
    doubt_check: str = ""
    notices: tuple[str, ...] = ()
    result: str = ""
    to_put_right: tuple[str, ...] = field(default=())
    behind: Step | None = None
    proof: ProofShown | None = None
    none_words: str = "nothing wrong"
    """What the share of no cause at all is called; a danger is never called that."""
