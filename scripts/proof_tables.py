"""Print the tables of the proof for its README: every set of cases, calibration by bin, what is lost.

    nice .venv/bin/python scripts/proof_tables.py --seed 8101 --minutes 35 --keep walks.jsonl > tables.md

Every walk is written to the file as it ends, and the tables are printed when the minutes of processor time are used up
or the numbers reached; after an interruption, or to see how far it is, `--show walks.jsonl` prints them from the file.
Two may run side by side, the second with `--first 4096` and a file of its own; `--show` takes both files.
Give a seed nobody has looked at. ± is half of a 95 % interval.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import msgspec

from troubleshoot.bench.answering import own_parameter_checks
from troubleshoot.bench.fault_causes import same_cause
from troubleshoot.bench.patients import patients
from troubleshoot.knowledge.catalogue import Catalogue, load_catalogue
from troubleshoot.knowledge.compiling import SOMETHING_ELSE
from troubleshoot.proof.cases import draw_case
from troubleshoot.proof.figures import Figures, figures
from troubleshoot.proof.policies import POLICIES, TWO_STEPS
from troubleshoot.proof.table import percent, perfect_minutes
from troubleshoot.proof.walk import Conduct, Problems, WalkResult, walk

TOOL = "the tool"
COMPARED = tuple(name for name in POLICIES if name not in (TOOL, TWO_STEPS))
NOMINAL, POPULATION, PAIRS = "nominal cars", "population", "population, two faults"
WITH_MISTAKES = "population, with mistakes"
IGNORING = "population, with mistakes, never measured again"
WITHOUT_OWN = "population, without own-parameter checks"
OWN_RATES = "population, rates of the proof's own faults"
UNLISTED = "population, cause not listed: something else first"

Walks = dict[str, list[WalkResult]]


@dataclass(frozen=True)
class Row:
    """One row of the table: which cars it walks, how, and every which of them."""

    name: str
    cars: str
    policy: str = TOOL
    conduct: Conduct = field(default_factory=Conduct)
    every: int = 1
    own_rates: bool = False
    unlisted: bool = False


ROWS = (
    Row(POPULATION, POPULATION),
    Row(WITH_MISTAKES, POPULATION, conduct=Conduct(mistakes=True), every=2),
    Row(IGNORING, POPULATION, conduct=Conduct(mistakes=True, obeys=False), every=3),
    Row(WITHOUT_OWN, POPULATION, conduct=Conduct(own_parameter_checks()), every=2),
    Row(OWN_RATES, POPULATION, every=3, own_rates=True),
    Row(UNLISTED, POPULATION, every=6, unlisted=True),
    *(Row(f"{POPULATION}: {name}", POPULATION, name, every=3) for name in COMPARED),
    Row(NOMINAL, NOMINAL),
    Row(PAIRS, PAIRS),
)
DRAWS = {POPULATION: 64, NOMINAL: 24, PAIRS: 20}
"""Case numbers of one round; about half of them are cars whose driver notices something."""


class Kept(msgspec.Struct):
    """One line of the file: a row of the table and a walk that belongs to it."""

    row: str
    walk: WalkResult


def walks(trees: Catalogue, seed: int, first: int) -> Iterator[Kept]:
    """Walk round after round, each kind of car in turn, so that the rows grow together."""
    rare = sorted(name for name, tool in trees.tools.items() if not tool.common)
    problems = {
        (kind, own): Problems(trees, own, pairs=kind == PAIRS) for kind in DRAWS for own in (False, kind == POPULATION)
    }
    unlisted = Problems(trees, unlisted=True)
    starts = dict.fromkeys(DRAWS, first)
    seen: Counter[str] = Counter()
    while True:
        for kind, many in DRAWS.items():
            numbers = [2 * place + 1 for place in range(starts[kind], starts[kind] + many)]
            starts[kind] += many
            cases = [draw_case(seed, number, kind == PAIRS, rare, kind != NOMINAL) for number in numbers]
            for patient in filter(None, patients(cases, seed)):
                seen[kind] += 1
                for one in ROWS:
                    if one.cars == kind and seen[kind] % one.every == 0:
                        problem = (unlisted if one.unlisted else problems[kind, one.own_rates]).of(patient)
                        walked = walk(patient, trees, problem, POLICIES[one.policy], one.conduct)
                        yield Kept(one.name, replace(walked, truth=(SOMETHING_ELSE,)) if one.unlisted else walked)


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


def tables(found: Walks) -> str:
    """Return every table, as Markdown; rows without a walk are left out."""
    lines = [
        "| cases | number | true cause first | in the first three | first repair cures | cured | minutes | checks "
        "| calibration error | over 90 %: said → right |",
        "|---|--:|--:|--:|--:|--:|--:|--:|--:|--:|",
    ]
    order = [NOMINAL, POPULATION, OWN_RATES, UNLISTED, WITH_MISTAKES, IGNORING, WITHOUT_OWN, PAIRS]
    order += [f"{POPULATION}: {one}" for one in COMPARED]
    lines += [row(name, figures(found[name])) for name in order if found.get(name)]
    population, pairs = found.get(POPULATION, []), found.get(PAIRS, [])
    if population:
        lines += [f"| perfect information | | | | | | {perfect_minutes({TOOL: population}):.0f} | 0 | | |", ""]
        lines += [*calibration(figures(population)), ""]
    for name in COMPARED:
        same = {one.number for one in found.get(f"{POPULATION}: {name}", [])}
        if same:
            tool = figures([one for one in population if one.number in same]).minutes
            other = figures(found[f"{POPULATION}: {name}"]).minutes
            lines += [f"On the same {len(same)} cars the tool takes {tool / other:.2f} of the minutes of {name}.", ""]
    showing = [one for one in pairs if one.each_heard]
    if showing:
        part = figures(showing)
        lines += [
            f"{len(showing)} of {len(pairs)} pairs in which each fault shows: both in the first four at the first "
            f"repair {percent(part.both_in_four)}, each in its turn {percent(part.all_in_turn)}.",
            "",
        ]
    lines += ["| true cause | not first | named in its place |", "|---|--:|---|", *lost(population)]
    return "\n".join(lines) + "\n"


def kept_in(files: Sequence[Path]) -> Walks:
    """Return the walks of files written before; a line cut short by an interruption is left out."""
    found: Walks = {}
    for file in files:
        for line in file.read_bytes().splitlines():
            try:
                one = msgspec.json.decode(line, type=Kept)
            except msgspec.DecodeError:
                continue
            found.setdefault(one.row, []).append(one.walk)
    return found


def main() -> int:
    """Run every set, or read what was run, and print the tables."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--seed", type=int, help="a seed nobody has looked at")
    parser.add_argument("--minutes", type=float, default=35.0, help="minutes of processor time (default: 35)")
    parser.add_argument(
        "--cases", type=int, default=200, help="stop at this many cars of the population (default: 200)"
    )
    parser.add_argument("--first", type=int, default=0, help="case numbers from here on (default: 0)")
    parser.add_argument("--keep", type=Path, default=Path("walks.jsonl"), help="where every walk is written")
    parser.add_argument("--show", type=Path, nargs="+", help="print the tables of these files and run nothing")
    asked = parser.parse_args()
    if asked.show:
        sys.stdout.write(tables(kept_in(asked.show)))
        return 0
    if asked.seed is None:
        parser.error("--seed is missing: give a seed nobody has looked at")
    many = 0
    with asked.keep.open("wb") as file:
        for one in walks(load_catalogue(), asked.seed, asked.first):
            file.write(msgspec.json.encode(one) + b"\n")
            file.flush()
            many += one.row == POPULATION
            if time.process_time() > 60.0 * asked.minutes or many >= asked.cases:
                break
    sys.stdout.write(tables(kept_in([asked.keep])))
    return 0


if __name__ == "__main__":
    sys.exit(main())
