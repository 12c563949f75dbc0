"""`troubleshoot rank PROBLEM.yaml`: rank the causes of a problem file for answers already had, and say what is next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

from troubleshoot.cli import output
from troubleshoot.cli.plain_lines import wrapped
from troubleshoot.cli.readings_file import SKIPPED, ReadingsRefused, read_readings

if TYPE_CHECKING:
    from troubleshoot.knowledge.problem_file import ProblemFromFile
    from troubleshoot.reasoning.belief import Belief
    from troubleshoot.reasoning.events import Evidence
    from troubleshoot.reasoning.problem import Problem


def rank_problem(path: Path, readings: Path | None, from_stdin: bool, as_json: bool) -> None:
    """Print the ranking of a problem file; TroubleshootError for a file or an answer that cannot be used."""
    from troubleshoot.knowledge.problem_file import read_problem
    from troubleshoot.reasoning.belief import believe

    read = read_problem(path)
    for notice in read.notices:
        output.say(str(notice))
    given = read_readings(readings) if readings is not None or from_stdin else {}
    belief = believe(read.problem, _answers(read.problem, given))
    found = _data(read, belief, {name: text for name, text in given.items() if text.casefold() != SKIPPED}, set(given))
    if as_json:
        output.as_json(found)
        return
    output.data(f"{found['title']}: {found['concern']}")
    for one in found["causes"]:
        output.data(f"  {100 * one['probability']:5.1f} %  {_titled(one)}")
    output.data(f"  {100 * found['nothing-wrong']:5.1f} %  nothing listed")
    named = f" [{found['next']['id']}]" if found["next"]["id"] else ""
    for line in wrapped(f"{found['next']['kind']}: {found['next']['words']}{named}", "NEXT: "):
        output.data(line)


def _titled(cause: Mapping[str, Any]) -> str:
    return f"{cause['title']}  [{cause['id']}]" if cause["title"] else str(cause["id"])


def _answers(problem: Problem, given: Mapping[str, str]) -> Sequence[Evidence]:
    """Return the answers as evidence; ReadingsRefused names every one that cannot be."""
    from troubleshoot.knowledge.findings import nearest
    from troubleshoot.reasoning.events import Evidence

    faults, made = [], []
    for name, text in given.items():
        check = problem.check_named.get(name)
        if check is None:
            faults.append(f"{name}: there is no such check{nearest(name, problem.check_named)} — use the id of a check")
        elif text in check.outcomes:
            made.append(Evidence(name, tuple(float(one == text) for one in check.outcomes)))
        elif text.casefold() != SKIPPED:
            faults.append(f"{name}: {text} is no outcome{nearest(text, check.outcomes)} — {', '.join(check.outcomes)}")
    if faults:
        raise ReadingsRefused("\n".join(faults))
    return made


def _data(read: ProblemFromFile, belief: Belief, given: Mapping[str, str], passed: set[str]) -> dict[str, Any]:
    """Return the ranking as plain data; checks that were answered or skipped are not proposed again."""
    from troubleshoot.reasoning.worth import next_step

    problem, words = read.problem, read.words
    open_checks = [one.id for one in problem.checks if one.id not in passed]
    step = next_step(problem, belief, open_checks)
    said = words.get(step.id, step.id) if step.id else step.why
    return {
        "title": read.form.title,
        "concern": read.form.concern,
        "causes": [
            {"id": one.cause, "title": words.get(one.cause, ""), "probability": round(one.probability, 6)}
            for one in belief.ranked()
        ],
        "nothing-wrong": round(belief.none, 6),
        "readings": dict(given),
        "next": {"kind": step.kind, "id": step.id, "words": said, "saves": round(step.saves, 2), "why": step.why},
        "nothing-fits": belief.nothing_fits,
    }
