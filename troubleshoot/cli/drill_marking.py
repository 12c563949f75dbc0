"""The trainer's commands: set a drill, check it, mark what was handed in."""

from __future__ import annotations

import json
import re
import secrets
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import msgspec

from troubleshoot.cli import output
from troubleshoot.cli.options import GlobalOptions
from troubleshoot.cli.waiting import waiting
from troubleshoot.file_writing import write_whole
from troubleshoot.problems import TroubleshootError


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
    wanted: GlobalOptions, story: str | None, to: str | None, given: dict[str, Any], unproved: bool, seed: int | None
) -> None:
    """Make a drill and its key from a story and what was given beside it, and write both."""
    from troubleshoot.classroom.drill_file import drill_text
    from troubleshoot.classroom.drill_maker import SEED_BITS, DrillPlan, make_drills
    from troubleshoot.classroom.key_file import key_text
    from troubleshoot.classroom.solvability import DrillUnsolved, solve, with_best
    from troubleshoot.classroom.story import plan_named

    catalogue = wanted.catalogue()
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
    drill_path, key_path = wanted.here / f"{name}.drill.json", wanted.here / f"{name}.key.json"
    refuse_existing([drill_path, key_path])
    with waiting("Computing the car, and proving that it can be found"):
        made = make_drills([plan], [secrets.randbits(SEED_BITS) if seed is None else seed], catalogue)[0]
        key = made.key
        try:
            solved = solve(made.drill, key, made.car, catalogue)
            key = with_best(key, solved)
            words = f"A good path ({solved.best}) takes {solved.minutes:.0f} minutes."
            words += f"\nWARNING: {solved.warning}" if solved.warning else ""
        except DrillUnsolved as problem:
            if not unproved:
                raise
            words = f"NOT PROVED: {problem.sentence}"
    write_whole(key_path, key_text(key), private=True, new=True)
    try:
        write_whole(drill_path, drill_text(made.drill), new=True)
    except OSError:
        key_path.unlink()
        raise
    output.data(f"Drill for the trainees: {drill_path}")
    output.data(f"Key, to keep to yourself: {key_path}")
    output.data(words)


def _name_for(story: str | None, title: str) -> str:
    """Return a name for the files: of the story, else of the title, never of the cause."""
    if story:
        return Path(story).stem
    return "-".join(re.findall(r"\w+", title.casefold()))[:40] or "drill"


def check_drill(wanted: GlobalOptions, drill_path: Path, key_path: Path) -> None:
    """Prove a drill against its key and say how each policy fares."""
    from troubleshoot.classroom.drill_file import read_drill
    from troubleshoot.classroom.key_file import read_key
    from troubleshoot.classroom.solvability import check_solvable, proof_lines

    drill, key = read_drill(wanted.here / drill_path), read_key(wanted.here / key_path)
    with waiting("Computing the car, and how each policy fares with it"):
        solved = check_solvable(drill, key, wanted.catalogue())
    for line in proof_lines(solved):
        output.data(line)


def mark_hand_ins(
    wanted: GlobalOptions,
    key_path: Path,
    given: Sequence[Path],
    rubric_path: Path | None,
    csv: Path | None,
    pages: Path | None,
    as_json: bool,
) -> int:
    """Mark what was handed in; a file that does not replay is named and the others are marked all the same."""
    from troubleshoot.classroom.class_marks import hand_in_files, mark_class, summary_lines, write_pages
    from troubleshoot.classroom.key_file import read_key
    from troubleshoot.classroom.marks_table import marks_csv
    from troubleshoot.classroom.rubric import read_rubric

    catalogue = wanted.catalogue()
    key = read_key(wanted.here / key_path)
    rubric = read_rubric(None if rubric_path is None else wanted.here / rubric_path)
    refuse_existing([wanted.here / csv] if csv else [], "--csv")
    found = mark_class(hand_in_files([wanted.here / one for one in given]), key, rubric, catalogue)
    for words in found.refused:
        output.say(f"Refused: {words}")
    if pages is not None and found.marked:
        count = write_pages(found, catalogue, wanted.here / pages)
        output.say(f"{count} pages written to {wanted.here / pages}.")
    if csv is not None:
        output.write_out(marks_csv(found.marks), wanted.here / csv)
    if as_json:
        output.data(json.dumps([msgspec.to_builtins(one) for one in found.marks], indent=1, ensure_ascii=False))
    else:
        for line in summary_lines(found, catalogue):
            output.data(line)
    return output.REFUSED if found.refused else output.DONE
