"""What in a signature does not have the form of one, said at its place."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from troubleshoot.knowledge.degrees import EXPECTS, WHY, groups_of, outcomes_of
from troubleshoot.knowledge.forms import Misfit, misfits
from troubleshoot.knowledge.model import DEGREES, Expects, Frequency

_ORDER = f"ways come first, then degrees ({', '.join(DEGREES)}), then outcomes or expects:"


def signature_misfits(
    signature: Mapping[str, Any], yaml_path: tuple[str, ...] = (), above: str = ""
) -> Iterator[Misfit]:
    """Return everything that does not fit, as `forms.misfits` does; `above` is what it stands under: way or degree."""
    groups, named = groups_of(signature), outcomes_of(signature)
    degrees = [name for name in groups if name in DEGREES]
    ways = [name for name in groups if name not in DEGREES]
    if sum(map(bool, (named, EXPECTS in signature, degrees, ways))) > 1:
        what = "a signature has outcomes, or expects:, or degrees, or ways, and not several of them side by side"
        yield (yaml_path, what, "write the outcomes of a degree or way under it", "mixed-signature", False)
    elif (ways and above) or (degrees and above == "degree"):
        yield (
            (*yaml_path, next(iter(groups))),
            f"{next(iter(groups))} stands too deep",
            _ORDER,
            "mixed-signature",
            False,
        )
    else:
        if not isinstance(signature.get(WHY, ""), str):
            yield ((*yaml_path, WHY), "why: is words", "write the reason", "wrong-type", True)
        yield from _at(misfits(named, dict[str, Frequency]), yaml_path)
        if EXPECTS in signature:
            yield from _at(misfits(signature[EXPECTS], Expects), (*yaml_path, EXPECTS))
        for name, inner in groups.items():
            yield from signature_misfits(inner, (*yaml_path, name), "degree" if name in DEGREES else "way")


def _at(found: list[Misfit], yaml_path: tuple[str, ...]) -> Iterator[Misfit]:
    for where, what, advice, code, of_value in found:
        yield ((*yaml_path, *where), what, advice, code, of_value)
