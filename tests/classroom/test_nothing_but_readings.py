"""A script that looks at everything in a drill file but the readings does no better than chance."""

from __future__ import annotations

import hashlib
import json
import re

import msgspec
import numpy as np
import pytest

from troubleshoot.classroom.drill_file import drill_text, sealed
from troubleshoot.classroom.drill_maker import DrillPlan, make_drills

CAUSES = ("pump-volts-low", "filter-blocked", "pump-worn", "regulator-low")
EACH = 16
DEALS = 1000
LEAK = 0.005
SEALINGS = 4
"""A seal is a hash, so it changes with every change of the trees, and one set of seals may by luck go with the
causes. A leak is therefore what shows in each of so many sealings of the same drills: what is no leak does that once in
(1 / LEAK) ** SEALINGS / 2 states of the trees, about one in 800 million; what gives the cause away does it always."""


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


def by_nearest(rows):
    """Return what tells how often the nearest other drill (each feature scaled) has the same cause: leave one out."""
    table = scaled(rows)
    distance = ((table[:, None, :] - table[None, :, :]) ** 2).sum(axis=2)
    np.fill_diagonal(distance, np.inf)
    nearest = distance.argmin(axis=1)
    return lambda answers: float((answers[nearest] == answers).mean()) if table.shape[1] else 1.0 / len(CAUSES)


def by_regression(rows):
    """Return what tells how often a ridge regression on the causes, learnt on the others, names the right one."""
    x = np.c_[scaled(rows), np.ones(len(rows))]
    hat = x @ np.linalg.solve(x.T @ x + 5.0 * np.eye(x.shape[1]), x.T)
    own = np.diag(hat)[:, None]

    def right(answers):
        wanted = np.eye(len(CAUSES))[answers]
        left_out = (hat @ wanted - own * wanted) / (1.0 - own)  # leave one out, in closed form
        return float((left_out.argmax(axis=1) == answers).mean())

    return right


def scaled(rows):
    """Return the features that differ at all, each with mean 0 and spread 1."""
    table = np.array(rows, dtype=float)
    spread = table.std(axis=0)
    return (table[:, spread > 0] - table.mean(axis=0)[spread > 0]) / spread[spread > 0]


def chance_of(right, answers) -> float:
    """Return how often a classifier does as well when the causes are dealt out anew (a permutation test)."""
    rng = np.random.default_rng(7)
    found = right(answers)
    return (1 + sum(right(rng.permutation(answers)) >= found for _ in range(DEALS))) / (1 + DEALS)


def leaks(drills, answers, classifier, features) -> bool:
    """Return whether a classifier beats chance in every sealing: one word in all titles makes other seals of them."""
    for number in range(SEALINGS):
        again = [sealed(msgspec.structs.replace(one, title=f"{one.title}{number}")) for one in drills]
        if chance_of(classifier([features(one) for one in again]), answers) >= LEAK:
            return False
    return True


@pytest.mark.parametrize("classifier", [by_nearest, by_regression])
def test_without_the_readings_a_classifier_is_at_chance(drills, classifier):
    """It does no better than with the causes dealt out anew."""
    assert not leaks(*drills, classifier, surroundings)


def test_with_the_readings_the_same_classifiers_see_the_cause(drills):
    """So that the test above can fail: the readings do tell, by the very same means."""
    rows = [readings_of(one) for one in drills[0]]
    assert max(by_nearest(rows)(drills[1]), by_regression(rows)(drills[1])) > 0.6


def test_but_for_the_readings_and_their_seal_the_files_are_the_same_to_the_byte(drills):
    """No luck in this one: of what is neither reading nor seal, nothing differs."""
    bare = [msgspec.structs.replace(one, readings=dict.fromkeys(one.readings), seal="") for one in drills[0]]
    assert len({drill_text(one) for one in bare}) == 1


def test_the_seal_is_worked_out_from_the_rest_of_the_file_and_tells_nothing_that_is_not_in_it(drills):
    """SHA-256 (FIPS 180-4) over the rest as JSON, worked out here from the text of the file alone."""
    for drill in drills[0][:8]:
        whole = json.loads(drill_text(drill))
        seal, whole["seal"] = whole["seal"], ""
        parts = [
            f'"{name}":{json.dumps(part, sort_keys=True, separators=(",", ":"), ensure_ascii=False)}'
            for name, part in whole.items()
        ]
        text = "{" + ",".join(parts) + "}"
        assert hashlib.sha256(text.encode()).hexdigest() == seal


def test_a_reading_is_written_the_same_way_whatever_the_cause(drills):
    """Unit and decimals belong to the check; only digits, a sign, an outcome or nothing differ."""
    for name in drills[0][0].readings:
        texts = [one.readings[name] or "" for one in drills[0]]
        numbers = [re.fullmatch(r"-?\d+(?:\.(\d+))? (.+)", text) for text in texts]
        forms = {(len(one[1] or ""), one[2]) for one in numbers if one is not None}
        assert len(forms) <= 1, (name, forms)


@pytest.mark.parametrize("classifier", [by_nearest, by_regression])
def test_a_leak_of_one_space_would_be_found(drills, classifier):
    """A title that grows a space with the number of the cause gives it away, so that the test above can fail."""
    told = [
        sealed(msgspec.structs.replace(drill, title="Drill" + " " * int(answer)))
        for drill, answer in zip(*drills, strict=True)
    ]
    assert leaks(told, drills[1], classifier, lambda one: surroundings(one)[:1])


def test_a_leak_in_the_seal_would_be_found(drills):
    """A seal of which one digit is the number of the cause."""
    told = dict(zip((one.readings["pressure-when-lean"] for one in drills[0]), drills[1], strict=True))

    def features(drill):
        mark = f"{int(told[drill.readings['pressure-when-lean']])}"
        return surroundings(msgspec.structs.replace(drill, seal=mark + drill.seal[1:]))[:2]

    assert leaks(*drills, by_nearest, features)
