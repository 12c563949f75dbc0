"""How a case has gone: the probability of each cause after each thing done, and where it stands in its tree."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import takewhile

from troubleshoot.case.assessing import Assessment
from troubleshoot.case.proposing import gone_past
from troubleshoot.knowledge.answers import id_words
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.model import Concern
from troubleshoot.reasoning import belief as beliefs
from troubleshoot.reasoning.events import Happening


class Course:
    """Belief over time, worked out once for each thing done: what is known of an earlier moment is kept."""

    def __init__(self) -> None:
        self._problem: object = None
        self._happened: list[Happening] = []
        self._shares: list[Mapping[str, float]] = []

    def of(self, seen: Assessment) -> Mapping[str, tuple[float, ...]]:
        """Return each cause's probability at the start and after each thing done, by its id."""
        problem = seen.problem
        if problem is None:
            return {}
        if self._problem is not problem:
            self._problem, self._happened, self._shares = problem, [], []
        both = zip(self._happened, seen.happened, strict=False)
        same = sum(1 for _ in takewhile(lambda pair: pair[0] == pair[1], both))
        self._happened, self._shares = list(seen.happened), self._shares[: same + 1]
        for count in range(len(self._shares), len(seen.happened) + 1):
            belief = beliefs.believe(problem, seen.happened[:count])
            self._shares.append({one.cause: one.probability for one in belief.ranked()})
        return {one.id: tuple(row.get(one.id, 0.0) for row in self._shares) for one in problem.causes}


@dataclass(frozen=True)
class TreeLine:
    """One step of the tree: what is asked or repaired, the answer or the branch that leads there, how it stands."""

    words: str
    answer: str
    here: bool = False
    ahead: bool = False


def tree_place(seen: Assessment, catalogue: Catalogue) -> tuple[TreeLine, ...]:
    """Return the steps of the first concern's tree that were answered, the one one is at, and its branches."""
    known = [catalogue.concerns[one] for one in seen.state.concerns if one in catalogue.concerns]
    if not known or not known[0].steps:
        return ()
    tree, found = known[0], []
    name: str | None = next(iter(tree.steps))
    for _ in range(len(tree.steps)):
        step = tree.steps.get(name) if name else None
        if step is None or step.check is None or step.check not in catalogue.checks:
            break
        check = catalogue.checks[step.check]
        read = seen.latest.get(step.check)
        passed = step.check in seen.skipped or gone_past(tree, step.check, check, seen)
        outcome = read.outcome if read is not None else check.normal if passed else None
        if outcome is None:
            found.append(TreeLine(check.ask, "", here=True))
            return (*found, *_branches(tree, step.next, dict(check.named_outcomes), catalogue))
        if read is not None:
            found.append(TreeLine(check.ask, read.words))
        name = step.next.get(outcome)
    if name is not None:
        found.append(TreeLine(_title(tree, name, catalogue), "", here=True))
    return tuple(found)


def _branches(
    tree: Concern, after: Mapping[str, str], words: Mapping[str, str], catalogue: Catalogue
) -> Iterator[TreeLine]:
    """Yield where the answers lead; those that lead to one place stand together, many of them as any other."""
    places: dict[str, list[str]] = {}
    for outcome, name in after.items():
        places.setdefault(_title(tree, name, catalogue), []).append(words.get(outcome) or id_words(outcome))
    for title, answers in sorted(places.items(), key=lambda one: len(one[1]) > MOST_NAMED):
        other = "any other" if len(places) > 1 else "any answer"
        yield TreeLine(title, other if len(answers) > MOST_NAMED else ", ".join(answers), ahead=True)


MOST_NAMED = 3
"""Answers that lead to one place and are all named."""


def _title(tree: Concern, name: str, catalogue: Catalogue) -> str:
    step = tree.steps.get(name)
    if step is None:
        return id_words(name)
    if step.check is not None and step.check in catalogue.checks:
        return catalogue.checks[step.check].ask
    return f"Repair: {catalogue.causes[step.repair].title}" if step.repair in catalogue.causes else "Repair"
