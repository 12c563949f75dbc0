"""All calculations by name; importing this imports neither pint nor numpy."""

from collections.abc import Iterable

from troubleshoot.calculations import (  # noqa: F401 - importing a subject defines its calculations
    airflow,
    battery,
    coil,
    dwell,
    exhaust,
    fuel_demand,
    fuel_properties,
    fuel_supply,
    general,
    injectors,
    leaks,
    mixture,
    points,
    runs,
    sensors,
    spark,
    weather,
    wiring,
)
from troubleshoot.calculations.definition import DEFINED, Calculation
from troubleshoot.calculations.fields import Field
from troubleshoot.calculations.refusals import CalculationRefused, UnknownCalculation

__all__ = [
    "Calculation",
    "CalculationRefused",
    "Field",
    "UnknownCalculation",
    "calculation",
    "calculations",
    "search",
]

SUBJECTS = ("ignition", "fuel", "air", "electrical", "exhaust", "dyno", "general")


def calculations() -> tuple[Calculation, ...]:
    """Return every calculation, by subject, then by section."""
    return tuple(sorted(DEFINED.values(), key=lambda one: (SUBJECTS.index(one.subject), _section_order(one.section))))


def calculation(name: str) -> Calculation:
    """Return the calculation of that name, in either spelling; UnknownCalculation offers the nearest."""
    found = DEFINED.get(as_written_here(name))
    if found is not None:
        return found
    near = nearest(name, DEFINED)
    advice = f"Did you mean {' or '.join(near)}?" if near else "List them with: troubleshoot calc."
    raise UnknownCalculation(f'There is no calculation "{name[:60]}".', advice)


def search(words: str) -> tuple[Calculation, ...]:
    """Return the calculations in which every word occurs: in name, title, fields, formula or use."""
    wanted = as_written_here(words.casefold()).split()
    return tuple(one for one in calculations() if all(word in searched_in(one) for word in wanted))


def as_written_here(words: str) -> str:
    """Return words in the spelling of the names here.

    >>> as_written_here("vapor-margin"), as_written_here("vapour-margin")
    ('vapour-margin', 'vapour-margin')
    """
    return words.replace("vapor", "vapour")


def nearest(name: str, known: Iterable[str]) -> list[str]:
    """Return up to three known names of nearly that spelling, or that contain it."""
    from difflib import get_close_matches

    names = sorted(known)
    asked = name.casefold().strip().replace(" ", "-").replace("_", "-")
    within = [one for one in names if asked and asked in one]
    return within[:3] or get_close_matches(asked, names, n=3, cutoff=0.55)


def searched_in(one: Calculation) -> str:
    """Return the text of a calculation that `search` looks through."""
    parts = one.documentation
    fields = " ".join(field.words for field in (*one.inputs, *one.outputs))
    return " ".join((one.name, one.title, one.subject, one.section, fields, parts.summary, parts.use)).casefold()


def _section_order(section: str) -> tuple[str, int]:
    """Sort I2 before I10."""
    return section[0], int(section[1:])
