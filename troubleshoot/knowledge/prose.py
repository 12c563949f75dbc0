"""The words of the trees in the units that a person reads: `60 psi` in a sentence becomes `4.1 bar`.

Only words are changed; limits and what a cause is expected to read stay as they are written.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from fractions import Fraction
from functools import lru_cache
from typing import Any, Literal

import msgspec

from troubleshoot.calculations.units import convert, convert_difference, show_number, with_unit
from troubleshoot.knowledge.catalogue_record import Catalogue

System = Literal["us", "metric"]

METRIC = {
    "psi": "bar", "inHg": "kPa", "degF": "degC", "°F": "degC", "ozf": "gf", "oz": "g", "lb": "kg",
    "in": "mm", "ft": "m", "gal/h": "L/h",
}  # fmt: skip
NAMES = {"°F": "degF"}
_NUMBER = r"\d+(?:\.\d+)?(?:/\d+)?"
_FIGURE = re.compile(
    rf"(?<![\w/.-])(?P<low>-?{_NUMBER})(?:(?P<to> to | or | and |-|–)(?P<high>{_NUMBER}))?"
    r"(?P<gap>[ -])(?P<unit>psi|inHg|degF|°F|ozf?|in|ft|gal/h|lb)(?![\w/])(?! Hg)"
)
_AFTER_INCHES = re.compile(r"\s*(?:$|[.,;:)|>(-]|(?:up|past|from|or|of|supply|line|hose|return|suction)\b)")
_DIFFERENCE = re.compile(r"(?:within|by)\s*(?:about |some )?$")
_OVER = re.compile(r"\s*(?:over|under|above|below|more|less|and more|of each other)\b")
PROSE = frozenset(
    ("ask", "term", "why", "do", "basis", "cannot", "words", "title", "happens", "undo", "present", "never", "card",
     "avoid", "defer", "says", "meaning", "stop", "drawing")
)  # fmt: skip
"""Parts of the records of the trees that hold words for people."""


def in_units(catalogue: Catalogue, system: System) -> Catalogue:
    """Return the catalogue with the figures in its words as a person of that system reads them; ids and limits stay."""
    if system == "us":
        return catalogue
    parts = ("concerns", "causes", "checks", "cautions", "setups", "tools")
    changed = {part: {name: _worded(one) for name, one in getattr(catalogue, part).items()} for part in parts}
    return msgspec.structs.replace(catalogue, **changed)


def _worded(record: Any, prose: bool = False) -> Any:
    """Return a record with its words changed; what is not words stays the very same object."""
    if isinstance(record, str):
        return metric_words(record) if prose else record
    if isinstance(record, msgspec.Struct):
        changed = {}
        for name in record.__struct_fields__:
            value = getattr(record, name)
            made = _drawing(value) if name == "drawing" else _worded(value, name in PROSE)
            if made is not value:
                changed[name] = made
        return msgspec.structs.replace(record, **changed) if changed else record
    if isinstance(record, Mapping):
        made = {name: _worded(value, name in ("why", "words")) for name, value in record.items()}
        return made if any(made[name] is not record[name] for name in made) else record
    if isinstance(record, list | tuple):
        found = [_worded(value, prose) for value in record]
        return type(record)(found) if any(one is not old for one, old in zip(found, record, strict=True)) else record
    return record


def _drawing(drawing: str) -> str:
    """Return a drawing whose figures were changed where the new ones are no wider, so that its lines stay in place."""
    return _FIGURE.sub(lambda found: _fitted(found, drawing), drawing)


def _fitted(found: re.Match[str], text: str) -> str:
    made = _metric(found, text)
    return made.ljust(len(found[0])) if len(made) <= len(found[0]) else found[0]


@lru_cache(maxsize=16384)
def metric_words(text: str) -> str:
    """Return a sentence with its figures in metric units, to two figures or as many as were written.

    >>> metric_words("Opened, the line sprays fuel at 60 psi into eyes."), metric_words("within 2 psi")
    ('Opened, the line sprays fuel at 4.1 bar into eyes.', 'within 0.14 bar')
    >>> metric_words("fed by 3/8 in"), metric_words("number 1 in the order of firing")
    ('fed by 9.5 mm', 'number 1 in the order of firing')
    >>> metric_words("A 180 to 195 degF thermostat"), metric_words("within 8 degF of the thermometer")
    ('A 82 to 91 °C thermostat', 'within 4.4 °C of the thermometer')
    """
    if not any(unit in text for unit in METRIC):
        return text
    changed = _FIGURE.sub(lambda found: _metric(found, text), text)
    return changed if changed != text else text


def _metric(found: re.Match[str], text: str) -> str:
    unit, after = found["unit"], text[found.end() :]
    if unit == "in" and "/" not in found["low"] and not _AFTER_INCHES.match(after):
        return found[0]
    difference = unit in ("degF", "°F") and bool(_DIFFERENCE.search(text[: found.start()]) or _OVER.match(after))
    ends = [_converted(one, unit, difference) for one in (found["low"], found["high"]) if one]
    said = with_unit(ends[-1], METRIC[unit])
    return f"{ends[0]}{found['to']}{said}" if len(ends) == 2 else said


def _converted(written: str, unit: str, difference: bool) -> str:
    value = float(Fraction(written))
    own, to = NAMES.get(unit, unit), METRIC[unit]
    made = (convert_difference if difference else convert)(value, own, to)
    if unit in ("degF", "°F") and not difference:
        return f"{made:.0f}"
    figures = 3 if "/" not in written and len(written.replace(".", "").strip("-0")) > 2 else 2
    return show_number(_round(made, figures, FINEST.get(to, 9)))


FINEST = {"bar": 2}
"""Decimals of which a gauge shows no more."""


def _round(value: float, figures: int, most: int) -> float:
    return round(value, min(most, figures - 1 - math.floor(math.log10(abs(value))))) if value else 0.0
