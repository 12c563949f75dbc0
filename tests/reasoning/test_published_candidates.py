"""Candidates and probes against published diagnoses of circuits, each with its source."""

from __future__ import annotations

from itertools import combinations

import pytest
from enumerated_models import enumerated, sure
from published_problems import CIRCUIT_ROWS_INCOMPLETE, circuit_board

from troubleshoot.reasoning.belief import believe
from troubleshoot.reasoning.policies import entropy
from troubleshoot.reasoning.position import Action, branches, start

BOXES = ("M1", "M2", "M3", "A1", "A2")


def polybox_values(broken, given):
    """What X, Y, Z, F, G must be when the boxes in `broken` may put out anything; None where it is open.

    A = 3, B = 2, C = 2, D = 3, E = 3: X = AC, Y = BD, Z = CE, F = X + Y, G = Y + Z. `given` holds
    what has been measured. Returns None when the sound boxes contradict it.
    """
    value = dict(given)
    for box, point in (("M1", "X"), ("M2", "Y"), ("M3", "Z")):
        if box not in broken and value.setdefault(point, 6) != 6:
            return None
    for _ in range(2):
        for box, (left, right, total) in (("A1", ("X", "Y", "F")), ("A2", ("Y", "Z", "G"))):
            if box in broken:
                continue
            known = [point for point in (left, right, total) if point in value]
            if len(known) == 3 and value[left] + value[right] != value[total]:
                return None
            if len(known) == 2:
                if total not in value:
                    value[total] = value[left] + value[right]
                elif left not in value:
                    value[left] = value[total] - value[right]
                else:
                    value[right] = value[total] - value[left]
    return value


def polybox():
    """Every set of boxes that agrees with F = 10, G = 12, with p(fault) = 0.01, and a probe at each point."""
    measured = {"F": 10, "G": 12}
    sets = [frozenset(g) for size in range(6) for g in combinations(BOXES, size)]
    fitting = {s: polybox_values(s, measured) for s in sets}
    fitting = {s: v for s, v in fitting.items() if v is not None}
    states = {"+".join(sorted(s)): 0.01 ** len(s) * 0.99 ** (5 - len(s)) for s in fitting}
    checks = {}
    for point in "XYZ":
        outcomes = (*sorted({str(v[point]) for v in fitting.values() if point in v}), "open")
        moved = {
            "+".join(sorted(s)): tuple(float(o == str(v.get(point, "open"))) for o in outcomes)
            for s, v in fitting.items()
        }
        checks[point] = (outcomes, moved)
    return enumerated(states, checks), fitting


def test_polybox_candidates():
    """J. de Kleer, B. C. Williams, Diagnosing multiple faults, Artificial Intelligence 32 (1987) 97-130.

    Minimal candidates as in the paper (from memory); probabilities recomputed with p(fault) = 0.01.
    """
    problem, fitting = polybox()
    minimal = {s for s in fitting if not any(other < s for other in fitting)}
    assert minimal == {frozenset(g) for g in (("M1",), ("A1",), ("M2", "A2"), ("M2", "M3"))}
    assert len(fitting) == 27
    belief = believe(problem, [])
    assert belief.probability("M1") == pytest.approx(0.4780264, abs=5e-8)
    assert belief.probability("A1") == pytest.approx(0.4780264, abs=5e-8)
    assert belief.probability("M1+M2") == pytest.approx(0.0048285, abs=5e-8)
    held = {box: sum(belief.probability("+".join(sorted(s))) for s in fitting if box in s) for box in BOXES}
    assert held["M1"] == pytest.approx(0.497635, abs=5e-7)
    assert held["M2"] == pytest.approx(0.019609, abs=5e-7)
    assert held["M3"] == pytest.approx(0.014780, abs=5e-7)


def test_polybox_best_probe():
    """The probe of least expected entropy is X; 1.359445 bits now, 0.318607 after X; recomputed."""
    problem, _ = polybox()
    position = start(problem)
    assert entropy(position.weights) == pytest.approx(1.359445, abs=5e-7)
    left = {}
    for probe in "XYZ":
        ways = branches(position, Action("check", probe))
        left[probe] = sum(way.probability * entropy(way.position.weights) for way in ways)
        if probe == "X":
            chances = {way.label: way.probability for way in ways}
    assert chances["4"] == pytest.approx(0.492561, abs=5e-7)
    assert chances["6"] == pytest.approx(0.502365, abs=5e-7)
    assert left == pytest.approx({"X": 0.318607, "Y": 1.277901, "Z": 1.312044}, abs=5e-7)


def left_after(problem, tests, true_row):
    """Which defects are still possible after each of some tests when the board has a given row."""
    trace, readings = [], []
    for test in tests:
        readings.append(sure(f"t{test}", "fail" if true_row[test - 1] == "1" else "pass", problem))
        belief = believe(problem, readings)
        trace.append([i + 1 for i in range(5) if belief.probability(f"s{i}") > 1e-12])
    return trace


def test_circuit_board_elimination():
    """Balakrishnan and Semmelbauer 1999: tests 1, 2, 3 on defect 3 leave out 5; 4; 1 and 2; published.

    With test 2 first test 1 is useless and two tests are enough. With the incomplete table the
    original order needs four.
    """
    board = circuit_board()
    assert left_after(board, (1, 2, 3), "0011") == [[1, 2, 3, 4], [1, 2, 3], [3]]
    assert left_after(board, (2, 3), "0011") == [[1, 2, 3], [3]]
    assert left_after(board, (2, 1), "0011")[1] == [1, 2, 3]
    unknown = circuit_board(rows=CIRCUIT_ROWS_INCOMPLETE)
    steps = left_after(unknown, (1, 2, 3, 4), "0011")
    assert [len(step) for step in steps].index(min(len(step) for step in steps)) == 3
