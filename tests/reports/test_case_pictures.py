"""The drawings of a report: the mark stands where the reading lies, belief goes as the case went."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest

from troubleshoot.case.case import case_in_memory
from troubleshoot.case.settings import CaseSettings
from troubleshoot.case.view import BandShown
from troubleshoot.knowledge.catalogue import load_catalogue
from troubleshoot.reports.case_html import as_html
from troubleshoot.reports.case_pictures import EDGE, WIDE, Ruler, belief_svg, ruler_svg
from troubleshoot.reports.case_report import report_of


@pytest.mark.parametrize(("value", "band"), [(5.0, 0), (30.0, 1), (50.0, 2)])
def test_the_mark_stands_in_the_band_of_the_reading(value: float, band: int) -> None:
    """Dwell limits of an eight, 26.5 to 33.5 degrees (common practice 28 to 32, and the meter's error)."""
    bands = (
        BandShown("low", "low", None, 26.5, False), BandShown("normal", "<holds>", 26.5, 33.5, True, "", "", "26.5"),
        BandShown("high", "high", 33.5, None, False, "", "", "33.5"),
    )  # fmt: skip
    drawn = ElementTree.fromstring(ruler_svg(Ruler(bands, value, 0.7, f"{value:g}°")))
    boxes = [one for one in drawn if one.tag.endswith("rect")][1:]
    mark = next(one for one in drawn if one.tag.endswith("line") and one.get("y1") == "16.0")
    at, left = float(mark.get("x1", 0)), float(boxes[band].get("x", 0))
    assert left <= at <= left + float(boxes[band].get("width", 0))
    assert EDGE <= at <= WIDE - EDGE


def test_the_page_has_a_ruler_a_number_and_belief_over_time() -> None:
    """One drawing for each number read and one for the cause; every word is escaped and nothing is loaded."""
    catalogue = load_catalogue(None)
    case = case_in_memory(catalogue, catalogue.cars["harrow-240"], ["wont-rev"], CaseSettings(learn=False))
    for check, text in (("break-up-speed", "3488 rpm"), ("dwell-at-speed", "5"), ("dwell-at-idle", "30.2")):
        case.take(check, text, sure=True)
    report = report_of(case)
    page = as_html(report)
    assert page.count("<svg") == 4 and "Probability of: Breaker points floating at speed" in page
    assert [round(one.after, 6) for one in report.course][-1] == round(case.view().ranked[0].probability, 6)
    assert not re.search(r"(?:src|href)=", page)


def test_nothing_done_draws_nothing() -> None:
    """No step, no line."""
    assert belief_svg("Nothing", ()) == ""
