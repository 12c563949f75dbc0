"""Reading YAML: the plain core of YAML 1.2, every fault with its line and column, nothing run, nothing grown."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from troubleshoot.knowledge.loading import LARGEST_FILE, read_bytes, read_document, read_text


def codes(text):
    return [finding.code for finding in read_text(text, "x.yaml").findings]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        # YAML 1.2.2, section 10.3.2 (core schema): what an unquoted scalar stands for. `yes`, `on` and `no` are words.
        ("a: yes", "yes"),
        ("a: no", "no"),
        ("a: on", "on"),
        ("a: true", True),
        ("a: False", False),
        ("a: ~", None),
        ("a:", None),
        ("a: null", None),
        ("a: 12", 12),
        ("a: -3", -3),
        ("a: 010", 10),
        ("a: 0.5", 0.5),
        ("a: .5", 0.5),
        ("a: 1e3", 1000.0),
        ("a: '12'", "12"),
        ('a: "true"', "true"),
        ("a: 1:30", "1:30"),
        ("a: 2001-01-01", "2001-01-01"),
        # Not numbers here on purpose: no reading is infinite.
        ("a: .inf", ".inf"),
        ("a: .nan", ".nan"),
    ],
)
def test_plain_values(text, value):
    assert read_text(text, "x.yaml").value == {"a": value}


def test_keys_are_words_as_written():
    assert read_text("12: a\ntrue: b", "x").value == {"12": "a", "true": "b"}


@pytest.mark.parametrize(
    ("text", "place", "code"),
    [
        ("a: 1\nb: 2\na: 3", (3, 1), "duplicate-key"),
        ("a: {b: 1, b: 2}", (1, 11), "duplicate-key"),
        ("a: &here 1\nb: *here", (1, 4), "alias"),
        ("a: !!python/object/apply:os.system [ls]", (1, 4), "tag"),
        ("a: !include other", (1, 4), "tag"),
        ("a:\n\t- 1", (2, 1), "not-yaml"),
        ("a: b: c", (1, 5), "not-yaml"),
        ("a: [1, 2", (2, 1), "not-yaml"),
        ("a: 'open", (1, 9), "not-yaml"),
        ("? [a]\n: 1", (1, 3), "bad-key"),
        ("a: 1\n---\nb: 2", (2, 1), "two-documents"),
        ("", (1, 1), "empty"),
        ("# only a remark\n", (1, 1), "empty"),
        ("a: \x07", (1, 1), "not-yaml"),
        ("[" * 200, (1, 1), "too-deep"),
    ],
)
def test_faults_have_their_place(text, place, code):
    found = read_text(text, "x.yaml").findings
    assert code in [finding.code for finding in found]
    first = next(finding for finding in found if finding.code == code)
    assert abs(first.line - place[0]) <= (1 if code == "not-yaml" else 0)
    if code not in ("not-yaml",):
        assert first.column == place[1]
    assert first.what and first.advice


def test_an_alias_bomb_is_refused_and_does_not_grow():
    """Nine levels of nine references: a billion parts in a reader that follows them."""
    lines = ["a0: &a0 [x, x, x]"]
    lines += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 10)]
    document = read_text("\n".join(lines), "bomb.yaml")
    assert {finding.code for finding in document.findings} == {"alias"}
    assert len(str(document.value)) < 1000


def test_not_utf8_and_byte_order_mark():
    found = read_bytes(b"a: 1\nb: \xff\n", "x.yaml").findings[0]
    assert (found.line, found.column, found.code) == (2, 4, "not-utf-8")
    assert read_bytes(b"\xef\xbb\xbfa: 1", "x.yaml").value == {"a": 1}


def test_a_long_file_is_not_read(tmp_path):
    file = tmp_path / "long.yaml"
    file.write_bytes(b"# " + b"x" * (20 * LARGEST_FILE))
    document = read_document(file)
    assert [finding.code for finding in document.findings] == ["too-long"]
    assert "over 1 MB" in document.findings[0].what


def test_a_folder_or_nothing_in_place_of_a_file(tmp_path):
    assert read_document(tmp_path).findings[0].code == "unreadable"
    assert read_document(tmp_path / "none.yaml").findings[0].code == "unreadable"


def test_several_faults_come_in_one_run():
    assert sorted(codes("a: &x 1\na: 2\nb: !t 3")) == ["alias", "duplicate-key", "tag"]


@given(st.binary(max_size=400))
def test_any_bytes_give_findings_and_never_an_exception(raw):
    document = read_bytes(raw, "x.yaml")
    assert document.findings or document.value is not None


ANY = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=6), inner, max_size=3),
    max_leaves=8,
)


@given(ANY)
def test_json_is_read_as_it_was_written(value):
    """YAML 1.2 is a superset of JSON (YAML 1.2.2, section 1.3); strings keep their value, quoted."""
    import json

    text = json.dumps({"a": value})
    document = read_text(text, "x.json")
    if not document.findings:
        assert_same(document.value["a"], value)


def assert_same(read, written):
    if isinstance(written, dict):
        assert list(read) == list(written)
        for key in written:
            assert_same(read[key], written[key])
    elif isinstance(written, list):
        assert len(read) == len(written)
        for one, other in zip(read, written, strict=True):
            assert_same(one, other)
    elif isinstance(written, (int, float)) and not isinstance(written, bool):
        assert float(read) == pytest.approx(float(written))
    else:
        assert read == written


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("title: A\nrate:0.1\nbasis: common practice\n", 2, "no space stands after the colon of rate"),
        ("a:\n  title: A\nterm: words\n  system: fuel\n", 4, "indented otherwise than the one above"),
        ("a:\n  do:\n    - One.\n    Two.\n  minutes: 3\n", 5, "no name with a colon"),
        ("a: words: more\n", 1, "a second colon"),
    ],
)
def test_a_slip_of_the_pen_is_named_as_a_person_makes_it(text, line, words):
    """No space after a colon, a line indented otherwise, a dash forgotten: each in the words of who wrote it."""
    (found,) = read_text(text, "mine.yaml").findings
    assert words in found.what
    assert found.line == line
