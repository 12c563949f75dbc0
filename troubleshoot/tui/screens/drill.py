"""The session of a drill: the bench gives the readings, the person judges them and names the cause."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from textual.app import ComposeResult

from troubleshoot.case.cache import reading_context
from troubleshoot.case.errors import NotNow
from troubleshoot.case.recorded import take_recorded
from troubleshoot.case.shares import asked
from troubleshoot.case.view import CaseView
from troubleshoot.case.viewing import bands_shown
from troubleshoot.classroom.handed_files import Handed, cautions_first
from troubleshoot.classroom.handing_in import finish
from troubleshoot.classroom.sitting import Sitting
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui import session_dialogs as dialogs
from troubleshoot.tui.actions import bindings_of
from troubleshoot.tui.plain import plain
from troubleshoot.tui.screens.choice_screen import ChooseScreen
from troubleshoot.tui.screens.pictures import PictureScreen
from troubleshoot.tui.screens.session import SessionScreen
from troubleshoot.tui.widgets.answer import Answer
from troubleshoot.tui.widgets.card import Card, headline, short_headline
from troubleshoot.tui.widgets.lines import HeadLine, KeyLine, tell, tell_problem
from troubleshoot.tui.widgets.numbered import Row
from troubleshoot.tui.widgets.trail import numbered, one_line
from troubleshoot.tui.widgets.words import Paragraph, Words, lead
from troubleshoot.tui.workspace import Workspace

TICK = 1.0
"""Seconds between two looks at the clock, where a drill has a limit by it."""


def free_rows(sitting: Sitting) -> tuple[Row, ...]:
    """Return what can be done where it is the person's turn."""
    repair = "Say what you would repair" if sitting.practice is None else "Repair something"
    return Row("others", "Choose a check"), Row("repaired", repair), Row("finish", sitting.ends_by.capitalize())


class DrillScreen(SessionScreen, inherit_bindings=False):
    """One drill."""

    BINDINGS = bindings_of("drill")
    NAME = "drill"

    def __init__(self, workspace: Workspace, sitting: Sitting) -> None:
        super().__init__(workspace, sitting.case)
        self.sitting = sitting

    def compose(self) -> ComposeResult:
        """Lay out as a session, with the keys of a drill at the foot."""
        for widget in super().compose():
            yield KeyLine("drill", named={"finish": self.sitting.ends_by}) if isinstance(widget, KeyLine) else widget

    def show_case(self, view: CaseView | None = None, said: str = "") -> None:
        """Show the case; when it is over, leave."""
        super().show_case(view, said)
        if self.view.step.kind == "closed":
            self.dismiss(None)

    def show_parts(self, said: str = "") -> None:
        """Show every part, the ranking only where it may be seen; where it is the person's turn, what can be done."""
        self.ranking = self.sitting.ranking_shown
        self.query_one("#side").display = self.ranking
        super().show_parts(said)
        self.show_time()
        if self.view.step.kind == "free":
            self.query_one(Answer).ask_choice(free_rows(self.sitting), 0)
            self.query_one("#do", Words).show(turn_words(self.view, self.sitting))
            self.query_one(Card).scroll_home(animate=False)
        elif self.view.step.kind == "check" and not said:
            handed = self.sitting.handed(self.view.step.check.id) if self.view.step.check else None
            gives = f"hands you {handed.name} to read" if handed else "gives the reading"
            tell(self, f"Enter: the bench {gives}.")

    def action_take(self) -> None:
        """Let the bench answer the check, else do what is marked."""
        answer, step = self.query_one(Answer), self.view.step
        if step.kind == "check" and step.check is not None:
            self.action_bench()
        elif step.kind == "repair" and step.repair is not None:
            self.name_cause(step.repair.cause)
        elif answer.chosen is None:
            tell(self, "Choose by its digit, then Enter.")
        elif answer.chosen.id in ("repaired", "finish", "left", "refer", "proved"):
            self.action_dialog("repaired" if answer.chosen.id == "repaired" else "finish")
        else:
            dialogs.follow(self, answer.chosen.id)

    def action_bench(self) -> None:
        """Take the bench's reading, then let the person judge it."""
        check, bench = self.view.step.check, self.sitting.case.bench
        if check is None or bench is None or self.view.step.kind != "check":
            tell(self, "Choose a check first: o lists them.")
            return
        handed = self.sitting.handed(check.id)
        if handed is not None:
            self.read_file(handed)
            return
        read = bench.read(check.id)
        if read is None:
            with self.changing("This cannot be measured here. Left out."):
                self.sitting.case.skip(check.id, "cannot be measured")
            return
        try:
            self.sitting.take(check.id)
        except TroubleshootError as refused:
            tell_problem(self, refused)
            return
        seen = next((one.words for one in check.choices if one.outcome == read), "")
        shown = seen or self.sitting.case.assessment.latest[check.id].shown
        self.show_case(said=f"Read: {shown}")
        if self.sitting.drill.judge and check.bands:
            self.ask_waiting(check.id)

    def read_file(self, handed: Handed) -> None:
        """Show a file that the bench hands out, and take the readings marked in it."""
        screen = PictureScreen(self.case, handed.recorded, (self.app.size.width, self.app.size.height))

        def take(done: str | None) -> None:
            if done is None:
                return
            with self.changing(" ".join((f"Read from {handed.name}.", *cautions_first(handed, self.case.catalogue)))):
                take_recorded(self.case, handed.recorded, screen.marked, kept=False)
            if self.sitting.unjudged:
                self.ask_each(self.sitting.unjudged)

        self.app.push_screen(screen, take)

    def show_time(self) -> None:
        """Show the minutes of work, and those left by the clock where there is a limit."""
        left, right = headline(self.view)
        words = " · ".join(filter(None, (right, self.sitting.time_words)))
        self.query_one("#head", HeadLine).show(left, words, short_headline(self.view))

    def watch_clock(self) -> None:
        """Show the time left; once it is up, close whatever lies over the drill and hand in as it stands."""
        left = self.sitting.time_left
        if left is None or self.sitting.over:
            return
        if left >= 0:
            self.show_time()
            return
        while not self.is_active:
            self.app.pop_screen()
        self.clock.stop()
        with self.changing():
            finish(self.sitting)

    def on_mount(self) -> None:
        """Watch the clock; ask again for the judgements that were left open when the drill was last left."""
        self.clock = self.set_interval(TICK, self.watch_clock, pause=self.sitting.drill.clock_limit is None)
        if self.sitting.unjudged:
            self.call_after_refresh(self.ask_each, self.sitting.unjudged)

    def ask_each(self, waiting: Sequence[str]) -> None:
        """Ask for one judgement after the other, until one is put off."""
        first, *rest = waiting
        self.ask_waiting(first, (lambda: self.ask_each(rest)) if rest else None)

    def action_judge(self) -> None:
        """Ask for the judgements that were put off, that of the last number first."""
        if self.sitting.unjudged:
            self.ask_each(self.sitting.unjudged)
        else:
            tell(self, "No number waits to be judged.")

    def ask_waiting(self, waiting: str, then: Callable[[], None] | None = None) -> None:
        """Ask where a reading lies that was taken before."""
        case, check = self.case, self.case.catalogue.checks[waiting]
        context, read = (
            reading_context(case.assessment, case.catalogue, case.settings.units),
            case.assessment.latest[waiting],
        )
        rows = [Row(one.outcome, one.words, one.limits) for one in bands_shown(check, context, read.value)]
        title = f"{asked(check.ask)} {read.shown}"
        self.ask_judgement(waiting, title, rows, then)

    def ask_judgement(
        self, check: str, title: str, rows: Sequence[Row], then: Callable[[], None] | None = None
    ) -> None:
        """Ask in which band a reading lies; `then` is done once it was said."""

        def judged(outcome: str | None) -> None:
            if outcome is None:
                self.show_case(said="Not judged yet; j asks again.")
                return
            with self.changing("Judged."):
                self.sitting.case.judge(check, outcome)
            if then is not None:
                then()

        self.app.push_screen(ChooseScreen(title, rows, "Where does it lie?"), judged)

    def name_cause(self, cause: str) -> None:
        """Repair or name a cause."""
        title = self.sitting.case.catalogue.causes[cause].title
        with self.changing():
            self.sitting.repair(cause)
        if cause in self.sitting.named:
            result = self.sitting.practice.retest() if self.sitting.practice is not None else ""
            words = {"gone": "the concern is gone", "partly": "better, not gone", "still": "it is still there"}
            tell(self, f"{title}: {words[result]}" if result else f"Named: {title}. f hands in.")

    def action_why(self) -> None:
        """Ask for the ranking where the drill gives it; once it is shown, say why a cause stands where it does."""
        if self.sitting.ranking_shown:
            dialogs.open_why(self)
            return
        with self.changing("The ranking is shown from now on."):
            self.sitting.case.ask_ranking()

    def action_hint(self) -> None:
        """Give the trainer's next hint."""
        hint = self.sitting.next_hint()
        self.show_case(said=f"Hint: {hint}" if hint else "There is no further hint.")

    def action_dialog(self, dialog: str) -> None:
        """Open another screen; those that a drill does not have say so."""
        if dialog == "repaired":
            self.open_causes()
        elif dialog == "finish":
            self.open_finish()
        elif dialog == "others":
            self.open_checks()
        elif dialog in ("facts", "change", "concern"):
            tell_problem(self, NotNow("The drill sets that.", "Go on from here."))
        else:
            super().action_dialog(dialog)

    def open_checks(self) -> None:
        """List the checks that can be done and take up the one chosen."""

        def rows(appraised: bool = True) -> list[Row]:
            return [dialogs.other_row(one) for one in self.sitting.checks(appraised)]

        def choose(check: str | None) -> None:
            if check is not None:
                with self.changing():
                    self.sitting.case.choose(check)

        later = rows if self.sitting.ranking_shown else None
        none_left = "Every check has been done."
        shown = ChooseScreen("Which check?", rows(appraised=False), "", none_left, narrows=True, later=later)
        self.app.push_screen(shown, choose)

    def open_causes(self) -> None:
        """List every cause that can be named."""
        rows = [Row(one.id, one.title, "", one.term) for one in self.sitting.candidates()]

        def chosen(cause: str | None) -> None:
            if cause is not None:
                self.name_cause(cause)

        title = "What would you repair?" if self.sitting.practice is None else "What do you repair?"
        self.app.push_screen(ChooseScreen(title, rows, "", "No cause can be named yet.", narrows=True), chosen)

    def open_finish(self) -> None:
        """Ask once more, then hand in; practice is closed."""
        named = [self.sitting.case.catalogue.causes[one].title for one in self.sitting.named]
        verb = "named" if self.sitting.practice is None else "repaired"
        words = f"You have {verb}: {'; '.join(named)}." if named else f"You have {verb} nothing."

        def done(answer: str | None) -> None:
            if answer == "finish":
                with self.changing():
                    finish(self.sitting)

        ends = self.sitting.ends_by.capitalize()
        rows = (Row("finish", ends), Row("on", "Go on"))
        self.app.push_screen(ChooseScreen(f"{ends}?", rows, words), done)


def turn_words(case: CaseView, sitting: Sitting) -> list[Paragraph]:
    """Return what is told where it is the person's turn: what has been found so far, then the story."""
    done = [one_line(number, line) for number, line in numbered(case.trail)]
    words: list[Paragraph] = [plain("Your turn", "bold $strong")]
    if not done:
        return [*words, plain(case.step.words)]
    words += [plain("So far:", "bold"), *((lead(" "), line) for line in done)]
    if sitting.named:
        words += [plain(case.step.words)]
    return [*words, plain(""), plain(f"{sitting.drill.story} {sitting.rules.conditions}".strip(), "$quiet")]
