"""What it is likely to be: ranked causes with bars, as many as there is room for."""

from __future__ import annotations

from collections.abc import Mapping

from textual import events
from textual.content import Content
from textual.message import Message
from textual.widget import Widget

from troubleshoot.case.view import CaseView, CauseShown
from troubleshoot.tui.actions import Action, beside_ranking
from troubleshoot.tui.plain import bar, beside, counted, lines, percent, plain
from troubleshoot.tui.widgets.card import shows_proof
from troubleshoot.tui.widgets.lines import action_at
from troubleshoot.tui.widgets.words import hung

LEAST_SHOWN = 0.005
"""Causes under half a percent are counted and not listed."""


NO_COURSES: Mapping[str, tuple[float, ...]] = {}
FULL, WORDED, SHORT = 2, 1, 0
"""How much is said of a cause: what happens too, only its words, or only bar and title."""
TOLD = 3
"""Of how many leading causes it is told what happens."""
MOST_LISTED = 9
"""Those a digit can name; the others are counted."""


def course_line(course: tuple[float, ...]) -> str:
    """Return the newest probabilities of a cause as a line of eighths, the last one now.

    >>> course_line((0.02, 0.12, 0.5, 0.97))
    '▁▁▅█'
    """
    return "".join("▁▂▃▄▅▆▇█"[min(7, int(share * 8))] for share in course[-LONGEST_COURSE:])


LONGEST_COURSE = 14


def cause_lines(number: int, cause: CauseShown, width: int, much: int, course: tuple[float, ...]) -> list[Content]:
    """Return one cause: its bar and share, how belief in it went, its title, and what happens where there is room."""
    share, past = percent(cause.probability), course_line(course) if len(course) > 1 else ""
    room = max(width - len(share) - 3 - (len(past) + 2 if past else 0), 4)
    top = beside(
        plain(f"{number} " if number <= 9 else "  ", "bold"),
        plain(bar(cause.probability, room).ljust(room), "$accent"),
        plain(f" {share}", "bold"),
        plain(f"  {past}" if past else "", "$quiet"),
    )
    style = "bold $strong" if number == 1 else ""
    shown = [top, *plain(cause.title, style).wrap(max(width - 2, 8))]
    if much >= WORDED and cause.words:
        shown += plain(cause.words, "$quiet").wrap(max(width - 2, 8))
    if much == FULL and cause.happens and number <= TOLD:
        shown += plain(cause.happens).wrap(max(width - 2, 8))
    return [shown[0], *(beside("  ", line.rstrip()) for line in shown[1:])]


def worth_listing(view: CaseView) -> list[CauseShown]:
    """Return the causes that are shown or counted, in their order."""
    return [cause for cause in view.ranked if cause.probability >= LEAST_SHOWN and cause.id != "something-else"]


def likely_rows(
    view: CaseView, width: int, height: int, courses: Mapping[str, tuple[float, ...]] = NO_COURSES
) -> list[tuple[str, Content]]:
    """Return the panel: causes that fit, never half of one, then what is left; each line with the cause it tells of."""
    possible = worth_listing(view)
    listed = possible[:MOST_LISTED]
    rest = _rest(view, width)
    for much in (FULL, WORDED, SHORT):
        shown: list[tuple[str, Content]] = []
        fitting = 0
        for cause in listed:
            more = cause_lines(fitting + 1, cause, width, much, courses.get(cause.id, ()))
            left_over = 1 if fitting + 1 < len(possible) else 0
            if len(shown) + len(more) + len(rest) + left_over > height and fitting:
                break
            shown += [(cause.id, line) for line in more]
            fitting += 1
        if fitting == len(listed) or much == SHORT:
            break
    left = len(possible) - fitting
    if left:
        shown.append(("", plain(f"  and {counted(left, 'more cause')}", "$quiet")))
    return [*shown, *(("", line) for line in rest)]


def _rest(view: CaseView, width: int) -> list[Content]:
    shown = []
    for share, words in ((view.something_else, "something else"), (view.none, view.none_words)):
        if share >= LEAST_SHOWN:
            text = f"{percent(share)}"
            shown.append(plain(f"  {words}".ljust(max(width - len(text), 0)) + text, "$quiet"))
    return shown


def suspect_lines(view: CaseView, width: int, height: int, courses: Mapping[str, tuple[float, ...]]) -> list[Content]:
    """Return who was suspected on the way to a proof: at most how much, how belief in each went, and who it was."""
    titles = {one.id: one.title for one in view.ranked}
    if view.proof is not None:
        titles[view.proof.cause] = f"{view.proof.title}  ✓"
    peaks = sorted(((max(course), name) for name, course in courses.items() if name in titles), reverse=True)
    shown: list[Content] = []
    for peak, name in peaks[:MOST_LISTED]:
        lead = beside(plain(percent(peak).rjust(5), "bold"), plain(f" {course_line(courses[name])} ", "$accent"))
        style = "bold $strong" if view.proof is not None and name == view.proof.cause else ""
        more = hung(lead, plain(titles[name], style), width)
        if peak < LEAST_SUSPECTED or len(shown) + len(more) > height:
            break
        shown += more
    return shown


LEAST_SUSPECTED = 0.03
"""A cause that never was as likely as this was no suspect."""


class Likely(Widget):
    """The ranking of one case; once it is proved, who was suspected on the way."""

    DEFAULT_CSS = "Likely { height: 1fr; }"

    def __init__(self, id: str | None = None) -> None:
        super().__init__(id=id)
        self.view: CaseView | None = None
        self.told: list[str] = []
        """The cause that each line tells of, if it does."""
        self.courses: Mapping[str, tuple[float, ...]] = NO_COURSES

    class Asked(Message):
        """A cause was clicked."""

        def __init__(self, cause: str) -> None:
            super().__init__()
            self.cause = cause

    def on_click(self, event: events.Click) -> None:
        """A cause that is clicked is asked about; a key at the foot does what it does when it is pressed."""
        x, y = event.x - self.gutter.left, event.y - self.gutter.top
        rows = key_rows(self.content_size.width) if self.content_size.height >= ROOM_FOR_KEYS else []
        row = y - (self.content_size.height - len(rows))
        action = action_at(rows[row], x, 2) if 0 <= row < len(rows) else None
        if action is not None:
            self.app.simulate_key(action.key)
        elif 0 <= y < len(self.told) and self.told[y]:
            self.post_message(self.Asked(self.told[y]))

    def show(self, view: CaseView, courses: Mapping[str, tuple[float, ...]] = NO_COURSES) -> None:
        """Show the ranking of a view, with each cause's probability so far where it is given."""
        self.view, self.courses = view, courses
        self.refresh()

    def render(self) -> Content:
        """Write the title and as many causes as fit."""
        width, height = self.content_size
        if self.view is None or width < 8:
            return Content("")
        if shows_proof(self.view):
            title = beside(plain("SUSPECTS", "bold $primary"), plain("  at their most likely", "$quiet"))
            return lines(title, *suspect_lines(self.view, width, height - 1, self.courses))
        title = plain("STILL POSSIBLE" if self.view.step.kind == "retest" else "LIKELY", "bold $primary")
        both = "two can be present at once" if width >= ROOM_FOR_BOTH else "two possible"
        if height > 1 and title.cell_length + 2 + len(both) <= width:
            title = beside(title, plain(f"  {both}", "$quiet"))
        if height == 1 and self.view.ranked:
            first = self.view.ranked[0]
            return beside(title, f"  {percent(first.probability)}  {first.title}")
        if not self.view.ranked:
            return lines(title, plain("No cause is ranked yet.", "$quiet"))
        keys = key_lines(width) if height >= ROOM_FOR_KEYS else []
        rows = likely_rows(self.view, width, height - 1 - len(keys), self.courses)
        self.told, body = ["", *(cause for cause, _ in rows)], [line for _, line in rows]
        gap = [Content("")] * (height - 1 - len(keys) - len(body))
        return lines(title, *body, *gap, *keys)


ROOM_FOR_BOTH = 36
"""Columns from which on it is said at length that two can be present at once."""
ROOM_FOR_KEYS = 12
"""Lines from which on the keys are named under the ranking."""


def key_lines(width: int) -> list[Content]:
    """Return the keys that the bottom line has no room for, as many a line as fit."""
    return [
        Content("  ").join(beside(plain(one.cap, "bold $strong"), plain(f" {one.words}", "$quiet")) for one in row)
        for row in key_rows(width)
    ]


def key_rows(width: int) -> list[list[Action]]:
    """Return the actions named on each of those lines."""
    rows: list[list[Action]] = []
    left = 0
    for action in beside_ranking():
        takes = len(action.cap) + 1 + len(action.words)
        if rows and takes + 2 <= left:
            rows[-1].append(action)
            left -= takes + 2
        else:
            rows.append([action])
            left = width - takes
    return rows
