"""What has been done: the trail, in one flowing paragraph or a line each, the newest always in view."""

from __future__ import annotations

from textual.content import Content
from textual.widget import Widget

from troubleshoot.case.view import TrailLine
from troubleshoot.tui.plain import beside, lines, plain

SIGNS = {True: "=", False: "x", None: "·"}
"""In limits, out of limits, neither."""
SIGN_WORDS = "= in limits   x out of limits   · neither"


ANSWERS = ("reading", "skipped")


def numbered(trail: tuple[TrailLine, ...]) -> list[tuple[str, TrailLine]]:
    """Return the trail, answers numbered as the list of answers to change numbers them."""
    return [(f"{step.number or ' '} ", step) for step in trail]


def one_line(number: str, step: TrailLine) -> Content:
    """Return one thing done: number, sign, what, what was read, and what it means."""
    sign = SIGNS[step.normal] if step.kind in ("reading", "sum") else "·"
    style = "$error bold" if step.normal is False else "$success" if step.normal else "$quiet"
    said = ", ".join(word for word in (step.answer, step.verdict) if word)
    return beside(
        plain(number, "$quiet"),
        plain(f"{sign} ", style),
        plain(step.title.replace("\n", " ")),
        plain(f"{'' if step.title.endswith('?') else ':'} {said}" if said else "", "bold"),
    )


def trail_lines(trail: tuple[TrailLine, ...], width: int, height: int) -> list[Content]:
    """Return the newest things done that fit into the lines there are, oldest first."""
    shown: list[Content] = []
    for number, step in reversed(numbered(trail)):
        wrapped = [line.rstrip() for line in one_line(number, step).wrap(max(width - 4, 8))]
        wrapped = [wrapped[0], *(beside("    ", line) for line in wrapped[1:])]
        if len(shown) + len(wrapped) > height and shown:
            break
        shown = [*wrapped, *shown]
    return shown[:height]


class Trail(Widget):
    """The trail of one case."""

    DEFAULT_CSS = "Trail { height: 1fr; }"

    def __init__(self, id: str | None = None) -> None:
        super().__init__(id=id)
        self.steps: tuple[TrailLine, ...] = ()

    def show(self, steps: tuple[TrailLine, ...]) -> None:
        """Show another trail."""
        self.steps = steps
        self.refresh(layout=True)

    def get_content_height(self, container: object, viewport: object, width: int) -> int:  # noqa: ARG002
        """Return the lines the whole trail takes, with its title."""
        return 1 + len(trail_lines(self.steps, max(width, 12), 1000))

    def render(self) -> Content:
        """Write what fits, and how much came before."""
        width, height = self.content_size
        if width < 8 or height < 1:
            return Content("")
        head = plain("DONE  ", "bold $primary")
        if not numbered(self.steps):
            return beside(head, plain("nothing yet", "$quiet"))
        if height < 3:
            return lines(*trail_lines(self.steps, width, height))
        shown = trail_lines(self.steps, width, height - 1)
        return lines(beside(head, plain(SIGN_WORDS, "$quiet")), *shown)
