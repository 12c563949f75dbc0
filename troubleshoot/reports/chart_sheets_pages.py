"""The sheets of a tree on paper: pages of two columns as SVG, one HTML file of all pages, or Markdown."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from html import escape
from itertools import takewhile

from troubleshoot.reports.chart_sheets import SYMBOLS, ChartSheets, CheckSheet, RepairSheet
from troubleshoot.reports.decision_page import MARGIN, PAGE, POINT, TO_THE_EDGE, WIDE_LETTER
from troubleshoot.reports.markdown import escaped
from troubleshoot.reports.svg import svg_box, svg_document, svg_line, svg_text

LETTER, LEADING, APART = 7.0, 8.2, 5.0
GUTTER, SQUARE, INDENT = 14.0, 5.0, 9.0
COLUMN = (PAGE[0] - 2 * MARGIN - GUTTER) / 2
TOP, FOOT = MARGIN + 22.0, 20.0
BOLD, MONO, PLAIN = 'font-weight="bold"', 'font-family="monospace" xml:space="preserve"', ""
STILL_THERE = (
    "After a repair: retest. Where the concern is still there, go back to the step that led to it and take its "
    "normal way."
)
KEY = (
    "Tick what you find and go where it says; numbers after DANGER, WARNING or CAUTION are those of the cautions, read "
    "before the step. A bad reading is taken twice before parts are bought."
)


@dataclass(frozen=True)
class _Line:
    """One line in a column; `ticked` has a box to tick before it."""

    text: str
    style: str = PLAIN
    indent: float = 0.0
    ticked: bool = False


@dataclass(frozen=True)
class _Block:
    """Lines that stay together where a column can hold them; framed or grey where they must be told apart."""

    lines: tuple[_Line, ...]
    fill: str = ""

    @property
    def high(self) -> float:
        """Height in points."""
        return LEADING * len(self.lines) + APART


def _wrapped(text: str, style: str = PLAIN, indent: float = 0.0, ticked: bool = False) -> list[_Line]:
    """A text in lines that a column holds; only the first has the box to tick, the others stand below its words."""
    room = COLUMN - 6 - indent - (SQUARE + 4 if ticked else 0)
    lines = textwrap.wrap(text, int(room / (LETTER * WIDE_LETTER))) or [""]
    after = indent + (SQUARE + 4 if ticked else 0)
    return [_Line(line, style, after if at else indent, ticked and not at) for at, line in enumerate(lines)]


def _check_block(one: CheckSheet) -> _Block:
    lines = _wrapped(f"{one.number}  CHECK {one.ask}", BOLD)
    lines += _wrapped("; ".join(part for part in (one.term, one.takes, one.cautions) if part), PLAIN, INDENT)
    if one.like:
        lines += _wrapped(f"How: as in step {one.like}.", PLAIN, INDENT)
    if one.first:
        lines += _wrapped(f"First: {one.first}.", PLAIN, INDENT)
    for line in one.do:
        lines += _wrapped(f"- {line}", PLAIN, INDENT)
    lines += [_Line(line, MONO, INDENT) for line in one.drawing.splitlines()]
    for way in one.ways:
        lines += _wrapped(f"{way.found}: {way.goes}", PLAIN, INDENT, ticked=True)
    return _Block(tuple(lines))


def _repair_block(one: RepairSheet) -> _Block:
    lines = _wrapped(f"{one.number}  REPAIR {one.title}", BOLD)
    lines += _wrapped("; ".join(part for part in (one.term, one.takes, one.cautions) if part), PLAIN, INDENT)
    lines += _wrapped(f"Confirm before parts are bought: {one.confirm}", PLAIN, INDENT)
    for line in one.do:
        lines += _wrapped(f"- {line}", PLAIN, INDENT)
    lines += _wrapped(f"Retest: {one.retest}", PLAIN, INDENT, ticked=True)
    return _Block(tuple(lines), "#ececec")


def _box(title: str, lines: Iterable[str], fill: str = "white", ticked: bool = False) -> _Block:
    found = _wrapped(title, BOLD, 3)
    for line in lines:
        found += _wrapped(line, PLAIN, 3, ticked)
    return _Block(tuple(found), fill)


def _blocks(sheets: ChartSheets) -> Iterator[_Block]:
    if sheets.stop:
        yield _box("READ FIRST", [sheets.stop])
    yield _box("THE CONCERN", [f"“{sheets.says}”", sheets.meaning])
    yield _box("SPECIFICATION: this car", [f"{name}: {value}" for name, value in sheets.specification])
    yield _box("PRELIMINARY: before the first step", sheets.preliminary, ticked=True)
    yield _box("HOW TO READ THESE SHEETS", [KEY, STILL_THERE, f"Drawings: {SYMBOLS}."])
    for at, one in enumerate(sheets.cautions):
        yield _box(f"CAUTION {at + 1}   {one.signal}: {one.title}", [*one.card, one.defer])
    for check in sheets.checks:
        yield _check_block(check)
    yield _box("EVERY STEP NORMAL: what the steps do not look at", sheets.normal, ticked=True)
    for repair in sheets.repairs:
        yield _repair_block(repair)


def sheet_pages(sheets: ChartSheets) -> list[str]:
    """Return the sheets as SVG documents, one a page, upright, for A4 or US Letter, dark on white."""
    columns: list[list[tuple[float, _Block]]] = [[]]
    at, bottom = TOP, PAGE[1] - MARGIN - FOOT
    for block in (part for whole in _blocks(sheets) for part in _parts(whole, bottom - TOP)):
        if columns[-1] and at + block.high > bottom:
            columns.append([])
            at = TOP
        columns[-1].append((at, block))
        at += block.high
    pages = [columns[first : first + 2] for first in range(0, len(columns), 2)]
    return [_page(sheets, page, at + 1, len(pages)) for at, page in enumerate(pages)]


def _parts(block: _Block, room: float) -> Iterator[_Block]:
    """A block, in as many parts as it takes columns."""
    most = int((room - APART) / LEADING)
    for first in range(0, len(block.lines), most):
        yield _Block(block.lines[first : first + most], block.fill)


def _page(sheets: ChartSheets, columns: list[list[tuple[float, _Block]]], number: int, of: int) -> str:
    parts = [TO_THE_EDGE]
    wide = int((PAGE[0] - 2 * MARGIN - 230) / (13 * WIDE_LETTER))
    parts.append(svg_text(MARGIN, MARGIN + 8, _short(sheets.title, wide), more='font-size="13" font-weight="bold"'))
    parts.append(svg_text(PAGE[0] - MARGIN, MARGIN + 8, "Date ____________  By ____________", "end"))
    for at, column in enumerate(columns):
        left = MARGIN + at * (COLUMN + GUTTER)
        for top, block in column:
            parts += _drawn(block, left, top)
    middle = MARGIN + COLUMN + GUTTER / 2
    parts.append(svg_line(middle, TOP, middle, PAGE[1] - MARGIN - FOOT, "#999", wide=0.5))
    below = PAGE[1] - MARGIN
    car = _short(f"Car: {sheets.car}", int((PAGE[0] - 2 * MARGIN - 60) / (LETTER * WIDE_LETTER)))
    parts.append(svg_text(MARGIN, below, car))
    parts.append(svg_text(PAGE[0] - MARGIN, below, f"page {number} of {of}", "end"))
    paper = (f"{PAGE[0] * POINT:.1f}mm", f"{PAGE[1] * POINT:.1f}mm")
    return svg_document(f"{sheets.title}, page {number}", PAGE, parts, LETTER, paper)


def _short(text: str, most: int) -> str:
    return text if len(text) <= most else f"{text[: most - 1]}…"


def _drawn(block: _Block, left: float, top: float) -> Iterator[str]:
    if block.fill:
        edge = f'fill="{block.fill}" stroke="#555" stroke-width="0.5"'
        yield svg_box(left, top, COLUMN, block.high - 2, edge)
    for at, line in enumerate(block.lines):
        base = top + LEADING * (at + 1) - 1
        x = left + 3 + line.indent
        if line.ticked:
            yield svg_box(x, base - SQUARE, SQUARE, SQUARE, 'fill="white" stroke="black" stroke-width="0.7"')
            x += SQUARE + 4
        yield svg_text(x, base, line.text, more=line.style)


def sheet_html(sheets: ChartSheets) -> str:
    """Return all pages in one HTML file that prints one SVG page on each sheet of paper."""
    pages = "\n".join(f'<div class="page">{page}</div>' for page in sheet_pages(sheets))
    style = "@page { margin: 0 } body { margin: 0 } .page { page-break-after: always } svg { display: block }"
    head = f'<meta charset="utf-8"><title>{escape(sheets.title)}</title><style>{style}</style>'
    return f'<!DOCTYPE html>\n<html lang="en"><head>{head}</head><body>\n{pages}\n</body></html>\n'


def sheet_markdown(sheets: ChartSheets) -> str:
    """Return the sheets as Markdown, to be read as plain text too."""
    lines = [f"# {escaped(sheets.title)}", "", f"“{escaped(sheets.says)}” {escaped(sheets.meaning)}", ""]
    lines += [f"**{escaped(sheets.stop)}**", ""] if sheets.stop else []
    lines += [f"Car: {escaped(sheets.car)}", ""]
    lines += _listed("Specification of this car", [f"{name}: {value}" for name, value in sheets.specification], "-")
    lines += _listed("Preliminary: before the first step", sheets.preliminary, "- [ ]")
    for at, one in enumerate(sheets.cautions):
        lines += _listed(f"Caution {at + 1}. {one.signal}: {one.title}", [*one.card, one.defer], "-")
    lines += ["## Steps", "", escaped(KEY), "", escaped(STILL_THERE), "", f"Drawings: {escaped(SYMBOLS)}.", ""]
    for block in map(_check_block, sheets.checks):
        lines += _as_markdown(block)
    lines += _listed("Every step normal: what the steps do not look at", sheets.normal, "- [ ]")
    lines += ["## Repairs", ""]
    for block in map(_repair_block, sheets.repairs):
        lines += _as_markdown(block)
    return "\n".join(lines)


def _listed(title: str, found: Iterable[str], mark: str) -> list[str]:
    return [f"## {escaped(title)}", "", *(f"{mark} {escaped(one)}" for one in found), ""]


def _as_markdown(block: _Block) -> list[str]:
    """A block's heading, its lines, its drawing as code, and what is ticked as a list."""
    heading = list(takewhile(lambda one: one.style == BOLD, block.lines))
    lines = [f"### {escaped(' '.join(one.text for one in heading))}", ""]
    drawn = False
    for one in block.lines[len(heading) :]:
        if (one.style == MONO) != drawn:
            drawn = not drawn
            lines += ["```text"] if drawn else ["```", ""]
        if drawn:
            lines.append(one.text)
        elif one.ticked:
            lines.append(f"- [ ] {escaped(one.text)}")
        else:
            lines.append(f"  {escaped(one.text)}")
    return [*lines, *(["```"] if drawn else []), ""]
