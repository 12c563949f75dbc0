"""`troubleshoot compare`: pulls before against pulls after, as a curve and a sentence."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from troubleshoot.cli import output
from troubleshoot.cli.options import GlobalOptions, global_options
from troubleshoot.problems import TroubleshootError

if TYPE_CHECKING:
    from troubleshoot.recordings.compared_pulls import ComparedPulls
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
    kept_with: Annotated[str | None, typer.Option("--case", help="Keep the comparison with this case.")] = None,
    page: Annotated[Path | None, typer.Option("-o", "--output", help="Write the curves as a page of HTML.")] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print the comparison as JSON.")] = False,
) -> None:
    """Compare pulls before a repair with pulls after.

    Two or more on each side: one pull does not show how much pulls differ by themselves.
    """
    from troubleshoot.recordings.compared_pulls import PullsAsked, compare_pulls

    wanted = global_options(context)
    if baseline is not None and (before or keep is not None):
        raise TroubleshootError("Pulls before were given twice.", "Give either --before or --baseline.")
    if not before and baseline is None:
        raise TroubleshootError("Pulls before are missing.", "Give two with --before, or --baseline.")
    asked = PullsAsked(
        tuple(wanted.here / one for one in before or ()),
        tuple(wanted.here / one for one in after or ()),
        weather_before or "",
        weather_after or "",
        _title(wanted, keep or baseline or ""),
        wanted.casebook_path.parent,
        keep is not None,
    )
    pulls = compare_pulls(asked)
    if asked.keep:
        output.say(f"Kept {len(asked.before)} pulls as the baseline of {asked.car}.")
    if pulls is None:
        return
    if kept_with is not None:
        _keep(wanted, kept_with, pulls)
    if page is not None:
        output.write_out(_page(pulls.found), wanted.here / page)
    if as_json:
        output.as_json(comparison_data(pulls.found))
        return
    say_comparison(pulls.found)


def _title(wanted: GlobalOptions, car: str) -> str:
    """Return a car's title where its id was given; the name itself for any other."""
    known = wanted.catalogue().cars.get(car)
    return known.title if known is not None else car


def _keep(wanted: GlobalOptions, case_id: str, pulls: ComparedPulls) -> None:
    from troubleshoot.case.case import resume_case
    from troubleshoot.case.recorded import keep_comparison

    with wanted.open_casebook() as book:
        keep_comparison(resume_case(book, wanted.catalogue(), case_id, wanted.clock, wanted.settings()), pulls)
    output.say(f"Kept with case {case_id}.")


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


def say_comparison(found: Comparison) -> None:
    """Print the curves where people look on, each speed's difference, and the sentence."""
    from troubleshoot.recordings.comparing import charts_over_speed, points_of
    from troubleshoot.reports.plots import text_plot

    for chart in charts_over_speed(points_of(found), found.unit):
        output.say(text_plot(chart, WIDTH, HEIGHT))
    for one in found.at:
        output.data(one.line)
    output.data(found.sentence)


def _page(found: Comparison) -> str:
    from html import escape

    from troubleshoot.recordings.comparing import charts_over_speed, points_of
    from troubleshoot.reports.plots import svg_plot

    drawn = "\n".join(svg_plot(chart) for chart in charts_over_speed(points_of(found), found.unit))
    head = '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8"><title>Before and after</title></head>'
    return f"{head}\n<body>\n<h1>Before and after</h1>\n<p>{escape(found.sentence)}</p>\n{drawn}\n</body></html>\n"


def register(app: typer.Typer) -> None:
    """Add the command to an application."""
    app.command("compare")(compare)
