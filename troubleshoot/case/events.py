"""What can happen in a case; the state of a case is a fold over these and nothing else.

Whoever asks what an event means asks for the event itself or for its kind: `Setting`, `Work`, `Aside`, `OfDrill`.
"""

from __future__ import annotations

from typing import Any, ClassVar, Literal

from msgspec import UNSET, Struct, UnsetType, field


class _Event(Struct, frozen=True, kw_only=True, tag_field="what", rename="kebab"):
    """What all events share: the time they happened, in seconds since 1970 (UTC)."""

    WORDS: ClassVar[str] = "the last step"
    """What is said of it where it is taken back."""

    at: float = 0.0

    @property
    def line(self) -> tuple[str, str] | None:
        """What it was and what it says, where that has a line in the trail as it stands."""
        return None


class Setting(_Event, frozen=True, kw_only=True):
    """What the case is about was entered or changed."""


class Work(_Event, frozen=True, kw_only=True):
    """Something was done, found or chosen at the car."""


class Aside(_Event, frozen=True, kw_only=True):
    """What changes nothing that is known of the car."""


class OfDrill(Aside, frozen=True, kw_only=True):
    """What happens only where a drill is sat or practised."""


class Opened(_Event, frozen=True, kw_only=True, tag="opened"):
    """The case was opened with a version of the trees."""

    trees: str
    program: str = ""
    drill: str = ""


class CarSet(Setting, frozen=True, kw_only=True, tag="car"):
    """The car was entered or changed; written field names and their values."""

    WORDS: ClassVar[str] = "the car"

    car: dict[str, Any]


class ConcernsSet(Setting, frozen=True, kw_only=True, tag="concerns"):
    """What the customer says, as concern ids."""

    WORDS: ClassVar[str] = "the concerns"

    concerns: tuple[str, ...]
    customer: str = ""


class ToolsSet(Setting, frozen=True, kw_only=True, tag="tools"):
    """The tools at hand; None means everything."""

    WORDS: ClassVar[str] = "the tools"

    tools: tuple[str, ...] | None = None


class CautionAcknowledged(Aside, frozen=True, kw_only=True, tag="caution"):
    """A caution was read and acknowledged, for what the engine does at the step it stands before."""

    WORDS: ClassVar[str] = "the caution"

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
    of: str = ""
    """The quantity on whose axis the number lies; empty where it is a difference or a time."""
    at_s: float | None = None
    """The moment picked, where the number is that of a moment."""


class RecordingKept(Aside, frozen=True, kw_only=True, tag="recording"):
    """A recording that readings were taken from: words on it, and few enough points to draw it by later."""

    WORDS: ClassVar[str] = "the recording"

    kind: str
    file: str
    sha256: str = ""
    words: tuple[str, ...] = ()
    points: dict[str, tuple[tuple[float, float], ...]] = field(default_factory=dict)
    """By quantity: time in s, and the number in the unit of `units`."""
    units: dict[str, str] = field(default_factory=dict)
    marks: tuple[tuple[str, float, float], ...] = ()
    """What is marked in the picture itself, as dwell and bounce: the word, from and to in s."""

    @property
    def line(self) -> tuple[str, str]:
        """What it was and what it says."""
        return f"Recording: {self.kind}", self.file


class Measured(Struct, frozen=True, kw_only=True, tag_field="by", tag="number", rename="kebab"):
    """An answer with a number in `unit` (the check's own), its standard uncertainty, and the outcome it lay in then."""

    value: float
    uncertainty: float | None = None
    unit: str = ""
    outcome: str = ""


class Seen(Struct, frozen=True, kw_only=True, tag_field="by", tag="outcome", rename="kebab"):
    """An answer that names an outcome of the check."""

    outcome: str


Answer = Measured | Seen


class ReadingTaken(Work, frozen=True, kw_only=True, tag="reading"):
    """A check was answered: the text as typed, and what it was taken to say."""

    check: str
    typed: str
    answer: Answer
    minutes: float = 0.0
    source: RecordingSource | None = None
    """The recording it was read from; None where a person read it."""


class CheckSkipped(Work, frozen=True, kw_only=True, tag="skipped"):
    """A check could not or would not be done, and why."""

    check: str
    why: str = ""


class ReadingCorrected(_Event, frozen=True, kw_only=True, tag="corrected"):
    """An earlier answer, by its place in the event list, was wrong; this stands in its place."""

    WORDS: ClassVar[str] = "the change of an answer"

    index: int
    reading: ReadingTaken | CheckSkipped


class CheckChosen(Work, frozen=True, kw_only=True, tag="chosen"):
    """The person chose another check than the one proposed."""

    check: str


class Fitted(Struct, frozen=True, kw_only=True, rename="kebab"):
    """What was really done at a repair, as typed: what was fitted, its part number, who did it, the money's name."""

    words: str = ""
    part: str = ""
    by: str = ""
    currency: str = ""


class RepairMade(Work, frozen=True, kw_only=True, tag="repair"):
    """A cause was repaired (or its part replaced)."""

    cause: str
    minutes: float = 0.0
    parts: float = 0.0
    fitted: Fitted | UnsetType = UNSET
    """Left out of what is kept where nothing was said, so that trails of earlier releases keep their hash."""

    @property
    def said(self) -> Fitted:
        """What was said of it; empty words where nothing was."""
        return Fitted() if self.fitted is UNSET else self.fitted


class Retested(Work, frozen=True, kw_only=True, tag="retest"):
    """After a repair: is the concern still there?"""

    WORDS: ClassVar[str] = "the retest"

    result: Literal["gone", "partly", "still"]


class FuelSmelt(Work, frozen=True, kw_only=True, tag="fuel-smelt"):
    """Fuel was smelt or seen; everything else waits until the leak is repaired."""

    WORDS: ClassVar[str] = "the smell of fuel"


class LeakRepaired(Work, frozen=True, kw_only=True, tag="leak-mended"):
    """The leak was found and repaired, and looked at again under pressure."""

    WORDS: ClassVar[str] = "that the leak was repaired"


class Note(Aside, frozen=True, kw_only=True, tag="note"):
    """Free words."""

    WORDS: ClassVar[str] = "the note"

    text: str

    @property
    def line(self) -> tuple[str, str]:
        """What it was and what it says."""
        return "Note", self.text


class Attached(Aside, frozen=True, kw_only=True, tag="attached"):
    """A photograph or another file that belongs to the case: where it lies, its size in bytes and its hash."""

    WORDS: ClassVar[str] = "the file"

    file: str
    size: int
    sha256: str

    @property
    def line(self) -> tuple[str, str]:
        """What it was and what it says."""
        return "File", f"{self.file} (SHA-256 {self.sha256[:12]})"


class Seated(OfDrill, frozen=True, kw_only=True, tag="seated", omit_defaults=True):
    """Somebody sat down to a drill, or to practice; `attempt` counts their sittings of the same drill."""

    trainee: str
    attempt: int = 1


class Judged(OfDrill, frozen=True, kw_only=True, tag="judged"):
    """The person at a drill said in which outcome of a check the number just read lies."""

    WORDS: ClassVar[str] = "the judgement"

    check: str
    outcome: str


class HintGiven(OfDrill, frozen=True, kw_only=True, tag="hint"):
    """The trainer's next hint was asked for and told."""

    WORDS: ClassVar[str] = "the hint"

    hint: str

    @property
    def line(self) -> tuple[str, str]:
        """What it was and what it says."""
        return "Hint", self.hint


class RankingAsked(OfDrill, frozen=True, kw_only=True, tag="ranking"):
    """The person at a drill asked to see what is likely."""

    WORDS: ClassVar[str] = "asking for the ranking"

    @property
    def line(self) -> tuple[str, str]:
        """What it was and what it says."""
        return "Ranking", "asked for"


class HandedIn(OfDrill, frozen=True, kw_only=True, tag="handed-in"):
    """A sitting ended; `trail` is the hash over all events before, `form` how it was taken (1: as release 0.2 did)."""

    trail: str
    form: int = 2


class Undone(_Event, frozen=True, kw_only=True, tag="undone"):
    """The last standing event (not Opened, not another Undone) is taken back."""


class Closed(_Event, frozen=True, kw_only=True, tag="closed"):
    """The case ended: proved (retest clean), referred, or left."""

    WORDS: ClassVar[str] = "closing the case"

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
    | Attached
    | Seated
    | Judged
    | HintGiven
    | RankingAsked
    | HandedIn
    | Undone
    | Closed
)
