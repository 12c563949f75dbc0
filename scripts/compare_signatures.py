"""Compare what the trees say a fault does to each check with what the virtual engine shows, on cars kept for this work.

    .venv/bin/python scripts/compare_signatures.py                 every entry more than 0.2 apart
    .venv/bin/python scripts/compare_signatures.py --check CHECK   one check, everything
    .venv/bin/python scripts/compare_signatures.py --shows         how often each fault shows each concern
    .venv/bin/python scripts/compare_signatures.py --apply         write the engine's figures into trees/checks

Only even case seeds are used, so the report of the proof (odd ones) stays untouched. A reason (`why`) is kept.
An entry is written only where the two differ by more than the limit; read what it changed before you keep it.
"""

from __future__ import annotations

import argparse
import sys
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from signature_entries import Changes, rewritten

from troubleshoot.bench.answer_table import CHANGES
from troubleshoot.bench.answering import answer, can_answer
from troubleshoot.bench.complaint_concerns import COMPLAINT_CONCERNS
from troubleshoot.bench.fault_causes import FAULT_CAUSES
from troubleshoot.bench.patients import healthy_readings
from troubleshoot.knowledge.bands import bands_for, share_in_bands, shares_of_outcome
from troubleshoot.knowledge.catalogue import Catalogue, load_catalogue
from troubleshoot.knowledge.signatures import signature_shares, usual_shares
from troubleshoot.virtual_engine.complaints import complaints
from troubleshoot.virtual_engine.engines import ENGINES, IGNITIONS
from troubleshoot.virtual_engine.faults import FAULTS, onset
from troubleshoot.virtual_engine.readings import readings

TREES = Path(__file__).parents[1] / "trees"
SEED = 4242
Sums = dict[str, dict[str, np.ndarray]]


def computed(cars: int) -> Iterator[tuple[str, str, list[str], dict[str, np.ndarray], list[tuple[str, ...]]]]:
    """Yield (engine, ignition, fault of each row, readings, complaints) over all faults; "" is a healthy car."""
    for engine in ENGINES:
        for ignition in IGNITIONS:
            rng = np.random.default_rng((SEED, len(engine), len(ignition)))
            names = [n for n, f in FAULTS.items() if ignition in f.applies_to and onset(n, engine) is not None]
            rows = [name for name in ["", *names] for _ in range(cars)]
            faults = [[(one, float(rng.uniform(onset(one, engine) or 1.0, 1.0)))] if one else [] for one in rows]
            seeds = [2 * int(seed) for seed in rng.integers(1, 2**40, len(rows))]
            found = readings(engine, ignition, faults, seeds)
            before = readings(engine, ignition, [[] for _ in rows], seeds, only="steady")
            found |= {name: 100.0 * (found[of] / before[of] - 1.0) for name, of in CHANGES.items()}
            yield engine, ignition, rows, found, complaints(found, healthy_readings()[engine, ignition])


def outcome_shares(trees: Catalogue, cars: int) -> tuple[Sums, dict[str, dict[str, float]]]:
    """Return the mean share of every outcome by check and cause, and how often each cause shows each concern."""
    sums: dict[str, dict[str, list[tuple[float, ...]]]] = defaultdict(lambda: defaultdict(list))
    shown: dict[str, list[frozenset[str]]] = defaultdict(list)
    checks = {name: check for name, check in trees.checks.items() if can_answer(name)}
    for engine, ignition, rows, found, heard in computed(cars):
        car = trees.cars[engine if ignition == "points" else f"{engine}-electronic"]
        bands = {name: bands_for(check, car, {}, trees.checks) for name, check in checks.items()}
        for place, fault in enumerate(rows):
            cause = FAULT_CAUSES.get(fault, "")
            concerns = frozenset(COMPLAINT_CONCERNS[one] for one in heard[place])
            if fault and not concerns:
                continue
            shown[cause].append(concerns)
            row = {name: float(values[place]) for name, values in found.items()}
            for name, check in checks.items():
                value = answer(name, check, row)
                if isinstance(value, str):
                    sums[name][cause].append(shares_of_outcome(check, value))
                elif value is not None and check.reading is not None:
                    sums[name][cause].append(share_in_bands(value, check.reading.uncertainty, bands[name]))
    means = {name: {c: np.mean(s, axis=0) for c, s in by.items() if len(s) >= 8} for name, by in sums.items()}
    rates = {
        cause: {one: sum(one in s for s in seen) / len(seen) for one in {c for s in seen for c in s}}
        for cause, seen in shown.items()
    }
    return means, rates


def written(trees: Catalogue, name: str, cause: str) -> np.ndarray:
    """Return what the trees say."""
    check = trees.checks[name]
    said = signature_shares(check, cause, trees.causes.get(cause)) if cause in check.moved_by else usual_shares(check)
    return np.array(said)


def entry_text(trees: Catalogue, name: str, shares: np.ndarray) -> str:
    """Write shares as a signature, rounded to hundredths, the normal outcome left to the rest."""
    check = trees.checks[name]
    parts = [
        f"{outcome}: {share:.2f}"
        for outcome, share in zip(check.outcomes, shares, strict=True)
        if outcome != check.normal and share >= 0.015
    ]
    if not parts and check.normal:
        parts = [f"{check.normal}: {min(shares[check.outcomes.index(check.normal)], 0.99):.2f}"]
    return ", ".join(parts)


def apply(changes: Changes) -> None:
    """Write changed entries into the lines of trees/checks/*.yaml."""
    for path in sorted((TREES / "checks").glob("*.yaml")):
        lines = path.read_text(encoding="utf-8").split("\n")
        path.write_text("\n".join(rewritten(lines, changes)), encoding="utf-8", newline="\n")


def main() -> int:
    """Compare, print, and write where asked."""
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--cars", type=int, default=24, help="cars for each fault, engine and ignition")
    parser.add_argument("--limit", type=float, default=0.2, help="print and apply what differs by more than this")
    parser.add_argument("--check", help="one check, everything")
    parser.add_argument("--shows", action="store_true", help="compare how often each fault shows each concern")
    parser.add_argument("--apply", action="store_true", help="write the engine's figures into trees/checks")
    asked = parser.parse_args()
    trees = load_catalogue()
    means, rates = outcome_shares(trees, asked.cars)
    if asked.shows:
        for cause, concerns in sorted(rates.items()):
            said = {name: tree.shows.get(cause, "-") for name, tree in trees.concerns.items()}
            for concern, rate in sorted(concerns.items()):
                sys.stdout.write(f"{concern:16} {cause:32} engine {rate:.2f}  tree {said.get(concern, '-')}\n")
        return 0
    changes: Changes = defaultdict(dict)
    for name, by_cause in means.items():
        for cause, shares in sorted(by_cause.items()):
            said = written(trees, name, cause) if cause else np.array(usual_shares(trees.checks[name]))
            apart = float(np.abs(shares - said).max())
            if (asked.check and name != asked.check) or (not asked.check and apart <= asked.limit):
                continue
            sys.stdout.write(
                f"{name:28} {cause or '(healthy car)':30} engine {{{entry_text(trees, name, shares)}}}"
                f"  tree {{{entry_text(trees, name, said)}}}\n"
            )
            if cause:
                changes[name][cause] = entry_text(trees, name, shares)
    if asked.apply:
        apply(changes)
    return 0


if __name__ == "__main__":
    sys.exit(main())
