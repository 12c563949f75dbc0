"""Information gained by a check against published puzzles of weighing and asking, each with its source."""

from __future__ import annotations

from fractions import Fraction
from math import log2

import pytest
from enumerated_models import NO, YES, binary, enumerated

from troubleshoot.reasoning.belief import Evidence, believe
from troubleshoot.reasoning.policies import entropy
from troubleshoot.reasoning.position import Action, branches, start


def weighing(left, right, balls=12):
    """The outcome of one weighing in every state: ball b heavy (b+) or light (b-)."""
    moved = {}
    for ball in range(balls):
        for sign in "+-":
            side = 0 if ball in left else 1 if ball in right else None
            if side is None:
                outcome = "level"
            else:
                outcome = ("left", "right")[side] if sign == "+" else ("right", "left")[side]
            moved[f"{ball}{sign}"] = tuple(float(o == outcome) for o in ("left", "level", "right"))
    return ("left", "level", "right"), moved


@pytest.mark.parametrize(("k", "bits"), [(1, 0.816689), (2, 1.251629), (3, 1.5), (4, 1.584963), (5, 1.483356), (6, 1)])
def test_information_of_the_first_weighing(k, bits):
    """D. MacKay, Information Theory, Inference, and Learning Algorithms, ch. 4: four against four; published."""
    states = {f"{ball}{sign}": Fraction(1, 24) for ball in range(12) for sign in "+-"}
    problem = enumerated(states, {"weigh": weighing(range(k), range(k, 2 * k))})
    position = start(problem)
    ways = branches(position, Action("check", "weigh"))
    gained = entropy(position.weights) - sum(way.probability * entropy(way.position.weights) for way in ways)
    assert gained == pytest.approx(bits, abs=5e-7)


def test_twelve_balls_in_three_weighings():
    """MacKay ch. 4: three weighings find which of 12 balls is heavy or light; published.

    A fixed design gives every state its own three outcomes; two of the three leave doubt.
    """
    design = (
        ((3, 4, 5, 7), (0, 1, 2, 6)),
        ((6, 8, 9, 10), (0, 1, 5, 7)),
        ((1, 5, 8, 11), (2, 4, 7, 10)),
    )
    states = {f"{ball}{sign}": Fraction(1, 24) for ball in range(12) for sign in "+-"}
    problem = enumerated(states, {f"w{i}": weighing(*sides) for i, sides in enumerate(design)})
    for state in states:
        readings = [Evidence(f"w{i}", problem.check_named[f"w{i}"].moved_by[state]) for i in range(3)]
        assert believe(problem, readings).probability(state) == pytest.approx(1.0)
        assert believe(problem, readings[:2]).probability(state) < 0.6


def test_sixty_four_integers_in_six_questions():
    """MacKay ch. 4: six yes-or-no questions, one bit each, find an integer from 0 to 63; published."""
    states = {str(n): Fraction(1, 64) for n in range(64)}
    checks = {f"bit{b}": (("yes", "no"), {str(n): binary(float(n >> b & 1)) for n in range(64)}) for b in range(6)}
    problem = enumerated(states, checks)
    readings, bits = [], [entropy(start(problem).weights)]
    for b in range(6):
        readings.append(Evidence(f"bit{b}", YES if 37 >> b & 1 else NO))
        bits.append(entropy(believe(problem, readings).weights))
    assert bits == pytest.approx([6, 5, 4, 3, 2, 1, 0], abs=1e-9)
    assert believe(problem, readings).ranked()[0].cause == "37"


def test_submarine():
    """MacKay ch. 4, one submarine on 64 squares: a first miss tells 0.0227 bit, a first hit 6 bits; published."""
    states = {str(n): Fraction(1, 64) for n in range(64)}
    problem = enumerated(states, {"fire": (("hit", "miss"), {str(n): binary(float(n == 0)) for n in range(64)})})
    ways = {way.label: way for way in branches(start(problem), Action("check", "fire"))}
    assert -log2(ways["miss"].probability) == pytest.approx(0.0227, abs=5e-5)
    assert -log2(ways["hit"].probability) == pytest.approx(6.0)
