"""One sound set of inputs for every calculation, in trade units: what its help shows, and what the tests begin from."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path

Sample = dict[str, float | list[float]]


@cache
def samples() -> dict[str, Sample]:
    """Return name of a calculation -> input -> value in the input's trade unit."""
    found: dict[str, Sample] = json.loads(Path(__file__).with_name("samples.json").read_text(encoding="utf-8"))
    return found
