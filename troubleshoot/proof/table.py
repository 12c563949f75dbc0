"""The proof as a readable table and as JSON: the project's measure of itself."""

from __future__ import annotations

from typing import Any

import msgspec

from troubleshoot.knowledge.catalogue import load_catalogue
from troubleshoot.proof.figures import Figures, Share, confusions, figures
from troubleshoot.proof.walk import WalkResult

Results = dict[str, list[WalkResult]]


def percent(share: Share) -> str:
    """Write a share in percent with half of its 95 % interval."""
    return f"{100 * share.value:.1f} % ± {100 * share.margin:.1f}"


def proof_data(results: Results) -> dict[str, Any]:
    """Return everything the table shows, for programs."""
    tool = next(iter(results))
    return {
        "policies": {name: msgspec.to_builtins(_plain(figures(found))) for name, found in results.items()},
        "concerns": {
            concern: msgspec.to_builtins(_plain(figures(found))) for concern, found in by_concern(results[tool]).items()
        },
        "confusions": msgspec.to_builtins(confusions(results[tool])),
    }


def _plain(found: Figures) -> dict[str, Any]:
    return {
        "cases": found.cases,
        "first": found.first.value,
        "first_three": found.first_three.value,
        "both_in_four": found.both_in_four.value,
        "all_in_turn": found.all_in_turn.value,
        "gone": found.gone.value,
        "first_repair_cures": found.first_repair_cures.value,
        "cured": found.cured.value,
        "minutes": found.minutes,
        "parts": found.parts,
        "checks": found.checks,
        "calibration_error": found.calibration_error,
        "calibration": [
            {"low": one.low, "high": one.high, "stated": one.stated, "right": one.right.value, "cases": one.right.cases}
            for one in found.calibration
        ],
    }


def perfect_minutes(results: Results) -> float:
    """Return the mean minutes of just the right repairs: what no policy can go below."""
    causes = load_catalogue().causes
    found = next(iter(results.values()))
    return sum(causes[name].repair.minutes for one in found for name in one.truth) / max(len(found), 1)


def by_concern(results: list[WalkResult]) -> dict[str, list[WalkResult]]:
    """Return the walks under the concern that was reported first."""
    grouped: dict[str, list[WalkResult]] = {}
    for one in results:
        grouped.setdefault(one.reported[0], []).append(one)
    return dict(sorted(grouped.items()))


def proof_table(results: Results, pairs: bool, perfect_minutes: float) -> str:
    """Return the table for people, as Markdown."""
    lines = _policy_rows(results, pairs, perfect_minutes)
    tool = next(iter(results))
    own = figures(results[tool])
    lines += [
        "",
        "| concern reported first | cases | first | first three | first repair cures | minutes |",
        "|---|--:|--:|--:|--:|--:|",
    ]
    for concern, found in by_concern(results[tool]).items():
        part = figures(found)
        lines.append(
            f"| {concern} | {part.cases} | {100 * part.first.value:.0f} % | {100 * part.first_three.value:.0f} % "
            f"| {100 * part.first_repair_cures.value:.0f} % | {part.minutes:.0f} |"
        )
    if pairs:
        heard = [one for one in results[tool] if one.each_heard]
        part = figures(heard)
        lines += [
            "",
            f"Of these, {len(heard)} pairs in which each fault by itself shows some of what was reported: "
            f"both in the first four {percent(part.both_in_four)}, each in its turn {percent(part.all_in_turn)}.",
        ]
    lines += ["", "| the tool says | cases | said, mean | right |", "|---|--:|--:|--:|"]
    lines += [
        f"| {100 * one.low:.0f}–{100 * one.high:.0f} % | {one.right.cases} | {100 * one.stated:.0f} % "
        f"| {percent(one.right)} |"
        for one in own.calibration
    ]
    lines += ["", f"Expected calibration error {own.calibration_error:.3f}.", ""]
    lines += ["| true cause | named first | times | replay |", "|---|---|--:|--:|"]
    lines += [f"| {one.truth} | {one.named} | {one.times} | {one.replay} |" for one in confusions(results[tool])]
    return "\n".join(lines) + "\n"


def _policy_rows(results: Results, pairs: bool, perfect_minutes: float) -> list[str]:
    lines = [
        "| policy | cases | true cause first | in the first three | "
        + ("both in the first four | each in the first four in its turn | complaint gone | " if pairs else "")
        + "first repair cures | cured | minutes | parts | checks |",
        "|---|--:|--:|--:|" + ("--:|--:|--:|" if pairs else "") + "--:|--:|--:|--:|--:|",
    ]
    for name, found in results.items():
        one = figures(found)
        both = (
            f"{percent(one.both_in_four)} | {percent(one.all_in_turn)} | {100 * one.gone.value:.0f} % | "
            if pairs
            else ""
        )
        lines.append(
            f"| {name} | {one.cases} | {percent(one.first)} | {percent(one.first_three)} | {both}"
            f"{percent(one.first_repair_cures)} | {100 * one.cured.value:.0f} % | {one.minutes:.0f} "
            f"| {one.parts:.0f} | {one.checks:.1f} |"
        )
    lines.append(f"| perfect information | | | | {'| | | ' if pairs else ''}| | {perfect_minutes:.0f} | | 0 |")
    return lines
