"""How many cases the proof walks a second, on readings that are computed already: one core, one thread.

Times are processor times, so that other work on the machine shows less. `python scripts/bench_walks.py [CASES]`.
"""

from __future__ import annotations

import sys
import time

from troubleshoot.__main__ import use_one_thread

CASES = 60
SEED = 515
ROUNDS = 3
WANTED = 40.0  # walks a second


def measure(cases: int) -> tuple[float, float, float]:
    """Return walks a second with problems made anew, the same with problems made before, and checks in a walk."""
    from troubleshoot.bench.patients import patients
    from troubleshoot.case.proposing import propose
    from troubleshoot.knowledge.catalogue import load_catalogue
    from troubleshoot.proof.cases import draw_case
    from troubleshoot.proof.walk import Problems, walk

    trees = load_catalogue()
    rare = sorted(name for name, tool in trees.tools.items() if not tool.common)
    drawn = [draw_case(SEED, 2 * number, False, rare) for number in range(cases)]
    noticed = [patient for patient in patients(drawn, SEED) if patient is not None]
    anew, again, checks = [], [], 0
    for _ in range(ROUNDS):
        problems = Problems(trees)
        for taken in (anew, again):
            began = time.process_time()
            walked = [walk(patient, trees, problems.of(patient), propose) for patient in noticed]
            taken.append(time.process_time() - began)
            checks = sum(result.checks for result in walked)
    return len(noticed) / min(anew), len(noticed) / min(again), checks / len(noticed)


def main(cases: int = CASES) -> int:
    """Print the figures."""
    use_one_thread()
    anew, again, checks = measure(cases)
    sys.stdout.write(f"walks a second, problems made anew       {anew:6.1f}   (wanted {WANTED:.0f})\n")
    sys.stdout.write(f"walks a second, problems made before     {again:6.1f}   {checks:.1f} checks in a walk\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(*(int(one) for one in sys.argv[1:2])))
