"""Published troubleshooting problems as records, each with its source and how far it was seen.

The status words: "published" means inputs and result were seen in the source; "recomputed" means
complete inputs, answer worked out by us; "from memory" means the source could not be opened.
"""

from __future__ import annotations

from troubleshoot.reasoning.problem import Cause, Check, Problem, Repair


def computer_fault():
    """Four overlapping repairs of a computer.

    F. V. Jensen, T. D. Nielsen, Bayesian Networks and Decision Graphs, 2nd ed., Springer 2007, an
    exercise of chapters 9-10 (attribution from section numbers). Recomputed; inputs complete.
    """
    return Problem(
        causes=(
            Cause("program", 0.8, (), "reboot"),
            Cause("virus", 0.15, (), "virus-removal"),
            Cause("hardware", 0.05, (), "new-computer"),
        ),
        repairs=(
            Repair("reboot", 1, 0, {"program": 1.0}),
            Repair("virus-removal", 2, 0, {"virus": 0.95}),
            Repair("reformat", 25, 0, {"program": 0.99, "virus": 0.99}),
            Repair("new-computer", 500, 0, {"program": 1.0, "virus": 1.0, "hardware": 1.0}),
        ),
        exactly_one=True,
    )


def overlapping_actions():
    """Three repairs that share causes, where the greedy order is not the best; our own counterexample."""
    return Problem(
        causes=(
            Cause("c1", 0.2, (), "b"),
            Cause("c2", 0.2, (), "b"),
            Cause("c3", 0.2, (), "a"),
            Cause("c4", 0.4, (), "a"),
        ),
        repairs=(
            Repair("a", 4, 0, {"c3": 1.0, "c4": 1.0}),
            Repair("b", 3, 0, {"c1": 1.0, "c2": 1.0}),
            Repair("c", 5, 0, {"c1": 1.0, "c2": 1.0, "c4": 1.0}),
        ),
        exactly_one=True,
    )


IDENTIFY = 1000.0
"""Repairs dear enough that every policy finds out first which one it is; taken off the total again."""


def sequencing(priors, signatures, costs=None):
    """Binary tests that must tell apart which one of the states is there."""
    names = [f"s{i}" for i in range(len(priors))]
    tests = range(len(signatures[0]))
    yes, no = (0.0, 1.0), (1.0, 0.0)
    even = (0.5, 0.5)
    rows = {"0": no, "1": yes, "U": even}
    return Problem(
        causes=tuple(Cause(s, p, (), f"repair-{s}") for s, p in zip(names, priors, strict=True)),
        checks=tuple(
            Check(
                f"t{t + 1}",
                ("pass", "fail"),
                None,
                even,
                {s: rows[row[t]] for s, row in zip(names, signatures, strict=True)},
                1.0 if costs is None else costs[t],
            )
            for t in tests
        ),
        repairs=tuple(Repair(f"repair-{s}", IDENTIFY, 0, {s: 1.0}) for s in names),
        exactly_one=True,
    )


def six_states():
    """Six states and five tests of cost 1.

    K. R. Pattipati, M. G. Alexandridis, Application of heuristic search and information theory to
    sequential fault diagnosis, IEEE Trans. SMC 20(4) (1990) 872-887. Table and optimum from memory.
    """
    return sequencing((0.70, 0.01, 0.02, 0.10, 0.05, 0.12), ("00000", "01001", "00110", "10011", "11000", "11110"))


CIRCUIT_ROWS = ("0000", "0001", "0011", "0111", "1111")
CIRCUIT_ROWS_INCOMPLETE = ("UUU0", "UU01", "U011", "0111", "1111")


def circuit_board(priors=(0.2,) * 5, rows=CIRCUIT_ROWS):
    """Five defects of a circuit board and four tests.

    A. Balakrishnan, T. Semmelbauer, Circuit diagnosis support system for electronics assembly
    operations, Decision Support Systems 25 (1999), doi 10.1016/S0167-9236(99)00015-9. Elimination
    traces published; the costs of the optimum recomputed.
    """
    return sequencing(priors, rows)
