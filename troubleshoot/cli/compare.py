"""`troubleshoot compare`: pulls before against pulls after, as a curve and a sentence."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from troubleshoot.cli import output
from troubleshoot.cli.options import global_options
from troubleshoot.problems import TroubleshootError

if TYPE_CHECKING:
    from troubleshoot.recordings.comparing import Comparison

WEATHER = "Barometer, air temperature and humidity of the day, as '29.6 inHg, 85 degF, 40 %'; corrected by SAE J1349."
WIDTH, HEIGHT = 76, 14


def compare(
    context: typer.Context,
    before: Annotated[list[Path] | None, typer.Option("--before", help="A pull before: dyno table or log.")] = None,
    after: Annotated[list[Path] | None, typer.Option("--after", help="A pull after: dyno table or log.")] = None,
    weather_before: Annotated[str | None, typer.Option(help=WEATHER)] = None,
    weather_after: Annotated[str | None, typer.Option(help=WEATHER)] = None,
    keep: Annotated[str | None, typer.Option("--keep-baseline", help="Keep the pulls before under this car.")] = None,
    baseline: Annotated[str | None, typer.Option(help="Compare with the pulls kept under this car.")] = None,
    page: Annotated[Path | None, typer.Option("-o", "--output", help="Write the curves as a page of HTML.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the comparison as JSON.")] = False,
) -> None:
    """Compare pulls before a repair with pulls after.

    Two or more on each side: one pull does not show how much pulls differ by themselves.
    """
    from troubleshoot.recordings.baselines import baseline_of, keep_baseline
    from troubleshoot.recordings.comparing import compared
    from troubleshoot.recordings.pull_curve import read_pull

    wanted = global_options(context)
    folder = wanted.casebook_path.parent
    factors = (factor_of(weather_before), factor_of(weather_after))
    first = [read_pull(wanted.here / one) for one in before or ()]
    if baseline is not None:
        if first:
            raise TroubleshootError("Pulls before were given twice.", "Give either --before or --baseline.")
        first, factors = baseline_of(folder, baseline), (1.0, factors[1])
    if keep is not None:
        if len(first) < 2 or baseline is not None:
            raise TroubleshootError("A baseline needs two pulls or more.", "Give them with --before.")
        keep_baseline(folder, keep, first, factors[0])
        output.say(f"Kept {len(first)} pulls as the baseline of {keep}.")
        if not after:
            return
    found = compared(first, [read_pull(wanted.here / one) for one in after or ()], factors)
    if page is not None:
        output.write_out(_page(found), wanted.here / page)
    if as_json:
        output.data(json.dumps(comparison_data(found), indent=1))
        return
    _say(found)


def factor_of(weather: str | None) -> float:
    """Return the factor of SAE J1349 for the weather of a day; 1 where none is given."""
    if weather is None:
        return 1.0
    from troubleshoot.calculations.units import read_quantity
    from troubleshoot.calculations.weather import dry_air_pressure, power_factor_j1349

    parts = [one.strip() for one in weather.replace(";", ",").split(",")]
    if len(parts) != 3:
        raise TroubleshootError(f"{weather[:60]!r} is no weather.", "Give three, as: 29.6 inHg, 85 degF, 40 %")
    barometer = read_quantity(parts[0], "kPa").value * 1000.0
    kelvin = (read_quantity(parts[1], "degF").value + 459.67) / 1.8
    humidity = read_quantity(parts[2], "%").value / 100.0
    if not 50e3 < barometer < 120e3 or not 230 < kelvin < 330 or not 0 <= humidity <= 1:
        raise TroubleshootError(f"{weather[:60]!r} is no weather of this earth.", "Look at the units.")
    return float(power_factor_j1349(float(dry_air_pressure(barometer, humidity, kelvin)), kelvin))


def comparison_data(found: Comparison) -> dict[str, object]:
    """Return a comparison as plain data."""
    return {
        "sentence": found.sentence,
        "unit": found.unit,
        "pulls": {"before": found.pulls[0], "after": found.pulls[1]},
        "shown": found.whole.shown,
        "mean": {"difference": found.whole.difference, "half-of-95-percent": found.whole.half},
        "at": [
            {
                "rpm": one.speed,
                "before": one.before,
                "after": one.after,
                "difference": one.difference,
                "half-of-95-percent": one.half,
                "shown": one.shown,
            }
            for one in found.at
        ],
    }


def _say(found: Comparison) -> None:
    from troubleshoot.recordings.comparing import comparison_charts
    from troubleshoot.reports.plots import text_plot

    for chart in comparison_charts(found):
        output.say(text_plot(chart, WIDTH, HEIGHT))
    for one in found.at:
        shown = "" if one.shown else "  no difference shown"
        output.data(
            f"{one.speed:6.0f} rpm  {one.before:8.1f}  {one.after:8.1f}  {one.difference:+7.1f} ± {one.half:.1f}{shown}"
        )
    output.data(found.sentence)


def _page(found: Comparison) -> str:
    from html import escape

    from troubleshoot.recordings.comparing import comparison_charts
    from troubleshoot.reports.plots import svg_plot

    drawn = "\n".join(svg_plot(chart) for chart in comparison_charts(found))
    head = '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><title>Before and after</title></head>'
    return f"{head}\n<body>\n<h1>Before and after</h1>\n<p>{escape(found.sentence)}</p>\n{drawn}\n</body></html>\n"


def register(app: typer.Typer) -> None:
    """Add the command to an application."""
    app.command("compare")(compare)
