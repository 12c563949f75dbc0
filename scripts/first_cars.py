"""Compute the cars that are shipped for the first practice; after a change of the engine (about ten minutes).

.venv/bin/python scripts/first_cars.py [--seed 1]
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter

from troubleshoot.__main__ import use_one_thread

EACH = 2
"""Cars a level and concern, where so many are found."""
DRAWS = 2
"""Draws a concern and car."""


def main() -> None:
    """Draw cars for every concern and level until there are enough, solve each, and write the file."""
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    asked.add_argument("--seed", type=int, default=1)
    seed = asked.parse_args().seed
    use_one_thread()
    from troubleshoot.classroom.drill_maker import CARS
    from troubleshoot.classroom.first_cars import FirstCar, first_car, write_cars
    from troubleshoot.classroom.practising import LEVELS, drawn_cars, solved_car
    from troubleshoot.knowledge.catalogue import load_catalogue

    catalogue = load_catalogue(None)
    found: dict[tuple[int, tuple[str, ...]], FirstCar] = {}
    shown: Counter[tuple[int, str]] = Counter()
    concerns = [name for name, one in catalogue.concerns.items() if one.kind != "inspection"]
    for place, concern in enumerate(concerns):
        for draw in range(DRAWS * len(CARS)):
            short = [level for level in LEVELS if shown[level, concern] < EACH]
            if not short:
                break
            car = CARS[(draw + place) % len(CARS)]
            number = seed * 1_000_000 + place * 10_000 + draw * 1_000
            for level, made in drawn_cars(number, concern, short, car, "asked", catalogue):
                known = (level, (car, *sorted(made.key.causes)))
                wanted = shown[level, concern] < EACH and known not in found
                if wanted and solved_car(made, level, catalogue) is not None:
                    found[known] = first_car(level, made.car)
                    shown.update((level, one) for one in made.drill.concerns)
        sys.stdout.write(f"{concern}: {' '.join(str(shown[level, concern]) for level in LEVELS)}\n")
        sys.stdout.flush()
    write_cars(list(found.values()))
    sys.stdout.write(f"{len(found)} cars\n")


if __name__ == "__main__":
    main()
