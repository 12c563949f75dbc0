"""A case goes out as JSON and comes in again the same; anything else is refused and leaves nothing behind."""

from __future__ import annotations

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from troubleshoot.casebook.exchange import ExchangeRefused, export_case, import_case
from troubleshoot.casebook.store import IN_MEMORY, Casebook

JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=8,
)


def accept(payload: bytes) -> None:
    json.loads(payload)


@given(events=st.lists(st.dictionaries(st.text(), JSON, max_size=4), max_size=6))
def test_out_and_in_again(events: list[dict[str, object]]) -> None:
    with Casebook(IN_MEMORY) as first, Casebook(IN_MEMORY) as second:
        case = first.new_case(1.7e9)
        for event in events:
            first.append(case, json.dumps(event).encode(), 1.7e9)
        first.set_headline(case, "a car · a concern", "open")
        taken = import_case(second, export_case(first, case), accept).case_id
        assert [json.loads(one) for one in second.events(taken)] == events
        assert second.cases()[0].headline == "a car · a concern"


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "[" * 100_000,
        '{"format": "else"}',
        '{"format": "troubleshoot-case", "version": 99, "events": []}',
        '{"format": "troubleshoot-case", "version": 1, "events": 3}',
        '{"format": "troubleshoot-case", "version": 1, "events": [3]}',
    ],
)
def test_what_is_no_case_is_refused(text: str) -> None:
    with Casebook(IN_MEMORY) as book:
        with pytest.raises(ExchangeRefused) as problem:
            import_case(book, text, accept)
        assert problem.value.advice
        assert book.cases() == ()


def test_one_bad_event_keeps_the_whole_case_out() -> None:
    def refuse_second(payload: bytes) -> None:
        if b"bad" in payload:
            raise ValueError("bad")

    text = json.dumps({"format": "troubleshoot-case", "version": 1, "events": [{"at": 1}, {"what": "bad"}]})
    with Casebook(IN_MEMORY) as book:
        with pytest.raises(ExchangeRefused, match="Event 2"):
            import_case(book, text, refuse_second)
        assert book.cases() == ()


def test_half_a_character_in_an_event_is_refused() -> None:
    """A lone surrogate is legal in JSON text (RFC 8259, section 8.2) but is no character that can be stored."""
    text = '{"format": "troubleshoot-case", "version": 1, "events": [{"what": "\\ud800"}]}'
    with Casebook(IN_MEMORY) as book:
        with pytest.raises(ExchangeRefused, match="Event 1"):
            import_case(book, text, accept)
        assert book.cases() == ()


@pytest.mark.parametrize(
    ("headline", "kept"), [('"\\ud800 lean"', "? lean"), ('{"a": 1}', ""), (f'"{"x" * 999}"', "x" * 200)]
)
def test_a_headline_that_cannot_be_kept_is_made_fit(headline: str, kept: str) -> None:
    text = f'{{"format": "troubleshoot-case", "version": 1, "headline": {headline}, "events": []}}'
    with Casebook(IN_MEMORY) as book:
        import_case(book, text, accept)
        assert [row.headline for row in book.cases()] == [kept]


@pytest.mark.parametrize(("at", "kept"), [
    (0, True), (32_472_143_999, True), (1e20, False), (40_000_000_000, False), (-1, False), (True, False),
    ("now", False),
])  # fmt: skip
def test_an_event_is_of_a_time_that_a_clock_can_show(at: object, kept: bool) -> None:
    """The last second of 2998 is taken; a later one, or one before 1970, is refused."""
    with Casebook(IN_MEMORY) as book:
        case = book.new_case(1_800_000_000.0)
        book.append(case, b'{"what":"opened"}', 1_800_000_000.0)
        whole = json.loads(export_case(book, case))
        whole["events"][0]["at"] = at
        if kept:
            import_case(book, json.dumps(whole), accept)
        else:
            with pytest.raises(ExchangeRefused):
                import_case(book, json.dumps(whole), accept)
