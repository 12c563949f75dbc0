"""The trainer's commands: set a drill, check it, mark what was handed in."""

from __future__ import annotations

import re
import secrets
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import msgspec

from troubleshoot.cli import output
from troubleshoot.cli.options import GlobalOptions
from troubleshoot.cli.waiting import waiting
from troubleshoot.file_writing import write_whole
from troubleshoot.problems import TroubleshootError

if TYPE_CHECKING:
    from troubleshoot.classroom.class_marks import ClassMarks
    from troubleshoot.classroom.drill_maker import DrillPlan
    from troubleshoot.classroom.key_file import Key


DRILL = ".drill.json"
"""How the name of a drill file ends."""


def write_new(text: str, path: Path | None) -> None:
    """Write a text to a file that is not there yet, or to stdout."""
    if path is not None:
        refuse_existing([path])
    output.write_out(text, path)


def refuse_existing(paths: Sequence[Path], option: str = "-o") -> None:
    """Refuse to write over a file; `option` is the one that names another."""
    for path in paths:
        if path.exists():
            raise TroubleshootError(f"{path} is there already.", f"Name another with {option}, or move that one away.")


def set_drill(
    wanted: GlobalOptions,
    story: str | None,
    to: str | None,
    given: dict[str, Any],
    unproved: bool,
    seed: int | None,
    variants: int,
) -> None:
    """Make a drill and its key from a story and what was given beside it, and write both; or so many variants."""
    from troubleshoot.classroom.drill_maker import SEED_BITS, DrillPlan
    from troubleshoot.classroom.key_file import KEY
    from troubleshoot.classroom.story import plan_named
    from troubleshoot.classroom.variants import with_drawn_figures

    base = msgspec.to_builtins(plan_named(story, wanted.here)) if story else {}
    if {"faults", "any-of"} & given.keys():
        base |= {"faults": {}, "any-of": {}, "seed": ""}
    if story:
        base["seed"] = ""
    try:
        plan = msgspec.convert({**base, **given}, DrillPlan)
    except msgspec.ValidationError as problem:
        raise TroubleshootError(f"A drill cannot be set so: {problem}.", "See `drill new --help`.") from None
    name = to or _name_for(story, plan.title)
    names = [name] if variants == 1 else [f"{name}/{name}-{number:02}" for number in range(1, variants + 1)]
    refuse_existing([wanted.here / f"{one}{end}" for one in names for end in (DRILL, KEY)])
    first = secrets.randbits(SEED_BITS) if seed is None else seed
    seeds = [first + number for number in range(variants)]
    drawn = "faults" not in given and "any-of" not in given
    plans = [with_drawn_figures(plan, one) if drawn or variants > 1 else plan for one in seeds]
    proved = [_proved(wanted, one, number, unproved) for one, number in zip(plans, seeds, strict=True)]
    for where, (made, words) in zip(names, proved, strict=True):
        _write_drill(wanted.here / where, made)
        output.data(words)
    if variants > 1:
        output.data(f"{variants} variants in {wanted.here / name}: serve the folder, and mark by it as the key.")


def _proved(wanted: GlobalOptions, plan: DrillPlan, seed: int, unproved: bool) -> tuple[Key, str]:
    """Make one drill and prove it; return its key and how long a good path takes, in words."""
    from troubleshoot.classroom.debriefing import POLICY_WORDS
    from troubleshoot.classroom.drill_maker import make_drills
    from troubleshoot.classroom.solvability import DrillUnsolved, solve, with_best

    catalogue = wanted.catalogue()
    with waiting("Computing the car, and proving that it can be found"):
        made = make_drills([plan], [seed], catalogue)[0]
        try:
            solved = solve(made.drill, made.key, made.car, catalogue)
        except DrillUnsolved as problem:
            if not unproved:
                raise
            return made.key, f"NOT PROVED: {problem.sentence}"
    words = f"A good path ({POLICY_WORDS.get(solved.best, solved.best)}) takes {solved.minutes:.0f} minutes."
    return with_best(made.key, solved), f"{words}\nWARNING: {solved.warning}" if solved.warning else words


def _write_drill(name: Path, key: Key) -> None:
    """Write a drill and its key; neither where one of them cannot be."""
    from troubleshoot.classroom.drill_file import drill_text
    from troubleshoot.classroom.key_file import KEY, write_key

    drill_path, key_path = Path(f"{name}{DRILL}"), Path(f"{name}{KEY}")
    name.parent.mkdir(parents=True, exist_ok=True)
    write_key(key_path, key, new=True)
    try:
        write_whole(drill_path, drill_text(key.drill), new=True)
    except OSError:
        key_path.unlink()
        raise
    output.data(f"Drill for the trainees: {drill_path}")
    output.data(f"Key, to keep to yourself: {key_path}")


def write_paper(wanted: GlobalOptions, drill_path: Path, to: Path | None) -> None:
    """Write a drill on paper: story, checks, answer sheet, cards."""
    from troubleshoot.classroom.drill_file import read_drill
    from troubleshoot.classroom.paper_drill import paper_drill, paper_file

    text = paper_drill(read_drill(wanted.here / drill_path), wanted.catalogue())
    path = wanted.here / (to or paper_file(drill_path))
    refuse_existing([path])
    write_whole(path, text, new=True)
    output.data(f"To print: {path}. The cards at its end hold the readings; cut them off before it is handed out.")


def replay_hand_in(wanted: GlobalOptions, key_path: Path, hand_in: Path) -> None:
    """Print a hand-in step by step, with the belief in what is wrong beside each."""
    from troubleshoot.classroom.class_marks import read_hand_in
    from troubleshoot.classroom.marks_table import answer_words
    from troubleshoot.classroom.replaying import replay
    from troubleshoot.classroom.step_replay import step_lines
    from troubleshoot.classroom.variants import key_for, keys_in
    from troubleshoot.cli.plain_lines import wrapped

    catalogue = wanted.catalogue()
    text = read_hand_in(wanted.here / hand_in)
    key = key_for(text, keys_in(wanted.here / key_path))
    replayed = replay(text, hand_in.name, key.drill, catalogue)
    output.data(f"{replayed.trainee}: {key.drill.title}. It was: {answer_words(key, catalogue)}.")
    output.data("Step, minute by the clock, belief in what is wrong after it:")
    for line in step_lines(replayed, key, catalogue):
        for part in wrapped(line[5:], line[:5]):
            output.data(part)


def _name_for(story: str | None, title: str) -> str:
    """Return a name for the files: of the story, else of the title, never of the cause."""
    if story:
        return Path(story).stem
    return "-".join(re.findall(r"\w+", title.casefold()))[:40] or "drill"


def check_drill(wanted: GlobalOptions, drill_path: Path, key_path: Path) -> None:
    """Prove a drill against its key, say how each policy fares, and what it is."""
    from troubleshoot.classroom.drill_file import read_drill
    from troubleshoot.classroom.key_file import read_key
    from troubleshoot.classroom.marks_table import answer_words
    from troubleshoot.classroom.solvability import check_solvable, proof_lines

    drill, key = read_drill(wanted.here / drill_path), read_key(wanted.here / key_path)
    with waiting("Computing the car, and how each policy fares with it"):
        solved = check_solvable(drill, key, wanted.catalogue())
    for line in proof_lines(solved):
        output.data(line)
    output.data(f"It is (for you alone): {answer_words(key, wanted.catalogue())}.")


def mark_hand_ins(
    wanted: GlobalOptions,
    key_path: Path,
    given: Sequence[Path],
    rubric_path: Path | None,
    csv: Path | None,
    pages: Path | None,
    as_json: bool,
    remarks: Path | None,
) -> tuple[ClassMarks, int]:
    """Mark what was handed in; a file that does not replay is named and the others are marked all the same."""
    from troubleshoot.classroom.class_marks import (
        hand_in_files,
        mark_class,
        read_remarks,
        summary_lines,
        with_remarks,
        write_pages,
    )
    from troubleshoot.classroom.marks_table import marks_csv
    from troubleshoot.classroom.rubric import read_rubric
    from troubleshoot.classroom.variants import keys_in

    catalogue = wanted.catalogue()
    keys = keys_in(wanted.here / key_path)
    rubric = read_rubric(None if rubric_path is None else wanted.here / rubric_path)
    refuse_existing([wanted.here / csv] if csv else [], "--csv")
    found = mark_class(hand_in_files([wanted.here / one for one in given]), keys, rubric, catalogue)
    if remarks is not None:
        found = with_remarks(found, read_remarks(wanted.here / remarks))
    for words in found.refused:
        output.say(f"Refused: {words}")
    if pages is not None and found.marked:
        count = write_pages(found, catalogue, wanted.here / pages)
        output.say(f"{count} pages written to {wanted.here / pages}.")
    if csv is not None:
        output.write_out(marks_csv(found.marks), wanted.here / csv, private=True)
    if as_json:
        output.as_json([msgspec.to_builtins(one) for one in found.marks])
    else:
        for line in summary_lines(found, catalogue):
            output.data(line)
    return found, output.REFUSED if found.refused else output.DONE
