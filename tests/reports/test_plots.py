"""Charts drawn as text and as SVG: whole, in bounds, readable without colour, safe with any label."""

import xml.etree.ElementTree as ElementTree

from hypothesis import given
from hypothesis import strategies as st

from troubleshoot.calculations.chart import Axis, Chart, Level, Line, Mark
from troubleshoot.calculations.curves import charts_for
from troubleshoot.calculations.registry import calculation
from troubleshoot.reports.plots import nice_ticks, small_plot, svg_plot, text_plot

CHART = Chart(
    "Flow",
    Axis("pressure", "psi"),
    Axis("flow", "gal/h"),
    (Line("12 V", ((0, 120.0), (60, 72.0))), Line("13.5 V", ((0, 135.0), (60, 87.0)))),
    (Level("demand", 90.0), Level("reading", 45.0, upright=True)),
    (Mark("now", 45.0, 84.0),),
)


def test_text_shows_lines_limits_marks_and_key():
    drawn = text_plot(CHART, 60, 14)
    assert max(len(line) for line in drawn.splitlines()) <= 60
    assert drawn.splitlines()[0] == "Flow"
    assert "pressure, psi" in drawn
    for sign in ("* 12 V", "o 13.5 V", "- demand", ": reading", "1 now"):
        assert sign in drawn
    assert drawn.isascii()


def test_a_rising_line_rises():
    """The sign of the line is higher on the right than on the left."""
    chart = Chart("t", Axis("x", "1"), Axis("y", "1"), (Line("up", ((0.0, 0.0), (1.0, 1.0))),))
    rows = [
        line.split("|", 1)[-1] if "|" in line else line.split("+", 1)[-1] for line in text_plot(chart).split("\n")[2:20]
    ]
    first = next(row for row in rows if "*" in row)
    last = next(row for row in reversed(rows) if "*" in row)
    assert first.index("*") > last.index("*")


def test_svg_is_a_whole_document_in_its_frame():
    root = ElementTree.fromstring(svg_plot(CHART))
    space = "{http://www.w3.org/2000/svg}"
    lines = root.findall(f"{space}polyline")
    assert len(lines) == 2
    for line in lines:
        for point in line.attrib["points"].split():
            x, y = map(float, point.split(","))
            assert 0 <= x <= 720
            assert 0 <= y <= 420
    words = [text.text for text in root.iter(f"{space}text")]
    assert {"Flow", "demand", "now", "12 V", "13.5 V"} <= set(words)
    assert len({line.attrib["stroke-dasharray"] for line in lines}) == 2, "told apart without colour"


def test_labels_are_never_markup():
    spoiled = CHART._replace(title="<script>alert(1)</script>", marks=(Mark('"><b>&', 45.0, 84.0),))
    text = svg_plot(spoiled)
    assert "<script>" not in text
    assert "<b>" not in text
    ElementTree.fromstring(text)


@given(
    st.lists(st.tuples(st.floats(-1e6, 1e6), st.floats(-1e6, 1e6)), min_size=1, max_size=8),
    st.integers(30, 160),
    st.integers(6, 40),
)
def test_any_points_are_drawn(points, width, height):
    chart = Chart("any", Axis("x", "rpm"), Axis("y", "psi"), (Line("line", tuple(sorted(points))),))
    drawn = text_plot(chart, width, height)
    assert "*" in drawn
    ElementTree.fromstring(svg_plot(chart))


@given(st.floats(-1e6, 1e6), st.floats(1e-3, 1e6))
def test_ticks_are_round_few_and_inside(low, span):
    ticks = nice_ticks(low, low + span)
    assert 1 <= len(ticks) <= 12
    slack = 1e-6 * (abs(low) + span)
    assert all(low - slack <= tick <= low + span + slack for tick in ticks)


@given(width=st.integers(30, 160), height=st.integers(9, 40))
def test_a_small_drawing_keeps_to_its_room_and_its_mark_lies_on_its_curve(width: int, height: int) -> None:
    """The curve passes the mark, so that it goes on beside the ring."""
    (chart,) = charts_for(
        calculation("points-float-speed"),
        {"spring-force": 17.0, "cylinders": 8.0, "dwell-angle": 30.0, "point-gap": 0.0169, "contact-radius": 26.0,
         "arm-inertia": 8.6},
        system="us",
    )  # fmt: skip
    drawn = small_plot(chart, width, height)
    assert len(drawn) <= height and all(len(line) <= width for line in drawn[1:])
    if drawn:
        field = [line.ljust(width) for line in drawn]
        (row,) = [place for place, line in enumerate(field) if "(1)" in line]
        column = field[row].index("(1)")
        above = "".join(field[one][column : column + 5] for one in (row - 1, row))
        below = "".join(field[one][max(0, column - 2) : column + 3] for one in (row, row + 1))
        assert "*" in above and "*" in below, "the curve goes on from the ring, upwards and downwards"
        assert "±29 % for cam and arm" in " ".join(drawn)


def test_where_there_is_no_room_nothing_is_drawn() -> None:
    chart = Chart("t", Axis("a", "1"), Axis("b", "1"), (Line("l", ((0.0, 0.0), (1.0, 1.0))),))
    assert small_plot(chart, 20, 20) == [] and small_plot(chart, 60, 3) == []
