"""A decision tree on one page of paper, as SVG: what is met most often, with limits, cautions and boxes to tick."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from heapq import heappop, heappush
from itertools import groupby

from troubleshoot.reasoning.charting import Chart, Ending, Node
from troubleshoot.reports.chart_words import ChartWords
from troubleshoot.reports.decision_chart import (
    SELDOM,
    action_words,
    cautions_of,
    cost_lines,
    cost_words,
    headline,
    share_words,
)
from troubleshoot.reports.svg import svg_box, svg_document, svg_line, svg_runs, svg_text

PAGE = (595.0, 790.0)
"""In points: as wide as A4 and as high as US Letter, so that it prints on either (ISO 216, ANSI/ASME Y14.1)."""
POINT = 25.4 / 72
"""Millimetres."""

MARGIN, TITLE = 30.0, 24.0
LETTER, LEADING, APART = 7.6, 9.2, 3.4
INDENT, SQUARE = 15.0, 6.0
WIDE_LETTER = 0.57
"""The width of a letter as a share of its height; wide enough for the sans-serif letters of common systems."""

TO_THE_EDGE = "<style>@page { margin: 0 }</style>"
"""The drawing has its own margin; a browser that prints it need add none."""

CAME, DO, TAKES = 'font-style="italic"', 'font-weight="bold"', ""
KEY = (
    "Tick what you find; per cent: of those who come this way. Grey: repair, then retest. "
    "…: it goes on from there in the program, and so does what is seldom met."
)
GOES_ON = "…"


@dataclass(frozen=True)
class Row:
    """One step or ending on the page: how far in, its words in lines of (style, text), and the row it comes from."""

    level: int
    lines: tuple[tuple[tuple[str, str], ...], ...]
    kind: str
    parent: int | None

    @property
    def high(self) -> float:
        """Height in points."""
        return LEADING * len(self.lines) + APART


@dataclass(frozen=True)
class _Page:
    """What every row is written with: the words and the numbers of the cautions."""

    words: ChartWords
    cautions: dict[str, int]

    def rows(self, root: Node | Ending, opened: frozenset[int]) -> list[Row]:
        """The rows of a tree from the top, every node followed by its branches where it is opened."""
        found: list[Row] = []

        def put(node: Node | Ending, came: str, level: int, parent: int | None) -> None:
            found.append(self._row(node, came, level, parent, id(node) in opened))
            mine = len(found) - 1
            if isinstance(node, Node) and id(node) in opened:
                for words, after in self._ways(node):
                    put(after, words, level + 1, mine)

        put(root, "", 0, None)
        return found

    def _row(self, node: Node | Ending, came: str, level: int, parent: int | None, opened: bool) -> Row:
        runs = [(CAME, f"{came}:")] if came else []
        if isinstance(node, Ending):
            runs.append((TAKES, "done" if node.repaired else SELDOM))
        else:
            goes_on = "" if opened or not node.after else f" {GOES_ON}"
            runs += [
                (DO, action_words(node, self.words)),
                (TAKES, cost_words(node, self.words, self.cautions) + goes_on),
            ]
        kind = "end" if isinstance(node, Ending) else node.kind
        return Row(level, _wrapped(runs, PAGE[0] - 2 * MARGIN - INDENT * level - SQUARE - 4), kind, parent)

    def _ways(self, node: Node) -> Iterator[tuple[str, Node | Ending]]:
        """The branches of a node with how they are come to; those that are not followed are put together, last."""
        cut = [one for one in node.after if isinstance(one, Ending) and not one.repaired]
        for one in node.after:
            if one not in cut:
                yield self._came(node, one), one
        if cut:
            yield "; ".join(self._came(node, one) for one in cut), cut[0]

    def _came(self, node: Node, after: Node | Ending) -> str:
        return f"{self.words.outcome(node.id, after.label)} {share_words(node, after, self.words)}".strip()


def decision_page(chart: Chart, words: ChartWords, depth: int | None = None) -> str:
    """Return the tree as one page of SVG for A4 or US Letter, upright, at most `depth` actions deep.

    The branches taken most often are followed first, until the page is full; the others are left to the program.
    """
    page = _Page(words, cautions_of(_shown(chart.root, depth), words))
    head = [line for text in _head(chart, words) for line in _across(text)]
    foot = _foot(page)
    room = PAGE[1] - 2 * MARGIN - TITLE - LEADING * (len(head) + len(foot) + 2)
    rows = _filled(chart.root, page, room, depth)
    high = max(PAGE[1], PAGE[1] - room + sum(row.high for row in rows))
    parts = list(_headed(words, head))
    parts += _drawn(rows, MARGIN + TITLE + LEADING * (len(head) + 1))
    below = high - MARGIN - LEADING * (len(foot) - 1)
    parts += [svg_text(MARGIN, below + LEADING * at, line) for at, line in enumerate(foot)]
    paper = (f"{PAGE[0] * POINT:.1f}mm", f"{high * POINT:.1f}mm")
    return svg_document(words.title, (PAGE[0], high), [TO_THE_EDGE, *parts], LETTER, paper)


def _filled(root: Node | Ending, page: _Page, room: float, depth: int | None) -> list[Row]:
    """The rows of as much of the tree as there is room for; at least of its first step with its branches."""
    opened: frozenset[int] = frozenset()
    waiting: list[tuple[float, int, int, Node]] = []
    rows = page.rows(root, opened)

    def wait(node: Node | Ending, reach: float, level: int) -> None:
        if isinstance(node, Node) and (depth is None or level < depth):
            heappush(waiting, (-reach, level, id(node), node))

    wait(root, 1.0, 0)
    while waiting:
        reach, level, _, node = heappop(waiting)
        more = page.rows(root, opened | {id(node)})
        if opened and sum(row.high for row in more) > room:
            continue
        opened, rows = opened | {id(node)}, more
        for after in node.after:
            wait(after, -reach * after.probability, level + 1)
    return rows


def _shown(node: Node | Ending, depth: int | None) -> Iterator[Node]:
    """The steps that a page so deep may show, those behind the deepest branches included."""
    if isinstance(node, Node):
        yield node
        for after in node.after if depth != 0 else ():
            yield from _shown(after, None if depth is None else depth - 1)


def _wrapped(runs: list[tuple[str, str]], wide: float) -> tuple[tuple[tuple[str, str], ...], ...]:
    """Runs of styled words in lines that are no wider than so many points."""
    most = max(1, int(wide / (LETTER * WIDE_LETTER)))
    lines: list[list[tuple[str, str]]] = [[]]
    left = most
    for style, text in runs:
        for word in (part for whole in text.split() for part in textwrap.wrap(whole, most)):
            if lines[-1] and len(word) > left:
                lines.append([])
                left = most
            lines[-1].append((style, word))
            left -= len(word) + 1
    joined = (
        [(style, " ".join(word for _, word in run)) for style, run in groupby(line, key=_style)] for line in lines
    )
    return tuple(tuple(line) for line in joined)


def _style(run: tuple[str, str]) -> str:
    return run[0]


def _across(text: str) -> list[str]:
    """A text in lines as wide as the page."""
    return textwrap.wrap(text, int((PAGE[0] - 2 * MARGIN) / (LETTER * WIDE_LETTER)))


def _head(chart: Chart, words: ChartWords) -> Iterator[str]:
    yield headline(chart, words)
    yield from words.notes
    yield from cost_lines(chart)


def _foot(page: _Page) -> list[str]:
    numbered = "; ".join(f"{number} {caution}" for caution, number in page.cautions.items())
    return [*(_across(f"Read in the program before the step: {numbered}.") if numbered else ()), *_across(KEY)]


def _headed(words: ChartWords, lines: list[str]) -> Iterator[str]:
    """The title, room for who works on which car and when, and the lines below."""
    yield svg_text(MARGIN, MARGIN + 10, words.title, more='font-size="14" font-weight="bold"')
    yield svg_text(PAGE[0] - MARGIN, MARGIN + 10, "Car ________________  Date __________  By __________", "end")
    for at, line in enumerate(lines):
        yield svg_text(MARGIN, MARGIN + TITLE + LEADING * at, line)


def _drawn(rows: list[Row], top: float) -> Iterator[str]:
    """The rows with their boxes to tick, repairs on grey, and a line from each step to what may follow it."""
    middles: list[float] = []
    for row in rows:
        x, middle = MARGIN + INDENT * row.level, top + APART / 2 + LEADING / 2
        middles.append(middle)
        if row.kind == "repair":
            yield svg_box(x, top + 0.5, PAGE[0] - MARGIN - x, row.high - 1, 'fill="#e2e2e2"')
        if row.parent is not None:
            stem = MARGIN + INDENT * rows[row.parent].level + SQUARE / 2
            yield _line(stem, middles[row.parent] + SQUARE / 2, stem, middle)
            yield _line(stem, middle, x, middle)
        yield svg_box(x, middle - SQUARE / 2, SQUARE, SQUARE, 'fill="white" stroke="black" stroke-width="0.8"')
        for at, line in enumerate(row.lines):
            yield svg_runs(x + SQUARE + 4, middle + LETTER * 0.36 + LEADING * at, line)
        top += row.high


def _line(x1: float, y1: float, x2: float, y2: float) -> str:
    return svg_line(x1, y1, x2, y2, "#555", wide=0.7)
