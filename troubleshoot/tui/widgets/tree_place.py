"""The tree of the concern: the steps gone through, the one that one is at, and where each answer would lead."""

from __future__ import annotations

from textual.content import Content
from textual.widget import Widget

from troubleshoot.case.course import TreeLine
from troubleshoot.tui.plain import asked, beside, lines, plain


def tree_lines(steps: tuple[TreeLine, ...], width: int) -> list[Content]:
    """Return the tree, a step wrapped under its own sign."""
    shown: list[Content] = [plain("TREE", "bold $primary")]
    for step in steps:
        sign, style = ("▸ ", "bold $strong") if step.here else ("└ ", "$quiet") if step.ahead else ("✓ ", "")
        if step.ahead:
            words = plain(f"{step.answer} → {step.words}", style)
        else:
            words = plain(f"{asked(step.words)} {step.answer}" if step.answer else step.words, style)
            words = beside(words, plain("  you are here", "$accent")) if step.here else words
        indent = "  " if step.ahead else ""
        wrapped = words.wrap(max(width - 2 - len(indent), 10))
        lead = plain(indent + sign, "$accent")
        shown += [beside(indent + "  " if place else lead, line.rstrip()) for place, line in enumerate(wrapped)]
    return shown


class TreePlace(Widget):
    """Where a case stands in its tree."""

    DEFAULT_CSS = "TreePlace { height: auto; }"

    def __init__(self, id: str | None = None) -> None:
        super().__init__(id=id)
        self.steps: tuple[TreeLine, ...] = ()

    def show(self, steps: tuple[TreeLine, ...]) -> None:
        """Show a place in a tree; nothing at all hides it."""
        self.steps = steps
        self.display = bool(steps)
        self.refresh(layout=True)

    def render(self) -> Content:
        """Write as wide as there is room."""
        return lines(*tree_lines(self.steps, max(self.content_size.width, 12)))

    def get_content_height(self, container: object, viewport: object, width: int) -> int:  # noqa: ARG002
        """Return how many lines it takes."""
        return len(tree_lines(self.steps, max(width, 12))) if self.steps else 0
