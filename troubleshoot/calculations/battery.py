"""Electrical: battery state, cranking voltage, and whether the alternator carries the load."""

from typing import Annotated, NamedTuple

from troubleshoot.calculations.definition import calculation
from troubleshoot.calculations.fields import Quantity
from troubleshoot.calculations.refusals import cannot
from troubleshoot.calculations.straight_line import between_points

# resting volts and state of charge; battery table printed publicly
RESTING = ((11.89, 0.0), (12.06, 0.25), (12.24, 0.50), (12.45, 0.75), (12.65, 1.0))
# battery temperature in degrees Fahrenheit and the least volts under load; trade table (from memory)
CRANKING = ((0.0, 8.5), (10.0, 8.7), (20.0, 8.9), (30.0, 9.1), (40.0, 9.3), (50.0, 9.4), (60.0, 9.5), (70.0, 9.6))


@calculation("electrical", "E3", "State of charge from resting voltage")
def battery_charge(
    resting_voltage: Annotated[
        float,
        Quantity("resting voltage", "V", "V", 0.5, 16, (11.5, 12.9), "over 12.9 V: surface charge, or charger on"),
    ],
) -> Annotated[float, Quantity("state of charge", "SOC", "%", usual=(50, 100), outside="charge it before testing")]:
    """Give how full a rested 12 V battery is.

    Formula: SOC at V by straight lines through 11.89 V 0 %, 12.06 V 25 %, 12.24 V 50 %, 12.45 V 75 %, 12.65 V 100 %
    Valid: flooded lead-acid, 20–27 °C, rested four hours, no surface charge; sealed types 0.1–0.2 V higher; a 6 V
        battery: type twice its reading. Under 10.5 V at rest there is a dead cell.
    Source: battery table printed publicly (12.65/12.45/12.24/12.06/11.89 V).
    Use: 12.4 V or more before any other electrical test.

    >>> round(battery_charge(12.35), 6)
    0.630952
    """
    if resting_voltage < 10.5:
        raise cannot(
            "resting_voltage",
            "Under 10.5 V at rest there is a dead cell (for a 6 V battery, type twice its reading).",
            "10.5 V or more",
        )
    return between_points(resting_voltage, RESTING)


@calculation("electrical", "E3", "Lowest cranking voltage")
def lowest_cranking_voltage(
    battery_temperature: Annotated[
        float, Quantity("battery temperature", "T", "degF", -40, 150, (0, 120), "°C for °F?")
    ],
) -> Annotated[float, Quantity("voltage", "V", "V")]:
    """Give the voltage a good battery keeps at half its cold-cranking current for 15 s.

    Formula: V at T by straight lines through 0 °F 8.5 V, 10 8.7, 20 8.9, 30 9.1, 40 9.3, 50 9.4, 60 9.5, 70 9.6 V
    Valid: 0–70 °F, ends held; 12 V flooded lead-acid.
    Source: battery load-test table at half CCA for 15 s (trade table, from memory).
    Use: Below it while cranking: battery, cables or starter. Below about 9 V many controllers and pumps stall.

    >>> round(lowest_cranking_voltage((70 + 459.67) / 1.8), 6)
    9.6
    """
    return between_points(battery_temperature * 1.8 - 459.67, CRANKING)


class Budget(NamedTuple):
    """Sum of the loads, and what the alternator has left at idle."""

    total_load: Annotated[float, Quantity("total load", "ΣI", "A")]
    spare_at_idle: Annotated[
        float,
        Quantity("spare at idle", "I_s", "A", usual=(0, float("inf")), outside="volts sink, the pump slows at idle"),
    ]


@calculation("electrical", "E4", "Alternator budget")
def alternator_budget(
    loads: Annotated[tuple[float, ...], Quantity("loads", "I_k", "A", 0, 500)],
    rated_output: Annotated[float, Quantity("rated output", "I_r", "A", 5, 500, (25, 250))],
    idle_share: Annotated[float, Quantity("share of output at idle", "s", "%", 1, 100, (30, 70))] = 0.5,
) -> Budget:
    """Give what the alternator has left at idle with everything on.

    Formula: ΣI is the sum of the loads I_k
        I_s = I_r·s - ΣI
    Valid: idle share 40–60 %; hot output 10–20 % less.
    Source: sum of loads against idle output (idle share is common practice, no source).
    Use: Negative: voltage sinks, pump slows, mixture drifts. Usual: pump 5–10 A, controller and injectors 3–8, coil
        3–5, fan 15–30, lamps 10–14.

    >>> alternator_budget((8, 6, 5, 20, 12, 5), 100, 0.5)
    Budget(total_load=56, spare_at_idle=-6.0)
    """
    if not loads:
        raise cannot("loads", "Give at least one load.")
    return Budget(sum(loads), rated_output * idle_share - sum(loads))
