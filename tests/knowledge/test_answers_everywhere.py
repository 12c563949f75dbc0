"""The same 200 texts say the same wherever a reading is typed or written."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import msgspec
import pytest

from troubleshoot.case.case import Case, case_in_memory
from troubleshoot.case.settings import CaseSettings
from troubleshoot.cli.readings_file import take_readings
from troubleshoot.cli.tree_trial import _Trial
from troubleshoot.knowledge.answers import InterpretedReading, written_readings
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import Catalogue, load_catalogue
from troubleshoot.knowledge.model import WorkedCase
from troubleshoot.knowledge.worked_cases import WorkedCases
from troubleshoot.problems import TroubleshootError

NUMBERS = (
    "{n}", "{n} {u}", "{n}{u}", "{c} {u}", "{n} ± {s} {u}", "{n} +/- 2 %", "{l} to {h} {u}",
    "{l}-{h}", "{l} {u} - {h} {u}", "about {n} {u}", "~{n}", "{h} to {l} {u}", "normal", "NORMAL", "{w}", "{w}.",
    "1", "0", "", "nothing", "{n} furlongs",
    "{n} {u} {u}", "1.2.3 {u}", "1e9 {u}", "nan",
)  # fmt: skip
CHOICES = (
    "1", "2", "3", "9", "0", "-1", "1.0", "{o}", "{O}", "{w}", "{w}.", "{W}", " {o} ", "{o}x", "yes", "no", "", "?",
    "about 1", "1-2", "{o} {o}", "38 psi", "normal", "{u}", "1 {o}",
)  # fmt: skip
MEASURED = {
    "pressure-at-idle": (44.0, "psi"), "battery-rest-volts": (12.5, "V"), "idle-mixture": (0.98, "lambda"),
    "idle-speed": (740.0, "rpm"), "fuel-temperature": (90.0, "degF"), "map-at-key-on": (30.0, "kPa"),
}  # fmt: skip
SEEN = ("map-hose-look", "fuel-leak-search")


@dataclass
class Said:
    """What a text was taken to say; nothing of it where it was refused."""

    read: InterpretedReading | None

    def same(self, other: Said) -> bool:
        """Return whether both refuse, or take the same number, uncertainty, outcome and shares from it."""
        one, two = self.read, other.read
        if one is None or two is None:
            return one is two
        if (one.outcome, one.unit, one.value is None) != (two.outcome, two.unit, two.value is None):
            return False
        alike = one.value is None or (one.value, one.uncertainty) == pytest.approx((two.value, two.uncertainty))
        return alike and one.shares == pytest.approx(two.shares)


def texts(trees: Catalogue) -> list[tuple[str, str]]:
    """Return check and text, 200 of them."""
    found = []
    for name, (number, unit) in MEASURED.items():
        words = trees.checks[name].bands[0].words
        low, high, spread = number * 0.98, number * 1.02, number * 0.01
        for form in NUMBERS:
            comma = f"{number:.2f}".replace(".", ",")
            found.append((name, form.format(
                n=f"{number:g}", u=unit, c=comma, s=f"{spread:.3g}", l=f"{low:.5g}", h=f"{high:.5g}", w=words,
            )))  # fmt: skip
    for name in SEEN:
        choice = trees.checks[name].choices[0]
        for form in CHOICES:
            found.append((name, form.format(
                o=choice.outcome, O=choice.outcome.upper(), w=choice.words, W=choice.words.upper(), u="psi",
            )))  # fmt: skip
    return found


@pytest.fixture(scope="module")
def trees() -> Catalogue:
    """Return the shipped checks that are asked here, under a concern of three causes, so that belief is quickly had."""
    whole = load_catalogue()
    concern = whole.concerns["lean-top"]
    few = msgspec.structs.replace(concern, shows=dict(list(concern.shows.items())[:3]), steps={})
    checks = {name: whole.checks[name] for name in (*MEASURED, *SEEN, "speed-limit-look", "peak-power-speed")}
    return msgspec.structs.replace(whole, checks=checks, concerns={"lean-top": few}, cases={})


def test_two_hundred_texts_say_the_same_to_every_face(trees: Catalogue) -> None:
    """A session, a question, a file of readings, a worked case, the trial of a tree: one reader serves them all."""
    written = texts(trees)
    assert len(written) == 200
    bench = WorkedCases(trees)
    car = trees.cars["harrow-240"]
    concern = "lean-top"
    problem = case_in_memory(trees, car, [concern]).assessment.problem
    assert problem is not None

    def begun() -> Case:
        return case_in_memory(trees, car, [concern], CaseSettings(learn=False), compile_for=lambda _car, _ids: problem)

    def session(check: str, text: str) -> InterpretedReading:
        case = begun()
        case.take(check, text)
        return case.assessment.latest[check]

    def asked(check: str, text: str) -> InterpretedReading:
        case = begun()
        found = case.understand(check, text)
        case.take(check, text)
        return found

    def from_a_file(check: str, text: str) -> InterpretedReading:
        case = begun()
        take_readings(case, {check: text})
        return case.assessment.latest[check]

    def worked(check: str, text: str) -> InterpretedReading:
        readings: Mapping[str, str | float] = {check: text}
        case = WorkedCase(name="one", car="harrow-240", readings=dict(readings))
        return bench.run(case, concern).taken[check]

    def own(check: str, text: str) -> InterpretedReading:
        return written_readings(trees.checks, car, {check: text})[check]

    def trial(check: str, text: str) -> InterpretedReading:
        tried = _Trial(trees, car, concern)
        tried.case = begun()
        tried._take(check, text)
        return tried.case.assessment.latest[check]

    faces: dict[str, Callable[[str, str], InterpretedReading]] = {
        "asked": asked, "file": from_a_file, "worked case": worked, "written": own, "trial": trial,
    }  # fmt: skip
    taken = 0
    for check, text in written:
        first = _said(session, check, text)
        taken += first.read is not None
        for name, face in faces.items():
            assert first.same(_said(face, check, text)), (name, check, text)
    assert 80 <= taken <= 150


def _said(face: Callable[[str, str], InterpretedReading], check: str, text: str) -> Said:
    try:
        return Said(face(check, text))
    except TroubleshootError:
        return Said(None)


@pytest.mark.parametrize(
    ("check", "text", "value", "spread"),
    [
        ("speed-limit-look", "5600-5700", 5650, 50), ("speed-limit-look", "about 5600", 5600, 280),
        ("speed-limit-look", "~700 rpm", 700, 35), ("speed-limit-look", "740", 740, 10),
        ("speed-limit-look", "740 ± 2 rpm", 740, 2), ("speed-limit-look", "700 to 701", 700.5, 10),
        ("speed-limit-look", "5,600 rpm", 5600, 10), ("peak-power-speed", "about 1000", 1000, 160),
    ],
)  # fmt: skip
def test_how_sure_a_number_is(trees: Catalogue, check: str, text: str, value: float, spread: float) -> None:
    """A range is its middle and half its width, no surer than the instrument; "about" is twice as unsure or more."""
    read = written_readings(trees.checks, Car(), {check: text})[check]
    assert (read.value, read.uncertainty) == pytest.approx((value, spread))
