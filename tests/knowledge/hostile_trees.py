"""Put hostile advice into trees of one's own, as its author would, for the lint to read."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from hostile_advice import Bad


def hostile_trees(folder: Path, bad: Sequence[Bad], cautions: Iterable[str], declared: bool = True) -> list[str]:
    """Write each piece of advice into a record `bad-N` of its own; return their ids."""
    every = sorted(cautions)
    books: dict[str, dict[str, Any]] = {"checks/bad.yaml": {}, "causes/bad.yaml": {}, "setups.yaml": {}}
    names = []
    for number, one in enumerate(bad):
        name = f"bad-{number}"
        names.append(name)
        told = every if one.cautions is None else list(one.cautions)
        if one.where in ("check", "cannot"):
            books["checks/bad.yaml"][name] = _check(one, told, declared)
        elif one.where == "set-up":
            books["setups.yaml"][name] = {"words": one.words, "minutes": 1}
        else:
            books["causes/bad.yaml"][name] = _cause(one, told)
    for file, records in books.items():
        path = folder / file
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(json.dumps(records), "utf-8")
    return names


def _check(one: Bad, cautions: list[str], declared: bool) -> dict[str, Any]:
    words = ["Engine off.", "Read the gauge."] if one.where == "cannot" else [one.words]
    does = {"hands": list(one.hands), "opens": list(one.opens), "live": list(one.live)} if declared else {}
    return {
        "ask": "Pressure", "why": "It tells them apart.", "do": words, "state": one.state, "minutes": 5,
        **{name: values for name, values in does.items() if values},
        "cautions": cautions, "reading": {"unit": "psi", "plausible": [0, 100], "uncertainty": 1},
        "bands": [{"outcome": "low", "to": 50}, {"outcome": "normal"}], "normal": "normal", "basis": "common practice",
        "cannot": one.words if one.where == "cannot" else "Ask someone.",
    }  # fmt: skip


def _cause(one: Bad, cautions: list[str]) -> dict[str, Any]:
    repair = [one.words] if one.where == "repair" else ["Engine off. Replace it."]
    plant: dict[str, Any] = {"never": "It cannot be set."}
    if one.where == "plant":
        plant = {"do": ["Engine off.", one.words], "undo": ["Put it back."], "cautions": cautions}
    return {
        "title": "Something", "system": "fuel", "rate": 0.01, "basis": "from memory", "happens": "It does.",
        "repair": {"do": repair, "minutes": 10, "cautions": cautions}, "proof": {"words": "It is good."},
        "plant": plant,
    }  # fmt: skip
