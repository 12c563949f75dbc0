"""`troubleshoot prove`: the trees against the virtual engine in closed loop."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from troubleshoot.cli import output
from troubleshoot.problems import TroubleshootError

if TYPE_CHECKING:
    from troubleshoot.proof.run import ProofPlan
    from troubleshoot.proof.walk import WalkResult


def register(app: typer.Typer) -> None:
    """Add the command to the program."""
    app.command("prove")(prove)


def prove(
    cases: Annotated[
        int, typer.Option(min=1, max=100_000, help="How many cases in which the driver notices something.")
    ] = 200,
    seed: Annotated[int, typer.Option(min=0, help="Fixes every case.")] = 2026,
    pairs: Annotated[bool, typer.Option("--pairs", help="Two faults at once.")] = False,
    half: Annotated[
        str, typer.Option(help="report: cases kept apart for the figures; work: cases for work on the trees.")
    ] = "report",
    without_own: Annotated[
        bool, typer.Option("--without-own", help="Leave out checks whose reading is the fault's own parameter.")
    ] = False,
    only_tool: Annotated[bool, typer.Option("--only-tool", help="Leave out the other policies.")] = False,
    deep: Annotated[
        bool, typer.Option("--deep", help="Add the policy that looks two steps ahead; it is slow.")
    ] = False,
    rates: Annotated[
        str, typer.Option(help="shipped: base rates of the trees; population: even over the faults that are drawn.")
    ] = "shipped",
    drawn: Annotated[
        bool, typer.Option("--population", help="Draw every car round its file: engine, pump, weather, fuel, battery.")
    ] = False,
    mistakes: Annotated[
        bool, typer.Option("--mistakes", help="One reading in twenty is grossly wrong: unit, scale, terminal, answer.")
    ] = False,
    ignore_again: Annotated[
        bool, typer.Option("--ignore-again", help="Never measure again what the tool doubts; by default it is obeyed.")
    ] = False,
    replay: Annotated[int | None, typer.Option(min=0, help="Walk one case again by its number, step by step.")] = None,
    folder: Annotated[
        Path | None, typer.Option(help="Keep finished blocks here, so that a stopped run goes on.")
    ] = None,
    workers: Annotated[int | None, typer.Option(min=1, help="Processes at once (default: one a core).")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the figures as JSON.")] = False,
) -> None:
    """Prove the trees against the virtual engine: random cars and faults, asked, repaired and retested."""
    if half not in ("report", "work"):
        raise TroubleshootError(f"--half cannot be {half!r}.", "Use report or work.")
    if rates not in ("shipped", "population"):
        raise TroubleshootError(f"--rates cannot be {rates!r}.", "Use shipped or population.")
    if folder is not None and folder.exists() and not folder.is_dir():
        raise TroubleshootError(f"{folder} is not a folder.", "Name a folder for the finished blocks, or a new name.")
    from troubleshoot.proof.policies import POLICIES, TWO_STEPS
    from troubleshoot.proof.run import ProofPlan
    from troubleshoot.proof.table import perfect_minutes, proof_data, proof_table

    policies = ("the tool",) if only_tool else tuple(one for one in POLICIES if deep or one != TWO_STEPS)
    plan = ProofPlan(
        cases, seed, half, pairs, without_own, policies, rates == "population", drawn, mistakes, not ignore_again
    )
    if replay is not None:
        output.data(_replayed(plan, replay))
        return
    results = _with_progress(plan, folder, workers)
    if as_json:
        output.as_json(proof_data(results))
    else:
        output.data(proof_table(results, pairs, perfect_minutes(results)))


def _with_progress(plan: ProofPlan, folder: Path | None, workers: int | None) -> dict[str, list[WalkResult]]:
    from rich.console import Console
    from rich.progress import Progress

    from troubleshoot.proof.run import run_plan

    with Progress(console=Console(stderr=True)) as shown:
        task = shown.add_task("cases", total=plan.cases)
        return run_plan(plan, folder, lambda done, _: shown.update(task, completed=done), workers)


def _replayed(plan: ProofPlan, number: int) -> str:
    from troubleshoot.proof.run import replay

    found = replay(plan, number, plan.policies)
    if not found:
        return f"Case {number}: the driver notices nothing."
    lines = []
    for name, result in found.items():
        lines.append(f"{name}: reported {', '.join(result.reported)}; true {' + '.join(result.truth)}")
        lines += [f"   {line}" for line in result.trail]
        ranking = ", ".join(result.ranking[:4])
        lines.append(f"   at the first repair: {ranking} ({100 * result.stated:.0f} %); {result.minutes:.0f} min")
    return "\n".join(lines)
