"""A script that looks at everything in a drill file but the readings does no better than chance."""

from __future__ import annotations

import msgspec
import numpy as np
import pytest

from troubleshoot.drills.drill_file import drill_text, sealed
from troubleshoot.drills.setting import DrillPlan, make_drills

CAUSES = ("pump-volts-low", "filter-blocked", "pump-worn", "regulator-low")
EACH = 16
DEALS = 1000
LEAK = 0.001


@pytest.fixture(scope="module")
def drills(trees):
    """Sixty-four drills of one complaint, four causes in turn, severities and cars drawn afresh."""
    rng = np.random.default_rng(20)
    plans, answers = [], []
    for place in range(EACH * len(CAUSES)):
        cause = CAUSES[place % len(CAUSES)]
        severity = float(rng.uniform(0.85, 1.0))
        plans.append(DrillPlan(car="harrow-240", faults={cause: severity}, concerns=("lean-top",)))
        answers.append(CAUSES.index(cause))
    seeds = [int(one) for one in rng.integers(2**60, size=len(plans))]
    return [one.drill for one in make_drills(plans, seeds, trees)], np.array(answers)


def surroundings(drill) -> list[float]:
    """Return numbers for everything but the readings: each byte of the rest, its length, and the seal's digits."""
    bare = msgspec.structs.replace(drill, readings=dict.fromkeys(drill.readings))
    text = drill_text(bare)
    seal = [int(letter, 16) for letter in drill.seal]
    counts = np.bincount(np.frombuffer(text.encode(), dtype=np.uint8), minlength=256)
    order = [hash_free(name) for name in drill.readings]
    return [float(len(text)), *seal, *counts, *order]


def hash_free(name: str) -> float:
    """Return a number for a name that is the same in every run."""
    return float(sum(name.encode()))


def readings_of(drill) -> list[float]:
    """Return the numbers read, 0 for what was not measured, and whether it was."""
    found = []
    for text in drill.readings.values():
        try:
            found.append(float((text or "").split()[0]))
        except (IndexError, ValueError):
            found.append(float(sum((text or "").encode())))
    return found


def right_by_nearest(rows, answers) -> float:
    """Return how often the nearest other drill (each feature scaled) has the same cause: leave one out."""
    table = np.array(rows, dtype=float)
    spread = table.std(axis=0)
    table = (table[:, spread > 0] - table.mean(axis=0)[spread > 0]) / spread[spread > 0]
    if table.shape[1] == 0:
        return 1.0 / len(CAUSES)
    distance = ((table[:, None, :] - table[None, :, :]) ** 2).sum(axis=2)
    np.fill_diagonal(distance, np.inf)
    return float((answers[distance.argmin(axis=1)] == answers).mean())


def right_by_regression(rows, answers) -> float:
    """Return how often a ridge regression on the four causes, learnt on the others, names the right one."""
    table = np.array(rows, dtype=float)
    spread = table.std(axis=0)
    table = (table[:, spread > 0] - table.mean(axis=0)[spread > 0]) / spread[spread > 0]
    x, wanted = np.c_[table, np.ones(len(table))], np.eye(len(CAUSES))[answers]
    hat = x @ np.linalg.solve(x.T @ x + 5.0 * np.eye(x.shape[1]), x.T)
    own = np.diag(hat)[:, None]
    left_out = (hat @ wanted - own * wanted) / (1.0 - own)  # leave one out, in closed form
    return float((left_out.argmax(axis=1) == answers).mean())


def chance_of(classifier, rows, answers) -> float:
    """Return how often the classifier does as well when the causes are dealt out anew (a permutation test)."""
    rng = np.random.default_rng(7)
    found = classifier(rows, answers)
    dealt = [classifier(rows, rng.permutation(answers)) for _ in range(DEALS)]
    return (1 + sum(one >= found for one in dealt)) / (1 + DEALS)


def test_without_the_readings_a_classifier_is_at_chance(drills):
    """Neither does better than it does with the causes dealt out anew: less than one deal in a thousand is a leak."""
    rows = [surroundings(one) for one in drills[0]]
    assert chance_of(right_by_nearest, rows, drills[1]) > LEAK
    assert chance_of(right_by_regression, rows, drills[1]) > LEAK


def test_with_the_readings_the_same_classifiers_see_the_cause(drills):
    """So that the test above can fail: the readings do tell, by the very same means."""
    rows = [readings_of(one) for one in drills[0]]
    assert max(right_by_nearest(rows, drills[1]), right_by_regression(rows, drills[1])) > 0.6


def test_but_for_the_readings_and_their_seal_the_files_are_the_same_to_the_byte(drills):
    bare = [msgspec.structs.replace(one, readings=dict.fromkeys(one.readings), seal="") for one in drills[0]]
    assert len({drill_text(one) for one in bare}) == 1


def test_a_leak_of_one_space_would_be_found(drills):
    """A title that grows a space with the number of the cause gives it away, so that the test above can fail."""
    told = [
        sealed(msgspec.structs.replace(drill, title="Drill" + " " * int(answer)))
        for drill, answer in zip(drills[0], drills[1], strict=True)
    ]
    rows = [surroundings(one)[:1] for one in told]
    assert right_by_nearest(rows, drills[1]) > 0.9
    assert chance_of(right_by_nearest, rows, drills[1]) < LEAK
