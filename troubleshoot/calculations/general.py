"""General: conversions a mechanic does in the head, and the spread of a compression test."""

from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Annotated, Any, NamedTuple

from troubleshoot.calculations.definition import calculation
from troubleshoot.calculations.fields import Quantity
from troubleshoot.calculations.refusals import cannot


class CompressionSpread(NamedTuple):
    """Spread of a compression test, and the weakest cylinder as a share of the best."""

    spread: Annotated[float, Quantity("spread", "s", "%")]
    lowest_share: Annotated[
        float, Quantity("lowest over highest", "k", "%", usual=(75, 100), outside="below 75 %: a fault in the engine")
    ]


def _weak_cylinders(inputs: Mapping[str, Any], _outputs: Mapping[str, float]) -> Iterator[str]:
    readings = inputs["readings"]
    dead = [str(place) for place, one in enumerate(readings, 1) if one <= 0]
    if dead:
        yield f"No compression on reading {', '.join(dead)}: kept as a dead cylinder."
    low = [place for place, one in enumerate(readings, 1) if one < 0.75 * max(readings)]
    if any(b - a == 1 for a, b in pairwise(low)):
        yield "Two low readings in a row: if the cylinders are neighbours, look at the head gasket between them."


@calculation("general", "G1", "Compression spread", notes=_weak_cylinders)
def compression_spread(
    readings: Annotated[tuple[float, ...], Quantity("compression readings", "p", "psi", 0, 400)],
) -> CompressionSpread:
    """Give how evenly the cylinders hold compression.

    Formula: s = (max(p) - min(p))/max(p)
        k = min(p)/max(p)
    Valid: all plugs out, throttle open, engine warm, the same number of strokes; two readings or more.
    Source: definition; 75 % limit seen in public service texts (some makers 70 % and at least 100 psi).
    Use: Lowest at least 75 % of highest; two neighbours low together is the head gasket; a rise with oil, the rings.

    >>> spread = compression_spread((155, 150, 148, 140, 152, 151, 149, 153))
    >>> round(spread.spread, 6), round(spread.lowest_share, 6)
    (0.096774, 0.903226)
    """
    if len(readings) < 2:
        raise cannot("readings", "A spread needs two readings or more.", "two or more readings")
    highest, lowest = max(readings), min(readings)
    if highest <= 0:
        raise cannot("readings", "No cylinder shows compression: check gauge, throttle and starter first.")
    return CompressionSpread((highest - lowest) / highest, lowest / highest)


@calculation("general", "G2", "Degrees Fahrenheit to Celsius")
def fahrenheit_to_celsius(
    fahrenheit: Annotated[float, Quantity("temperature", "°F", "degF", -459.67, 5000)],
) -> Annotated[float, Quantity("temperature", "°C", "degC"), "celsius"]:
    """Give a temperature in degrees Celsius.

    Formula: °C = (°F - 32)/1.8
    Valid: not below absolute zero (-459.67 °F).
    Source: exact by definition; library pint agrees.
    Use: 160 °F is 71.1 °C, where mixture feedback usually starts.

    >>> round(fahrenheit_to_celsius((180 + 459.67) / 1.8) - 273.15, 4)
    82.2222
    """
    return fahrenheit


@calculation("general", "G2", "Degrees Celsius to Fahrenheit")
def celsius_to_fahrenheit(
    celsius: Annotated[float, Quantity("temperature", "°C", "degC", -273.15, 2700)],
) -> Annotated[float, Quantity("temperature", "°F", "degF"), "fahrenheit"]:
    """Give a temperature in degrees Fahrenheit.

    Formula: °F = 1.8·°C + 32
    Valid: not below absolute zero (-273.15 °C).
    Source: exact by definition; library pint agrees.
    Use: 90 °C is 194 °F.

    >>> round(celsius_to_fahrenheit(363.15) * 1.8 - 459.67, 4)
    194.0
    """
    return celsius


@calculation("general", "G2", "Pressure to kilopascal")
def pressure_to_kilopascal(
    pressure: Annotated[float, Quantity("pressure", "p", "psi", -15, 1e6)],
) -> Annotated[float, Quantity("pressure", "p", "kPa"), "kilopascal"]:
    """Give a pressure, typed in any unit of pressure, in kilopascal.

    Formula: p in kPa is 6.894757 for each psi, 3.386389 inHg, 0.249089 inH₂O, 100 bar
    Valid: gauge stays gauge; not below a full vacuum.
    Source: NIST SP 811 factors (from memory); scipy.constants 1.17.1 and pint 0.25.3 agree.
    Use: 45–60 psi is 310–414 kPa; 4–7 psi is 28–48 kPa.

    >>> round(pressure_to_kilopascal(58 * 6894.757293168) / 1000, 3)
    399.896
    """
    return pressure
