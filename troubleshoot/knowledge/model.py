"""The typed form of the trees: what a YAML file may say, one record for each kind of thing in it.

Names in YAML are the field names with hyphens (`moved_by` is written `moved-by`).
Anything not named here is refused, so that a slip of the pen is found and not ignored.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Annotated, Any, ClassVar, Literal

from msgspec import Meta, Struct, field

FREQUENCY_WORDS: dict[str, float] = {
    "always": 0.99,
    "nearly always": 0.97,
    "usually": 0.85,
    "often": 0.70,
    "half the time": 0.50,
    "sometimes": 0.30,
    "seldom": 0.10,
    "hardly ever": 0.03,
    "never": 0.005,
}
"""One table of words for how often something happens; a number may stand in place of a word."""

Degree = Literal["mild", "clear", "gross"]
DEGREES: tuple[Degree, ...] = ("mild", "clear", "gross")
"""How far a cause has gone, from small to large."""

DEGREE_WEIGHTS: dict[Degree, float] = {"mild": 0.35, "clear": 0.45, "gross": 0.20}
"""How often a cause that is there has gone so far, where it does not say itself; from memory."""

Frequency = float | str
Showing = Frequency | dict[str, Frequency]
"""How often a cause shows a concern; one that goes several ways may say it of each."""
Words = Annotated[str, Meta(min_length=1)]
Identifier = Annotated[str, Meta(pattern=r"^[a-z0-9]+(-[a-z0-9]+)*$", max_length=48)]
Cost = Annotated[float, Meta(ge=0, le=10_000)]
Minutes = Annotated[float, Meta(gt=0, le=5_000)]
Share = Annotated[float, Meta(ge=0, le=1)]

EngineState = Literal[
    "key off",
    "key on",
    "cranking",
    "cold start",
    "idle",
    "held speed",
    "under load",
    "after stop",
]
"""What the engine does while the check is made; `under load` means road or dyno."""

Opened = Literal["fuel line", "tank", "intake", "cylinder", "exhaust", "cooling", "brake vacuum"]
"""What stands open while the check is made: fuel, air or vacuum can come out of it, or something can fall in."""

Live = Literal["secondary", "coil", "battery", "pump", "heater", "unlit gas", "compressed air"]
"""What is energised and within reach: clipped to, probed, or worked beside."""

Hands = Literal["cabin", "engine bay", "at the exhaust", "at the tank", "under the car", "clear"]
"""Where hands and face are while the check is made; `clear` is away from the car."""

SignalWord = Literal["DANGER", "WARNING", "CAUTION", "NOTICE"]
Conditions = dict[str, list[str | float | bool]]
Signature = dict[str, float | str | dict[str, Any]]
"""How a cause moves a check: outcomes, or `expects`, or these by degree or by way (see `degrees`)."""


class _Form(Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True, rename="kebab"):
    """What all records share: frozen, hyphenated names, nothing unknown let through, nothing usual written out."""


class Source(_Form, frozen=True, kw_only=True):
    """Where a calculation's input comes from: a reading, the car, or a usual value until one is known.

    Where the car field is a word, `each` says what stands for each of its values.
    """

    reading: Identifier | None = None
    car: str | None = None
    each: dict[str, float | str] = field(default_factory=dict)
    usual: float | str | None = None


class Limit(_Form, frozen=True, kw_only=True):
    """A limit that is not a plain number: from the car, or worked out by a named calculation."""

    car: str | None = None
    calc: Identifier | None = None
    inputs: dict[str, float | str | Source] = field(default_factory=dict)
    output: str | None = None
    times: float = 1.0
    plus: float = 0.0


class Expects(Limit, frozen=True, kw_only=True):
    """The number that a cause makes a check read: as it stands, from this car, or by a named calculation."""

    value: float | str | None = None
    spread: float | str


class Band(_Form, frozen=True, kw_only=True):
    """One outcome of a number that is read: every band reaches from the one before up to `to`."""

    outcome: Identifier
    to: float | Limit | None = None
    words: str = ""


class Choice(_Form, frozen=True, kw_only=True):
    """One outcome of a check that is seen, heard or smelt and not measured; `shows` is the cause that it is itself."""

    outcome: Identifier
    words: Words
    shows: Identifier | None = None


class Instrument(_Form, frozen=True, kw_only=True):
    """A number read from an instrument: unit, plausible range, and its usual standard uncertainty."""

    unit: Words
    plausible: Annotated[list[float], Meta(min_length=2, max_length=2)]
    uncertainty: Annotated[float, Meta(gt=0)]


@dataclass(frozen=True)
class Number:
    """A kind of check: a number is read from an instrument and lies in one of the bands."""

    instrument: Instrument
    bands: list[Band]
    written: ClassVar[str] = "bands"
    graded: ClassVar[bool] = True
    """Whether the outcomes lie on a scale, from low to high."""
    measured: ClassVar[bool] = True
    """Whether a number is read, and not one of the outcomes named."""

    @property
    def named(self) -> tuple[tuple[str, str], ...]:
        """Return the outcomes in their written order, each with its words."""
        return tuple((one.outcome, one.words) for one in self.bands)


@dataclass(frozen=True)
class Look:
    """A kind of check: what is seen, heard or smelt is one of the choices."""

    choices: list[Choice]
    written: ClassVar[str] = "choices"
    graded: ClassVar[bool] = False
    measured: ClassVar[bool] = False

    @property
    def named(self) -> tuple[tuple[str, str], ...]:
        """Return the outcomes in their written order, each with its words."""
        return tuple((one.outcome, one.words) for one in self.choices)


class Against(_Form, frozen=True, kw_only=True):
    """What a reading says held against that of another check: their difference or ratio, a reading of its own."""

    check: Identifier
    as_: Literal["difference", "ratio"] = field(default="difference", name="as")
    ask: Words
    reading: Instrument
    bands: Annotated[list[Band], Meta(min_length=2)]
    normal: Identifier
    usual: dict[str, Frequency] = field(default_factory=dict)
    basis: Words
    moved_by: dict[str, Signature] = field(default_factory=dict)


CheckKind = Number | Look
"""How a check is answered; written in YAML as `reading` with `bands`, or as `choices`."""


class Check(_Form, frozen=True, kw_only=True, dict=True):
    """Something a person does that yields a reading."""

    ask: Words
    term: str = ""
    why: Words
    do: Annotated[list[Words], Meta(min_length=1)]
    drawing: str = ""
    setup: Identifier | None = None
    state: EngineState
    hands: list[Hands] = field(default_factory=list)
    opens: list[Opened] = field(default_factory=list)
    live: list[Live] = field(default_factory=list)
    tools: list[Identifier] = field(default_factory=list)
    minutes: Minutes
    parts: Cost = 0.0
    cautions: list[Identifier] = field(default_factory=list)
    reading: Instrument | None = None
    bands: list[Band] = field(default_factory=list)
    choices: list[Choice] = field(default_factory=list)
    normal: Identifier | None = None
    usual: dict[str, Frequency] = field(default_factory=dict)
    basis: Words
    moved_by: dict[str, Signature] = field(default_factory=dict)
    cannot: str = ""
    for_: Conditions = field(default_factory=dict, name="for")
    not_after: dict[Identifier, list[Identifier]] = field(default_factory=dict)
    against: Against | None = None

    @cached_property
    def kind(self) -> CheckKind:
        """Return how it is answered."""
        return Look(self.choices) if self.reading is None else Number(self.reading, self.bands)

    @cached_property
    def named_outcomes(self) -> tuple[tuple[str, str], ...]:
        """Return the outcomes in their written order, each with its words."""
        return self.kind.named

    @cached_property
    def outcomes(self) -> tuple[str, ...]:
        """Return the outcome ids in their written order."""
        return tuple(outcome for outcome, _ in self.named_outcomes)

    @property
    def unit(self) -> str:
        """Return the unit it is read in; empty where no number is read."""
        return self.reading.unit if self.reading is not None else ""

    @property
    def uncertainty(self) -> float:
        """Return the standard uncertainty of its instrument in its unit; 0 where no number is read."""
        return self.reading.uncertainty if self.reading is not None else 0.0


class Repair(_Form, frozen=True, kw_only=True):
    """How a cause is put right: steps, minutes, parts money, and how often it cures."""

    do: Annotated[list[Words], Meta(min_length=1)]
    minutes: Minutes
    parts: Cost = 0.0
    cures: Annotated[float, Meta(gt=0, le=1)] = 0.95
    cautions: list[Identifier] = field(default_factory=list)
    undoes: list[Identifier] = field(default_factory=list)
    same_work_as: Identifier | None = None


class Proof(_Form, frozen=True, kw_only=True):
    """The retest that shows a cause is cured."""

    words: Words
    check: Identifier | None = None


class Plant(_Form, frozen=True, kw_only=True):
    """How a trainer sets the fault on a training engine, or why nobody may."""

    do: list[Words] = field(default_factory=list)
    undo: list[Words] = field(default_factory=list)
    present: str = ""
    cautions: list[Identifier] = field(default_factory=list)
    prevents: list[Identifier] = field(default_factory=list)
    never: str = ""


class Cause(_Form, frozen=True, kw_only=True):
    """Something that can be wrong with the car."""

    title: Words
    term: str = ""
    system: Literal[
        "ignition", "signal", "fuel", "air", "sensors", "exhaust", "electrical", "set-up", "engine", "other"
    ]
    rate: Annotated[float, Meta(gt=0, lt=1)]
    basis: Words
    happens: Words
    degrees: dict[Degree, Share] = field(default_factory=DEGREE_WEIGHTS.copy)
    ways: dict[Identifier, Share] = field(default_factory=dict)
    for_: Conditions = field(default_factory=dict, name="for")
    repair: Repair
    proof: Proof
    cautions: list[Identifier] = field(default_factory=list)
    plant: Plant


class Step(_Form, frozen=True, kw_only=True):
    """One place in a tree: a check with the step after each outcome, or the repair it ends in."""

    check: Identifier | None = None
    next: dict[str, str] = field(default_factory=dict)
    repair: Identifier | None = None


Group = Literal["safety", "starts", "idles", "pulls", "electrics", "before the first start"]
GROUPS: tuple[Group, ...] = ("safety", "starts", "idles", "pulls", "electrics", "before the first start")
"""What concerns are listed under, in this order."""


class Concern(_Form, frozen=True, kw_only=True):
    """A symptom tree: what the customer says, what shows it, and the order in which to look."""

    title: Words
    says: Words
    group: Group | None = None
    words: list[Words] = field(default_factory=list)
    meaning: Words
    kind: Literal["tree", "inspection"] = "tree"
    stop: str = ""
    reported_anyway: Frequency = 0.01
    rules_out: list[EngineState] = field(default_factory=list)
    keeps_shut: list[Opened] = field(default_factory=list)
    shows: dict[str, Showing] = field(default_factory=dict)
    steps: dict[str, Step] = field(default_factory=dict)
    items: list[Identifier] = field(default_factory=list)
    most_at_once: Annotated[int, Meta(ge=1, le=3)] = 2

    @property
    def stops(self) -> bool:
        """Whether it begins with STOP: a danger to people, whose tree is followed step by step."""
        return self.stop.startswith("STOP")


class Needed(_Form, frozen=True, kw_only=True):
    """When a caution must stand: every part that is given must hold, by any one of its values."""

    state: list[EngineState] = field(default_factory=list)
    hands: list[Hands] = field(default_factory=list)
    opens: list[Opened] = field(default_factory=list)
    live: list[Live] = field(default_factory=list)


class Caution(_Form, frozen=True, kw_only=True):
    """A hazard, what it can do, and how to stay clear of it.

    `card` is what is read on screen: first what happens to you, then how to avoid it; all else is the full text.
    With `until` it is a procedure, whose outcome lasts until the pump runs again.
    """

    title: Words
    signal: SignalWord
    hazard: Identifier
    card: list[Words] = field(default_factory=list)
    happens: Words
    avoid: Annotated[list[Words], Meta(min_length=1)]
    defer: Words
    until: Literal["", "pump runs"] = ""
    needed: list[Needed] = field(default_factory=list)
    mentions: list[Words] = field(default_factory=list)
    for_: Conditions = field(default_factory=dict, name="for")


class Setup(_Form, frozen=True, kw_only=True):
    """Something put in place for a check that can stay there for the next: a gauge, stands, a hot engine."""

    words: Words
    minutes: Cost
    state: EngineState = "key off"
    hands: list[Hands] = field(default_factory=list)
    opens: list[Opened] = field(default_factory=list)
    live: list[Live] = field(default_factory=list)
    undone_by: list[Identifier] = field(default_factory=list)


class Tool(_Form, frozen=True, kw_only=True):
    """A tool or a helper that a check needs."""

    words: Words
    common: bool = True


class WorkedCase(_Form, frozen=True, kw_only=True):
    """A worked case beside a tree: readings in, and what must and must not lead."""

    name: Words
    car: Identifier
    differs: dict[str, str | float | bool] = field(default_factory=dict)
    concerns: list[Identifier] = field(default_factory=list)
    readings: dict[str, str | float]
    leads: list[Identifier] = field(default_factory=list)
    both: list[Identifier] = field(default_factory=list)
    must_not_lead: list[Identifier] = field(default_factory=list)
    at_least: Share = 0.0
    basis: str = "common practice, no source"


class HealthyCar(_Form, frozen=True, kw_only=True):
    """Readings of a healthy car, on which no tree may accuse anything."""

    name: Words
    car: Identifier
    differs: dict[str, str | float | bool] = field(default_factory=dict)
    readings: dict[str, str | float]
