"""What only numbers can tell: causes that no checks tell apart, and steps that cost far more than they need."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

import numpy as np
import numpy.typing as npt

from troubleshoot.knowledge.authored_cost import authored_cost, best_cost
from troubleshoot.knowledge.compiling import SOMETHING_ELSE, fits
from troubleshoot.knowledge.findings import Finding
from troubleshoot.knowledge.load_trees import SourcedTrees
from troubleshoot.knowledge.model import Cause
from troubleshoot.knowledge.signatures import signature_shares, usual_shares

Overlaps = npt.NDArray[np.float64]

TELLS_APART = 0.80
"""Two causes of one concern should be told apart this often when every check has been made."""
DEARER = 1.5
"""Steps that cost more than this many times the best order of the same checks are worth a second look."""


def twins(trees: SourcedTrees) -> Iterator[Finding]:
    """Find causes with the same signature everywhere, which nothing can tell apart."""
    catalogue = trees.catalogue
    signs: dict[tuple[object, ...], list[str]] = {}
    for cause in catalogue.causes:
        sign = tuple(
            (name, signature_shares(check, cause, catalogue.causes[cause]))
            for name, check in catalogue.checks.items()
            if cause in check.moved_by
        )
        if sign and cause != SOMETHING_ELSE:
            signs.setdefault(sign, []).append(cause)
    for alike in signs.values():
        for first, second in itertools.combinations(alike, 2):
            if _on_one_car(trees, catalogue.causes[first], catalogue.causes[second]):
                what = f"{second} and {first} move every check alike; no sequence of checks tells them apart (50 %)"
                advice = "give one of them another signature, or a check of its own"
                yield trees.at(("causes", second), (), what, advice, "same-everywhere")


def hard_to_tell(trees: SourcedTrees) -> Iterator[Finding]:
    """Notice pairs of one concern that all its checks together tell apart too seldom."""
    catalogue = trees.catalogue
    names = [cause for cause in catalogue.causes if cause != SOMETHING_ELSE]
    number = {cause: at for at, cause in enumerate(names)}
    overlaps = {name: _overlaps(trees, name, names) for name, check in catalogue.checks.items() if check.outcomes}
    for identifier, concern in catalogue.concerns.items():
        shown = [cause for cause in concern.shows if cause in number]
        at = np.array([number[cause] for cause in shown], dtype=np.intp)
        total = np.zeros((len(shown), len(shown)))
        for name, overlap in overlaps.items():
            if catalogue.checks[name].state not in concern.rules_out:
                total += overlap[np.ix_(at, at)]
        for i, j in zip(*np.nonzero(np.triu(total > _log_overlap(TELLS_APART), 1)), strict=True):
            first, second = shown[int(i)], shown[int(j)]
            if total[i, j] < -1e-9 and _on_one_car(trees, catalogue.causes[first], catalogue.causes[second]):
                best = 0.5 * (1.0 + math.sqrt(1.0 - math.exp(2.0 * total[i, j])))
                what = (
                    f"{first} and {second} are told apart at best {best * 100:.0f} % of the time by all checks together"
                )
                advice = "sharpen a signature, or add a check that one of them moves"
                yield trees.at(("concerns", identifier), ("shows", second), what, advice, "hard-to-tell", "notice")


def dear_steps(trees: SourcedTrees) -> Iterator[Finding]:
    """Notice trees whose written order of steps costs far more than the best order of the same checks."""
    for identifier, concern in trees.catalogue.concerns.items():
        if concern.kind != "tree" or not concern.steps:
            continue
        written, best = authored_cost(trees.catalogue, identifier), best_cost(trees.catalogue, identifier)
        if written > DEARER * best:
            what = f"the steps cost {written:.0f} minutes on average; the best order of the same checks {best:.0f}"
            advice = "ask first what is cheap and splits the likeliest causes"
            yield trees.at(("concerns", identifier), ("steps",), what, advice, "dear-steps", "notice")


def _overlaps(trees: SourcedTrees, name: str, causes: list[str]) -> Overlaps:
    """Return ln of the Bhattacharyya coefficient of every two causes at one check.

    With all checks together their sum bounds what any observer can reach: the share of right answers between two
    equally likely causes is at most (1 + sqrt(1 - BC^2)) / 2 (Kailath 1967).
    """
    check = trees.catalogue.checks[name]
    usual = usual_shares(check)
    known = trees.catalogue.causes
    shares = [signature_shares(check, one, known[one]) if one in check.moved_by else usual for one in causes]
    table = np.sqrt(np.array(shares).reshape(len(causes), len(check.outcomes)))
    logs: Overlaps = np.log(np.minimum(table @ table.T, 1.0))
    return logs


def _log_overlap(right: float) -> float:
    return 0.5 * math.log(1.0 - (2.0 * right - 1.0) ** 2)


def _on_one_car(trees: SourcedTrees, first: Cause, second: Cause) -> bool:
    """Return whether some car can have both causes."""
    cars = trees.catalogue.cars.values()
    return not cars or any(fits(car, first.for_) and fits(car, second.for_) for car in cars)
