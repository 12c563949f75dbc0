"""The ways out of the session screen and back: each opens a screen, and does to the case what comes of it."""

from __future__ import annotations

from collections.abc import Awaitable, Callable, Mapping
from typing import TYPE_CHECKING, Any

from textual.screen import Screen

from troubleshoot.case.shares import minutes_words
from troubleshoot.case.view import CaseView, CautionShown, OtherCheck, TrailLine
from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.screens.caution import CautionScreen
from troubleshoot.tui.screens.choice_screen import ChooseScreen
from troubleshoot.tui.screens.stop import StopScreen
from troubleshoot.tui.session_options import FINISHES, gone
from troubleshoot.tui.widgets.lines import tell, tell_problem
from troubleshoot.tui.widgets.numbered import Row
from troubleshoot.tui.widgets.trail import ANSWERS

if TYPE_CHECKING:
    from troubleshoot.tui.screens.case_screen import CaseScreen


def open_at_once(session: CaseScreen) -> bool:
    """Open what stands before everything else, a stop or a caution, and return whether there is one."""
    step = session.view.step
    if step.kind == "stop":
        session.app.push_screen(StopScreen(step.words), lambda how: _stopped(session, how))
    elif step.kind == "caution":
        show_cautions(session, step.cautions, before(session.view))
    return step.kind in ("stop", "caution")


def before(case: CaseView) -> str:
    """Return what the cautions of a case stand before: the check or the repair, and whether the engine will turn."""
    ahead = case.behind
    what = "" if ahead is None else ahead.check.ask if ahead.check else ahead.repair.title if ahead.repair else ""
    turns = f" ({case.step.words.rstrip('.').lower()})" if what and case.step.words else case.step.words
    return f"Before: {what}{turns}" if what else turns


def show_cautions(session: CaseScreen, cautions: tuple[CautionShown, ...], words: str) -> None:
    """Put the one caution screen before the session, laid out anew only the first time."""
    app = session.app
    if not app.is_screen_installed("caution"):
        app.install_screen(CautionScreen(), "caution")
    screen = app.get_screen("caution", CautionScreen)
    screen.show(cautions, words)
    app.push_screen(screen, lambda read: _read(session, read))


def _stopped(session: CaseScreen, how: str | None) -> None:
    if how == "leak_repaired":
        with session.changing("Noted: the leak is repaired."):
            session.case.leak_repaired()
    elif how == "mistake":
        session.action_undo()
    else:
        session.dismiss(None)


def _read(session: CaseScreen, read: tuple[str, ...] | None) -> None:
    if read is None:
        open_smell(session)
    elif read:
        with session.changing():
            for caution in read:
                session.case.acknowledge(caution)
        session.just_read = True
    else:
        session.show_parts("The caution waits. Enter reads it again, or choose another check.")


def open_caution(session: CaseScreen) -> None:
    """Show the caution again."""
    open_at_once(session)


def open_beside(session: CaseScreen, screen: Screen[Any], done: Callable[[Any], None], wide: bool = False) -> None:
    """Open a screen that stands beside the check it is about, where there is room for both; a wide one takes more."""
    marks = ("aside", "reported") if wide else ("aside",)
    screen.set_class(not wide, "beside")
    session.add_class(*marks)

    def closed(result: Any) -> None:
        session.remove_class(*marks)
        done(result)

    session.app.push_screen(screen, closed)


CANNOT = (
    Row("the tool is not here", "The tool is not here"),
    Row("cannot get at it", "I cannot get at it"),
    Row("not safe here", "It is not safe to do here"),
    Row("does not apply to this car", "This car does not have it"),
    Row("left out", "Leave it out for now"),
)


def open_cannot(session: CaseScreen) -> None:
    """Leave the check out, with the reason, and say what may stand in for it."""
    check = session.view.step.check
    if check is None:
        tell(session, "There is no check to leave out just now.")
        return
    instead = f"Instead: {check.cannot}" if check.cannot else ""

    def skip(why: str | None) -> None:
        if why is not None:
            with session.changing(instead or "Left out. b takes that back."):
                session.case.skip(check.id, why)

    session.app.push_screen(ChooseScreen(f"Why not: {check.ask}", CANNOT, instead), skip)


def open_others(session: CaseScreen) -> None:
    """List the other checks by worth and take up the one chosen."""
    try:
        others = session.case.other_checks(appraised=False)
    except TroubleshootError as refused:
        tell_problem(session, refused)
        return

    def choose(check: str | None) -> None:
        if check is not None:
            with session.changing():
                session.case.choose(check)

    words = "What saves most for its minutes comes first. Minutes count the set-up unless it is in place."

    def appraised() -> list[Row]:
        return [other_row(other) for other in session.case.other_checks()]

    rows = [other_row(other) for other in others]
    listed = ChooseScreen("Other checks", rows, words, "Every check has been done.", narrows=True, later=appraised)
    open_beside(session, listed, choose)


def other_row(other: OtherCheck) -> Row:
    """Return one other check as a row: what it takes, what it saves, and what is left of that."""
    aside = minutes_words(other.minutes, short=True)
    if other.saves >= 0.5:
        aside += f", saves {minutes_words(other.saves, short=True)}, net {round(other.worth)} min"
    missing = f"not here: {', '.join(other.missing)}" if other.missing else ""
    under = " · ".join(word for word in (other.state, missing, other.proposed) if word)
    return Row(other.id, other.ask, aside, under)


def open_why(session: CaseScreen, cause: str = "") -> None:
    """Show why a cause is likely, the leading one where none is named."""
    from troubleshoot.tui.screens.why import WhyScreen

    if not session.ranking:
        tell(session, "The ranking is hidden in this drill.")
        return
    open_beside(session, WhyScreen(session.case, session.view, cause), lambda _: None)


def open_smell(session: CaseScreen) -> None:
    """Note the smell at once; the stop opens by itself."""
    with session.changing():
        session.case.smell_fuel()


def open_change(session: CaseScreen) -> None:
    """List the answers given, then ask anew for the one chosen."""
    from troubleshoot.tui.screens.change import CorrectScreen

    answers = [line for line in session.view.trail if line.kind in ANSWERS]
    by_index = {str(line.index): line for line in answers}

    def correct(index: str | None) -> None:
        if index is not None:
            screen = CorrectScreen(session.case, by_index[index])
            session.app.push_screen(screen, lambda done: session.show_case(said="Changed.") if done else None)

    rows = [trail_row(line) for line in answers]
    session.app.push_screen(ChooseScreen("Change an answer", rows, "", "No answer has been given yet."), correct)


def trail_row(line: TrailLine) -> Row:
    """Return one thing done as a row."""
    return Row(str(line.index), line.title, ", ".join(word for word in (line.answer, line.verdict) if word))


def open_repaired(session: CaseScreen) -> None:
    """Ask what was repaired, then how long it took."""
    rows = [Row(cause.id, cause.title, cause.words, cause.term) for cause in session.view.ranked]

    def chosen(cause: str | None) -> None:
        if cause is not None:
            open_repair(session, cause)

    title = "What has been repaired or replaced?"
    session.app.push_screen(ChooseScreen(title, rows, "", "No cause is ranked yet.", narrows=True), chosen)


def open_repair(session: CaseScreen, cause: str) -> None:
    """Ask for minutes and parts of a repair and note it."""
    from troubleshoot.tui.screens.repair import repair_form

    def made(spent: object) -> None:
        if isinstance(spent, tuple):
            with session.changing("Repair noted. Now test again."):
                session.case.repair(cause, *spent)

    known = session.case.catalogue.causes[cause]
    session.app.push_screen(repair_form(known, session.workspace.settings), made)


def open_note(session: CaseScreen) -> None:
    """Ask for a note, or a file that belongs to the case, and keep it."""
    from troubleshoot.tui.screens.repair import note_form

    def noted(found: object) -> None:
        words, file = found if isinstance(found, tuple) else ("", None)
        if words.strip() or file is not None:
            session.catch_up()  # a note fits whatever another window has added
            with session.changing("Noted."), session.case.all_or_nothing():
                if words.strip():
                    session.case.note(words)
                if file is not None:
                    session.case.attach(file)

    session.app.push_screen(note_form(files=session.case.bench is None), noted)


def open_recording(session: CaseScreen) -> None:
    """Ask for a recording, show it, and take the readings marked."""
    from troubleshoot.tui.screens.recording import take_recording

    _go_through(session, take_recording)


def open_comparison(session: CaseScreen) -> None:
    """Compare pulls before with pulls after."""
    from troubleshoot.tui.screens.comparing import compare_in_case

    _go_through(session, compare_in_case)


def _go_through(session: CaseScreen, screens: Callable[[CaseScreen], Awaitable[None]]) -> None:
    async def walk() -> None:
        await screens(session)

    session.app.run_worker(walk, exclusive=True, group="recording")  # type: ignore[arg-type]  # it fits two forms


def open_report(session: CaseScreen) -> None:
    """Show the report as it stands."""
    from troubleshoot.tui.screens.report import report_screen

    try:
        screen = report_screen(session.case, in_case=True)
    except TroubleshootError as refused:
        tell_problem(session, refused)
    else:
        open_beside(session, screen, lambda _: None, wide=True)


def open_finish(session: CaseScreen) -> None:
    """Ask how the case ended and close it."""

    def finish(result: str | None) -> None:
        if result is not None:
            _close(session, result)

    words = "A case is proved when the concern is gone at a retest."
    session.app.push_screen(ChooseScreen("Close the case", FINISHES, words), finish)


def _close(session: CaseScreen, result: str) -> None:
    with session.changing("The case is closed."):
        session.case.close(result)


def open_calculators(session: CaseScreen) -> None:
    """Open the calculations, with what the case knows in their fields."""
    from troubleshoot.case.given_inputs import known_inputs
    from troubleshoot.tui.screens.calculators import open_list

    case = session.case
    open_list(
        session.app,
        session.workspace,
        lambda calculation, system: known_inputs(calculation, case.assessment, case.catalogue, system),
    )


def open_facts(session: CaseScreen) -> None:
    """Ask which of the facts of the case to change."""
    from troubleshoot.tui import session_facts

    rows = (Row("car", "The car"), Row("concern", "What it does"), Row("tools", "The tools at hand"))

    def chosen(which: str | None) -> None:
        if which is not None:
            session_facts.CHANGES[which](session)

    words = "The ranking is worked out anew from the same readings."
    session.app.push_screen(ChooseScreen("Change the details", rows, words), chosen)


def open_concern(session: CaseScreen) -> None:
    """Ask what the car does."""
    from troubleshoot.tui.session_facts import change_concern

    change_concern(session)


def take_from_bench(session: CaseScreen) -> None:
    """Let the bench of a drill answer the check."""
    bench, check = session.case.bench, session.view.step.check
    if bench is None or check is None:
        tell(session, "No engine stands behind this case: type what you read.")
        return
    read = bench.read(check.id)
    if read is None:
        with session.changing("This cannot be measured here."):
            session.case.skip(check.id, "cannot be measured")
    else:
        session.take(check.id, read, sure=True)


DIALOGS: Mapping[str, Callable[[CaseScreen], None]] = {
    "caution": open_caution,
    "cannot": open_cannot,
    "others": open_others,
    "why": open_why,
    "smell": open_smell,
    "change": open_change,
    "repaired": open_repaired,
    "note": open_note,
    "recording": open_recording,
    "comparison": open_comparison,
    "report": open_report,
    "finish": open_finish,
    "calculators": open_calculators,
    "concern": open_concern,
    "facts": open_facts,
}


def follow(session: CaseScreen, row: str) -> None:
    """Do what a row of the session says; `rows_for` names them."""
    what, _, which = row.partition(" ")
    check, repair = session.view.step.check, session.view.step.repair
    if what == "answer" and check is not None:
        session.take(check.id, which)
    elif what == "retest":
        with session.changing():
            session.case.retest(which)
    elif what == "measure" and session.view.step.measure is not None:
        with session.changing():
            session.case.choose(session.view.step.measure[0])
    elif what == "proved" and gone(session.view):
        _close(session, "proved")
    elif what in ("refer", "left"):
        _close(session, "referred" if what == "refer" else "left")
    elif what == "repair" and repair is not None:
        open_repair(session, repair.cause)
    elif what == "back":
        session.dismiss(None)
    else:
        DIALOGS[what](session)
