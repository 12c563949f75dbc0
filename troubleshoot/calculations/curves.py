"""The plots a person would rather look at than read, each from the inputs of the calculation it belongs to.

Every builder takes the inputs by field name in trade units, and `reading`, a measured value of what the chart shows.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from troubleshoot.calculations.chart import Axis, Band, Chart, Level, Line, Mark, curve, spaced
from troubleshoot.calculations.fields import Definition
from troubleshoot.calculations.points import ARM, SHAPE
from troubleshoot.calculations.refusals import CalculationRefused
from troubleshoot.calculations.registry import calculation
from troubleshoot.calculations.unit_table import UNITS
from troubleshoot.calculations.units import System

Values = Mapping[str, Any]
SPEED = Axis("engine speed", "rpm")


def _result(name: str, output: str, values: Values) -> float:
    """Return one result, in its trade unit, without notes or uncertainty; ValueError where there is none."""
    one = calculation(name)
    inside: dict[str, Any] = {}
    for parameter, field in zip(one.parameters, one.inputs, strict=True):
        given = values.get(field.name, field.default)
        if given is None:
            raise CalculationRefused(field.name, "missing", field.allowed, f"{field.words} is missing.")
        inside[parameter] = tuple(map(field.to_inside, given)) if field.many else field.to_inside(given)
    result = one.function(**inside)
    results = tuple(result) if isinstance(result, tuple) else (result,)
    names = [field.name for field in one.outputs]
    return one.outputs[names.index(output)].from_inside(results[names.index(output)])


def _with(values: Values, **changed: float) -> dict[str, Any]:
    """Return the values with some replaced, named as parameters."""
    return {**values, **{name.replace("_", "-"): value for name, value in changed.items()}}


def coil_over_speed(values: Values, reading: float | None = None) -> tuple[Chart, ...]:
    """Chart dwell time and coil energy against engine speed, with the energy needed; `reading` is a speed in rpm."""
    speeds = spaced(400, 9000)
    needed = values.get("energy-needed", 20.0)

    def time(speed: float) -> float:
        return _result("dwell-time", "dwell-time", _with(values, engine_speed=speed))

    def energy(speed: float) -> float:
        current = _result("coil-current", "current", _with(values, closed_time=time(speed)))
        return _result("coil-energy", "energy", _with(values, current=current))

    marks, levels = [], [Level("needed {at}", needed)]
    try:
        limit = _result("coil-energy-limit-speed", "engine-speed", values)
        if limit <= speeds[-1]:
            marks.append(Mark("falls short at {x}", limit, needed))
    except ValueError:
        pass  # never reaches that energy: the line stays under the level, which is what the chart is for
    if reading is not None:
        marks.append(Mark("reading {x}", reading, energy(reading)))
        levels.append(Level("reading", reading, upright=True))
    return (
        Chart("Coil energy against engine speed", SPEED, Axis("energy stored", "mJ"),
              (curve("energy", energy, speeds),), tuple(levels), tuple(marks)),
        Chart("Dwell time against engine speed", SPEED, Axis("dwell time", "ms"), (curve("dwell", time, speeds),)),
    )  # fmt: skip


def dwell_over_speed(values: Values, reading: float | None = None) -> tuple[Chart, ...]:
    """Chart dwell time against engine speed; the speed given is marked."""
    speed = reading if reading is not None else values["engine-speed"]

    def time(at: float) -> float:
        return _result("dwell-time", "dwell-time", _with(values, engine_speed=at))

    mark = Mark("{y} at {x}", speed, time(speed))
    line = curve("dwell", time, spaced(400, max(9000.0, speed)))
    return (Chart("Dwell time against engine speed", SPEED, Axis("dwell time", "ms"), (line,), (), (mark,)),)


def spring_against_inertia(values: Values, reading: float | None = None) -> tuple[Chart, ...]:
    """Chart the spring's force against what the moving arm asks for; `reading` is the speed of the miss in rpm."""
    force = values["spring-force"]
    limit = _result("points-float-speed", "engine-speed", values)
    top = max(1.3 * limit, reading or 0.0)
    asked = curve("arm asks for", lambda speed: force * (speed / limit) ** 2, spaced(300, top))
    marks = [Mark("floats at {x}", limit, force)]
    levels = [Level("spring {at}", force)]
    if reading is not None:
        levels.append(Level("miss at {at}", reading, upright=True))
    share = math.hypot(SHAPE, ARM)
    doubt = Band(f"±{100 * share:.0f} % for cam and arm", limit * (1 - share), limit * (1 + share), upright=True)
    chart = Chart("Points: spring force against inertia", SPEED, Axis("force at the contact", "ozf"),
                  (asked,), tuple(levels), tuple(marks), (doubt,))  # fmt: skip
    return (chart,)


def pump_against_demand(values: Values, reading: float | None = None) -> tuple[Chart, ...]:
    """Chart what the pump delivers over pressure at the measured volts; `reading` is the demand in gal/h."""
    volts = values["voltage"]
    stop = 1.1 * max(values["pressure"], 60.0)

    def at(voltage: float) -> Line:
        return curve(
            f"{voltage:.3g} V",
            lambda pressure: _result("pump-flow", "flow", _with(values, voltage=voltage, pressure=pressure)),
            spaced(0, stop),
        )

    lines = [at(volts)] + ([at(13.5)] if abs(volts - 13.5) > 0.2 else [])
    flow = _result("pump-flow", "flow", values)
    marks = (Mark("{y} at {x}", values["pressure"], flow),)
    levels = () if reading is None else (Level("demand {at}", reading),)
    axes = Axis("pressure, gauge", "psi"), Axis("flow", "gal/h")
    return (Chart("Pump flow against demand", *axes, tuple(lines), levels, marks),)


def duty_over_speed(values: Values, reading: float | None = None) -> tuple[Chart, ...]:
    """Chart injector duty over engine speed at this pulse width, with the 85 % limit; `reading` is a duty in %."""
    speed = values["engine-speed"]

    def duty(at: float) -> float:
        return _result("injector-duty", "duty", _with(values, engine_speed=at))

    marks = [Mark("{y} at {x}", speed, duty(speed))]
    if reading is not None:
        marks.append(Mark("reading {y}", speed, reading))
    line = curve("duty", duty, spaced(400, max(1.2 * speed, 4000.0)))
    levels = (Level("limit {at}", 85.0), Level("open all the time", 100.0))
    return (Chart("Injector duty over engine speed", SPEED, Axis("duty", "%"), (line,), levels, tuple(marks)),)


def _stations(words: Sequence[tuple[str, float]], name: str, title: str, unit: str) -> Chart:
    """Make a chart of values at places along a line."""
    axis = Axis("along the line", "1", tuple((float(place), at) for place, (at, _) in enumerate(words)))
    points = tuple((float(place), value) for place, (_, value) in enumerate(words))
    return Chart(title, axis, Axis(name, unit), (Line(name, points),))


def pressure_tank_to_rail(values: Values, reading: float | None = None) -> tuple[Chart, ...]:
    """Chart the pressure along the fuel line; `reading` is a rail pressure in psi."""
    given = {field.name: field.default or 0.0 for field in calculation("pressure-along-line").inputs} | dict(values)
    inlet = _result("pressure-along-line", "inlet-pressure", given)
    rail = _result("pressure-along-line", "rail-pressure", given)
    after_filter = given["pump-pressure"] - given["filter-drop"]
    stations = [
        ("tank", 0.0),
        ("strainer", -given["strainer-drop"]),
        ("pump in", inlet),
        ("pump out", given["pump-pressure"]),
        ("filter", after_filter),
        ("rail", rail),
    ]
    chart = _stations(stations, "pressure, gauge", "Pressure from tank to rail", "psi")
    if reading is not None:
        chart = chart._replace(marks=(Mark("reading {y}", 5.0, reading),))
    return (chart,)


def volts_along_feed(values: Values, reading: float | None = None) -> tuple[Chart, ...]:
    """Chart the voltage along the pump feed; `reading` is the voltage measured at the pump."""
    battery, current = values["battery"], values["current"]
    after_wire = battery - current * values["wire"]
    after_contacts = after_wire - current * values["contacts"]
    stations = [
        ("battery", battery),
        ("wire", after_wire),
        ("contacts", after_contacts),
        ("pump", after_contacts - current * values["ground"]),
    ]
    chart = _stations(stations, "voltage", "Voltage along the pump feed", "V")
    marks = () if reading is None else (Mark("reading {y}", 3.0, reading),)
    return (chart._replace(levels=(Level("wanted {at}", 13.0),), marks=marks),)


def margin_over_temperature(values: Values, reading: float | None = None) -> tuple[Chart, ...]:
    """Chart the vapour margin over fuel temperature; `reading` is a fuel temperature in °F."""
    temperature = reading if reading is not None else values["fuel-temperature"]

    def margin(at: float) -> float:
        return _result("vapour-margin", "margin", _with(values, fuel_temperature=at))

    mark = Mark("{y} at {x}", temperature, margin(temperature))
    line = curve("margin", margin, spaced(20, 160))
    levels = (Level("vapour lock likely under {at}", 2.0), Level("boils", 0.0))
    axes = Axis("fuel temperature", "degF"), Axis("margin", "psi")
    return (Chart("Vapour margin over fuel temperature", *axes, (line,), levels, (mark,)),)


def leak_over_hole(values: Values, reading: float | None = None) -> tuple[Chart, ...]:
    """Chart the air a leak lets in over its size; `reading` is a flow in lb/h."""
    hole = values["hole"]

    def air(at: float) -> float:
        return _result("air-through-hole", "air", _with(values, hole=at))

    line = curve("air", air, spaced(0.01, max(0.4, 1.3 * hole)))
    mark = Mark("{y} through {x}", hole, air(hole))
    levels = () if reading is None else (Level("reading {at}", reading),)
    return (Chart("Leak flow over hole size", Axis("hole", "in"), Axis("air flow", "lb/h"), (line,), levels, (mark,)),)


def before_and_after(values: Values, reading: float | None = None) -> tuple[Chart, ...]:  # noqa: ARG001 - all charts are called alike
    """Chart power and torque of two runs over engine speed."""
    runs = [(name, list(values[f"{name}-speeds"]), list(values[f"{name}-power"])) for name in ("before", "after")]
    power = tuple(Line(name, tuple(sorted(zip(speeds, powers, strict=True)))) for name, speeds, powers in runs)
    per_speed = 60 / (2 * 3.141592653589793) * UNITS["hp"].factor / UNITS["lbf*ft"].factor
    torque = tuple(Line(line.label, tuple((n, per_speed * p / n) for n, p in line.points)) for line in power)
    return (
        Chart("Power before and after", SPEED, Axis("power", "hp"), power),
        Chart("Torque before and after", SPEED, Axis("torque", "lbf*ft"), torque),
    )


Builder = Callable[[Values, float | None], tuple[Chart, ...]]
# By calculation: its chart, and the unit in which a reading for it is asked.
CHARTS: dict[str, tuple[Builder, str]] = {
    "dwell-time": (dwell_over_speed, "rpm"),
    "coil-energy-limit-speed": (coil_over_speed, "rpm"),
    "points-float-speed": (spring_against_inertia, "rpm"),
    "pump-flow": (pump_against_demand, "gal/h"),
    "injector-duty": (duty_over_speed, "%"),
    "pressure-along-line": (pressure_tank_to_rail, "psi"),
    "pump-supply-volts": (volts_along_feed, "V"),
    "vapour-margin": (margin_over_temperature, "degF"),
    "air-through-hole": (leak_over_hole, "lb/h"),
    "idle-leak-share": (leak_over_hole, "lb/h"),
    "mean-gain": (before_and_after, "hp"),
}


def charts_for(
    one: Definition, values: Values, reading: float | None = None, system: System = "us"
) -> tuple[Chart, ...]:
    """Return the charts of a calculation: its own, or its first result over its first input.

    `values` are in trade units by field name, whatever the system the charts are shown in; raises
    CalculationRefused where these have no answer.
    """
    own = CHARTS.get(one.name)
    if own is not None:
        return tuple(chart.in_system(system) for chart in own[0](values, reading))
    moved = next((f for f in one.inputs if not f.many and not f.whole), None)
    if moved is None:
        return ()
    return (result_over_input(one, values, moved.name).in_system(system),)


def result_over_input(one: Definition, values: Values, name: str) -> Chart:
    """Return the chart of a calculation's first result over one of its inputs, the present value marked."""
    field, output = one.field(name), one.outputs[0]
    now = float(values.get(name, field.default or field.low))
    low, high = field.usual or (field.low, field.high)
    low, high = max(field.low, min(low, now)), min(field.high, max(high, now))
    if high > 20 * max(abs(now), 1e-12) and now > 0:
        low, high = max(field.low, now / 4), min(high, 4 * now)

    def result(at: float) -> float:
        return _result(one.name, output.name, {**values, name: at})

    return Chart(
        one.title,
        Axis(field.words, field.unit),
        Axis(output.words, output.unit),
        (curve(output.words, result, spaced(low, high)),),
        (),
        (Mark("{y} at {x}", now, result(now)),),
    )
