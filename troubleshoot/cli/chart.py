"""`troubleshoot chart`: the best order of checks and repairs as a decision tree, with what it is expected to cost."""

from __future__ import annotations

import time
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from troubleshoot.cli import output
from troubleshoot.cli.options import GlobalOptions, global_options, is_file

if TYPE_CHECKING:
    from troubleshoot.knowledge.model import Step
    from troubleshoot.reasoning.charting import Chart
    from troubleshoot.reasoning.policies import AuthoredStep
    from troubleshoot.reasoning.problem import Problem
    from troubleshoot.reports.chart_sheets import ChartSheets
    from troubleshoot.reports.chart_words import ChartWords

SECONDS = 10.0
"""How long the optimum of a problem file is searched for unless more is allowed."""

TREE_DEPTH = 6
"""How deep the chart of a tree of the catalogue is shown unless a depth is given."""

TREE_REACH = 0.01
"""In the chart of a tree, branches reached less often than this are finished by repairs alone."""

REPORT_EVERY = 5000

PAPER = (
    "Write it to take to the car: pages drawn as x.svg, x-2.svg and so on, all of them in one x.html, else Markdown; "
    "- for stdout. A tree's steps or an inspection's items, with limits, how-to, drawings, repairs and cautions."
)


@dataclass(frozen=True)
class _Charted:
    """What is to be charted: the problem, its words, its written steps, and how far to go and to show."""

    problem: Problem
    words: ChartWords
    steps: dict[str, AuthoredStep]
    policy: str
    depth: int | None
    least_reach: float
    sheets: ChartSheets | None = None
    inspection: bool = False


def chart(
    context: typer.Context,
    what: Annotated[str, typer.Argument(help="A problem file (YAML), or a concern by id; see `concerns`.")],
    policy: Annotated[
        str | None,
        typer.Option(
            help="authored, probability-over-cost, one-step, information-gain, look-ahead or exact; "
            "by default the written steps of a tree, and the best that can be had of a file."
        ),
    ] = None,
    depth: Annotated[int | None, typer.Option(help="How many actions deep.", min=1, max=500)] = None,
    car: Annotated[str | None, typer.Option(help="For a concern: a car file, or the id of an example car.")] = None,
    seconds: Annotated[float, typer.Option(help="How long the optimum is searched for.", min=0)] = SECONDS,
    positions: Annotated[
        int | None, typer.Option(help="How many positions the search may keep; 200,000 take about 80 MB.", min=1)
    ] = None,
    paper: Annotated[Path | None, typer.Option(help=PAPER)] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the tree as JSON.")] = False,
) -> None:
    """Chart a concern's steps, or the best order of checks and repairs of a problem and what it is expected to cost.

    A concern's steps come in brief, as they stand on paper; with --policy or --depth as a decision tree with how often
    each way is taken. Exit code 2 when the file, the concern or the policy is refused.
    """
    from troubleshoot.reports.chart_sheets_lines import sheet_lines
    from troubleshoot.reports.decision_chart import chart_data, chart_lines

    wanted = global_options(context)
    path = wanted.here / what
    if is_file(path, what):
        if car is not None:
            output.fail("A problem file knows no car.", "Leave --car out, or name a concern of the trees.")
        asked_for = _from_file(path, policy)
    else:
        asked_for = _from_tree(wanted, what, policy, car)
    if paper is not None and asked_for.sheets is not None and not as_json:
        _write_sheets(asked_for.sheets, paper, wanted.here)
        return
    if asked_for.sheets is not None and not as_json and policy is None and depth is None:
        for line in sheet_lines(asked_for.sheets):
            output.data(line)
        return
    if asked_for.inspection:
        output.fail(
            f"{what} is an inspection: every item in its order, whatever the odds, so there is nothing to choose.",
            f"Print its sheets with: troubleshoot chart {what} --paper {what}.svg.",
        )
    made = _made(asked_for, seconds, positions)
    if as_json:
        output.as_json(chart_data(made, asked_for.words))
    if paper is not None:
        page = _page(made, asked_for, depth or asked_for.depth, drawn=paper.suffix.casefold() == ".svg")
        output.write_out(page, None if str(paper) == "-" else wanted.here / paper)
    if not as_json and paper is None:
        for line in chart_lines(made, asked_for.words, depth or asked_for.depth):
            output.data(line)


def _made(asked_for: _Charted, seconds: float, positions: int | None) -> Chart:
    from troubleshoot.reasoning.charting import chart as written_out
    from troubleshoot.reasoning.exact import MOST_POSITIONS

    shown, ends = 0, time.monotonic() + seconds

    def progress(positions: int) -> None:
        nonlocal shown
        if positions - shown >= REPORT_EVERY:
            shown = positions
            output.say(f"{positions:,} positions worked out")

    return written_out(
        asked_for.problem,
        asked_for.policy,
        steps=asked_for.steps,
        least_reach=asked_for.least_reach,
        progress=progress,
        most_positions=positions or MOST_POSITIONS,
        late=lambda: time.monotonic() > ends,
    )


def _write_sheets(sheets: ChartSheets, paper: Path, here: Path) -> None:
    """Write a tree's sheets: an SVG file for each page, or one file of HTML or Markdown."""
    from troubleshoot.reports.chart_sheets_pages import sheet_html, sheet_markdown, sheet_pages

    kind = paper.suffix.casefold()
    if kind == ".svg":
        for at, page in enumerate(sheet_pages(sheets)):
            name = paper if at == 0 else paper.with_name(f"{paper.stem}-{at + 1}{paper.suffix}")
            output.write_out(page, here / name)
        return
    text = sheet_html(sheets) if kind in (".html", ".htm") else sheet_markdown(sheets)
    output.write_out(text, None if str(paper) == "-" else here / paper)


def _page(made: Chart, asked_for: _Charted, depth: int | None, drawn: bool) -> str:
    if drawn:
        from troubleshoot.reports.decision_page import decision_page

        return decision_page(made, asked_for.words, depth)
    from troubleshoot.reports.decision_chart import chart_page

    return chart_page(made, asked_for.words, depth)


def _from_file(path: Path, policy: str | None) -> _Charted:
    from troubleshoot.knowledge.problem_file import read_problem
    from troubleshoot.reasoning.charting import LEAST_REACH
    from troubleshoot.reports.chart_words import ChartWords

    read = read_problem(path)
    for notice in read.notices:
        output.say(str(notice))
    form = read.form
    notes = (f"Source: {' '.join(form.source.split())}",) if form.source else ()
    words = ChartWords(form.title, form.concern, read.words, notes)
    return _Charted(read.problem, words, _authored(read.steps), policy or "exact", None, LEAST_REACH)


def _from_tree(wanted: GlobalOptions, what: str, policy: str | None, car: str | None) -> _Charted:
    from troubleshoot.cli.car_choice import car_asked_for
    from troubleshoot.knowledge.compiling import compile_problem
    from troubleshoot.reports.chart_sheets import chart_sheets
    from troubleshoot.reports.chart_words import tree_words

    catalogue = wanted.catalogue()
    chosen = car_asked_for(wanted.cars(catalogue), car or next(iter(catalogue.cars)), wanted.here)
    problem = compile_problem(catalogue, chosen, [what], listed_only=True)
    inspection = catalogue.concerns[what].kind == "inspection"
    steps = _authored(catalogue.concerns[what].steps)
    words = tree_words(catalogue, chosen, what, wanted.units)
    usual = policy or ("authored" if steps or inspection else "one-step")
    sheets = chart_sheets(catalogue, chosen, what, wanted.units) if usual == "authored" else None
    return _Charted(problem, words, steps, usual, TREE_DEPTH, TREE_REACH, sheets, inspection)


def _authored(steps: dict[str, Step]) -> dict[str, AuthoredStep]:
    from troubleshoot.reasoning.policies import AuthoredStep

    return {name: AuthoredStep(step.check, step.next, step.repair) for name, step in steps.items()}


def register(app: typer.Typer) -> None:
    """Add the command to the program."""
    app.command("chart")(chart)
