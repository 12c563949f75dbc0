"""The parts every calculation's docstring has: one sentence, Formula, Valid, Source, Use, and a worked example."""

import re
from collections.abc import Callable
from typing import Any, NamedTuple

PARTS = ("Formula", "Valid", "Source", "Use")


class Documentation(NamedTuple):
    """The parts of a calculation's docstring; an absent part is empty."""

    summary: str
    formula: str
    valid: str
    source: str
    use: str
    example: str


def documentation(function: Callable[..., Any]) -> Documentation:
    """Take a docstring apart; `formula` keeps its lines, the other parts are joined into one."""
    from inspect import cleandoc

    text = cleandoc(function.__doc__ or "")
    found: dict[str, list[str]] = {name: [] for name in PARTS}
    example: list[str] = []
    here: list[str] | None = None
    lines = text.splitlines()
    for line in lines[1:]:
        opened = re.match(r"(Formula|Valid|Source|Use): (.*)", line)
        if line.startswith(">>>") or (example and line.strip()):
            example.append(line)
            here = None
        elif opened:
            here = found[opened[1]]
            here.append(opened[2].strip())
        elif here is not None and line.strip():
            here.append(line.strip())
    return Documentation(
        summary=lines[0].strip() if lines else "",
        formula="\n".join(found["Formula"]),
        valid=" ".join(found["Valid"]),
        source=" ".join(found["Source"]),
        use=" ".join(found["Use"]),
        example="\n".join(example),
    )
