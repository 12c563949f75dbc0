"""What `troubleshoot calc NAME` prints: the answer, its working, its chart."""

import textwrap
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import typer

from troubleshoot.calculations.chart import Chart
from troubleshoot.calculations.definition import Calculation
from troubleshoot.calculations.evaluation import Answer
from troubleshoot.calculations.fields import Field, default_in
from troubleshoot.calculations.refusals import CalculationRefused
from troubleshoot.calculations.units import (
    Measured,
    QuantityRefused,
    System,
    convert,
    convert_difference,
    display_unit,
    inside_unit,
    read_quantities,
    read_quantity,
    show_measured,
    show_number,
    show_worked_out,
    with_unit,
)
from troubleshoot.cli import output

WIDTH = 78


def answer_command(
    context: typer.Context,
    one: Calculation,
    given: Mapping[str, str],
    *,
    explain: bool,
    as_json: bool,
    plot: bool,
    svg: Path | None,
    reading: str | None,
    units: System | None,
) -> None:
    """Read what was typed, work the calculation out, and print it."""
    system: System = units or context.meta.get("troubleshoot.calc.units", "us")
    answer = one.answer({name: read_input(one.field(name), text, system) for name, text in given.items()}, system)
    charts = _charts(answer, system, reading) if plot or svg is not None else ()
    if as_json:
        output.as_json(_as_data(answer, system))
    else:
        for line in answer_lines(answer, system):
            output.data(line)
        if explain:
            output.data()
            for line in _working_lines(answer, system):
                output.data(line)
        for note in answer.notes:
            output.say("\n".join(textwrap.wrap(f"Note: {note}", WIDTH)))
    _draw(charts, plot and not as_json, svg)


def read_input(field: Field, text: str, system: System) -> Measured | tuple[Measured, ...]:
    """Read one input as typed; a bare number is in the field's unit of that system.

    Raises CalculationRefused that names the field, the value and what is allowed.
    """
    unit = field.unit_in(system)
    try:
        return read_quantities(text, unit) if field.many else read_quantity(text, unit)
    except QuantityRefused as refused:
        sentence = f"--{field.name}: {refused.sentence}"
        advice = f"{refused.advice} Allowed: {field.allowed}."
        raise CalculationRefused(field.name, text, field.allowed, sentence, advice) from None


def answer_lines(answer: Answer, system: System) -> list[str]:
    """Return the inputs as understood and the results, one a line."""
    rows = [
        (f"  {field.words}", _taken(answer, field, field.unit_in(system)), field) for field in answer.calculation.inputs
    ]
    wide = max(len(words) for words, _, _ in rows) + 2 if rows else 20
    results = [
        (f"= {field.words}", show_worked_out(answer.outputs[field.name], field.unit_in(system)))
        for field in answer.calculation.outputs
    ]
    wide = max([wide, *(len(words) + 2 for words, _ in results)])
    lines = [answer.calculation.title]
    for words, shown, field in rows:
        taken = "   (not given)" if field.name in answer.defaulted else ""
        lines.append(f"{words:<{wide}}{shown}{taken}")
    return lines + [f"{words:<{wide}}{shown}" for words, shown in results]


def _working_lines(answer: Answer, system: System) -> list[str]:
    """Return the working step by step, then where it holds, where it is from and what it tells."""
    from troubleshoot.calculations.working import steps

    one = answer.calculation
    lines = ["With"]
    inside: dict[str, Any] = {}
    for parameter, field in zip(one.parameters, one.inputs, strict=True):
        taken = answer.inputs[field.name]
        values = (taken,) if isinstance(taken, Measured) else taken
        numbers = tuple(field.to_inside(value.value) for value in values)
        inside[parameter] = numbers if field.many else numbers[0]
        told = ", ".join(
            with_unit(show_number(n, 5), unit) if (unit := inside_unit(field.unit)) else show_number(n, 5)
            for n in numbers
        )
        lines.append(f"  {field.symbol} = {told}")
    lines.append("Working")
    for step in steps(one, inside):
        lines.append(f"  {step.formula}")
        if step.value is not None:
            lines.append(f"    {step.with_numbers} = {show_number(step.value, 5)}")
    for field in one.outputs:
        lines.append(f"  {field.words}: {show_worked_out(answer.outputs[field.name], field.unit_in(system))}")
    lines += list(_shares(answer))
    parts = one.documentation
    for name, text in (("Valid", parts.valid), ("Source", parts.source), ("Use", parts.use)):
        lines += textwrap.wrap(f"{name}: {text}", WIDTH, subsequent_indent="  ")
    return lines


def _shares(answer: Answer) -> Iterable[str]:
    """Yield which reading the uncertainty of each result comes from."""
    for name, shares in answer.shares.items():
        parts = sorted(shares.items(), key=lambda item: -item[1])
        told = ", ".join(f"{100 * share:.0f} % from {field}" for field, share in parts if share > 0.005)
        if told:
            yield f"  Of the uncertainty of {name}: {told}."


def _taken(answer: Answer, field: Field, unit: str) -> str:
    """Write an input as it was understood, or what it is taken as where it was not given."""
    return default_in(field, unit) if field.name in answer.defaulted else _shown(answer.inputs[field.name], unit)


def _shown(taken: Measured | tuple[Measured, ...], unit: str) -> str:
    """Write an input, one value or several."""
    values = (taken,) if isinstance(taken, Measured) else taken
    return ", ".join(show_measured(value, unit=unit) for value in values)


def _as_data(answer: Answer, system: System) -> dict[str, Any]:
    """Return an answer as a program may want it, in the units of the system."""
    one = answer.calculation
    return {
        "calculation": one.name,
        "title": one.title,
        "inputs": {field.name: _values(answer.inputs[field.name], field.unit_in(system)) for field in one.inputs},
        "not_given": sorted(answer.defaulted),
        "outputs": {field.name: _values(answer.outputs[field.name], field.unit_in(system)) for field in one.outputs},
        "notes": list(answer.notes),
    }


def _values(taken: Measured | tuple[Measured, ...], unit: str) -> dict[str, Any] | list[dict[str, Any]]:
    """Return a value, or a list of them, with unit and uncertainty."""
    return _value(taken, unit) if isinstance(taken, Measured) else [_value(one, unit) for one in taken]


def _value(measured: Measured, unit: str) -> dict[str, Any]:
    """Return one value with its unit and uncertainty."""
    spread = measured.uncertainty
    return {
        "value": float(f"{convert(measured.value, measured.unit, unit):.12g}"),
        "unit": unit,
        "uncertainty": None if spread is None else convert_difference(spread, measured.unit, unit),
        "understood": measured.understood,
    }


def _charts(answer: Answer, system: System, reading: str | None) -> tuple[Chart, ...]:
    """Return the charts of an answer with the reading marked."""
    from troubleshoot.calculations.curves import CHARTS, charts_for

    one = answer.calculation
    marked = None
    if reading is not None:
        if one.name not in CHARTS:
            output.fail(f"The chart of {one.name} takes no reading.", "Leave --reading out.")
        unit = CHARTS[one.name][1]
        marked = convert(read_quantity(reading, display_unit(unit, system)).value, display_unit(unit, system), unit)
    values = {
        name: taken.value if isinstance(taken, Measured) else tuple(one.value for one in taken)
        for name, taken in answer.inputs.items()
    }
    charts = charts_for(one, values, marked, system)
    if not charts:
        output.fail(f"{one.name} has no chart.", "Leave --plot and --svg out.")
    return charts


def _draw(charts: tuple[Chart, ...], plot: bool, svg: Path | None) -> None:
    """Draw charts as text, to SVG files, or both; further charts get the file's name with a number."""
    from troubleshoot.reports.plots import svg_plot, text_plot

    for chart in charts if plot else ():
        output.data()
        output.data(text_plot(chart))
    for place, chart in enumerate(charts if svg is not None else ()):
        path = svg if place == 0 or svg is None else svg.with_stem(f"{svg.stem}-{place + 1}")
        output.write_out(svg_plot(chart), path)
