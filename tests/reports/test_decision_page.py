"""A decision tree on paper: on one page, whole where it fits, the likeliest ways where it does not."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest

from troubleshoot.case.shares import percent
from troubleshoot.knowledge.bands import bands_for
from troubleshoot.knowledge.catalogue import load_catalogue
from troubleshoot.knowledge.compiling import compile_problem
from troubleshoot.knowledge.problem_file import read_problem
from troubleshoot.reasoning.charting import Ending, Node, chart
from troubleshoot.reasoning.policies import AuthoredStep
from troubleshoot.reports.chart_words import ChartWords, tree_words
from troubleshoot.reports.decision_chart import chart_page
from troubleshoot.reports.decision_page import decision_page

SPACE = "{http://www.w3.org/2000/svg}"
PROBLEMS = Path(__file__).parents[1] / "published" / "problems"
CAR = "tarn-six-160"


@pytest.fixture(scope="module")
def trees():
    return load_catalogue()


@pytest.fixture(scope="module")
def drawn(trees):
    """Return what gives the chart of a shipped tree as written, and its words, for one example car."""

    @cache
    def charted(concern):
        steps = {
            name: AuthoredStep(one.check, one.next, one.repair) for name, one in trees.concerns[concern].steps.items()
        }
        problem = compile_problem(trees, trees.cars[CAR], [concern])
        return chart(problem, "authored", steps=steps, least_reach=0.01)

    return lambda concern, system="us": (charted(concern), tree_words(trees, trees.cars[CAR], concern, system))


def lines_of(page):
    """Return every line of text of a page as (x, y, words)."""
    return [
        (float(one.attrib["x"]), float(one.attrib["y"]), " ".join("".join(one.itertext()).split()))
        for one in ElementTree.fromstring(page).iter(f"{SPACE}text")
    ]


@pytest.mark.parametrize("concern", ["lean-top", "wont-rev", "no-start"])
def test_a_shipped_tree_fits_on_one_page(drawn, concern):
    """A4 is 210 by 297 mm (ISO 216), US Letter 8.5 by 11 in (ANSI/ASME Y14.1): it fits on either without shrinking.

    Every line lies inside it, none on another, and letters are no smaller than 7 points.
    """
    page = decision_page(*drawn(concern))
    root = ElementTree.fromstring(page)
    paper = [float(root.attrib[side].removesuffix("mm")) for side in ("width", "height")]
    assert paper[0] <= min(210, 8.5 * 25.4)
    assert paper[1] <= min(297, 11 * 25.4)
    wide, high = map(float, root.attrib["viewBox"].split()[2:])
    assert (wide, high) == pytest.approx([side / 25.4 * 72 for side in paper], abs=0.2), "its unit is the point"
    assert float(root.attrib["font-size"]) >= 7.0
    lines = lines_of(page)
    assert all(0 < x < wide and 0 < y < high for x, y, _ in lines)
    below = sorted(y for x, y, _ in lines if x < wide / 2)
    assert all(after - before > 7.0 for before, after in pairwise(below))
    for part in root.iter(f"{SPACE}rect"):
        assert float(part.attrib.get("y", 0)) + float(part.attrib["height"]) <= high


def test_the_ways_met_most_often_are_followed_first(drawn):
    """The first step has all its branches, and so has the one that most of them come to."""
    made, words = drawn("lean-top")
    text = "\n".join(words for _, _, words in lines_of(decision_page(made, words)))
    assert isinstance(made.root, Node)
    for after in made.root.after:
        assert f"{words.outcome(made.root.id, after.label)} {percent(after.probability)}" in text
    followed = max(made.root.after, key=lambda one: one.probability)
    assert isinstance(followed, Node)
    assert all(
        f"{words.outcome(followed.id, after.label)} {percent(after.probability)}" in text for after in followed.after
    )


def steps_below(node):
    """Count the steps of a tree."""
    return 0 if isinstance(node, Ending) else 1 + sum(steps_below(after) for after in node.after)


@pytest.mark.parametrize(
    "name", ["computer-fault", "overlapping-actions", "circuit-board", "test-sequencing", "two-causes"]
)
def test_a_small_problem_is_drawn_whole(name):
    """Every step stands on the page once, and nothing is left to the program."""
    read = read_problem(PROBLEMS / f"{name}.yaml")
    made = chart(read.problem, "one-step")
    text = [words for _, _, words in lines_of(decision_page(made, ChartWords("A", "B", read.words)))]
    assert not any(line.endswith(" …") for line in text)
    assert sum(line.count("CHECK ") + line.count("REPAIR ") for line in text) == steps_below(made.root)


def test_depth_is_kept(drawn):
    made, words = drawn("lean-top")
    text = [line for _, _, line in lines_of(decision_page(made, words, depth=1))]
    assert sum("CHECK" in line or "REPAIR" in line for line in text) == 1 + sum(
        not isinstance(after, Ending) for after in made.root.after
    )


def test_limits_are_those_of_this_car_in_the_units_asked_for(trees, drawn):
    """1 psi is 0.06895 bar (NIST SP 811, appendix B.8), and no finer than a gauge good to 1 psi can tell."""
    check = trees.checks["pressure-when-lean"]
    low = bands_for(check, trees.cars[CAR], None, trees.checks)[0].high
    assert check.reading.unit == "psi"
    for system, value, unit in (("us", f"{low:.0f}", "psi"), ("metric", f"{low * 0.06894757:.2f}", "bar")):
        page = decision_page(*drawn("lean-top", system))
        assert f"low (up to {value} {unit})" in page


def test_a_step_names_its_cautions_the_worst_first(drawn):
    """Signal words as in ANSI Z535.6; the caution itself stands once, below the tree."""
    made, words = drawn("lean-top")
    for text in (decision_page(made, words), chart_page(made, words)):
        assert "DANGER 1 2" in text
        read = " ".join(re.sub(r"<[^>]*>", " ", text).split())
        assert "DANGER: Fuel vapour and ignition sources" in read
    for step in words.cautions.values():
        signals = [("DANGER", "WARNING", "CAUTION", "NOTICE").index(one.partition(":")[0]) for one in step]
        assert signals == sorted(signals)


def test_a_check_and_a_repair_of_one_id_keep_their_own_words(trees):
    words = tree_words(trees, trees.cars[CAR], "lean-top", "us")
    assert all(words.said("check", name) == check.ask for name, check in trees.checks.items())
    assert all(words.said("repair", name) == cause.title for name, cause in trees.causes.items())


def test_a_word_without_end_stays_on_the_page(drawn):
    """At a width of 0.6 of its height a letter is wider than those of the usual sans-serif faces."""
    made, words = drawn("lean-top")
    page = decision_page(made, replace(words, words={made.root.id: "x" * 600}, title="A", notes=("y" * 600,)))
    height = float(ElementTree.fromstring(page).attrib["font-size"])
    rows = [(x, line) for x, _, line in lines_of(page) if "xxx" in line or "yyy" in line]
    assert len(rows) > 8
    assert all(x + 0.6 * height * len(line) < 595 for x, line in rows)


def test_words_are_never_markup(drawn):
    made, _ = drawn("lean-top")
    spoiled = ChartWords("<script>alert(1)</script>", '"><b>&', {made.root.id: "</text><script>"}, ("<i>",))
    page = decision_page(made, spoiled)
    assert "<script>" not in page
    assert "<b>" not in page
    ElementTree.fromstring(page)
    assert "\\<script\\>" in chart_page(made, spoiled)
