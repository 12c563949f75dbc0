"""What can happen in a case; the state of a case is a fold over these and nothing else."""

from __future__ import annotations

from typing import Any, Literal

from msgspec import Struct, field


class _Event(Struct, frozen=True, kw_only=True, tag_field="what", rename="kebab"):
    """What all events share: the time they happened, in seconds since 1970 (UTC)."""

    at: float = 0.0


class Opened(_Event, frozen=True, kw_only=True, tag="opened"):
    """The case was opened with a version of the trees."""

    trees: str
    program: str = ""
    drill: str = ""


class CarSet(_Event, frozen=True, kw_only=True, tag="car"):
    """The car was entered or changed; written field names and their values."""

    car: dict[str, Any]


class ConcernsSet(_Event, frozen=True, kw_only=True, tag="concerns"):
    """What the customer says, as concern ids."""

    concerns: tuple[str, ...]
    customer: str = ""


class ToolsSet(_Event, frozen=True, kw_only=True, tag="tools"):
    """The tools at hand; None means everything."""

    tools: tuple[str, ...] | None = None


class CautionAcknowledged(_Event, frozen=True, kw_only=True, tag="caution"):
    """A caution was read and acknowledged, for what the engine does at the step it stands before."""

    caution: str
    running: bool = False
    state: str = ""
    """The engine's state; empty in a case that 0.2 or an earlier release wrote, where `running` alone is known."""


class RecordingSource(Struct, frozen=True, kw_only=True, rename="kebab"):
    """Where a reading came from: a recording's file and hash, the stretch of it in s, and the method in words."""

    kind: str
    file: str
    sha256: str = ""
    from_s: float = 0.0
    to_s: float = 0.0
    method: str = ""


class RecordingKept(_Event, frozen=True, kw_only=True, tag="recording"):
    """A recording that readings were taken from: words on it, and few enough points to draw it by later."""

    kind: str
    file: str
    sha256: str = ""
    words: tuple[str, ...] = ()
    points: dict[str, tuple[tuple[float, float], ...]] = field(default_factory=dict)
    """By quantity: time in s, and the number in the unit of `units`."""
    units: dict[str, str] = field(default_factory=dict)


class ReadingTaken(_Event, frozen=True, kw_only=True, tag="reading"):
    """A check was answered: the text as typed, and the number in `unit` (the check's own) or the outcome chosen."""

    check: str
    typed: str
    value: float | None = None
    uncertainty: float | None = None
    outcome: str | None = None
    minutes: float = 0.0
    unit: str = ""
    source: RecordingSource | None = None
    """The recording it was read from; None where a person read it."""


class CheckSkipped(_Event, frozen=True, kw_only=True, tag="skipped"):
    """A check could not or would not be done, and why."""

    check: str
    why: str = ""


class ReadingCorrected(_Event, frozen=True, kw_only=True, tag="corrected"):
    """An earlier answer, by its place in the event list, was wrong; this stands in its place."""

    index: int
    reading: ReadingTaken | CheckSkipped


class CheckChosen(_Event, frozen=True, kw_only=True, tag="chosen"):
    """The person chose another check than the one proposed."""

    check: str


class RepairMade(_Event, frozen=True, kw_only=True, tag="repair"):
    """A cause was repaired (or its part replaced)."""

    cause: str
    minutes: float = 0.0
    parts: float = 0.0


class Retested(_Event, frozen=True, kw_only=True, tag="retest"):
    """After a repair: is the concern still there?"""

    result: Literal["gone", "partly", "still"]


class FuelSmelt(_Event, frozen=True, kw_only=True, tag="fuel-smelt"):
    """Fuel was smelt or seen; everything else waits until the leak is repaired."""


class LeakRepaired(_Event, frozen=True, kw_only=True, tag="leak-mended"):
    """The leak was found and repaired, and looked at again under pressure."""


class Note(_Event, frozen=True, kw_only=True, tag="note"):
    """Free words."""

    text: str


class Undone(_Event, frozen=True, kw_only=True, tag="undone"):
    """The last standing event (not Opened, not another Undone) is taken back."""


class Closed(_Event, frozen=True, kw_only=True, tag="closed"):
    """The case ended: proved (retest clean), referred, or left."""

    result: Literal["proved", "referred", "left"]
    causes: tuple[str, ...] = field(default=())


Event = (
    Opened
    | CarSet
    | ConcernsSet
    | ToolsSet
    | CautionAcknowledged
    | RecordingKept
    | ReadingTaken
    | CheckSkipped
    | ReadingCorrected
    | CheckChosen
    | RepairMade
    | Retested
    | FuelSmelt
    | LeakRepaired
    | Note
    | Undone
    | Closed
)
