"""The card: what to do now, with its steps, drawing, cautions and reason."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Container, VerticalScroll
from textual.content import Content
from textual.widgets import Static

from troubleshoot.investigation.view import CaseView, CautionShown, CheckShown, RepairShown
from troubleshoot.tui.plain import beside, counted, lines, percent, plain

PROPOSERS = {
    "tree": "next in the tree",
    "worth": "worth most now",
    "person": "your own choice",
    "inspection": "next on the list",
}


def bullets(steps: tuple[str, ...]) -> list[Content]:
    """Return steps in order, each with a lead that is no digit, since digits are answers."""
    return [beside(plain("· ", "bold $primary"), step) for step in steps]


def caution_line(cautions: tuple[CautionShown, ...], read: bool = True) -> list[Content]:
    """Return one line a signal word with its hazards; by the time a check is shown they have been read."""
    by_signal: dict[str, list[str]] = {}
    for caution in cautions:
        by_signal.setdefault(caution.signal, []).append(caution.title)
    return [
        beside(plain(f"{signal}  ", "bold $warning"), " · ".join(titles), plain("  read ✓" if read else "", "$quiet"))
        for signal, titles in by_signal.items()
    ]


def minutes(amount: float) -> str:
    """Return minutes, or hours where it takes long."""
    return f"{amount:.0f} min" if amount < 120 else f"{amount / 60:.1f} h"


def check_facts(check: CheckShown) -> str:
    """Return tools, minutes, what the engine does, and the set-up, in one line."""
    setup = f"{check.setup} {'(in place)' if check.setup_in_place else ''}".strip()
    time = minutes(check.minutes if check.setup_in_place else check.minutes + check.setup_minutes)
    return " · ".join(word for word in (*check.tools, time, check.state, setup, check.place) if word)


def check_parts(check: CheckShown) -> tuple[Content, str, Content]:
    """Return what to do, the drawing, and why, of a check."""
    head = [plain(check.ask, "bold $strong")]
    if check.term:
        head.append(plain(f"in the trade: {check.term}", "$quiet"))
    do = lines(*head, *bullets(check.do), plain(check_facts(check), "$quiet"), *caution_line(check.cautions))
    why = [beside(plain("Why  ", "bold $primary"), check.why)]
    if check.reason:
        why.append(beside(plain(f"{PROPOSERS.get(check.proposed_by, '')}: ".capitalize(), "$quiet"), check.reason))
    if check.basis:
        why.append(plain(f"Limits: {check.basis}", "$quiet"))
    return do, check.drawing, lines(*why)


def repair_parts(repair: RepairShown) -> tuple[Content, str, Content]:
    """Return what to do, no drawing, and why, of a repair."""
    parts = f" · parts about {repair.parts:.0f}" if repair.parts else ""
    do = lines(
        beside(plain("Repair: ", "bold $primary"), plain(repair.title, "bold $strong")),
        *([plain(f"in the trade: {repair.term}", "$quiet")] if repair.term else []),
        *bullets(repair.do),
        plain(f"about {minutes(repair.minutes)}{parts}", "$quiet"),
        *caution_line(repair.cautions),
    )
    why = [beside(plain("Why  ", "bold $primary"), repair.reason or repair.happens)]
    if repair.reason and repair.happens:
        why.append(plain(repair.happens))
    if repair.proof:
        why.append(beside(plain("Proof  ", "bold $primary"), repair.proof))
    return do, "", lines(*why)


Decided = tuple[str, str, float]
"""An outcome, the cause that would lead after it, and the probability of the outcome."""


def decided_lines(decides: tuple[Decided, ...]) -> Content:
    """Return what each outcome would decide."""
    rows = [
        beside(
            plain(f"{percent(share):>5}  ", "$quiet"), plain(outcome, "bold"), plain("  then leads: ", "$quiet"), leader
        )
        for outcome, leader, share in decides
    ]
    return lines(plain("Would change who leads", "bold $primary"), *rows)


HEADINGS = {
    "caution": "Read the caution first",
    "retest": "Test it again",
    "refer": "This needs someone else to look",
    "sound": "Nothing wrong found",
    "closed": "The case is closed",
    "stop": "Stop: fuel",
    "concern": "What does the car do?",
}


def other_parts(view: CaseView) -> tuple[Content, str, Content]:
    """Return the words of any other step."""
    step = view.step
    do = [plain(HEADINGS.get(step.kind, step.kind), "bold $strong")]
    if step.words:
        do.append(plain(step.words))
    if step.caution is not None:
        do += caution_line((step.caution,), read=False)
    if view.to_put_right:
        do += [plain("Put right:", "bold"), *bullets(view.to_put_right)]
    return lines(*do), "", Content("")


class Card(VerticalScroll, can_focus=False):
    """What to do now; scrolls where the screen is too small for it."""

    DEFAULT_CSS = """
    Card { height: 1fr; scrollbar-size-vertical: 1; }
    Card Static { height: auto; }
    Card #beside { height: auto; }
    """

    def compose(self) -> ComposeResult:
        """Lay out what to do, and the drawing and the reason under it or side by side."""
        yield Static(id="do", markup=False)
        with Container(id="beside"):
            yield Static(id="drawing", markup=False)
            yield Static(id="reason", markup=False)
        yield Static(id="decides", markup=False)

    def show(self, view: CaseView, decides: tuple[Decided, ...] = ()) -> None:
        """Show the step of a view from its top, and what each outcome would make of the ranking."""
        step = view.step
        if step.check is not None and step.kind == "check":
            do, drawing, why = check_parts(step.check)
        elif step.repair is not None and step.kind == "repair":
            do, drawing, why = repair_parts(step.repair)
        else:
            do, drawing, why = other_parts(view)
        if view.doubt:
            why = lines(why, beside(plain("Doubt  ", "bold $warning"), view.doubt))
        for notice in view.notices if not view.readings else ():
            why = lines(why, beside(plain("Note  ", "bold $primary"), notice))
        picture = self.query_one("#drawing", Static)
        picture.update(plain(drawing.rstrip()))
        picture.display = bool(drawing.strip())
        self.query_one("#do", Static).update(do)
        self.query_one("#reason", Static).update(why)
        self.query_one("#decides", Static).update(decided_lines(decides))
        self.query_one("#decides").display = bool(decides)
        self.scroll_home(animate=False)


def headline(view: CaseView) -> tuple[str, str]:
    """Return both sides of the first line of a session."""
    left = " · ".join([view.car, *view.concern_titles]) if view.car else "New case"
    return left, f"{minutes(view.minutes)} · {counted(view.readings, 'reading')}"
