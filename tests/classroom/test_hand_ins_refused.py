"""Hand-ins, drills and keys that were edited, cut short or are something else are refused, and where."""

from __future__ import annotations

import json

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from troubleshoot.case.settings import CaseSettings
from troubleshoot.casebook.store import Casebook
from troubleshoot.classroom.drill_file import DrillRefused, drill_text, read_drill
from troubleshoot.classroom.handing_in import hand_in
from troubleshoot.classroom.key_file import KeyRefused, key_text, read_key
from troubleshoot.classroom.replaying import HandInRefused, replay
from troubleshoot.classroom.sitting import sit

SOUND = ("pressure-when-lean", "pump-volts-under-load", "suction-vacuum")
RIGHT = "inlet-strainer-blocked"


EDITS = {
    "a reading": lambda one: one["what"] == "reading" and one.update(typed="57.0 psi"),
    "minutes": lambda one: one["what"] == "reading" and one.update(minutes=1.0),
    "the cause": lambda one: one["what"] == "repair" and one.update(cause="pump-worn"),
    "a judgement": lambda one: one["what"] == "judged" and one.update(outcome="high"),
    "the name": lambda one: one["what"] == "seated" and one.update(trainee="Bo"),
    "a time": lambda one: one["what"] == "repair" and one.update(at=one["at"] + 60),
    "a caution": lambda one: one["what"] == "caution" and one.update(running=not one["running"]),
}  # fmt: skip


@pytest.mark.parametrize("what", EDITS)
def test_an_edited_trail_is_refused_and_where(what, sitting, work, marked):
    whole = json.loads(hand_in(work(sitting(), SOUND, [RIGHT])))
    for event in whole["events"]:
        EDITS[what](event)
    with pytest.raises(HandInRefused, match=r"event \d+"):
        marked(None, text=json.dumps(whole))


@settings(max_examples=12, deadline=None)
@given(data=st.data())
def test_a_trail_with_an_event_left_out_is_refused(data, lean, trees):
    """Whatever is taken out of a trail that was handed in, it no longer replays."""
    whole = json.loads(_played(lean, trees))
    del whole["events"][data.draw(st.integers(0, len(whole["events"]) - 2))]
    with pytest.raises(HandInRefused):
        replay(json.dumps(whole), "x", lean[0], trees)


_KEPT: dict[str, str] = {}


def _played(lean, trees) -> str:
    if "text" not in _KEPT:
        ticks = iter(range(1_800_000_000, 1_800_010_000, 30))
        book = Casebook(":memory:")
        sitting, _ = sit(book, trees, lambda: next(ticks), lean[0], "Ann", CaseSettings(learn=False))
        sitting.case.choose(SOUND[0])
        while (caution := sitting.case.view().step.caution) is not None:
            sitting.case.acknowledge(caution.id)
        sitting.case.take(SOUND[0], sitting.case.bench.read(SOUND[0]))
        sitting.repair(RIGHT)
        sitting.case.close("left")
        _KEPT["text"] = hand_in(sitting)
    return _KEPT["text"]


def test_foreign_and_damaged_files_are_refused_in_a_sentence(tmp_path, made, lean, trees, sitting, work):
    other = made["01-silent-at-the-lights"].drill
    text = hand_in(work(sitting(), SOUND[:1], [RIGHT]))
    with pytest.raises(HandInRefused, match="belongs to another drill"):
        replay(text, "x", other, trees)
    newer = msgspec.structs.replace(trees, version="0" * 16)
    with pytest.raises(HandInRefused, match="made with other trees"):
        replay(text, "x", lean[0], newer)
    for wrong in ("", "{", "[]", "{}", text[: len(text) // 2], text.replace('"reading"', '"redaing"')):
        with pytest.raises(HandInRefused):
            replay(wrong, "x", lean[0], trees)
    path = tmp_path / "d.json"
    for content in (b"", b"\xff\xfe", b"{}", drill_text(other)[:-40].encode(),
                    drill_text(other).replace("runs", "silent").encode(),
                    drill_text(other).replace('"version": 1', '"version": 9').encode()):  # fmt: skip
        path.write_bytes(content)
        with pytest.raises(DrillRefused):
            read_drill(path)
        with pytest.raises(KeyRefused):
            read_key(path)
    path.write_text(key_text(lean[1]).replace(RIGHT, "pump-worn"), encoding="utf-8")
    with pytest.raises(KeyRefused):
        read_key(path)
    path.write_text(key_text(lean[1]), encoding="utf-8")
    assert read_key(path) == lean[1]
