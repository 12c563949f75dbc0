"""A case on the screen: what to do now, what was read, what it is likely to be, what has been done."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from textual import events, on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical

from troubleshoot.calculations.units import convert, convert_difference
from troubleshoot.case.cache import reading_context
from troubleshoot.case.case import Case
from troubleshoot.case.course import Course, tree_place
from troubleshoot.case.system_map import system_map
from troubleshoot.case.view import CaseView, CauseShown
from troubleshoot.case.viewing import bands_shown
from troubleshoot.casebook.refusing import CaseMovedOn
from troubleshoot.knowledge.answers import InterpretedReading, ReadingImplausible, in_shown_unit, shown_unit_of
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.screens.answer_once import OnceScreen
from troubleshoot.tui.session_options import first_marked, rows_for, wants_quantity
from troubleshoot.tui.widgets.answer import Answer
from troubleshoot.tui.widgets.car_map import CarMap
from troubleshoot.tui.widgets.card import Card, Decided, Read, headline, moved_by, short_headline, shows_proof
from troubleshoot.tui.widgets.entry import Entry
from troubleshoot.tui.widgets.likely import Likely
from troubleshoot.tui.widgets.lines import HeadLine, KeyLine, MessageLine, tell, tell_problem
from troubleshoot.tui.widgets.numbered import Numbered
from troubleshoot.tui.widgets.ruler import Ruler
from troubleshoot.tui.widgets.trail import Trail
from troubleshoot.tui.widgets.tree_place import TreePlace
from troubleshoot.tui.workspace import Workspace


def on_ruler(read: InterpretedReading, unit: str) -> tuple[float | None, float | None]:
    """Return a reading and its uncertainty in the unit in which the bands are shown."""
    if read.value is None:
        return None, None
    spread = None if read.uncertainty is None else convert_difference(read.uncertainty, read.unit, unit)
    return convert(read.value, read.unit, unit), spread


def suspected(view: CaseView) -> tuple[CauseShown, ...]:
    """Return the causes a map is shaded by: those ranked, or the one that is proved."""
    if view.proof is None or not shows_proof(view):
        return view.ranked
    return (CauseShown(view.proof.cause, view.proof.title, "", 1.0, ""),)


CLOSED = {"take": "choose", "undo": "open again", "report": "report", "back": "leave", "help": "help"}
"""What the bottom line names where the case is closed."""


class CaseScreen(OnceScreen[None]):
    """One open case, shown; `SessionScreen` adds the keys that open other screens over it."""

    NAME = ""

    def __init__(self, workspace: Workspace, case: Case, ranking: bool = True) -> None:
        """`ranking` False hides what is likely and what would change it, as a drill may ask."""
        super().__init__()
        self.workspace, self.case, self.ranking = workspace, case, ranking
        self.view: CaseView = case.view()
        self.course = Course()
        self.sure_of = ""
        """The implausible text that a second Enter takes."""
        self.just_read = False
        """Whether the cautions of this step were read a moment ago; a `y` too many then asks for nothing."""
        self.unsaid = " ".join(self.view.notices)
        """What differs from when the case was last open; said once, below the first step."""

    def compose(self) -> ComposeResult:
        """Lay out the four questions: now and the answer on the left, likely on the right, done at the foot."""
        yield HeadLine(*headline(self.view), short_headline(self.view), id="head")
        with Horizontal(id="work"):
            with Vertical(id="now"):
                yield Card(id="card")
                yield CarMap(id="map")
                yield Answer(id="answer")
            with Vertical(id="side"):
                yield Likely(id="likely")
                yield TreePlace(id="tree")
        yield Trail(id="trail")
        yield MessageLine()
        yield KeyLine("session")

    def on_mount(self) -> None:
        """Show the case as it stands."""
        for moved in ("show_vertical_scrollbar", "scroll_y", "virtual_size"):
            self.watch(self.query_one(Card), moved, self.say_more)
        self.watch(self.query_one(Answer), "show_vertical_scrollbar", self.say_more)
        self.query_one("#side").display = self.ranking
        self.show_case(self.view)

    def on_resize(self) -> None:
        """Show more or less in another size, once the toolkit has named it; what was typed stays."""
        self.call_after_refresh(self.show_sized)

    def show_sized(self) -> None:
        """Show what depends on the size: what each outcome would decide, and the pictures; a case left has none."""
        if self in self.app.screen_stack and self.query("#drawing"):
            self.query_one(Card).show(self.view, self.decides(), self.readings())
            self.show_pictures()

    def show_case(self, view: CaseView | None = None, said: str = "") -> None:
        """Show a view of the case, or what must be read before anything else; that covers all, so the rest waits."""
        self.view = view or self.case.view()
        self.sure_of, self.just_read = "", False
        if self in self.app.screen_stack and not self.covered():
            self.show_parts(said)

    def covered(self) -> bool:
        """Put what must be read first over the case, and return whether there is any; here there is none."""
        return False

    def show_parts(self, said: str = "") -> None:
        """Show every part of the case as it stands; one that was left has no parts any more."""
        if self not in self.app.screen_stack:
            return
        self.query_one("#head", HeadLine).show(*headline(self.view), short_headline(self.view))
        self.show_pictures()
        self.query_one(Card).show(self.view, self.decides(), self.readings())
        self.query_one(Trail).show(self.view.trail)
        self.query_one("#keys", KeyLine).name_keys(CLOSED if self.view.step.kind == "closed" else None)
        check = self.view.step.check
        if check is not None and wants_quantity(self.view):
            self.query_one(Answer).ask_quantity(check)
        else:
            self.query_one(Answer).ask_choice(rows_for(self.view), first_marked(self.view))
        tell(self, said or self.unsaid)
        self.unsaid = ""

    def show_pictures(self) -> None:
        """Show the ranking, and beside it as much as there is room for: map of the car, belief over time, tree."""
        seen, proved = self.case.assessment, shows_proof(self.view)
        broad, tall = self.has_class("-broad"), self.has_class("-tall")
        wide = broad or self.has_class("-wide")
        listed = self.ranking and (wide or not proved)
        self.query_one("#side").display = listed
        self.query_one("#now").set_class(not listed, "alone")
        self.query_one(Likely).show(self.view, self.course.of(seen) if listed and (broad or proved) else {})
        mapped = listed and tall and wide and (proved or self.view.step.kind in ("check", "repair"))
        drawn = system_map(seen.car, suspected(self.view), self.view.step.check) if mapped else ()
        self.query_one(CarMap).show(drawn if broad else tuple(one for one in drawn if one.name != "SET-UP"))
        placed = tree_place(seen, self.case.catalogue) if broad and tall and listed and not proved else ()
        self.query_one(TreePlace).show(placed)

    def make_room(self) -> None:
        """Let the map give way where the steps of the check, or its drawing, would not be seen whole."""
        drawn, card = self.query_one(CarMap), self.query_one(Card)
        if drawn.systems:
            picture = self.query_one("#drawing")
            taken = self.query_one("#do").outer_size.height + (picture.size.height + 1 if picture.display else 0)
            drawn.fit(card.size.height + drawn.content_size.height - taken)

    def say_more(self) -> None:
        """Say which way there is more than there is room for, now that the map has given way."""
        self.make_room()
        card, answer = self.query_one(Card), self.query_one(Answer)
        more = "PgDn: more" if card.scroll_y < card.max_scroll_y else "PgUp: back"
        said = ("Down: more answers", answer.show_vertical_scrollbar), (more, card.show_vertical_scrollbar)
        answer.border_title = "  ".join(words for words, holds in said if holds)

    def decides(self) -> tuple[Decided, ...]:
        """Return what each outcome of the check would decide, where the screen is tall enough to say so."""
        check = self.view.step.check
        if check is None or self.view.step.kind != "check" or not (self.ranking and self.has_class("-tall")):
            return ()
        try:
            return self.case.would_change(check.id)
        except TroubleshootError:
            return ()

    def readings(self) -> tuple[Read, ...]:
        """Return the numbers that moved a proved cause, where the screen is tall enough to draw them."""
        if self.view.proof is None or not (shows_proof(self.view) and self.has_class("-tall")):
            return ()
        seen, checks = self.case.assessment, self.case.catalogue.checks
        context = reading_context(seen, self.case.catalogue, self.case.settings.units)
        found = []
        for one in moved_by(self.view.proof):
            read, check = seen.latest.get(one.check), checks.get(one.check)
            if read is None or check is None or check.reading is None:
                continue
            value, spread = on_ruler(read, shown_unit_of(check, context.system))
            low, high = (in_shown_unit(check, end, context.system) for end in check.reading.plausible)
            if value is not None:
                bands = bands_shown(check, context, read.value)
                found.append(Read(one.title, bands, (low, high), (value, spread, read.shown)))
        return tuple(found)

    @contextmanager
    def changing(self, said: str = "") -> Iterator[None]:
        """Do something to the case and show it; a refusal is told and leaves the screen as it was."""
        try:
            yield
        except CaseMovedOn as refused:
            self.take_up(refused)
        except TroubleshootError as refused:
            tell_problem(self, refused)
        else:
            self.show_case(said=said)

    def take_up(self, moved: CaseMovedOn) -> None:
        """Show the case as another window left it; what was typed here stands where it was, to be taken then."""
        if not self.resumable:
            tell_problem(self, moved)
            return
        check, typed = self.view.step.check, self.query_one(Answer).typed
        self.catch_up()
        self.show_case(said="Another window added to this case: this is how it stands now. Do that again.")
        if check is not None and self.view.step.check is not None and self.view.step.check.id == check.id:
            self.query_one(Entry).text = typed

    def catch_up(self) -> None:
        """Take up what another window has added to the case."""
        kept = self.workspace.casebook.events(self.case.case_id) if self.resumable else self.case.events
        if len(kept) != len(self.case.events):
            self.case, self.course = self.workspace.resume(self.case.case_id), Course()

    @property
    def resumable(self) -> bool:
        """Whether the workspace can open the case again by its id: no drill, and no engine behind it."""
        return self.NAME == "session" and self.case.bench is None

    @on(Entry.Changed)
    def echo(self, changed: Entry.Changed) -> None:
        """Say how the typed text is understood and where it falls."""
        self.sure_of = ""
        tell(self, "")
        answer, ruler, check = self.query_one(Answer), self.query_one(Ruler), self.view.step.check
        if check is None or not changed.entry.text.strip():
            ruler.mark(None)
            answer.echo("")
            return
        try:
            read = self.case.understand(check.id, changed.entry.text)
        except TroubleshootError as refused:
            ruler.mark(None)
            answer.echo(refused.sentence, good=False)
        else:
            ruler.mark(*on_ruler(read, check.unit), read.shown)
            answer.echo(f"{read.shown}: {read.warning or read.words}", good=not read.warning)

    @on(Numbered.Taken)
    def say_how(self, taken: Numbered.Taken) -> None:
        """A digit marks an answer; Enter takes it, so that a slip of the finger stores nothing."""
        tell(self, f"Enter takes: {taken.row.words}")

    def take(self, check: str, text: str, sure: bool = False) -> None:
        """Take a reading; one that is hardly possible is taken at the second Enter."""
        try:
            self.case.take(check, text, sure=sure or text == self.sure_of)
        except ReadingImplausible as doubted:
            self.sure_of = text
            self.refuse(TroubleshootError(doubted.sentence, "Enter again takes it all the same."))
        except CaseMovedOn as moved:
            self.take_up(moved)
        except TroubleshootError as refused:
            self.refuse(refused)
        else:
            self.show_case(said=self.last_said())

    def refuse(self, problem: TroubleshootError) -> None:
        """Say why a reading was not taken, and let typing replace it."""
        tell_problem(self, problem)
        self.query_one(Entry).select()

    def last_said(self) -> str:
        """Return what the newest line of the trail says."""
        trail = self.case.view().trail
        return f"Taken: {trail[-1].answer}. b takes it back." if trail else ""

    def action_undo(self) -> None:
        """Take back the last thing done."""
        try:
            said = f"Taken back: {self.case.undo()}"
        except TroubleshootError as refused:
            tell_problem(self, refused)
        else:
            self.show_case(said=said)

    def action_back(self) -> None:
        """Clear the entry; when there is nothing in it, leave (everything is saved)."""
        if self not in self.app.screen_stack:
            return  # left already, by the key before
        if self.query_one(Answer).typed and self.view.step.check is not None:
            self.query_one(Answer).ask_quantity(self.view.step.check)
        else:
            self.dismiss(None)

    def on_key(self, event: events.Key) -> None:
        """Let a `y` too many behind the cautions pass without a word: what the line says of the step stays."""
        if event.key == "y" and self.just_read:
            event.stop()

    def action_more(self) -> None:
        """Read on in what to do."""
        self.query_one(Card).scroll_page_down(animate=False)

    def action_less(self) -> None:
        """Read back in what to do."""
        self.query_one(Card).scroll_page_up(animate=False)
