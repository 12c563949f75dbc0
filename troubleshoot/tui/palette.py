"""What the palette finds: actions of the screen, checks of the case, causes, calculations, cases."""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable, Iterable
from contextlib import suppress

from textual import on
from textual.binding import Binding
from textual.command import CommandPalette, DiscoveryHit, Hit, Provider
from textual.widgets import Input, OptionList

from troubleshoot.problems import TroubleshootError
from troubleshoot.tui.actions import actions_of
from troubleshoot.tui.plain import literal, percent, plain
from troubleshoot.tui.workspace_app import WorkspaceApp


class Palette(CommandPalette):
    """The toolkit's palette over what can be found here."""

    BINDINGS = [Binding("pagedown", "turn('down')", show=False), Binding("pageup", "turn('up')", show=False)]  # noqa: RUF012 - as the base class has it

    def __init__(self) -> None:
        found = [FindAction, FindCheck, FindCause, FindCase, FindCalculation]
        super().__init__(providers=found, placeholder="What do you want to do or find?")

    @on(Input.Changed)
    @on(Input.Submitted)
    @on(OptionList.OptionSelected)
    def only_once(self, event: Input.Changed | Input.Submitted | OptionList.OptionSelected) -> None:
        """Do nothing for what comes behind the Enter.

        The toolkit would leave another screen, do what was found again, or search a list that is gone.
        """
        if self.app.screen_stack[-1:] != [self]:  # `is_current` is true of the screen below as well
            event.prevent_default().stop()

    async def action_turn(self, way: str) -> None:
        """Turn the page; the toolkit fails where its list has no room for a line."""
        with suppress(LookupError):
            await self.query_one(OptionList).run_action(f"page_{way}")


Found = tuple[str, str, Callable[[], object]]
"""What it is called, what it is, and what choosing it does."""


class _Finder(Provider):
    """One kind of thing that can be found by its words."""

    first = False
    """Whether all of it is listed before anything is typed."""
    before = 0.0
    """What is added to how well it fits: one at work wants to do something, then a check; sums come last."""

    def found(self) -> Iterable[Found]:
        """Return everything of this kind."""
        raise NotImplementedError

    @property
    def program(self) -> WorkspaceApp:
        """The program the palette lies over."""
        assert isinstance(self.app, WorkspaceApp)
        return self.app

    async def discover(self) -> AsyncIterator[DiscoveryHit]:
        """Yield what is listed before anything is typed."""
        if self.first:
            for words, about, do in self.found():
                yield DiscoveryHit(plain(words), do, help=literal(about))

    async def search(self, query: str) -> AsyncIterator[Hit]:
        """Yield what matches the words typed, the best first."""
        typed = query.casefold().split()
        for words, about, do in self.found():
            score = _score(typed, words.casefold(), about.casefold())
            if score > 0:
                yield Hit(score + self.before, plain(words), do, text=literal(words), help=literal(about))


def _score(typed: list[str], words: str, about: str) -> float:
    """Return how well something fits: every word typed begins one of its words, best early in its own."""
    own = f" {words}"
    if not all(f" {one}" in own or f" {one}" in f" {about}" for one in typed):
        return 0.0
    late = min([own.find(f" {one}") for one in typed if f" {one}" in own], default=len(own)) / 10000
    return 0.5 + 0.4 * sum(f" {one}" in own for one in typed) / max(len(typed), 1) - late


class FindAction(_Finder):
    """What can be done on this screen."""

    first, before = True, 0.1

    def found(self) -> Iterable[Found]:
        """Return the actions of the screen, with their keys."""
        app = self.program
        for action in actions_of(str(getattr(self.screen, "NAME", "start"))):
            if len(action.help) > 4:
                yield action.help, f"key {action.cap}", _press(app, action.key)


class FindCheck(_Finder):
    """The checks of the case that is open."""

    before = 0.08

    def found(self) -> Iterable[Found]:
        """Return the checks that can be chosen, or nothing where no case is open."""
        from troubleshoot.tui.screens.session import SessionScreen

        session = self.screen
        if not isinstance(session, SessionScreen):
            return
        try:
            others = session.case.other_checks(appraised=False)
        except TroubleshootError:
            return
        for one in others:
            yield one.ask, "check", _choose(session, one.id)


class FindCause(_Finder):
    """The causes of the case that is open: choosing one says what the readings say of it."""

    before = 0.06

    def found(self) -> Iterable[Found]:
        """Return the causes, by their names and those of the trade, or nothing where no ranking is to be seen."""
        from troubleshoot.tui.screens.session import SessionScreen

        session = self.screen
        if isinstance(session, SessionScreen) and session.ranking:
            for one in session.view.ranked:
                yield one.title, f"cause, {percent(one.probability)} {one.term}".strip(), _explain(session, one.id)


class FindCalculation(_Finder):
    """The calculations."""

    def found(self) -> Iterable[Found]:
        """Return every calculation."""
        from troubleshoot.calculations.registry import calculations

        app = self.program
        for one in calculations():
            yield one.title, f"calculation, {one.subject}", _calculate(app, one.name)


class FindCase(_Finder):
    """The cases touched last."""

    before = 0.04

    def found(self) -> Iterable[Found]:
        """Return cases, where the start is below; a case that is open stays open."""
        from troubleshoot.tui.screens.start import StartScreen

        start = self.screen
        if not isinstance(start, StartScreen):
            return
        try:
            cases = start.workspace.cases()
        except TroubleshootError:
            return
        for case in cases:
            yield case.headline or "Nothing entered yet", f"case {case.id}, {case.state}", _open(start, case.id)


def _press(app: WorkspaceApp, key: str) -> Callable[[], object]:
    return lambda: app.call_later(app.simulate_key, key)


def _choose(session: object, check: str) -> Callable[[], object]:
    from troubleshoot.tui.screens.session import SessionScreen

    def choose() -> None:
        if isinstance(session, SessionScreen):
            with session.changing():
                session.case.choose(check)

    return choose


def _explain(session: object, cause: str) -> Callable[[], object]:
    from troubleshoot.tui import session_dialogs
    from troubleshoot.tui.screens.session import SessionScreen

    def explain() -> None:
        if isinstance(session, SessionScreen):
            session_dialogs.open_why(session, cause)

    return explain


def _calculate(app: WorkspaceApp, name: str) -> Callable[[], object]:
    def calculate() -> None:
        from troubleshoot.calculations.registry import calculation
        from troubleshoot.tui.screens.calculators import CalculatorScreen

        app.push_screen(CalculatorScreen(calculation(name), app.workspace.settings.units))

    return calculate


def _open(start: object, case_id: str) -> Callable[[], object]:
    from troubleshoot.tui.screens.start import StartScreen

    def resume() -> None:
        if isinstance(start, StartScreen):
            start.open(case_id)

    return resume
