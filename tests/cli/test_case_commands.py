"""`cases` and `report`: list, show, export, import, delete; three forms of the report; files that cannot be used."""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from troubleshoot.casebook.store import default_path

Command = Callable[..., Any]


@pytest.fixture
def case(command: Command) -> str:
    ran = command(
        "ask",
        "lean-top",
        "--car",
        "harrow-240",
        answers="y\n" * 8 + "choose pressure-at-idle\n" + "y\n" * 8 + "38 psi\n",
    )
    assert ran.code == 0
    return str(json.loads(command("cases", "--json").out)[0]["id"])


def test_an_empty_casebook_is_no_error(command: Command) -> None:
    ran = command("cases")
    assert (ran.code, ran.out) == (0, "")
    assert "no cases yet" in ran.err
    assert json.loads(command("cases", "list", "--json").out) == []


def test_the_week_s_copy_is_made_in_plain_mode_too(command: Command, case: str) -> None:
    """Somebody who never opens the screens has copies all the same."""
    assert command("ask", "--case", case, answers="quit\n").code == 0
    assert len(list(default_path().parent.glob("casebook-backup-*.sqlite"))) == 1


def test_out_in_and_deleted(command: Command, case: str, tmp_path: Path) -> None:
    assert "Goes lean" in command("cases").out
    assert "38 ± 0.8 psi" in command("cases", "show", case).out
    assert command("cases", "export", case, "-o", "case.json").code == 0
    text = (tmp_path / "case.json").read_text(encoding="utf-8")
    assert json.loads(text) == json.loads(command("cases", "export", case).out)
    again = command("cases", "import", "case.json")
    assert (again.code, again.out.strip()) == (0, case)
    assert "was here already" in again.err
    report = command("report", case).out.splitlines()[1:]
    assert command("cases", "delete", case, answers="yes\n").code == 2
    assert command("cases", "delete", case, answers=f"{case}\n").code == 0
    taken = command("cases", "import", "case.json")
    assert taken.code == 0
    assert command("report", taken.out.strip()).out.splitlines()[1:] == report
    assert command("cases", "delete", taken.out.strip(), "--yes").code == 0
    assert json.loads(command("cases", "--json").out) == []
    assert command("cases", "delete", case, "--yes").code == 2


@pytest.mark.parametrize(
    "content", [b"", b"{}", b"\xff\xff", b'{"format": "troubleshoot-case", "version": 1, "events": [{}]}']
)
def test_what_is_no_case_is_not_taken_in(command: Command, tmp_path: Path, content: bytes) -> None:
    (tmp_path / "case.json").write_bytes(content)
    ran = command("cases", "import", "case.json")
    assert (ran.code, ran.out) == (2, "")
    assert "Traceback" not in ran.err
    assert len(ran.err.strip().splitlines()) == 1


def test_three_forms_of_a_report(command: Command, case: str, tmp_path: Path) -> None:
    assert command("report", case, "--text").out.startswith(f"Case {case}")
    assert command("report", case, "--markdown").out.startswith("# Case ")
    assert command("report", case, "--html", "-o", "case.html").code == 0
    assert (tmp_path / "case.html").read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
    assert command("report", case, "--html", "--text").code == 2
    assert command("report", "none-such").code == 2


def test_files_that_cannot_be_used_are_a_sentence_and_code_4(command: Command, case: str, tmp_path: Path) -> None:
    (tmp_path / "broken.sqlite").write_bytes(b"no casebook" * 1000)
    for arguments in (
        ("--casebook", "broken.sqlite", "cases"),
        ("--casebook", "broken.sqlite", "ask", "lean-top", "--car", "harrow-240"),
        ("--casebook", "none/none.sqlite", "report", "1"),
        ("report", case, "-o", str(tmp_path / "none" / "x.txt")),
        ("cases", "import", "none.json"),
    ):
        ran = command(*arguments)
        assert ran.code == 4, (arguments, ran)
        assert len(ran.err.strip().splitlines()) == 1
    assert command("--trees", "none", "concerns").code == 2


def test_listings(command: Command) -> None:
    assert "lean-top" in command("concerns").out
    assert "lean-top" in json.loads(command("concerns", "--json").out)
    assert set(json.loads(command("concerns", "sputter", "--json").out)) == {"misfire", "wont-rev"}
    assert command("concerns", "sputtr").code == 2
    assert "inlet-strainer-blocked" in command("causes", "strainer").out
    assert json.loads(command("causes", "fuel", "--json").out)["inlet-strainer-blocked"]
    assert "points-floating" not in command("causes", "fuel").out
    assert "pressure-when-lean" in command("checks", "pressure").out
    assert json.loads(command("checks", "--json").out)["pressure-when-lean"]["unit"] == "psi"
    assert "harrow-240" in command("cars").out
    assert "cylinders: 8" in command("cars", "harrow-240").out
    kept = default_path().with_name("cars")
    kept.mkdir(parents=True)
    (kept / "wagon.yaml").write_text("title: Wagon\nowner: Miller\nrated-pressure: 4 bar\n", encoding="utf-8")
    assert "Wagon. Miller." in command("cars").out
    assert "rated-pressure: 58.015" in command("cars", "wagon").out
    assert command("rank", "lean-top", "--car", "wagon").code == 0


def test_help_names_every_command_and_exit_code(command: Command) -> None:
    ran = command("--help")
    assert ran.code == 0
    for words in ("ask", "rank", "run", "cases", "report", "Exit codes", "141  the reader of the output went away"):
        assert words in ran.out
    for name in ("ask", "rank", "run", "cases", "report", "concerns", "causes", "checks", "cars"):
        assert command(name, "--help").code == 0
    assert command("nonsense").code == 2
    assert command("--version").out.startswith("troubleshoot ")
    assert os.linesep


def test_found_by_the_beginnings_of_words(command: Command, case: str) -> None:
    assert case in command("cases", "list", "lean", "tarn").out or case in command("cases", "list", "goes lea").out
    nothing = command("cases", "list", "zeppelin")
    assert (nothing.code, nothing.out) == (0, "")
    assert "No case is like that" in nothing.err


def test_copied_checked_and_merged(command: Command, case: str, tmp_path: Path) -> None:
    assert command("cases", "backup", "-o", "copy.sqlite").code == 0
    assert command("cases", "backup", "-o", "copy.sqlite").code == 4
    assert command("cases", "check").out == "1 case, all whole.\n"
    assert "1 here already" in command("cases", "merge", "copy.sqlite").out
    assert command("cases", "delete", case, "--yes").code == 0
    assert "1 new" in command("cases", "merge", "copy.sqlite").out
    assert case in command("cases").out


def test_a_damaged_casebook_is_said_and_rescued(command: Command, case: str, tmp_path: Path) -> None:
    assert command("cases", "backup", "-o", "copy.sqlite").code == 0
    with sqlite3.connect(tmp_path / "copy.sqlite") as raw:
        raw.execute("UPDATE events SET payload = x'00' WHERE number = 2")
    checked = command("--casebook", "copy.sqlite", "cases", "check")
    assert checked.code == 1
    assert case in checked.out
    back = command("cases", "rescue", "copy.sqlite", "-o", "new.sqlite")
    assert back.code == 1
    assert "2 of its" in back.err
    shown = command("--casebook", "new.sqlite", "cases", "show", case)
    assert shown.code == 0
    assert "After a lost part of this case:" in back.err
    assert "After a lost part of this case:" in shown.out
    assert command("--casebook", "copy.sqlite", "cases", "delete", case, "--yes").code == 0
