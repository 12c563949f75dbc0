"""Print the tables of the proof for its README: every set of cases, calibration by bin, what is lost.

    nice .venv/bin/python scripts/proof_tables.py --blocks 8 --seed 8101 > tables.md

One command makes every figure. Give a seed nobody has looked at. ± is half of a 95 % interval.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor

from troubleshoot.bench.answering import own_parameter_checks
from troubleshoot.bench.fault_causes import same_cause
from troubleshoot.bench.patients import patients
from troubleshoot.knowledge.catalogue import load_catalogue
from troubleshoot.proof.cases import draw_case
from troubleshoot.proof.figures import Figures, figures
from troubleshoot.proof.policies import POLICIES, TWO_STEPS
from troubleshoot.proof.run import BLOCK, ProofPlan, numbers_in
from troubleshoot.proof.table import percent, perfect_minutes
from troubleshoot.proof.walk import Conduct, Problems, WalkResult, walk

TOOL = "the tool"
COMPARED = tuple(name for name in POLICIES if name not in (TOOL, TWO_STEPS))
NOMINAL, POPULATION, PAIRS = "nominal cars", "population", "population, two faults"
WITH_MISTAKES = "population, with mistakes"
WITHOUT_OWN = "population, without own-parameter checks"

Walks = dict[str, list[WalkResult]]


def block(seed: int, start: int, kind: str) -> Walks:
    """Walk one block of case numbers: the cars are computed once for every row of the table that uses them."""
    trees = load_catalogue()
    rare = sorted(name for name, tool in trees.tools.items() if not tool.common)
    numbers = numbers_in(ProofPlan(1, seed), start)
    cases = [draw_case(seed, number, kind == PAIRS, rare, kind != NOMINAL) for number in numbers]
    problems = Problems(trees, pairs=kind == PAIRS)
    ways: dict[str, tuple[str, Conduct]] = {kind: (TOOL, Conduct())}
    if kind == POPULATION:
        ways |= {f"{kind}: {name}": (name, Conduct()) for name in COMPARED}
        ways[WITH_MISTAKES] = (TOOL, Conduct(mistakes=True))
        ways[WITHOUT_OWN] = (TOOL, Conduct(own_parameter_checks()))
    walked: Walks = {name: [] for name in ways}
    for patient in patients(cases, seed):
        if patient is None:
            continue
        problem = problems.of(patient)
        for name, (policy, conduct) in ways.items():
            walked[name].append(walk(patient, trees, problem, POLICIES[policy], conduct))
    return walked


def blocks(seed: int, many: int, workers: int | None) -> Walks:
    """Walk `many` blocks of the population and half as many of the other kinds; results in the order of the numbers."""
    jobs = [(kind, place * BLOCK) for kind in (POPULATION, PAIRS, NOMINAL)
            for place in range(many if kind == POPULATION else max(many // 2, 1))]  # fmt: skip
    found: Walks = {}
    with ProcessPoolExecutor(max_workers=workers or os.cpu_count() or 1) as pool:
        waiting = [pool.submit(block, seed, start, kind) for kind, start in jobs]
        for done in waiting:
            for name, results in done.result().items():
                found.setdefault(name, []).extend(results)
            sys.stderr.write(f"{sum(one.done() for one in waiting)} of {len(waiting)} blocks\n")
    return found


def row(name: str, found: Figures) -> str:
    """Return one row of the table."""
    top = next((one for one in found.calibration if one.low >= 0.899), None)
    said = f"{100 * top.stated:.0f} → {percent(top.right)}" if top else ""
    return (
        f"| {name} | {found.cases} | {percent(found.first)} | {percent(found.first_three)} | "
        f"{percent(found.first_repair_cures)} | {100 * found.cured.value:.0f} % | {found.minutes:.0f} | "
        f"{found.checks:.1f} | {found.calibration_error:.3f} | {said} |"
    )


def lost(results: list[WalkResult], most: int = 12) -> list[str]:
    """Return the faults that were not named first: how often, of how many, and what was named in their place."""
    seen: Counter[str] = Counter()
    missed: dict[str, Counter[str]] = {}
    for one in results:
        for truth in one.truth:
            seen[truth] += 1
            if one.ranking and not same_cause(one.engine, truth, one.ranking[0]):
                missed.setdefault(truth, Counter())[one.ranking[0]] += 1
    order = sorted(missed, key=lambda truth: -missed[truth].total())[:most]
    return [
        f"| {truth} | {missed[truth].total()} of {seen[truth]} | "
        f"{', '.join(f'{name} {times}' for name, times in missed[truth].most_common(3))} |"
        for truth in order
    ]


def calibration(found: Figures) -> list[str]:
    """Return the table of what the tool says against how often it is right."""
    return ["| the tool says | cases | said, mean | right |", "|---|--:|--:|--:|"] + [
        f"| {100 * one.low:.0f}–{100 * one.high:.0f} % | {one.right.cases} | {100 * one.stated:.0f} % "
        f"| {percent(one.right)} |"
        for one in found.calibration
    ]


def main() -> int:
    """Run every set and print its rows."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument(
        "--blocks", type=int, default=8, help="blocks of 128 draws of the population (about 60 cases each)"
    )
    parser.add_argument("--seed", type=int, required=True, help="a seed nobody has looked at")
    parser.add_argument("--workers", type=int, help="processes at once (default: one a core)")
    asked = parser.parse_args()
    found = blocks(asked.seed, asked.blocks, asked.workers)
    lines = [
        "| cases | number | true cause first | in the first three | first repair cures | cured | minutes | checks "
        "| calibration error | over 90 %: said → right |",
        "|---|--:|--:|--:|--:|--:|--:|--:|--:|--:|",
    ]
    order = [
        NOMINAL,
        POPULATION,
        WITH_MISTAKES,
        WITHOUT_OWN,
        PAIRS,
        *(f"{POPULATION}: {one}" for one in COMPARED),
    ]
    lines += [row(name, figures(found[name])) for name in order]
    perfect = perfect_minutes({TOOL: found[POPULATION]})
    lines += [f"| perfect information | | | | | | {perfect:.0f} | 0 | | |", ""]
    lines += [*calibration(figures(found[POPULATION])), ""]
    showing = [one for one in found[PAIRS] if one.each_heard]
    both, turn = figures(showing).both_in_four, figures(showing).all_in_turn
    lines += [
        f"{len(showing)} of {len(found[PAIRS])} pairs in which each fault shows: both in the first four at the first "
        f"repair {percent(both)}, each in its turn {percent(turn)}.",
        "",
        "| true cause | not first | named in its place |",
        "|---|--:|---|",
        *lost(found[POPULATION]),
    ]
    sys.stdout.write("\n".join(lines) + "\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
