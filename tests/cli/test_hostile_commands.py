"""Every command against what people really mistype: one sentence, a documented exit code, never a traceback."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from troubleshoot.cli.output import EXIT_CODES, FOUND_WRONG, NO_FILE, REFUSED

DOCUMENTED = {code for code, _ in EXIT_CODES}
WRONG_FILES = ("missing", "folder", "binary", "open-bracket.yaml", "list.yaml", "empty.yaml", "endless")


@pytest.fixture(scope="module")
def trees_read_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One cache for the module, so that not every command reads all the trees again."""
    return tmp_path_factory.mktemp("cache")


@pytest.fixture(autouse=True)
def odd_files(tmp_path: Path, trees_read_once: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Lay out the files that the commands are pointed at."""
    monkeypatch.setenv("TROUBLESHOOT_CACHE", str(trees_read_once))
    (tmp_path / "folder").mkdir()
    (tmp_path / "binary").write_bytes(bytes(range(256)) * 20)
    for name, text in {
        "open-bracket.yaml": "a: [\n",
        "list.yaml": "- 1\n- 2\n",
        "empty.yaml": "",
        "not-a-number.yaml": "pressure-at-idle: nan psi\n",
        "huge.yaml": "pressure-at-idle: 1e400 psi\n",
        "wrong-unit.yaml": "pressure-at-idle: 5 V\n",
        "unknown.yaml": "no-such-check: 5 V\n",
        "runs-a-command.yaml": 'pressure-at-idle: !!python/object/apply:os.system ["touch made"]\n',
        "bracket.json": "{",
        "list.json": "[1, 2]",
        "words.csv": "time,rpm\nx,y\nnan,inf\n",
    }.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    if sys.platform != "win32":
        (tmp_path / "endless").symlink_to("/dev/zero")


def refused(found, *codes: int) -> None:
    assert found.code in codes, found.err
    assert found.code in DOCUMENTED
    assert "Traceback" not in found.err and "fault in this program" not in found.err
    assert found.err.strip() or found.out.strip()


def test_files_that_are_none(command):
    """Each command that reads a file refuses what is not there, not a file, not text, or not of its form."""
    for name in WRONG_FILES:
        refused(command("rank", "lean-top", "--car", "harrow-240", "--readings", name), REFUSED)
        refused(command("rank", "lean-top", "--car", name), REFUSED)
        refused(command("ask", "lean-top", "--car", name), REFUSED)
        refused(command("chart", name), REFUSED)
        refused(command("cases", "import", name), REFUSED, NO_FILE)
        refused(command("drill", "board", name), REFUSED)
    for name in ("missing", "folder", "binary", "empty.yaml", "words.csv"):
        refused(command("run", name), REFUSED)


def test_readings_that_are_none(command, tmp_path):
    for name in ("not-a-number", "huge", "wrong-unit", "unknown", "runs-a-command"):
        found = command("rank", "lean-top", "--car", "harrow-240", "--readings", f"{name}.yaml")
        refused(found, REFUSED)
        assert "pressure-at-idle" in found.err or "no-such-check" in found.err
    assert not (tmp_path / "made").exists(), "YAML was executed"


@pytest.mark.parametrize(
    "words",
    [
        ("zzz",),
        ("",),
        ("--zzz",),
        ("--units", "furlongs", "cars"),
        ("rank",),
        ("rank", "nope", "--car", "harrow-240"),
        ("rank", "lean-top", "--car", "harrow-240", "--set", "x"),
        ("rank", "lean-top", "--car", "harrow-240", "--set", "rated-pressure=nan"),
        ("rank", "lean-top", "--car", "harrow-240", "--tools", "zzz"),
        ("ask", "--case", "../../etc/passwd"),
        ("report", "nope", "--html", "--text"),
        ("cases", "delete", "nope", "--yes"),
        ("causes", "nope"),
        ("checks", "nope"),
        ("ask", "lean-tops", "--car", "harrow-240"),
        ("calc", "nope"),
        ("calc", "dwell-percent"),
        ("calc", "dwell-percent", "--dwell-angle", "nan", "--cylinders", "8"),
        ("calc", "dwell-percent", "--dwell-angle", "[/red]", "--cylinders", "8"),
        ("calc", "dwell-percent", "--dwell-angle", "9" * 5000, "--cylinders", "8"),
        ("calc", "dwell-percent", "--dwell-angle", "5 psi**999999999", "--cylinders", "8"),
        ("tree", "show", "../x"),
        ("tree", "show", "lean-top", "--car", "nope"),
        ("tree", "watch", "nope"),
        ("lint", "nope"),
        ("lint", "folder"),
        ("--trees", "nope", "concerns"),
        ("--trees", "binary", "concerns"),
        ("chart", "lean-top", "--policy", "zzz"),
        ("chart", "lean-top", "--depth", "0"),
        ("prove", "--cases", "0"),
        ("prove", "--seed", "-1"),
        ("prove", "--replay", "-5"),
        ("prove", "--half", "both"),
        ("prove", "--folder", "binary"),
        ("practise", "nope"),
        ("drill", "check", "binary", "binary"),
        ("drill", "mark", "list.json", "x"),
        ("drill", "plant", "nope"),
    ],
    ids=" ".join,
)
def test_words_that_are_none(command, words):
    refused(command(*words), REFUSED)


def test_places_that_cannot_be_written_or_read(command):
    for words in (
        ("--casebook", "folder", "cases"),
        ("--casebook", "folder", "ask", "lean-top", "--car", "harrow-240"),
        ("--casebook", "binary", "cases"),
        ("--casebook", "binary/below/x.sqlite", "ask", "lean-top", "--car", "harrow-240"),
        ("chart", "lean-top", "--paper", "folder"),
        ("tree", "schema", "binary"),
    ):
        refused(command(*words), NO_FILE)


def test_a_case_asked_for_before_there_is_a_casebook(command, tmp_path):
    """Reading makes no file, and the sentence says how a case begins."""
    for words in (("report", "../x"), ("cases", "show", "nope"), ("cases", "export", "nope")):
        found = command(*words)
        refused(found, NO_FILE)
        assert "begins a case" in found.err
    assert not (tmp_path / "data").exists()


def test_a_case_that_is_not_in_the_casebook(command):
    command("ask", "lean-top", "--car", "harrow-240")
    for words in (("report", "../x"), ("cases", "show", "nope"), ("cases", "export", "nope")):
        refused(command(*words), REFUSED)


def test_a_file_in_place_of_a_casebook_is_left_as_it_was(command, tmp_path):
    before = (tmp_path / "binary").read_bytes()
    refused(command("--casebook", "binary", "ask", "lean-top", "--car", "harrow-240"), NO_FILE)
    assert (tmp_path / "binary").read_bytes() == before


def test_one_wrong_file_is_one_finding(command):
    found = command("lint", "binary")
    refused(found, FOUND_WRONG)
    assert found.err.startswith("1 finding.")


@pytest.mark.skipif(sys.platform == "win32", reason="streams are closed otherwise there")
@pytest.mark.parametrize("closed", ["<&-", ">&-", "2>&-"])
@pytest.mark.parametrize("words", ["--version", "cars", "ask lean-top --car harrow-240"])
def test_a_stream_closed_before_the_start(closed, words):
    """It reads as empty or writes to nowhere; no file opened later takes its number."""
    done = subprocess.run(
        ["sh", "-c", f'"$0" -m troubleshoot {words} {closed}', sys.executable],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        timeout=300,
        check=False,
    )
    assert done.returncode == 0
    assert done.stderr == b""


@pytest.mark.skipif(sys.platform == "win32", reason="there is no /dev/zero")
def test_readings_on_a_stream_that_never_ends() -> None:
    """The bytes are counted: what has no end is refused, and what is no text is refused where it stands."""
    rank = [sys.executable, "-m", "troubleshoot", "rank", "lean-top", "--car", "harrow-240", "--readings", "-"]
    with Path("/dev/zero").open("rb") as endless:
        done = subprocess.run(rank, stdin=endless, capture_output=True, text=True, timeout=300, check=False)
    assert done.returncode == REFUSED
    assert done.stderr.startswith("What comes on stdin is over 1 MB long.")
    done = subprocess.run(rank, input=b"pressure-at-idle: 5\xff psi\n", capture_output=True, timeout=300, check=False)
    assert done.returncode == REFUSED
    assert done.stderr.startswith(b"stdin:1:20: this is not UTF-8 text")


@pytest.mark.skipif(sys.platform == "win32", reason="the encoding of a terminal is another matter there")
def test_an_answer_that_is_no_text_is_refused_like_any_other() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "troubleshoot", "ask"],
        input=b"\xff\n1\n",
        capture_output=True,
        env={**os.environ, "PYTHONIOENCODING": "utf-8:strict"},
        timeout=300,
        check=False,
    )
    assert done.returncode == 0
    assert b"is no concern of the list" in done.stdout
    assert b"fault in this program" not in done.stderr


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no /dev/full")
def test_a_full_disk_under_the_output_is_told() -> None:
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(
            [sys.executable, "-m", "troubleshoot", "--version"],
            stdout=full,
            stderr=subprocess.PIPE,
            env={**os.environ, "LC_ALL": "C"},
            timeout=300,
            check=False,
        )
    assert done.returncode == NO_FILE
    assert done.stderr.startswith(b"No space left on device.")


def test_more_than_one_case_can_hold_is_refused_at_once(command, tmp_path):
    """Neither a case of ten thousand events nor a file of fifty thousand unknown checks keeps anybody waiting."""
    event = {"at": 1.7e9, "kind": "note", "text": "x"}
    whole = {"format": "troubleshoot-case", "version": 1, "case": "x", "events": [event] * 10_000}
    (tmp_path / "long.json").write_text(json.dumps(whole), encoding="utf-8")
    found = command("cases", "import", "long.json")
    refused(found, REFUSED)
    assert "10000 events; a case has 5000 at most" in found.err
    (tmp_path / "ids.yaml").write_text("".join(f"a{one}: 5\n" for one in range(50_000)), encoding="utf-8")
    found = command("rank", "lean-top", "--car", "harrow-240", "--readings", "ids.yaml")
    refused(found, REFUSED)
    assert len(found.err.splitlines()) == 21
    assert found.err.splitlines()[-1] == "There may be more like these."


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="there are no named pipes")
def test_a_named_pipe_is_not_waited_for(command, tmp_path):
    os.mkfifo(tmp_path / "pipe")
    refused(command("--casebook", "pipe", "cases"), NO_FILE)
    refused(command("--casebook", "pipe", "ask", "lean-top", "--car", "harrow-240"), NO_FILE)
    refused(command("cases", "rescue", "pipe", "-o", "new.sqlite"), NO_FILE)
    refused(command("rank", "lean-top", "--car", "harrow-240", "--readings", "pipe"), REFUSED)


def test_a_casebook_that_was_there_is_not_called_empty(command, tmp_path):
    """An unplugged disk must not look like a casebook without cases."""
    (tmp_path / "link.sqlite").symlink_to(tmp_path / "unplugged" / "casebook.sqlite")
    for name in ("link.sqlite", "unplugged/casebook.sqlite", "binary/casebook.sqlite"):
        found = command("--casebook", name, "cases")
        refused(found, NO_FILE)
        assert "no casebook" in found.err


def test_causes_are_ranked_though_the_casebook_cannot_teach(command, tmp_path):
    found = command("--casebook", "binary", "rank", "lean-top", "--car", "harrow-240")
    assert found.code == 0
    assert "LIKELY" in found.out
    assert found.err.startswith("Nothing was learned from closed cases: The file binary")
