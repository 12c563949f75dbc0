"""The sheets of a tree: every step for this car, no way that ends nowhere, and pages that print and can be read."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from itertools import pairwise

import pytest

from troubleshoot.knowledge.catalogue import load_catalogue
from troubleshoot.knowledge.compiling import checks_for
from troubleshoot.reports.chart_sheets import chart_sheets
from troubleshoot.reports.chart_sheets_pages import sheet_html, sheet_markdown, sheet_pages

SPACE = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def trees():
    return load_catalogue()


@pytest.fixture(scope="module")
def lean_top(trees):
    return chart_sheets(trees, trees.cars["harrow-240"], "lean-top", "us")


@pytest.mark.parametrize("car", ["harrow-240", "tarn-six-160-electronic"])
def test_no_way_ends_nowhere(trees, car):
    """A service manual's steps lead on, to a repair, or say what is likeliest (common practice, no source)."""
    for concern, tree in trees.concerns.items():
        made = chart_sheets(trees, trees.cars[car], concern, "us")
        numbers = {one.number for one in (*made.checks, *made.repairs)}
        assert len(numbers) == len(made.checks) + len(made.repairs)
        gone = {1}
        for check in made.checks:
            assert len(check.ways) >= 2
            for way in check.ways:
                found = re.fullmatch(
                    r"go to (\d+)|REPAIR (\d+): .+|likeliest: .+; else go on as if normal|put it right.*, then go on"
                    r"|see “Every step normal”|(?:take it again, then )?go on as if normal",
                    way.goes,
                )
                assert found, (concern, way)
                gone |= {int(one) for one in found.groups() if one}
        assert gone == numbers, f"{concern}: every step and repair is come to"
        assert (
            len(made.checks) == len(set(tree.items) & set(checks_for(trees, trees.cars[car], [concern]))) or tree.steps
        )


def test_a_danger_is_not_begun_with_fuses_and_not_sent_on(trees):
    """Where fuel is smelt nothing is switched or unplugged, and what is not found is not cleared (local fire codes)."""
    made = chart_sheets(trees, trees.cars["harrow-240"], "fuel-smell", "us")
    assert made.preliminary[0] == f"{trees.checks['preliminary-look-smell'].ask} (step 1)"
    assert not any("put right" in one.casefold() for one in made.preliminary)
    assert "NOT CLEARED" in made.normal[-1]
    assert "send the car on" in chart_sheets(trees, trees.cars["harrow-240"], "lean-top", "us").normal[-1]


@pytest.mark.parametrize("concern", ["no-start", "fit-up"])
def test_what_does_not_run_is_not_proved_by_running(trees, concern):
    """A check that needs a running engine is named for later only (common practice, no source)."""
    made = chart_sheets(trees, trees.cars["harrow-240"], concern, "us")
    later = ("idle", "held speed", "under load", "cold start", "after stop")
    asks = tuple(check.ask for check in trees.checks.values() if check.state in later)
    for said in (*(one.confirm for one in made.repairs), *made.normal):
        assert "only once it runs" in said or not any(ask in said for ask in asks), said


def test_a_step_that_the_car_cannot_have_is_passed(trees):
    """There is no dwell to set where a pickup replaces the points: as if it had been normal, the next step follows."""
    points = chart_sheets(trees, trees.cars["harrow-240"], "wont-rev", "us")
    pickup = chart_sheets(trees, trees.cars["harrow-240-electronic"], "wont-rev", "us")
    assert any("Dwell" in one.ask for one in points.checks)
    assert not any("Dwell" in one.ask for one in pickup.checks)
    assert not any(name == "Dwell" for name, _ in pickup.specification)
    assert {"Dwell", "Base timing"} <= {name for name, _ in points.specification}


def test_a_repair_is_confirmed_by_what_can_be_done_here(trees):
    """A car that does not start has no volts under load to read; the prime tells of the feed."""
    made = chart_sheets(trees, trees.cars["tarn-six-160-electronic"], "no-start", "us")
    feed = next(one for one in made.repairs if one.title == trees.causes["pump-volts-low"].title)
    assert trees.checks["pump-volts-key-on"].ask in feed.confirm


def test_limits_are_those_of_this_car(trees, lean_top):
    """1 psi is 0.06895 bar (NIST SP 811, appendix B.8)."""
    metric = chart_sheets(trees, trees.cars["harrow-240"], "lean-top", "metric")
    low, high = (float(one) for one in re.findall(r"[\d.]+", dict(lean_top.specification)["Fuel pressure at idle"]))
    assert low < trees.cars["harrow-240"].rated_pressure < high
    bar = [float(one) for one in re.findall(r"[\d.]+", dict(metric.specification)["Fuel pressure at idle"])]
    assert bar == pytest.approx([low * 0.06894757, high * 0.06894757], abs=0.02)


def test_a_step_says_how_with_what_and_what_is_dangerous(trees, lean_top):
    """Signal words as in ANSI Z535.6, and every caution in words on the same sheets."""
    ground = trees.checks["pump-ground-drop"]
    step = next(one for one in lean_top.checks if one.ask == ground.ask)
    assert step.do == tuple(ground.do)
    assert step.drawing == ground.drawing.rstrip()
    named = {lean_top.cautions[int(at) - 1].id for at in re.findall(r"\d+", step.cautions)}
    assert named == set(ground.cautions)
    assert step.cautions.startswith("DANGER ")
    again = [one for one in lean_top.checks if one.ask == ground.ask][1]
    assert (again.do, again.like) == ((), step.number)
    repair = next(one for one in lean_top.repairs if one.title == trees.causes["pump-ground-poor"].title)
    assert ground.ask in repair.confirm
    assert repair.retest


def test_pages_print_on_a4_and_letter(lean_top):
    """A4 is 210 by 297 mm (ISO 216), US Letter 8.5 by 11 in (ANSI/ASME Y14.1); nothing lies on anything else."""
    for page in sheet_pages(lean_top):
        root = ElementTree.fromstring(page)
        paper = [float(root.attrib[side].removesuffix("mm")) for side in ("width", "height")]
        assert paper[0] <= min(210, 8.5 * 25.4)
        assert paper[1] <= min(297, 11 * 25.4)
        wide, high = map(float, root.attrib["viewBox"].split()[2:])
        letter = float(root.attrib["font-size"])
        assert letter >= 7.0
        lines = [(float(one.attrib["x"]), float(one.attrib["y"]), one.text or "") for one in root.iter(f"{SPACE}text")]
        for left, right in ((0, wide / 2), (wide / 2, wide)):
            column = sorted((y, x, words) for x, y, words in lines if left < x < right and y < high - 35)
            assert all(after[0] - before[0] > letter for before, after in pairwise(column))
            assert all(x + 0.58 * letter * len(words) < right for _, x, words in column[1:])


def test_pages_hold_everything(trees, lean_top):
    """What the sheets say stands on the pages, in the HTML of all pages, and in Markdown."""
    pages = "".join(sheet_pages(lean_top))
    seen = " ".join(" ".join(one.itertext()) for one in ElementTree.fromstring(f"<a>{pages}</a>").iter(f"{SPACE}text"))
    seen = " ".join(seen.split())
    for text in (
        "SPECIFICATION: this car",
        "PRELIMINARY",
        "EVERY STEP NORMAL",
        "READ FIRST",
        "R red lead, B black lead",
    ):
        assert text in seen
    for one in (*lean_top.checks, *lean_top.repairs):
        assert f"{one.number} " in seen
        assert " ".join((one.do or [""])[-1].split())[-20:] in seen
    for caution in lean_top.cautions:
        assert caution.title in seen
        assert caution.card[0][-20:] in seen
    assert sheet_html(lean_top).count("<svg ") == len(sheet_pages(lean_top))
    markdown = sheet_markdown(lean_top)
    assert markdown.count("- [ ]") >= sum(len(one.ways) for one in lean_top.checks)
    assert markdown.count("```") == 2 * sum(bool(one.drawing) for one in lean_top.checks)
