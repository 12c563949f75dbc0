"""One hostile string through everything that is typed or read, and onto every output: it shows, and does nothing."""

from __future__ import annotations

import json
import re
import unicodedata
from html.parser import HTMLParser
from pathlib import Path

import pytest

from troubleshoot.visible import visible

CONTROLS = "\x1b[2J\x1b]0;owned\x07\x9b31m\x08\u202egnp\u200b\u2066"
MARKUP = "<script>alert(1)</script><img src=x onerror=alert(1)> [red]x[/] **b** `c` [l](http://x)"
HOSTILE = f"=cmd|'/c calc'!A1 {CONTROLS}{MARKUP}"
UNSEEN = {"Cc", "Cf", "Cs", "Co"}


class Tags(HTMLParser):
    """Collects the elements and attributes of a page."""

    def __init__(self) -> None:
        super().__init__()
        self.found: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.found.add(tag)
        self.found |= {f"@{name}" for name, _ in attrs if name.startswith("on")}


def harmless(text: str) -> None:
    """No character that a terminal obeys, and none that hides or turns what stands beside it."""
    bad = {f"U+{ord(one):04X}" for one in text if unicodedata.category(one) in UNSEEN and one not in "\n\t\ufeff"}
    assert not bad, bad


def harmless_page(text: str) -> None:
    harmless(text)
    tags = Tags()
    tags.feed(text)
    assert not tags.found & {"script", "img", "iframe", "object", "@onerror"}


@pytest.fixture
def case(command, tmp_path: Path) -> str:
    """A case in which everything that can be typed is hostile."""
    words = json.dumps(f"=1+1{CONTROLS}<b>[red]**x**")
    car = (Path(__file__).parents[2] / "trees" / "cars" / "tarn-six-160.yaml").read_text(encoding="utf-8")
    lines = [f"title: {words}" if line.startswith("title:") else line for line in car.splitlines()]
    (tmp_path / "car.yaml").write_text("\n".join(lines) + "\n", encoding="utf-8")
    answers = f"note {HOSTILE}\ny\nnote {HOSTILE}\ny\ny\nskip {HOSTILE}\nskip {HOSTILE}\n"
    found = command("ask", "lean-top", "--car", "car.yaml", answers=answers)
    assert found.code == 0, found.err
    harmless(found.out + found.err)
    return str(json.loads(command("cases", "--json").out)[0]["id"])


def test_on_the_terminal(command, case: str) -> None:
    for words in (
        ("cases",), ("cases", "list", "owned"), ("cases", "list", HOSTILE), ("cases", "show", case), ("report", case),
        ("report", case, "--markdown"), ("report", case, "--html"), ("cases", "export", case),
        ("rank", "lean-top", "--car", "car.yaml"), ("cars", "car.yaml"), ("chart", "lean-top", "--car", "car.yaml"),
        ("chart", HOSTILE), ("report", HOSTILE), ("cars", HOSTILE), (HOSTILE,), ("run", HOSTILE), ("--trees", HOSTILE),
        ("drill", "mark", HOSTILE, HOSTILE), ("drill", "plant", HOSTILE), ("calc", HOSTILE),
        ("cases", "merge", HOSTILE),
        ("calc", "dwell-time", "--dwell-angle", HOSTILE), ("drill", "sit", HOSTILE, "--name", HOSTILE),
        ("compare", "--before", HOSTILE, "--after", HOSTILE), ("tree", "new", HOSTILE), ("practise", HOSTILE),
    ):  # fmt: skip
        found = command(*words)
        assert "fault in this program" not in found.err
        harmless(found.out + found.err)


def test_in_every_file(command, case: str, tmp_path: Path) -> None:
    def written(*words: str, name: str) -> str:
        found = command(*words, name)
        assert found.code == 0, found.err
        return (tmp_path / name).read_text(encoding="utf-8")

    harmless(written("report", case, "--text", "-o", name="r.txt"))
    markdown = written("report", case, "--markdown", "-o", name="r.md")
    harmless(markdown)
    assert not re.search(r"(?<!\\)<script|(?<!\\)\[l\](?!\\)", markdown)
    harmless_page(written("report", case, "--html", "-o", name="r.html"))
    harmless_page(written("chart", "lean-top", "--car", "car.yaml", "--paper", name="c.svg"))
    harmless(written("chart", "lean-top", "--car", "car.yaml", "--paper", name="c.md"))
    exported = written("cases", "export", case, "-o", name="e.json")
    harmless(exported)
    assert any(event.get("text") == HOSTILE for event in json.loads(exported)["events"]), (
        "an export gives back every character"
    )


def test_readings_of_a_hostile_log(command, tmp_path: Path) -> None:
    rows = "".join(f"{at / 10:.1f},{750 + at % 9},0.98,3\n" for at in range(200))
    (tmp_path / "log.csv").write_text(f'time,rpm,lambda,"{HOSTILE}"\n{rows}', encoding="utf-8")
    for words in (
        ("run", "log.csv"),
        ("run", "log.csv", "--json"),
        ("run", "log.csv", "--column", f"lambda={HOSTILE}"),
    ):
        found = command(*words)
        harmless(found.out + found.err)
    answers = "y\ny\nlog log.csv\nlog log.csv all\nreport\n"
    found = command("ask", "idle-surge", "--car", "tarn-six-160", answers=answers)
    harmless(found.out + found.err)


@pytest.mark.parametrize("text", ["\x7f\x9b\u202e\ufeff", "\U000f0000\U000e0001", "\x1b"])
def test_json_made_visible_is_the_same_json(text: str) -> None:
    whole = json.dumps({"text": text}, ensure_ascii=False)
    assert json.loads(visible(whole)) == {"text": text}
    harmless(visible(whole))
