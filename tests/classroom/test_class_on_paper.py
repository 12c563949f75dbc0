"""What a trainer of a class relies on: names and codes, stamps of hand-ins, what stands out, addresses, the board."""

from __future__ import annotations

import os
import shutil
import ssl
import stat
from dataclasses import replace

import pytest

from tests.classroom.conftest import Clock
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.addresses import addresses, certificate, fingerprint, qr_lines
from troubleshoot.classroom.board import board_lines, seats_in
from troubleshoot.classroom.class_folder import (
    ServedClass,
    class_secret,
    note_class,
    note_connected,
    stamp_holds,
    stamped,
)
from troubleshoot.classroom.class_marks import mark_class
from troubleshoot.classroom.handing_in import finish, hand_in, to_hand_in_at
from troubleshoot.classroom.name_list import NamesRefused, read_names, with_codes, write_slips
from troubleshoot.classroom.rubric import read_rubric
from troubleshoot.classroom.yardstick import belief_in

CHECKS = ("pressure-when-lean", "pump-volts-under-load", "suction-vacuum")


@pytest.mark.parametrize("text", [
    "name,id,email\nAnna Berg,17,anna@school.example\nBo Lind,18,bo@school.example\n",
    "E-Mail;Name;ID\nanna@school.example;Anna Berg;17\nbo@school.example;Bo Lind;18\n",
    "Anna Berg,17,anna@school.example\n\n  Bo   Lind ,18,bo@school.example",
])  # fmt: skip
def test_lists_as_schools_write_them(tmp_path, text):
    (tmp_path / "list.csv").write_text(text, encoding="utf-8-sig")
    assert [(one.name, one.id, one.email) for one in read_names(tmp_path / "list.csv")] == [
        ("Anna Berg", "17", "anna@school.example"), ("Bo Lind", "18", "bo@school.example"),
    ]  # fmt: skip


@pytest.mark.parametrize("text", ["", "name\n", "Anna\nanna\n"])
def test_a_list_without_names_or_with_one_twice_is_refused(tmp_path, text):
    (tmp_path / "list.csv").write_text(text, encoding="utf-8")
    with pytest.raises((NamesRefused, Exception), match=r"name|twice"):
        read_names(tmp_path / "list.csv")


def test_each_has_a_code_and_a_slip_and_keeps_it(tmp_path):
    (tmp_path / "list.csv").write_text("Anna\nBo\n<b>Cy</b>\n", encoding="utf-8")
    people = with_codes(read_names(tmp_path / "list.csv"), tmp_path)
    assert len({one.code for one in people}) == 3 == len({one.seat for one in people})
    page = write_slips(people, "Hill", ("http://192.0.2.7:8080",), tmp_path)
    text = page.read_text(encoding="utf-8")
    assert all(one.code in text for one in people) and "<b>Cy" not in text
    assert stat.S_IMODE(page.stat().st_mode) == 0o600
    assert with_codes(read_names(tmp_path / "list.csv"), tmp_path) == people


def test_a_stamp_holds_for_what_was_written_and_for_nothing_else(tmp_path, sitting, work):
    text = hand_in(work(sitting(), CHECKS[:1], ["pump-dead"]))
    secret = class_secret(tmp_path)
    kept = stamped(text, secret, "0123456789abcdef")
    assert stamp_holds(kept, secret) and not stamp_holds(text, secret)
    assert not stamp_holds(kept, "another secret")
    assert not stamp_holds(kept.replace("pump-dead", "pump-worn"), secret)
    assert not stamp_holds(kept.replace("0123456789abcdef", "f123456789abcdef"), secret)
    assert class_secret(tmp_path) == secret and stat.S_IMODE((tmp_path / "secret").stat().st_mode) == 0o600


class Hurried(Clock):
    """A clock of somebody who has the answers on paper: a tenth of a second for whatever is done."""

    def __call__(self) -> float:
        self.now += 0.1
        return self.now


def test_what_stands_out_is_said_and_costs_nothing(tmp_path, sitting, work, lean, trees):
    """Equal trails, a second Anna, impossible speed, and a hand-in that the class did not write."""
    secret, folder = class_secret(tmp_path), tmp_path / "hand-ins"
    folder.mkdir()
    files = []
    for number, (name, clock, stamp) in enumerate([
        ("Anna", Clock(), True), ("anna", Clock(7.0), True), ("Bo", Hurried(), True), ("Cy", Clock(9.0), False),
    ]):  # fmt: skip
        checks = CHECKS if name.casefold() == "anna" else tuple(reversed(CHECKS))[: 3 if name == "Bo" else 2]
        sat = to_hand_in_at(sitting(name, clock=clock), folder / f"{number}.handin.json")
        sat = replace(sat, stamp=(lambda text: stamped(text, secret, "0123456789abcdef")) if stamp else None)
        work(sat, checks, ["inlet-strainer-blocked"], close=False)
        finish(sat)
        files.append(sat.hand_in_at)
    marks = {one.file: one for one in mark_class(files, lean[1], read_rubric(), trees).marks}
    said = {name: "; ".join(one.remarks) for name, one in marks.items()}
    assert "the same steps in the same order as anna" in said["0.handin.json"]
    assert "2 hand-ins have this name" in said["1.handin.json"] and "as Anna" in said["1.handin.json"]
    assert "by the clock" not in said["0.handin.json"]
    assert said["3.handin.json"] == "not written in the class that was served, or changed since"
    assert "same steps" not in said["2.handin.json"]
    assert marks["0.handin.json"].total == marks["1.handin.json"].total


def test_the_board_tells_seat_connection_check_time_left_and_to_the_trainer_how_right(
    tmp_path, sitting, work, lean, trees
):
    drill, key = lean
    into = tmp_path / "class"
    seats = [into / "seats" / name for name in ("0123456789abcdef", "fedcba9876543210")]
    for folder, name in zip(seats, ("Anna", "Bo"), strict=True):
        folder.mkdir(parents=True)
        with Casebook(folder / "casebook.sqlite") as book:
            work(sitting(name, book=book), CHECKS[:1] if name == "Bo" else CHECKS, close=False)
    note_class(into, ServedClass(drill=drill.seal, title="Hill", minutes=drill.minutes, seats=2, process=os.getpid()))
    note_connected(seats[0], True)
    titles = {name: one.ask for name, one in trees.checks.items()}
    lines = list(board_lines(seats_in(into), 0.0, titles))
    assert all(len(line) <= 79 for line in lines)
    assert "0123 Anna" in lines[1] and "at work" in lines[1] and "gone away" in lines[2] and "left" in lines[0]
    assert titles[CHECKS[2]][:12] in lines[1] and "suction-vacuum" not in lines[1]
    assert "right" not in lines[0] and "%" not in "".join(lines)
    known = seats_in(into, belief_in([key], trees))
    assert known[0].belief is not None and known[1].belief is not None
    assert known[0].left == drill.minutes - known[0].minutes
    assert "%" in list(board_lines(known, 0.0, titles))[1]


def test_addresses_are_those_that_a_trainee_can_open():
    """RFC 3986, 3.2.2: an IPv6 address stands in brackets."""
    assert addresses("2001:db8::1", 80, tls=True) == ("https://[2001:db8::1]:80",)
    everywhere = addresses("0.0.0.0", 8080)
    assert everywhere and not any("0.0.0.0" in one or "127." in one for one in everywhere)


def test_a_qr_code_says_the_address():
    """Without the library it says what to install; with it the corners of ISO/IEC 18004 stand in the lines."""
    pytest.importorskip("segno")
    lines = qr_lines("http://192.0.2.7:8080")
    assert len(lines) > 10 and any("█" in line or "▀" in line for line in lines)


@pytest.mark.skipif(shutil.which("openssl") is None, reason="no OpenSSL here")
def test_a_certificate_of_its_own_serves_tls(tmp_path):
    chain, key = certificate(tmp_path)
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(chain, key)
    assert stat.S_IMODE(key.stat().st_mode) == 0o600
    assert len(fingerprint(chain)) == 95 and certificate(tmp_path) == (chain, key)
