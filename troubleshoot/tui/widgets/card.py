"""The card: what to do now, with its steps, drawing, cautions and reason."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from textual.app import ComposeResult
from textual.containers import Container, VerticalScroll
from textual.content import Content

from troubleshoot.case.cautioning import SIGNALS
from troubleshoot.case.shares import minutes_words
from troubleshoot.case.view import BandShown, CaseView, CautionShown, CheckShown, MomentShown, ProofShown, RepairShown
from troubleshoot.tui.plain import asked, beside, counted, percent, plain
from troubleshoot.tui.widgets.drawing import Drawing
from troubleshoot.tui.widgets.ruler import MOST_WIDTH, styled, with_reading
from troubleshoot.tui.widgets.words import Paragraph, Words, lead

PROPOSERS = {
    "tree": "next in the tree",
    "worth": "worth most now",
    "person": "your own choice",
    "inspection": "next on the list",
}


def bullets(steps: tuple[str, ...]) -> list[Paragraph]:
    """Return steps in order, each with a lead that is no digit, since digits are answers."""
    return [(lead("·"), plain(step)) for step in steps]


def signal_colour(signal: str) -> str:
    """Return the colour of a signal word; the word itself says the same."""
    return "$error" if signal == "DANGER" else "$warning"


def caution_line(cautions: tuple[CautionShown, ...], read: bool = True, new: str = "") -> list[Paragraph]:
    """Return one line for the hazards of a step, which have been read by then: the worst signal and what is new."""
    if not cautions:
        return []
    worst = min(cautions, key=lambda one: SIGNALS.index(one.signal) if one.signal in SIGNALS else len(SIGNALS))
    style = f"bold {signal_colour(worst.signal)}"
    if not read:
        return [(lead(f"{worst.signal} ", style), plain(counted(len(cautions), "caution") + " to read first"))]
    words = f"New here: {new}." if new else "Nothing new; keep to what you read."
    return [(lead(f"{worst.signal} ", style), plain(words))]


def check_facts(check: CheckShown) -> str:
    """Return tools, minutes, what the engine does, and the set-up, in one line."""
    setup = f"{check.setup} {'(in place)' if check.setup_in_place else ''}".strip()
    time = minutes_words(check.minutes if check.setup_in_place else check.minutes + check.setup_minutes, short=True)
    place = check.place if check.proposed_by == "inspection" else ""
    return " · ".join(word for word in (place, *check.tools, time, check.state, setup) if word)


def proposed(check: CheckShown) -> str:
    """Return why this check is the next one: who proposes it, unless the reason says so itself."""
    said = any(word in check.reason.casefold() for word in ("the tree looks", "you chose"))
    return check.reason if said else f"{PROPOSERS[check.proposed_by].capitalize()}. {check.reason}"


Parts = tuple[list[Paragraph], str, list[Paragraph]]
"""What to do, the drawing, and why."""


def check_parts(check: CheckShown) -> Parts:
    """Return the parts of a check."""
    do: list[Paragraph] = [plain(check.ask, "bold $strong")]
    if check.term:
        do.append(plain(f"in the trade: {check.term}", "$quiet"))
    do += [*caution_line(check.cautions, new=check.new_here), *bullets(check.do)]
    why: list[Paragraph] = [plain(check_facts(check), "$quiet")]
    why.append((lead("Why   "), plain(check.why)))
    if check.reason:
        why.append((lead("Now   "), plain(proposed(check))))
    if check.basis:
        why.append((lead("Limits"), plain(check.basis, "$quiet")))
    return do, check.drawing, why


def repair_parts(repair: RepairShown) -> Parts:
    """Return the parts of a repair, which has no drawing."""
    parts = f" · parts about {repair.parts:.0f} in your money" if repair.parts else ""
    do: list[Paragraph] = [(lead("Repair:"), plain(repair.title, "bold $strong"))]
    if repair.term:
        do.append(plain(f"in the trade: {repair.term}", "$quiet"))
    do += bullets(repair.do)
    why: list[Paragraph] = [plain(f"about {minutes_words(repair.minutes, short=True)}{parts}", "$quiet")]
    why += caution_line(repair.cautions)
    why += [(lead("Why   "), plain(" ".join(part for part in (repair.reason, repair.happens) if part)))]
    if repair.proof:
        why.append((lead("Proof "), plain(repair.proof)))
    return do, "", why


Decided = tuple[str, str, float]
"""An outcome, the cause that would lead after it, and the probability of the outcome."""


def decided_lines(decides: tuple[Decided, ...]) -> list[Paragraph]:
    """Return which outcomes would change who leads."""
    if not decides:
        return []
    return [
        plain("What would change the lead", "bold $primary"),
        *(
            (plain(f"{percent(share):>5}  ", "$quiet"), beside(plain(outcome, "bold"), f": then {leader} leads"))
            for outcome, leader, share in decides
        ),
    ]


NOT_CLEARED = "NOT CLEARED"
HEADINGS = {
    "caution": "Read the caution first",
    "retest": "Test it again",
    "refer": "This needs someone else to look",
    "healthy": "Nothing wrong found",
    "closed": "The case is closed",
    "stop": "Stop: fuel",
    "concern": "What does the car do?",
    "free": "Your turn",
}


def proof_parts(view: CaseView, proof: ProofShown) -> Parts:
    """Return the moment of proof: the cause, how belief in it climbed, what the retest said, what to do now."""
    closed = view.step.kind == "closed"
    found = [one for one in proof.moments if one.kind == "reading"]
    climb = "".join(EIGHTHS[round(one.after * 8)] for one in found)
    start = percent(found[0].before) if found else ""
    end = percent(found[-1].after) if found else ""
    do: list[Paragraph] = [
        (lead("PROVED", "bold $success"), plain(proof.title, "bold $strong")),
        beside(
            plain(f"{start} "),
            plain(climb, "$accent"),
            plain(f" {end} → repaired → gone "),
            plain("✓", "bold $success"),
        ),
        Content(""),
    ]
    moved = moved_by(proof)
    do += [(lead(percent(one.after).rjust(6)), _moment(one)) for one in moved]
    if len(moved) < len(found):
        little = counted(len(found) - len(moved), "other reading")
        do.append((lead(""), plain(f"{little} moved it little", "$quiet")))
    do += [Content(""), (lead("Retest"), plain(f"clean. {proof.words}"))]
    if proof.measure:
        before = any(one.title == proof.measure for one in found)
        since = "Not yet measured since the repair" if before else "Not yet measured"
        do.append((lead(since, "bold $warning"), plain(proof.measure)))
    if proof.second and proof.second_probability >= LEAST_SECOND:
        chance = percent(proof.second_probability)
        do.append((lead("Beside it"), plain(f"{proof.second}, {chance}: look again if the concern comes back.")))
    now = "Written down; the report is ready." if closed else "Close the case, or measure first where it can be."
    do.append((lead("Now"), plain(now)))
    return do, "", []


@dataclass(frozen=True)
class Read:
    """A reading of the past, to be drawn on its ruler; `read` is value, uncertainty and words, in the unit shown."""

    ask: str
    bands: tuple[BandShown, ...]
    plausible: tuple[float, float]
    read: tuple[float, float | None, str]


def read_lines(read: Sequence[Read], width: int) -> list[Content]:
    """Return readings on their rulers, one under the other."""
    shown: list[Content] = []
    for one in read:
        drawn = with_reading(one.bands, one.plausible, one.read, min(width, MOST_WIDTH))
        shown += [Content(""), plain(one.ask, "$quiet"), *styled(drawn).split("\n", allow_blank=True)] if drawn else []
    return shown


class Rulers(Words):
    """Readings of the past on their rulers."""

    read: tuple[Read, ...] = ()

    def draw(self, read: tuple[Read, ...]) -> None:
        """Draw these; nothing at all hides the widget."""
        self.read = read
        self.show([plain(one.ask) for one in read])

    def laid_out(self, width: int) -> list[Content]:
        """Return them drawn for a width."""
        return read_lines(self.read, width)


LEAST_SECOND = 0.02
"""A second cause below this is not named beside a proved one."""


MOVED = 0.02
"""A reading that moved the probability by less is counted and not listed."""
EIGHTHS = "▁▁▂▃▄▅▆▇█"


def moved_by(proof: ProofShown) -> list[MomentShown]:
    """Return the readings that moved the probability of a proved cause."""
    return [one for one in proof.moments if one.kind == "reading" and abs(one.after - one.before) >= MOVED]


def _moment(moment: MomentShown) -> Content:
    """Return a reading with the sign of the way it moved the proved cause."""
    sign = plain("↑ ", "bold $success") if moment.after > moment.before else plain("↓ ", "bold $warning")
    return beside(sign, plain(f"{asked(moment.title)} "), plain(moment.answer, "bold"))


def shows_proof(view: CaseView) -> bool:
    """Return whether this is the moment of proof; what else it could have been is then beside the point."""
    return view.proof is not None and (view.step.proved or view.step.kind == "closed")


def other_parts(view: CaseView) -> Parts:
    """Return the words of any other step."""
    if view.proof is not None and shows_proof(view):
        return proof_parts(view, view.proof)
    step = view.step
    heading = "The concern is gone" if step.proved else HEADINGS.get(step.kind, step.kind)
    if step.kind == "healthy" and view.to_put_right:
        heading = "Put this right first"
    if step.words.startswith(NOT_CLEARED):
        heading = NOT_CLEARED
    do: list[Paragraph] = [plain(heading, "bold $strong")]
    if step.words:
        do.append(plain(step.words.removeprefix(f"{heading}. ")))
    if step.cautions:
        do += caution_line(step.cautions, read=False)
    if view.to_put_right:
        do += [plain("Put right:", "bold"), *bullets(view.to_put_right)]
    return do, "", []


class Card(VerticalScroll, can_focus=False):
    """What to do now; scrolls where the screen is too small for it."""

    DEFAULT_CSS = """
    Card { height: 1fr; scrollbar-size-vertical: 1; scrollbar-gutter: stable; }
    Card Static { height: auto; }
    Card #beside { height: auto; }
    """

    def compose(self) -> ComposeResult:
        """Lay out what to do, and the drawing and the reason under it or side by side."""
        yield Words(id="do")
        with Container(id="beside"):
            yield Drawing(id="drawing")
            yield Words(id="reason")
        yield Words(id="decides")
        yield Rulers(id="read")

    def show(self, view: CaseView, decides: tuple[Decided, ...] = (), read: tuple[Read, ...] = ()) -> None:
        """Show the step of a view from its top, and which outcomes would change who leads, or what was read."""
        step = view.step
        if step.check is not None and step.kind == "check":
            do, drawing, why = check_parts(step.check)
        elif step.repair is not None and step.kind == "repair":
            do, drawing, why = repair_parts(step.repair)
        else:
            do, drawing, why = other_parts(view)
        if view.doubt:
            why.append((lead("Doubt ", "bold $warning"), plain(view.doubt)))
        why += [(lead("Note  "), plain(notice)) for notice in view.notices]
        self.query_one(Drawing).show(drawing)
        self.query_one("#do", Words).show(do)
        self.query_one("#reason", Words).show(why)
        self.query_one("#decides", Words).show(decided_lines(decides))
        self.query_one(Rulers).draw(read)
        self.scroll_home(animate=False)


def headline(view: CaseView) -> tuple[str, str]:
    """Return both sides of the first line of a session."""
    left = " · ".join([view.car, *view.concern_titles]) if view.car else "New case"
    return left, f"{minutes_words(view.minutes, short=True)} · {counted(view.readings, 'reading')}"


def short_headline(view: CaseView) -> str:
    """Return the left side for a line with little room: the car by its first word that says much, or the concerns."""
    words = view.car.split(" ")
    car = words[:1] if len(words[0]) > LONGEST_LITTLE else [" ".join(words[:2])]
    return " · ".join(view.concern_titles if len(view.concern_titles) > 1 else [*car, *view.concern_titles])


LONGEST_LITTLE = 3
"""Letters of a word that does not tell a car from another, as My or The."""
