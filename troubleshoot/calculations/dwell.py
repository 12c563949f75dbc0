"""Ignition: dwell angle, percent and time, and what a dwell change does to timing."""

from collections.abc import Iterator, Mapping
from typing import Annotated, Any

from troubleshoot.calculations.definition import calculation
from troubleshoot.calculations.fields import Quantity
from troubleshoot.calculations.quantities import Cylinders, DwellAngle
from troubleshoot.calculations.refusals import cannot

StandingOrTurning = Annotated[
    float, Quantity("engine speed", "N", "rpm", 0, 20000, (100, 9000), "a reading up here is likely electrical noise")
]


def _share_notes(share: float) -> Iterator[str]:
    """Say when the dwell share of the pitch is far from what a points set has."""
    if not 0.40 <= share <= 0.75:
        yield (
            f"A dwell of {100 * share:.0f} % of the cam pitch is unusual (40 to 75 %): "
            "is the meter on the right cylinder scale?"
        )


def _percent_notes(_inputs: Mapping[str, Any], outputs: Mapping[str, float]) -> Iterator[str]:
    return _share_notes(outputs["dwell-percent"])


def _angle_notes(inputs: Mapping[str, Any], _outputs: Mapping[str, float]) -> Iterator[str]:
    return _share_notes(inputs["dwell_percent"])


def share_of_pitch(dwell_angle: float, cylinders: float) -> float:
    """Return dwell (distributor degrees) as a share of a cylinder's angle; refuses points that would never open."""
    share = dwell_angle * cylinders / 360
    if share >= 1:
        raise cannot(
            "dwell_angle",
            "Dwell angle must be under 360°/cylinders: at this dwell the points would never open.",
            f"under {360 / cylinders:.3g}°",
        )
    return share


@calculation("ignition", "I1", "Dwell angle to dwell percent", notes=_percent_notes)
def dwell_percent(
    dwell_angle: DwellAngle, cylinders: Cylinders
) -> Annotated[float, Quantity("dwell percent", "D", "%")]:
    """Give dwell as a share of the angle the distributor turns for each cylinder.

    Formula: D = θ·n/360
    Valid: 0 < θ < 360/n, θ in distributor degrees; one set of points, n cam lobes.
    Source: geometry: the distributor gives each cylinder 360/n degrees.
    Use: A meter on the wrong cylinder scale reads θ·n_true/n_set: a V8 at 30° shows 60° on the 4-cylinder scale.
        Usual dwell: eight cylinders 28–32°, six 31–40°, four 45–55° (common practice, no source).

    >>> round(dwell_percent(38, 6), 6)
    0.633333
    """
    return share_of_pitch(dwell_angle, cylinders)


@calculation("ignition", "I1", "Dwell percent to dwell angle", notes=_angle_notes)
def dwell_angle(
    dwell_percent: Annotated[float, Quantity("dwell percent", "D", "%", 0.1, 99.99)], cylinders: Cylinders
) -> Annotated[float, Quantity("dwell angle", "θ", "deg dist")]:
    """Give the dwell angle for a dwell meter that reads in per cent.

    Formula: θ = D·360/n
    Valid: 0 < D < 100 %; at 100 % the points would never open.
    Source: geometry: the distributor gives each cylinder 360/n degrees.
    Use: Compare with the maker's angle. Eight cylinders 28–32°, six 31–40°, four 45–55° (common practice, no source).

    >>> round(dwell_angle(0.575, 4), 6)
    51.75
    """
    return dwell_percent * 360 / cylinders


@calculation("ignition", "I2", "Dwell time at engine speed")
def dwell_time(
    dwell_angle: DwellAngle, engine_speed: StandingOrTurning
) -> Annotated[float, Quantity("dwell time", "t", "ms")]:
    """Give how long the points charge the coil before each spark.

    Formula: t = θ/(3·N)
    Valid: N > 0, one set of points; N in rpm, θ in distributor degrees, t in seconds.
    Source: geometry: the distributor turns at half crank speed, 3·N degrees a second.
    Use: How long the coil charges; feeds the coil current. Dwell that drops more than 2–3° from idle to 2500 rpm
        means a worn shaft or plate, or points that bounce (common practice, no source).

    >>> round(dwell_time(30, 1000), 6)
    0.01
    """
    if engine_speed < 1:
        raise cannot(
            "engine_speed",
            "With the engine still the points rest closed: the coil carries full current.",
            "1 rpm or more",
        )
    return dwell_angle / (3 * engine_speed)


def _large_change(_inputs: Mapping[str, Any], outputs: Mapping[str, float]) -> Iterator[str]:
    if abs(outputs["timing-change"]) > 10:
        yield "Over 10° of change the rule no longer holds: set the timing again in any case."
    elif abs(outputs["timing-change"]) > 6:
        yield "Over 6° of change the rule is rough: set the timing again."


@calculation("ignition", "I3", "Timing change from a dwell change", notes=_large_change)
def timing_change_from_dwell(
    dwell_before: Annotated[float, Quantity("dwell before", "θ_1", "deg dist", 1, 180)],
    dwell_after: Annotated[float, Quantity("dwell after", "θ_2", "deg dist", 1, 180)],
) -> Annotated[float, Quantity("timing change", "Δτ", "deg crank")]:
    """Give how far the spark moves at the crank when dwell is changed; minus means later.

    Formula: Δτ = θ_1 - θ_2
    Valid: symmetric cam lobe, changes up to about 6°. Half the dwell change falls on the opening edge and is doubled
        at the crank, so distributor degrees of dwell become as many crank degrees of timing.
    Source: geometry of a symmetric cam: half of the dwell change lands on the opening edge, doubled at the crank.
    Use: Always set dwell before timing. Wear of the rubbing block closes the gap, raises dwell and retards the spark.

    >>> timing_change_from_dwell(28, 30)
    -2
    """
    return dwell_before - dwell_after
