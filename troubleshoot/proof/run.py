"""Run the proof over many cases in several processes; finished blocks are kept, so a stopped run goes on."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from dataclasses import dataclass
from pathlib import Path

import msgspec

from troubleshoot.bench.answering import own_parameter_checks
from troubleshoot.bench.patients import patients
from troubleshoot.knowledge.catalogue import Catalogue, load_catalogue
from troubleshoot.proof.cases import draw_case
from troubleshoot.proof.policies import POLICIES
from troubleshoot.proof.walk import Conduct, Problems, WalkResult, walk

BLOCK = 128
"""Case numbers drawn together."""


@dataclass(frozen=True)
class ProofPlan:
    """What to run: how many cases, which half of the numbers, pairs or single faults, which policies."""

    cases: int
    seed: int = 2026
    half: str = "report"
    pairs: bool = False
    without_own: bool = False
    policies: tuple[str, ...] = ("the tool",)
    population: bool = False
    drawn: bool = False
    mistakes: bool = False
    obeys: bool = True

    def conduct(self) -> Conduct:
        """Return how the technician works."""
        return Conduct(own_parameter_checks() if self.without_own else frozenset(), self.mistakes, self.obeys)

    def name(self, trees: str) -> str:
        """Return a file name that says what was run, and with which version of the trees."""
        kind = "pairs" if self.pairs else "single"
        checks = "without" if self.without_own else "all"
        rates = "-population" if self.population else ""
        ways = {"drawn": self.drawn, "mistakes": self.mistakes, "ignores": not self.obeys}
        kept = "".join(f"-{name}" for name, on in ways.items() if on)
        return f"{kind}-{self.half}-{self.seed}-{checks}{rates}{kept}-{trees[:10]}"


class BlockResult(msgspec.Struct, frozen=True):
    """The results of one block of case numbers, for each policy."""

    start: int
    results: dict[str, list[WalkResult]]


def numbers_in(plan: ProofPlan, start: int) -> list[int]:
    """Return the case numbers of a block: odd ones are kept for the report, even ones are for work on the trees."""
    odd = 1 if plan.half == "report" else 0
    return [2 * number + odd for number in range(start, start + BLOCK)]


def run_block(plan: ProofPlan, start: int, catalogue: Catalogue | None = None) -> BlockResult:
    """Run every case of a block in which the driver notices something, with every policy of the plan."""
    trees = catalogue if catalogue is not None else load_catalogue()
    rare = sorted(name for name, tool in trees.tools.items() if not tool.common)
    drawn = [draw_case(plan.seed, number, plan.pairs, rare, plan.drawn) for number in numbers_in(plan, start)]
    conduct = plan.conduct()
    problems = Problems(trees, plan.population, plan.pairs)
    results: dict[str, list[WalkResult]] = {name: [] for name in plan.policies}
    for patient in patients(drawn, plan.seed):
        if patient is None:
            continue
        problem = problems.of(patient)
        for name in plan.policies:
            results[name].append(walk(patient, trees, problem, POLICIES[name], conduct))
    return BlockResult(start, results)


def run_plan(
    plan: ProofPlan, folder: Path | None, progress: Callable[[int, int], None], workers: int | None = None
) -> dict[str, list[WalkResult]]:
    """Run blocks until there are enough cases; finished blocks in `folder` are not run again."""
    name = plan.name(load_catalogue().version)
    done = dict(_kept(plan, name, folder))
    enough = 2 * plan.cases // BLOCK + 8
    with ProcessPoolExecutor(max_workers=workers or os.cpu_count() or 1) as pool:
        next_start = 0
        waiting: dict[Future[BlockResult], int] = {}
        while _counted(plan, done) < plan.cases and next_start < enough * BLOCK:
            while len(waiting) < (workers or os.cpu_count() or 1) and next_start < enough * BLOCK:
                if waiting and _will_do(plan, done, len(waiting)):
                    break
                if next_start not in done:
                    waiting[pool.submit(run_block, plan, next_start)] = next_start
                next_start += BLOCK
            for future in as_completed(list(waiting)):
                block = future.result()
                del waiting[future]
                done[block.start] = block
                _keep(name, folder, block)
                progress(min(_counted(plan, done), plan.cases), plan.cases)
                break
        for future in as_completed(list(waiting)):
            block = future.result()
            done[block.start] = block
            _keep(name, folder, block)
    return _gathered(plan, done)


def _counted(plan: ProofPlan, done: dict[int, BlockResult]) -> int:
    """Return how many cases stand in the unbroken run of blocks from the start."""
    return len(_gathered(plan, done)[plan.policies[0]])


def _will_do(plan: ProofPlan, done: dict[int, BlockResult], waiting: int) -> bool:
    """Return whether the blocks under way should bring the cases still wanted, by what came of a block so far."""
    brought = sum(len(block.results[plan.policies[0]]) for block in done.values())
    return bool(done) and brought + waiting * brought / len(done) >= plan.cases


def _gathered(plan: ProofPlan, done: dict[int, BlockResult]) -> dict[str, list[WalkResult]]:
    """Return the first `plan.cases` cases in the order of their numbers, so that the answer never depends on timing."""
    gathered: dict[str, list[WalkResult]] = {name: [] for name in plan.policies}
    start = 0
    while start in done:
        for name in plan.policies:
            gathered[name] += done[start].results[name]
        start += BLOCK
    return {name: found[: plan.cases] for name, found in gathered.items()}


def _kept(plan: ProofPlan, name: str, folder: Path | None) -> Iterator[tuple[int, BlockResult]]:
    if folder is None or not folder.is_dir():
        return
    for path in sorted(folder.glob(f"{name}-*.msgpack")):
        try:
            block = msgspec.msgpack.decode(path.read_bytes(), type=BlockResult)
        except (OSError, msgspec.DecodeError):
            continue
        if set(plan.policies) <= set(block.results):
            yield block.start, block


def _keep(name: str, folder: Path | None, block: BlockResult) -> None:
    if folder is None:
        return
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{name}-{block.start:06d}.msgpack"
    unfinished = path.with_suffix(".part")
    unfinished.write_bytes(msgspec.msgpack.encode(block))
    unfinished.replace(path)


def replay(plan: ProofPlan, number: int, policies: Sequence[str] = ("the tool",)) -> dict[str, WalkResult]:
    """Run one case again by its number."""
    trees = load_catalogue()
    rare = sorted(name for name, tool in trees.tools.items() if not tool.common)
    patient = next(patients([draw_case(plan.seed, number, plan.pairs, rare, plan.drawn)], plan.seed))
    if patient is None:
        return {}
    problem = Problems(trees, plan.population, plan.pairs).of(patient)
    conduct = plan.conduct()
    return {name: walk(patient, trees, problem, POLICIES[name], conduct) for name in policies}
