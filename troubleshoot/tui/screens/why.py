"""Why a cause is likely: what each reading says for it, expected against read."""

from __future__ import annotations

from textual import events
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content

from troubleshoot.case.case import Case
from troubleshoot.case.view import CaseView, CauseShown, WeightShown
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.actions import bindings_of
from troubleshoot.tui.plain import asked, beside, percent, plain
from troubleshoot.tui.screens.answer_once import OnceScreen
from troubleshoot.tui.widgets.likely import worth_listing
from troubleshoot.tui.widgets.lines import HeadLine, KeyLine, MessageLine, tell_problem
from troubleshoot.tui.widgets.words import Paragraph, Words, lead

FULL_SCALE = 4.0
"""Log-odds at which the balance stands at its end; about fifty to one."""
ARM = 8


def balance(log_odds: float) -> str:
    """Return a balance: filled to the left against the cause, to the right for it."""
    filled = min(ARM, round(abs(log_odds) / FULL_SCALE * ARM))
    left = ("█" * filled if log_odds < 0 else "").rjust(ARM, "·")
    right = ("█" * filled if log_odds > 0 else "").ljust(ARM, "·")
    return f"{left}│{right}"


def weight_lines(weight: WeightShown) -> list[Paragraph]:
    """Return one reading: the balance, what it is, what was read, what this cause most often shows."""
    scale = plain(f"{balance(weight.log_odds)}  ", "$error" if weight.log_odds < 0 else "$success")
    same = weight.expected == weight.read or not weight.expected
    expected = "which this cause shows" if same else f"this cause most often shows: {weight.expected}"
    margin = plain(" " * scale.cell_length)
    return [
        (scale, beside(plain(asked(weight.title), "bold"), f" {weight.words}")),
        (margin, plain(f"read: {weight.read}; {expected}")),
        *([(margin, plain(weight.why, "$quiet"))] if weight.why else []),
        Content(""),
    ]


class WhyScreen(OnceScreen[None]):
    """The weights of the readings for one cause; Left and Right go to another."""

    CSS_PATH = "../styles/reading.tcss"
    BINDINGS = bindings_of("why")
    NAME = "why"

    def __init__(self, case: Case, view: CaseView, cause: str = "") -> None:
        """`cause` is the id of the one to begin with; the leading one where none is named."""
        super().__init__()
        self.case, self.view = case, view
        self.causes = worth_listing(view) or list(view.ranked)
        named = [one for one in view.ranked if one.id == cause]
        self.causes += [one for one in named if one not in self.causes]
        self.at = self.causes.index(named[0]) if named else 0

    def compose(self) -> ComposeResult:
        """Lay out the page."""
        yield HeadLine("Why", id="head")
        with VerticalScroll(id="page"):
            yield Words(id="text")
        yield MessageLine()
        yield KeyLine("why")

    def on_mount(self) -> None:
        """Begin with the cause that was named, or the leading one."""
        self.query_one("#page").focus()
        self.show_cause(self.at)

    def show_cause(self, at: int) -> None:
        """Show the weights for the cause at a place of the ranking."""
        if not self.causes:
            self.query_one("#text", Words).show([plain("No cause is ranked yet.", "$quiet")])
            return
        self.at = at % len(self.causes)
        cause = self.causes[self.at]
        self.query_one("#head", HeadLine).show(f"Why: {cause.title}", f"{self.at + 1} of {len(self.causes)}")
        try:
            weights = self.case.why(cause.id)
        except TroubleshootError as refused:
            tell_problem(self, refused)
            return
        self.query_one("#text", Words).show(page(cause, weights, self.view))
        self.query_one("#page").scroll_home(animate=False)

    def on_key(self, event: events.Key) -> None:
        """A digit goes to that cause."""
        if event.character and event.character in "123456789" and int(event.character) <= len(self.causes):
            event.stop()
            self.show_cause(int(event.character) - 1)

    def action_next(self) -> None:
        """The next cause."""
        self.show_cause(self.at + 1)

    def action_previous(self) -> None:
        """The cause before."""
        self.show_cause(self.at - 1)

    def action_back(self) -> None:
        """Back to the check."""
        self.dismiss(None)


def page(cause: CauseShown, weights: tuple[WeightShown, ...], case: CaseView) -> list[Paragraph]:
    """Return the page of one cause."""
    shown: list[Paragraph] = [
        beside(plain(percent(cause.probability), "bold $accent"), "  ", plain(cause.words, "bold"))
    ]
    if cause.term:
        shown.append(plain(f"in the trade: {cause.term}", "$quiet"))
    shown += [plain(cause.happens), Content("")]
    if weights:
        shown.append(plain(f"{'against':>{ARM}}│for it", "$quiet"))
        for weight in weights:
            shown += weight_lines(weight)
    else:
        shown.append(
            plain(
                "Nothing read so far speaks for it or against it: it stands where it does by how often it happens, "
                "given what the car does, and by what is read of the others."
            )
        )
    pairs = [pair for pair in case.pairs if cause.id in pair.causes]
    if pairs:
        shown.append(plain("Two at once", "bold $primary"))
        shown += [(plain(f"{percent(pair.probability):>6}  "), plain(" and ".join(pair.titles))) for pair in pairs]
    if case.doubt:
        shown += [Content(""), (lead("Doubt", "bold $warning"), plain(case.doubt))]
    return shown
