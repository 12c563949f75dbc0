"""Units outside the trade's own table, read by pint; the only module that imports it, and only when needed."""

import re
from functools import lru_cache
from typing import Any

from troubleshoot.calculations.unit_table import Unit

# One plain expression of words, slashes, stars and small powers: nothing that pint would have to calculate.
_SAFE = re.compile(r"[A-Za-zµΩ°_]{1,24}(?:\s?[*/· ]\s?[A-Za-zµΩ°_]{1,24}|\^[23]|\*\*[23]|[²³]){0,4}")


@lru_cache(maxsize=1)
def registry() -> Any:
    """Return pint's unit registry (made once, about 0.2 s)."""
    import pint

    return pint.UnitRegistry()


# The inside unit of each dimension in pint's words; dimensions pint has no word for are left out.
PINT_INSIDE = {
    "time": "second",
    "voltage": "volt",
    "current": "ampere",
    "resistance": "ohm",
    "inductance": "henry",
    "capacitance": "farad",
    "energy": "joule",
    "power": "watt",
    "force": "newton",
    "length": "meter",
    "area": "meter**2",
    "volume": "meter**3",
    "mass": "kilogram",
    "mass flow": "kilogram/second",
    "volume flow": "meter**3/second",
    "density": "kilogram/meter**3",
    "viscosity": "pascal*second",
    "pressure": "pascal",
    "absolute pressure": "pascal",
    "temperature": "kelvin",
    "torque": "newton*meter",
    "frequency": "hertz",
    "moment of inertia": "kilogram*meter**2",
    "energy by mass": "joule/kilogram",
    "energy by volume": "joule/meter**3",
    "resistance by length": "ohm/meter",
    "pressure per time": "pascal/second",
    "specific fuel consumption": "kilogram/joule",
    "energy by amount": "joule/mole",
}


def unusual_unit(spelling: str, asked: Unit) -> Unit | None:
    """Return a unit pint knows by that spelling, as one of our dimensions; None when it knows none."""
    if not _SAFE.fullmatch(spelling) or len(spelling) > 40:
        return None
    ureg = registry()
    words = spelling.replace("·", "*").replace("²", "**2").replace("³", "**3")
    try:
        parsed = ureg.parse_units(words)
        dimension = _dimension(ureg, parsed, asked)
        if dimension is None:
            return None
        inside = ureg.Unit(PINT_INSIDE[dimension])
        zero = ureg.Quantity(0.0, parsed).to(inside).magnitude
        one = ureg.Quantity(1.0, parsed).to(inside).magnitude
    except Exception:  # pint raises many kinds on odd text; all mean "not a unit"
        return None
    return Unit(f"{parsed:~P}" or spelling, dimension, float(one - zero), float(zero), f"{parsed:~P}" or spelling)


def _dimension(ureg: Any, parsed: Any, asked: Unit) -> str | None:
    """Return our dimension of a pint unit, the asked one first."""
    names = [asked.dimension, *PINT_INSIDE]
    for name in names:
        if name in PINT_INSIDE and parsed.dimensionality == ureg.Unit(PINT_INSIDE[name]).dimensionality:
            return name
    return None
