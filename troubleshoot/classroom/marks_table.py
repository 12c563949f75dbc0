"""A class's marks as a table for the terminal and as CSV, and what the class as a whole shows."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from troubleshoot.classroom.grading import Marks
from troubleshoot.classroom.key_file import Key
from troubleshoot.classroom.rubric import CRITERIA
from troubleshoot.knowledge.catalogue import Catalogue

STEP = 10
"""Marks in one bar of the distribution."""


@dataclass(frozen=True)
class Separating:
    """A check by which those who proved the fault differ from those who did not: how many of each made it."""

    check: str
    ask: str
    proved: int
    others: int


@dataclass(frozen=True)
class ClassFigures:
    """What a class shows: counts of marks by tens, checks that separate, and causes wrongly named."""

    distribution: tuple[tuple[str, int], ...]
    separating: tuple[Separating, ...]
    wrong_turns: tuple[tuple[str, int], ...]
    found: int
    proved: int
    """Those of them whose readings bear it out; the others have guessed."""
    trainees: int

    @property
    def words(self) -> str:
        """Return how many found it, and how many of them not by a guess."""
        return f"{self.found} of {self.trainees} found it, {self.proved or 'none'} with proof"


def class_figures(marks: Sequence[Marks], catalogue: Catalogue) -> ClassFigures:
    """Return what the class shows."""
    tens = Counter(min(int(one.total) // STEP, 9) for one in marks)
    spread = range(min(tens, default=0), max(tens, default=0) + 1)
    distribution = tuple((f"{ten * STEP}–{ten * STEP + STEP - (1 if ten < 9 else 0)}", tens[ten]) for ten in spread)
    proved, others = ([one for one in marks if one.proved is which] for which in (True, False))
    separating = []
    if proved and others:
        for check in sorted({name for one in marks for name in one.checks}):
            first = sum(check in one.checks for one in proved)
            second = sum(check in one.checks for one in others)
            if first * len(others) != second * len(proved):
                separating.append(Separating(check, catalogue.checks[check].ask, first, second))
        separating.sort(key=lambda one: (-abs(one.proved / len(proved) - one.others / len(others)), one.check))
    wrong = Counter(cause for one in marks for cause in one.wrong)
    turns = tuple(
        (catalogue.causes[name].title if name in catalogue.causes else name, count)
        for name, count in sorted(wrong.items(), key=lambda pair: (-pair[1], pair[0]))
    )
    found = sum(one.found for one in marks)
    return ClassFigures(distribution, tuple(separating[:6]), turns[:6], found, len(proved), len(marks))


LONGEST_NAME = 22
"""Characters of a name in the table; the pages and the CSV have it whole."""


def table_lines(marks: Sequence[Marks], longest: int = LONGEST_NAME) -> list[str]:
    """Return the marks as lines of a table of at most 79 columns; a star marks what was not handed in."""
    width = max([len("Trainee"), *(len(one.trainee) for one in marks)], default=7)
    width = min(width, longest)
    names = [("cause", "right-cause"), ("first", "first-checks"), ("info", "information"), ("setup", "set-ups"),
             ("judge", "judged"), ("sound", "sound-parts")]  # fmt: skip
    lines = [f"{'Trainee':<{width}}  total  " + " ".join(f"{short:>5}" for short, _ in names) + "   off  used"]
    for one in marks:
        points = {score.criterion: score.points for score in one.scores}
        cells = " ".join(f"{points[name]:>5.0f}" if name in points else f"{'-':>5}" for _, name in names)
        state = "" if one.finished else "*"
        used = f"{-one.taken_off:>4.0f}  {one.minutes:>4.0f}{state}"
        lines.append(f"{one.trainee[:width]:<{width}}  {one.total:>5.0f}  {cells}  {used}")
    return lines


def marks_csv(marks: Sequence[Marks]) -> str:
    """Return the marks as CSV; a name that a spreadsheet might take for a formula is put in quotes of its own."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([
        "trainee", "total", *CRITERIA, "asking-off", "hints-off", "repeats-off", "passed", "minutes-used",
        "minutes-by-the-clock", "parts-money", "named", "found", "handed-in", "attempt", "remarks", "file",
    ])  # fmt: skip
    for one in marks:
        points = {score.criterion: f"{score.points:.1f}" for score in one.scores}
        writer.writerow([
            plain_cell(one.trainee), f"{one.total:.1f}", *(points.get(name, "") for name in CRITERIA),
            *_off(one), "yes" if one.passed else "no",
            f"{one.minutes:.0f}", f"{one.real_minutes:.1f}", f"{one.parts:.0f}",
            " ".join(one.named), "yes" if one.found else "no", "yes" if one.finished else "no",
            one.attempt, plain_cell("; ".join(one.remarks)), plain_cell(one.file),
        ])  # fmt: skip
    return out.getvalue()


def _off(one: Marks) -> Iterator[str]:
    off = {words: points for words, _, points in one.penalties}
    for words in ("Ranking looked at", "Hints", "Readings repeated"):
        yield f"{off.get(words, 0.0):.1f}"


def plain_cell(text: str) -> str:
    """Return a cell that no spreadsheet takes for a formula."""
    return f"'{text}" if text.lstrip()[:1] in tuple("=+-@＝＋－＠") or text[:1] in tuple("\t\r\n") else text


def answer_words(key: Key, catalogue: Catalogue) -> str:
    """Return what was wrong with the car, in the words of the trees."""
    return "; ".join(catalogue.causes[one].title if one in catalogue.causes else one for one in key.causes)
