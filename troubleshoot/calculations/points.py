"""Ignition: the speed at which breaker points, or valves, leave their cam."""

import math
from collections.abc import Iterator, Mapping
from typing import Annotated, Any

from troubleshoot.calculations.definition import calculation
from troubleshoot.calculations.dwell import share_of_pitch
from troubleshoot.calculations.fields import Quantity
from troubleshoot.calculations.quantities import DwellAngle

SHAPE, ARM = 0.15, 0.25
"""Shares by which a cam's shape and the arm's moving mass may move the speed at which points float (estimates)."""
FloatSpeed = Annotated[float, Quantity("engine speed", "N", "rpm")]


def _estimated_arm(_inputs: Mapping[str, Any], _outputs: Mapping[str, float]) -> Iterator[str]:
    yield "The speed is ±15 % for cam shape and ±25 % for the moving mass of the arm; the square-root law is firm."


@calculation("ignition", "I7", "Breaker-point float speed", notes=_estimated_arm)
def points_float_speed(
    spring_force: Annotated[
        float, Quantity("spring force at the contact", "F", "ozf", 0.5, 60, (8, 40), "grams or newtons for ounces?")
    ],
    cylinders: Annotated[float, Quantity("cam lobes", "n", "count", 1, 16, (4, 8), whole=True)],
    dwell_angle: DwellAngle,
    point_gap: Annotated[float, Quantity("points gap", "g", "in", 0.002, 0.06, (0.012, 0.024))] = 0.00043,
    contact_radius: Annotated[float, Quantity("pivot to contact", "r_c", "mm", 5, 80, (15, 40))] = 0.026,
    arm_inertia: Annotated[float, Quantity("moment of inertia of the arm", "I", "g*cm^2", 0.5, 100, (4, 20))] = 8.6e-7,
) -> FloatSpeed:
    """Give the engine speed at which the moving arm no longer follows the cam and the spark is lost.

    Formula: D = θ·n/360
        N = 60/(π·n)·r_c·√(F·(1 + cos(π·D))/(I·g))
    Valid: near-sine cam lobe; dwell 50–75 % of the pitch, 4–8 lobes, 8–40 ozf, gap 0.3–0.6 mm; force measured at the
        contact with the points just open. ±15 % for cam shape, ±25 % for arm inertia, which is estimated.
    Source: derived here from the cam's inward acceleration; arm inertia estimated from usual part sizes. Usual are
        17–20 ozf at 0.015–0.018 in, and points unsteady past about 4000 rpm (common practice, no source).
    Use: A miss that starts at a fixed speed, loaded or not, with dwell that falls or jitters there: compare, then
        measure the spring. Electronic triggers are immune.

    >>> round(points_float_speed(17 * 0.27801385, 8, 30), 1)
    4961.9
    """
    share = share_of_pitch(dwell_angle, cylinders)
    grip = spring_force * (1 + math.cos(math.pi * share)) / (arm_inertia * point_gap)
    return 60 / (math.pi * cylinders) * contact_radius * math.sqrt(grip)


@calculation("ignition", "I7", "Float speed with another spring or mass")
def points_float_speed_scaled(
    engine_speed_before: Annotated[float, Quantity("float speed before", "N_1", "rpm", 100, 20000)],
    spring_force_ratio: Annotated[float, Quantity("spring force, new over old", "k_F", "1", 0.05, 10, (0.3, 3))],
    moving_mass_ratio: Annotated[float, Quantity("moving mass, new over old", "k_m", "1", 0.05, 10, (0.3, 3))] = 1.0,
) -> Annotated[float, Quantity("engine speed after", "N_2", "rpm")]:
    """Give how the float speed moves when only the spring or the moving mass is changed.

    Formula: N_2 = N_1·√(k_F/k_m)
    Valid: same cam and lever; holds for points and for valves alike.
    Source: the engine speed goes with the square root of spring force over moving mass.
    Use: What a stiffer spring is worth, or how far a tired one has let the limit down.

    >>> round(points_float_speed_scaled(5400, 0.7, 1.0), 2)
    4517.96
    """
    return engine_speed_before * math.sqrt(spring_force_ratio / moving_mass_ratio)


@calculation("ignition", "I8", "Valve float speed")
def valve_float_speed(
    spring_force_open: Annotated[
        float, Quantity("spring force, valve open", "F", "lbf", 5, 2000, (100, 800), "is this the seat pressure?")
    ],
    moving_mass: Annotated[float, Quantity("moving mass at the valve", "m", "g", 10, 3000, (60, 600))],
    valve_lift: Annotated[float, Quantity("valve lift", "h", "in", 0.05, 1.5, (0.2, 0.8))],
    lift_duration: Annotated[
        float, Quantity("lift duration, cam degrees", "Θ", "deg", 60, 330, (90, 200), "crank degrees for cam degrees?")
    ],
) -> FloatSpeed:
    """Give the engine speed at which the valve train leaves the cam.

    Formula: a = h/2·(360/Θ)^2
        N = 60/π·√(F/(m·a))
    Valid: harmonic lift, Θ in degrees of cam; ±15 %; leaves out spring surge and pump-up of hydraulic lifters.
    Source: harmonic lift, cam at half crank speed.
    Use: Power that noses over at the same speed with good spark and fuel. Goes with √(spring force/moving mass).

    >>> round(valve_float_speed(1000, 0.3, 0.012, 140), 2)
    5535.93
    """
    acceleration = valve_lift / 2 * (2 * math.pi / (lift_duration * math.pi / 180)) ** 2
    return 60 / math.pi * math.sqrt(spring_force_open / (moving_mass * acceleration))
