"""Files of pulls compared, made ready for a case: the sentence, the curves, what they came from."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from troubleshoot.recordings.baselines import baseline_of, keep_baseline
from troubleshoot.recordings.comparing import Comparison, compared, weather_factor
from troubleshoot.recordings.dialect import RecordingRefused
from troubleshoot.recordings.pull_curve import PullCurve, read_pull


@dataclass(frozen=True)
class PullsAsked:
    """The pulls to compare; without files before, the baseline kept of `car` in `folder` stands for them."""

    before: tuple[Path, ...]
    after: tuple[Path, ...]
    weather_before: str = ""
    weather_after: str = ""
    car: str = ""
    folder: Path = Path()
    keep: bool = False
    """Whether the pulls before become the car's baseline."""


@dataclass(frozen=True)
class ComparedPulls:
    """A comparison, the names of the files it came from, and one hash over all of them."""

    found: Comparison
    files: str
    sha256: str


def files_named(typed: str) -> tuple[Path, ...]:
    """Return the files of a line in which semicolons stand between them.

    >>> [one.name for one in files_named("a.csv; b.csv;")]
    ['a.csv', 'b.csv']
    """
    return tuple(Path(one.strip()).expanduser() for one in typed.split(";") if one.strip())


def compare_pulls(asked: PullsAsked) -> ComparedPulls | None:
    """Compare pulls, None where a baseline was only to be kept; RecordingRefused where they cannot be compared."""
    factors = (weather_factor(asked.weather_before), weather_factor(asked.weather_after))
    first = [read_pull(one) for one in asked.before]
    if asked.keep:
        if len(first) < 2:
            raise RecordingRefused("A baseline needs two pulls or more — give them as the pulls before")
        keep_baseline(asked.folder, asked.car, first, factors[0])
        if not asked.after:
            return None
    if not first:
        first, factors = baseline_of(asked.folder, asked.car), (1.0, factors[1])
    second = [read_pull(one) for one in asked.after]
    found = compared(first, second, factors)
    mark = hashlib.sha256("".join(one.sha256 or one.name for one in (*first, *second)).encode()).hexdigest()
    return ComparedPulls(found, f"{_names(first)} against {_names(second)}", mark)


def _names(pulls: Sequence[PullCurve]) -> str:
    return ", ".join(Path(one.name).name for one in pulls)
