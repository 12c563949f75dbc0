"""A drill on paper, for a class without computers: story, list of checks, cards with the readings, an answer sheet."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from troubleshoot.classroom.drill_file import Drill
from troubleshoot.classroom.drill_rules import DrillRules
from troubleshoot.classroom.handing_in import drill_name
from troubleshoot.classroom.sitting import FileBench, refuse_unknown_checks
from troubleshoot.knowledge.catalogue import Catalogue

ROWS = 14
"""Lines of the answer sheet: more checks than a good path needs."""


@dataclass(frozen=True)
class PaperCheck:
    """One check on paper: its number, question, minutes, tools, cautions, and what its card says."""

    number: int
    ask: str
    state: str
    minutes: float
    tools: tuple[str, ...]
    cautions: tuple[str, ...]
    reading: str
    bands: str


def paper_checks(drill: Drill, catalogue: Catalogue) -> tuple[PaperCheck, ...]:
    """Return the checks that can be measured with the tools allowed, in the order of their words."""
    refuse_unknown_checks(drill, catalogue)
    found = []
    for name, read in drill.readings.items():
        check = catalogue.checks[name]
        if read is None or (drill.tools is not None and not set(check.tools) <= set(drill.tools)):
            continue
        words = dict(check.named_outcomes)
        found.append((
            check.ask, check.state, check.minutes,
            tuple(catalogue.tools[one].words for one in check.tools if one in catalogue.tools),
            tuple(catalogue.cautions[one].title for one in check.cautions if one in catalogue.cautions),
            words.get(read, read),
            "" if check.reading is None else " / ".join(words.values()),
        ))  # fmt: skip
    found.sort(key=lambda one: one[0].casefold())
    return tuple(PaperCheck(number, *one) for number, one in enumerate(found, start=1))


def paper_file(drill: Path) -> str:
    """Return what the page of a drill is called.

    >>> paper_file(Path("school/hill.drill.json"))
    'hill-paper.html'
    """
    return f"{drill_name(drill)}-paper.html"


def paper_drill(drill: Drill, catalogue: Catalogue) -> str:
    """Return the drill as one HTML page to print; it says nothing of the answer but the readings on their cards."""
    pages = Environment(
        loader=FileSystemLoader(Path(__file__).with_name("pages")), autoescape=True, undefined=StrictUndefined
    )
    car = drill.known_car
    return pages.get_template("paper_drill.html").render(
        drill=drill,
        car=car.title,
        concerns=[catalogue.concerns[one].title for one in drill.concerns],
        conditions=DrillRules(drill, catalogue, FileBench(drill)).conditions,
        checks=paper_checks(drill, catalogue),
        rows=range(1, ROWS + 1),
    )
