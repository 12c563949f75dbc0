"""A report has the trade's three lines, the readings with limits and basis, and shows typed words literally."""

from __future__ import annotations

import html
import re
from html.parser import HTMLParser

import pytest
from hypothesis import given
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from troubleshoot.case.case import Case
from troubleshoot.case.events import Fitted
from troubleshoot.case.kept_events import decode, encode
from troubleshoot.reports.case_html import as_html
from troubleshoot.reports.case_markdown import as_markdown
from troubleshoot.reports.case_report import report_of
from troubleshoot.reports.case_text import as_text
from troubleshoot.reports.customer_page import customer_page
from troubleshoot.reports.markdown import escaped, start_safe

COMMONMARK = MarkdownIt("commonmark").enable("table")


def test_concern_cause_correction(finished: Case) -> None:
    text = as_text(report_of(finished))
    lines = {line.split()[0]: line for line in text.splitlines() if line[:1].isupper() and line.split()}
    assert "Goes lean at the top" in lines["CONCERN"]
    assert "Inlet strainer blocked (proved)" in lines["CAUSE"]
    assert "Clean the strainer." in lines["CORRECTION"]
    assert "Retest: the concern is gone. What proves it:" in text
    assert "It was: Inlet strainer blocked." in " ".join(text.split())
    assert "61 minutes; parts 15" in text
    assert all(len(line) <= 78 for line in text.splitlines())
    before = text.split("Likely before the first repair")[1].splitlines()[1]
    assert before.split()[0].isdigit() and before.endswith(("% Inlet strainer blocked (likely)", "(very likely)"))


def test_readings_come_with_limits_and_basis_and_the_trail_with_times(finished: Case) -> None:
    report = report_of(finished)
    first = report.readings[0]
    assert (first.read, first.limits, first.basis, first.normal) == (
        "38 ± 1 psi",
        "46 to 54 psi",
        "common practice",
        False,
    )
    assert "rated pressure of this car" in first.worked_out[0]
    assert [line.time for line in report.trail] == sorted(line.time for line in report.trail)
    assert report.trail[0].time == "2023-11-14 22:20", (
        "the pressure, seven minutes after 22:13:20; cautions stand apart"
    )
    assert report.cautions == ("WARNING: Belts and fan",)


def test_markdown_shows_what_was_typed_and_nothing_more(finished: Case) -> None:
    """Read by an independent CommonMark reader: the words come out as typed, and none of them is markup."""
    made = as_markdown(report_of(finished))
    tokens = COMMONMARK.parse(made)
    inside = [child for token in tokens for child in token.children or []]
    assert not [child for child in inside if child.type in ("link_open", "html_inline", "em_open", "code_inline")]
    assert not [token for token in tokens if token.type in ("html_block", "fence", "code_block")]
    text = "".join(child.content for child in inside if child.type in ("text", "text_special"))
    for typed in ("<b>Car</b> *one* | two", "[lean](http://example.org) <script>alert(1)</script>", "- no lamp `here`"):
        assert typed in text
    assert len([token for token in tokens if token.type == "table_open"]) == 3


class Seen(HTMLParser):
    """Gathers the tags and the text of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.text: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)

    def handle_data(self, data: str) -> None:
        self.text.append(data)


def test_the_page_shows_what_was_typed_and_nothing_more(finished: Case) -> None:
    page = as_html(report_of(finished))
    seen = Seen()
    seen.feed(page)
    assert not {"script", "b", "a", "img"} & set(seen.tags)
    text = "".join(seen.text)
    for typed in ("<b>Car</b> *one* | two", "<script>alert(1)</script>", "- no lamp `here`"):
        assert typed in text
    assert html.escape("<script>") in page
    assert seen.tags.count("table") == 3


@given(text=st.text() | st.text("*_`[]()<>#+-.!|~&\\ 1=:\n\t@/hw"))
def test_any_text_comes_through_markdown_as_typed(text: str) -> None:
    typed = " ".join(text.replace("\x00", "�").split())
    for place in (
        f"# {escaped(text)}",
        f"**Word:** {escaped(text)}",
        f"- {start_safe(text)}",
        f"> {start_safe(text)}",
    ):
        tokens = COMMONMARK.parse(place)
        inside = [child for token in tokens for child in token.children or []]
        kinds = {child.type for child in inside} - {"text", "text_special", "strong_open", "strong_close"}
        assert not kinds, (place, kinds)
        shown = "".join(child.content for child in inside if child.type in ("text", "text_special"))
        assert re.sub(r"\s+", " ", shown.removeprefix("Word:")).strip() == typed


@pytest.mark.parametrize("form", [as_text, as_markdown, as_html])
def test_an_empty_case_can_be_printed(finished: Case, form: object) -> None:
    from troubleshoot.case.case import open_case
    from troubleshoot.casebook.store import IN_MEMORY, Casebook

    empty = open_case(Casebook(IN_MEMORY), finished.catalogue, lambda: 0.0)
    assert callable(form)
    assert "none yet" in form(report_of(empty))


def test_what_was_fitted_stands_in_place_of_what_there_is_to_do(finished: Case) -> None:
    """A kept trail without such words stays as it was, byte for byte; one with them says them everywhere."""
    for _ in range(3):
        finished.undo()
    assert b"fitted" not in b"".join(encode(one) for one in finished.events)
    said = Fitted(words="strainer renewed & <hose> too", part="A-17", by="J. Doe", currency="EUR")
    finished.repair("strainer-blocked", minutes=22, parts=31.5, fitted=said)
    finished.retest("gone")
    assert decode(encode(finished.events[-2])) == finished.events[-2]
    report = report_of(finished)
    for form in (as_text, as_html, as_markdown, customer_page):
        made = " ".join(html.unescape(form(report)).replace("\\", "").split())
        assert "strainer renewed & <hose> too, part A-17" in made
        assert "22 minutes, parts 31.5 EUR, by J. Doe" in made
        assert "Clean the strainer" not in made
    assert "strainer renewed" in finished.view().trail[-2].verdict


def test_the_customers_page_has_the_reading_that_was_wrong_and_no_table(finished: Case) -> None:
    """One page in plain words (ours): no probabilities, no table; typed words are never markup."""
    seen = Seen()
    seen.feed(customer_page(report_of(finished)))
    text = " ".join("".join(seen.text).split())
    assert "What you told us" in text and "<script>alert(1)</script>" in text
    assert "38 ± 1 psi. It should be: 46 to 54 psi." in text
    assert "Tried again afterwards: the concern is gone." in text
    found = finished.assessment.state.closed
    assert found is not None and found.causes
    assert all(" ".join(finished.catalogue.causes[one].happens.split()) in text for one in found.causes)
    assert not {"script", "table"} & set(seen.tags) and "svg" in seen.tags
    assert "%" not in text.partition("What you told us")[2]


@pytest.mark.parametrize("width", [37, 57, 78])
def test_a_report_is_broken_where_the_screen_ends(finished: Case, width: int) -> None:
    """No line is longer than the screen, and none is broken a second time in its middle."""
    lines = as_text(report_of(finished), width).splitlines()
    assert max(map(len, lines)) <= width
    assert "".join("".join(lines).split()) == "".join(as_text(report_of(finished), 300).split())
