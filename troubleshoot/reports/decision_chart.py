"""A decision tree in words: lines for a terminal, Markdown for a page to take to the car, and plain data."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from troubleshoot.case.shares import percent
from troubleshoot.reasoning.charting import Chart, Ending, Node
from troubleshoot.reports.chart_words import ChartWords
from troubleshoot.reports.markdown import escaped

SELDOM = "seldom met"
"""What is said of a branch that the chart does not follow; only repairs are counted there."""
WIDTH, NARROWEST = 78, 40
"""Columns of a line, and of the words in it however deep the tree goes."""
FORKS = {True: ("└─ ", "   "), False: ("├─ ", "│  ")}


def chart_data(chart: Chart, words: ChartWords) -> dict[str, Any]:
    """The chart as plain data for JSON; costs in minutes."""
    return {
        "title": words.title,
        "concern": words.concern,
        "policy": chart.policy,
        "unit": "min",
        "expected_cost": chart.expected_cost,
        "known_cost": chart.known_cost,
        "finding_cost": chart.expected_cost - chart.known_cost,
        "whole": chart.whole,
        "optimal": chart.optimal,
        "nodes": chart.nodes,
        "tree": _node_data(chart.root, words),
    }


def _node_data(node: Node | Ending, words: ChartWords) -> dict[str, Any]:
    found: dict[str, Any] = {}
    if node.label:
        found |= {"outcome": node.label, "probability": node.probability}
    if node.extra:
        found["extra_cost"] = node.extra
    if isinstance(node, Ending):
        cut = {"end": "cut", "expected_cost": node.expected_cost, "likeliest": {"cause": node.leader}}
        return found | ({"end": "repaired"} if node.repaired else cut)
    return found | {
        "do": node.kind,
        "id": node.id,
        "words": words.said(node.kind, node.id),
        "cost": node.cost,
        "expected_cost": node.expected_cost,
        "likeliest": {"cause": node.leader, "probability": node.belief},
        "after": [_node_data(after, words) for after in node.after],
    }


def headline(chart: Chart, words: ChartWords) -> str:
    """What the customer says, and the policy charted, in two sentences."""
    stop = "" if words.concern.endswith((".", "?", "!")) else "."
    return f"{words.concern}{stop} Policy: {chart.policy}."


def cost_lines(chart: Chart) -> Iterator[str]:
    """What the policy costs, in sentences; no total where rare branches were not followed to their end."""
    if chart.whole:
        yield (
            f"{chart.expected_cost:.6g} minutes are expected, given that something listed is wrong; "
            f"{chart.known_cost:.6g} if the fault were known."
        )
        if chart.optimal:
            yield "Nothing costs less: this is the optimum."
        elif chart.policy == "exact":
            yield "The search was ended before its end, so something may cost less: allow more seconds or positions."
    else:
        if chart.policy == "exact":
            yield (
                "It is not proven that nothing costs less: the search was ended by the seconds or positions allowed, "
                "or branches seldom met were left out."
            )
        yield (
            f"{chart.known_cost:.0f} minutes if the fault were known. Branches seldom met are not followed here, "
            "so no total is given; a case follows them, and every written step stands on the sheets (--paper)."
        )


def chart_lines(chart: Chart, words: ChartWords, depth: int | None = None) -> Iterator[str]:
    """The decision tree as lines for people, `depth` actions deep."""
    for text in (words.title, headline(chart, words), *words.notes, *cost_lines(chart)):
        yield from textwrap.wrap(text, WIDTH)
    yield ""
    yield from _lines(chart, chart.root, words, "", "", depth, "")


def _lines(
    chart: Chart, node: Node | Ending, words: ChartWords, first: str, rest: str, depth: int | None, came: str
) -> Iterator[str]:
    hang = f"{rest}{'│  ' if isinstance(node, Node) and node.after else '   '}   "
    wide = max(WIDTH, len(hang) + NARROWEST)
    yield from textwrap.wrap(_headline(node, words, came), wide, initial_indent=first, subsequent_indent=hang)
    if isinstance(node, Ending):
        return
    if depth is not None and depth <= 1:
        if any(isinstance(after, Node) for after in node.after):
            more = f" {node.expected_cost - node.cost:.4g} min more are expected" if chart.whole else ""
            yield f"{rest}└─ …{more}"
        return
    deeper = None if depth is None else depth - 1
    for at, after in enumerate(node.after):
        fork, run = FORKS[at == len(node.after) - 1]
        way = f"{f'{after.label} {share_words(node, after, words)}'.strip()}: " if after.label else ""
        yield from _lines(chart, after, words, rest + fork, rest + run, deeper, way)


def share_words(node: Node, after: Node | Ending, words: ChartWords) -> str:
    """How many of those who come to a step go on this way; empty after a repair where a second fault may be silent.

    There the figure would be the chance that nothing at all is wrong any more, far below that of a complaint cured.
    """
    return "" if words.silent and node.kind == "repair" else f"{percent(after.probability)}"


def _headline(node: Node | Ending, words: ChartWords, came: str) -> str:
    if isinstance(node, Ending):
        extra = f", {node.extra:.4g} min" if node.extra else ""
        return f"{came}{'done' if node.repaired else seldom(node, words)}{extra}"
    extra = f" + {node.extra:.4g} for the one before" if node.extra else ""
    return f"{came}{action_words(node, words)}, {node.cost:.4g} min{extra}"


def seldom(ending: Ending, words: ChartWords) -> str:
    """What is said where a branch is not followed: the likeliest cause there."""
    return f"{SELDOM}; likeliest {words.said('repair', ending.leader)}"


def action_words(node: Node, words: ChartWords) -> str:
    """What is to be done in a step, begun with CHECK, REPAIR, STOP or REFER."""
    if node.kind == "refer":
        return "REFER"
    return f"{node.kind.upper()} {words.said(node.kind, node.id)}"


def cautions_of(steps: Iterable[Node], words: ChartWords) -> dict[str, int]:
    """The cautions of some steps, numbered as they are met."""
    met = dict.fromkeys(one for node in steps for one in words.cautions.get((node.kind, node.id), ()))
    return {caution: at + 1 for at, caution in enumerate(met)}


def cost_words(node: Node, words: ChartWords, cautions: Mapping[str, int]) -> str:
    """What a step takes, with its signal word and the numbers of its cautions, as `20 min, WARNING 1 2`."""
    mine = words.cautions.get((node.kind, node.id), ())
    numbers = " ".join(str(number) for number in sorted(cautions[one] for one in mine))
    signal = f", {mine[0].partition(':')[0]} {numbers}" if mine else ""
    return f"{node.cost:.4g} min{signal}"


def chart_page(chart: Chart, words: ChartWords, depth: int | None = None) -> str:
    """The tree as a Markdown page with numbered steps, to tick off at the car."""
    lines = [f"# {escaped(words.title)}", "", escaped(headline(chart, words)), ""]
    lines += [f"{escaped(note)}" for note in words.notes] + ([""] if words.notes else [])
    lines += [*cost_lines(chart), ""]
    steps = list(_numbered(chart.root, depth))
    number = {id(node): at + 1 for at, node in enumerate(steps)}
    cautions = cautions_of(steps, words)
    for at, node in enumerate(steps):
        lines.append(f"{at + 1}. **{escaped(action_words(node, words))}** ({cost_words(node, words, cautions)})")
        for after in node.after:
            came = escaped(words.outcome(node.id, after.label) or "then")
            lines.append(f"    - [ ] {came}: {_goes_to(after, number, words)}")
    if cautions:
        lines += ["", "## Cautions", ""] + [f"{at}. {escaped(one)}" for one, at in cautions.items()]
    return "\n".join(lines) + "\n"


def _numbered(root: Node | Ending, depth: int | None) -> Iterator[Node]:
    """The nodes of the tree level by level, so that the numbers rise along every branch."""
    level: list[Node | Ending] = [root]
    left = depth
    while level and (left is None or left > 0):
        here = [node for node in level if isinstance(node, Node)]
        yield from here
        level = [after for node in here for after in node.after]
        left = None if left is None else left - 1


def _goes_to(after: Node | Ending, number: Mapping[int, int], words: ChartWords) -> str:
    if isinstance(after, Ending):
        return "done; retest" if after.repaired else seldom(after, words)
    step = number.get(id(after))
    return f"go to {step}" if step else f"{after.expected_cost:.4g} min more are expected"
