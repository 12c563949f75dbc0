"""In a process of its own: what is imported, what a closed pipe or a narrow encoding does, what happens on a kill."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from troubleshoot.__main__ import ONE_THREAD, use_one_thread


def ran(*arguments: str, answers: str = "", **extra: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "troubleshoot", *arguments],
        input=answers.encode(),
        capture_output=True,
        env={**os.environ, **extra},
        timeout=300,
        check=False,
    )


LOADED = "import sys; from troubleshoot.__main__ import main; sys.argv = ['troubleshoot', *{arguments}]\n" \
    "try: main()\nexcept SystemExit: pass\n" \
    "print([name for name in {names} if name in sys.modules])"  # fmt: skip


@pytest.mark.parametrize(
    ("arguments", "names"),
    [
        (["--version"], ["textual", "numpy", "typer", "ruamel", "sqlite3"]),
        (["--help"], ["textual", "numpy", "ruamel", "sqlite3"]),
        (["cars"], ["textual", "ruamel"]),
    ],
)
def test_commands_import_only_what_they_need(arguments: list[str], names: list[str]) -> None:
    """`--version` takes neither Textual nor numpy; a listing takes no Textual; a warm start reads no YAML."""
    subprocess.run([sys.executable, "-m", "troubleshoot", "cars"], capture_output=True, check=True, timeout=300)
    code = LOADED.format(arguments=arguments, names=names)
    found = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, encoding="utf-8", check=True, timeout=300
    )
    assert found.stdout.strip().splitlines()[-1] == "[]"


def test_without_a_terminal_the_plain_questions_are_asked() -> None:
    found = ran(answers="lean-top\n")
    assert found.returncode == 0
    assert found.stdout.startswith(b"Plain questions and answers.")


@pytest.mark.parametrize("encoding", ["cp1252", "ascii", "cp437"])
def test_narrow_encodings_lose_no_output(encoding: str, tmp_path: Path) -> None:
    (tmp_path / "r.yaml").write_text("pressure-when-lean: 38 psi\nidle-mixture: 1.02\n", encoding="utf-8")
    found = ran(
        "rank", "lean-top", "--car", "harrow-240", "--readings", str(tmp_path / "r.yaml"), PYTHONIOENCODING=encoding
    )
    assert found.returncode == 0, found.stderr
    assert b"Traceback" not in found.stderr
    assert b"38 " in found.stdout
    assert found.stdout.decode(encoding)


@pytest.mark.skipif(sys.platform == "win32", reason="pipes close otherwise there")
def test_a_closed_pipe_is_no_traceback() -> None:
    command = f"{sys.executable} -m troubleshoot checks | head -1; echo ${{PIPESTATUS[0]}}"
    found = subprocess.run(
        ["bash", "-c", command], capture_output=True, text=True, encoding="utf-8", timeout=300, check=True
    )
    assert "Traceback" not in found.stderr
    assert found.stdout.splitlines()[-1] == "141"


def test_a_conversation_cut_off_is_saved(tmp_path: Path) -> None:
    begun = ran(
        "ask",
        "lean-top",
        "--car",
        "harrow-240",
        answers="y\n" * 8
        + "choose pressure-at-idle\n"
        + "y\n" * 8
        + "38 psi\nchoose pump-volts-running\n"
        + "y\n" * 8
        + "13.4",
    )
    assert begun.returncode == 0
    case = begun.stdout.decode().split("ask --case ")[1].split()[0]
    shown = ran("report", case)
    assert b"38" in shown.stdout
    assert b"13.4" in shown.stdout


@pytest.mark.skipif(sys.platform == "win32", reason="there are no pseudo-terminals")
def test_a_dumb_terminal_gets_the_plain_questions() -> None:
    import pty

    ours, theirs = pty.openpty()
    asking = subprocess.Popen(
        [sys.executable, "-m", "troubleshoot"],
        stdin=theirs,
        stdout=theirs,
        stderr=theirs,
        env={**os.environ, "TERM": "dumb"},
    )
    os.close(theirs)
    seen = b""
    while b"One or more numbers:" not in seen:
        seen += os.read(ours, 4096)
    assert b"\x1b" not in seen
    os.write(ours, b"\x04")
    assert asking.wait(timeout=300) == 0
    os.close(ours)


@pytest.mark.skipif(sys.platform == "win32", reason="signals differ there")
def test_an_interrupted_conversation_says_how_to_go_on() -> None:
    asking = subprocess.Popen(
        [sys.executable, "-m", "troubleshoot", "ask", "lean-top", "--car", "harrow-240"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert asking.stdout is not None
    seen = b""
    while b"y when you have read it" not in seen:
        more = os.read(asking.stdout.fileno(), 4096)
        assert more, "it ended before its first question"
        seen += more
    asking.send_signal(signal.SIGINT)
    out, err = asking.communicate(timeout=300)
    assert asking.returncode == 130
    assert b"To go on: troubleshoot ask --case" in out
    assert err.strip() == b"Interrupted; what was answered is saved."


def test_numpy_works_in_one_thread_unless_told_otherwise(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ONE_THREAD:
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv(ONE_THREAD[0], "3")
    use_one_thread()
    assert [os.environ[name] for name in ONE_THREAD] == ["3", "1", "1", "1"]
