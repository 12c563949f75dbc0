"""Pictures with lines to choose from under them: readings of a recording to mark, or what to do with a comparison."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual.widgets import Static

from troubleshoot.calculations.chart import Chart
from troubleshoot.case.case import Case
from troubleshoot.case.recorded import offered, pictures, said_of
from troubleshoot.reports.plots import text_plot
from troubleshoot.tui.actions import bindings_of
from troubleshoot.tui.plain import plain
from troubleshoot.tui.screens.choice_screen import ChooseScreen
from troubleshoot.tui.screens.tick_screen import MarkScreen
from troubleshoot.tui.widgets.lines import tell
from troubleshoot.tui.widgets.numbered import Row

if TYPE_CHECKING:
    from troubleshoot.recordings.compared_pulls import ComparedPulls
    from troubleshoot.recordings.recorded import Recorded

LOW_HEIGHT, BESIDE_PLOT, LEAST_PLOT, MOST_PLOT = 30, 19, 5, 16
"""Lines of a low screen, lines of the screen beside the plot and its scales, and lines of a plot."""
BESIDE = 8
"""Columns beside the plot."""


class Pictures(ChooseScreen, inherit_bindings=False):
    """A choice under a picture; Right and Left show the others."""

    charts: Sequence[Chart] = ()
    said: Sequence[str] = ()
    """Words under the picture, in the order of what matters."""
    space = (80, 24)
    place = 0

    def drawn(self) -> str:
        """Return the picture at hand, with the words for which there is room."""
        width, height = self.space
        high = max(LEAST_PLOT, min(MOST_PLOT, height - BESIDE_PLOT - len(self.said)))
        drawn = [text_plot(one, max(30, width - BESIDE), high) for one in self.charts[self.place :][:1]]
        return "\n".join((*(one.partition("\n")[2] for one in drawn), *self.said))

    def action_next(self) -> None:
        """Show the next picture."""
        self.turn(1)

    def action_previous(self) -> None:
        """Show the picture before."""
        self.turn(-1)

    def turn(self, by: int) -> None:
        """Show another picture."""
        if self.charts:
            self.place = (self.place + by) % len(self.charts)
            self.query_one("#words", Static).update(plain(self.drawn()))
            tell(self, f"Picture {self.place + 1} of {len(self.charts)}.")


class PictureScreen(MarkScreen, Pictures, inherit_bindings=False):
    """The pictures of a recording, and the readings to mark; all are marked to begin with."""

    BINDINGS = bindings_of("recording")
    NAME = "recording"

    def __init__(self, case: Case, recorded: Recorded, size: tuple[int, int]) -> None:
        found = offered(case, recorded)
        rows = [
            Row(one.check, f"{case.catalogue.checks[one.check].ask}: {said_of(case, one)}", one.stretch, one.method)
            for one in found
        ]
        super().__init__(f"{recorded.kind}: {recorded.file}", rows, [one.check for one in found], least=1)
        self.charts, self.space, self.narrows = pictures(case, recorded), size, False
        self.said = recorded.words if size[1] > LOW_HEIGHT or not self.charts else ()
        self.words = self.drawn()


class ComparedScreen(Pictures, inherit_bindings=False):
    """Both curves, the difference with its interval, and the sentence; the result is what to do with it."""

    BINDINGS = bindings_of("compared")
    NAME = "compared"

    def __init__(self, pulls: ComparedPulls, size: tuple[int, int]) -> None:
        from troubleshoot.recordings.comparing import charts_over_speed, points_of

        found = pulls.found
        rows = (Row("keep", "Keep it with the case"), Row("leave", "Leave it"))
        super().__init__("Before and after", rows)
        self.charts, self.space = charts_over_speed(points_of(found), found.unit), size
        each = (one.line for one in found.at)
        self.said = (found.sentence, *(each if size[1] > LOW_HEIGHT else ()))[: max(1, size[1] - BESIDE_PLOT - 4)]
        self.words = self.drawn()
