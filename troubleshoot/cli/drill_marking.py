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
from troubleshoot.cli.asked import Asked
from troubleshoot.file_reading import TooLong, read_at_most
from troubleshoot.problems import TroubleshootError


def write_new(text: str, path: Path | None) -> None:
    """Write a text to a file that is not there yet, or to stdout."""
    if path is not None:
        refuse_existing([path])
    output.write_out(text, path)


def refuse_existing(paths: Sequence[Path]) -> None:
    """Refuse to write over a file."""
    for path in paths:
        if path.exists():
            raise TroubleshootError(f"{path} is there already.", "Name another file with -o, or move that one away.")


def set_drill(
    wanted: Asked, story: str | None, to: str | None, given: dict[str, Any], unproved: bool, seed: int | None
) -> None:
    """Make a drill and its key from a story and what was given beside it, and write both."""
    from troubleshoot.drills.drill_file import drill_text
    from troubleshoot.drills.key_file import key_text
    from troubleshoot.drills.setting import SEED_BITS, DrillPlan, make_drills
    from troubleshoot.drills.solving import DrillUnsolved, solve, with_best
    from troubleshoot.drills.story import plan_named

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
    output.say("Computing the car, and proving that it can be found …")
    made = make_drills([plan], [secrets.randbits(SEED_BITS) if seed is None else seed], catalogue)[0]
    key = made.key
    try:
        solved = solve(made.drill, key, made.car, catalogue)
        key = with_best(key, solved)
        words = f"The best policy ({solved.best}) takes {solved.minutes:.0f} minutes."
    except DrillUnsolved as problem:
        if not unproved:
            raise
        words = f"NOT PROVED: {problem.sentence}"
    drill_path.write_text(drill_text(made.drill), encoding="utf-8", newline="\n")
    key_path.write_text(key_text(key), encoding="utf-8", newline="\n")
    output.data(f"Drill for the trainees: {drill_path}")
    output.data(f"Key, to keep to yourself: {key_path}")
    output.data(words)


def _name_for(story: str | None, title: str) -> str:
    """Return a name for the files: of the story, else of the title, never of the cause."""
    if story:
        return Path(story).stem
    return "-".join(re.findall(r"\w+", title.casefold()))[:40] or "drill"


def check_drill(wanted: Asked, drill_path: Path, key_path: Path) -> None:
    """Prove a drill against its key and say how each policy fares."""
    from troubleshoot.drills.drill_file import read_drill
    from troubleshoot.drills.key_file import read_key, refuse_other_drill
    from troubleshoot.drills.solving import refuse_differing, solve
    from troubleshoot.drills.virtual_bench import compute_cars

    catalogue = wanted.catalogue()
    drill, key = read_drill(wanted.here / drill_path), read_key(wanted.here / key_path)
    refuse_other_drill(key, drill)
    output.say("Computing the car …")
    car = compute_cars([key.job])[0]
    refuse_differing(drill, car, catalogue)
    solved = solve(drill, key, car, catalogue)
    for name, one in solved.results.items():
        end = "finds it" if one.cured else "does not find it"
        output.data(f"{name:<18} {end}: {one.minutes:.0f} minutes, {one.checks} checks, {one.repairs} repairs")
    output.data(f"The drill can be solved; the best policy takes {solved.minutes:.0f} minutes.")


def mark_hand_ins(
    wanted: Asked,
    key_path: Path,
    given: Sequence[Path],
    rubric_path: Path | None,
    csv: Path | None,
    pages: Path | None,
    as_json: bool,
) -> int:
    """Mark what was handed in; a file that does not replay is named and the others are marked all the same."""
    from troubleshoot.drills.key_file import read_key
    from troubleshoot.drills.marking import mark
    from troubleshoot.drills.marks_pages import Marked
    from troubleshoot.drills.marks_table import answer_words, class_figures, marks_csv, table_lines
    from troubleshoot.drills.replaying import replay
    from troubleshoot.drills.rubric import read_rubric
    from troubleshoot.drills.sitting import refuse_unknown_checks

    catalogue = wanted.catalogue()
    key = read_key(wanted.here / key_path)
    rubric = read_rubric(None if rubric_path is None else wanted.here / rubric_path)
    refuse_unknown_checks(key.drill, catalogue)
    refuse_existing([wanted.here / csv] if csv else [])
    found: list[Marked] = []
    refused = 0
    for path in _files(wanted, given):
        try:
            replayed = replay(_text(path), path.name, key.drill, catalogue)
            found.append(Marked(replayed, mark(replayed, key, rubric, catalogue)))
        except TroubleshootError as problem:
            refused += 1
            output.say(f"Refused: {problem}")
    found.sort(key=lambda one: (-one.marks.total, one.marks.trainee.casefold()))
    marks = [one.marks for one in found]
    if csv is not None:
        output.write_out(marks_csv(marks), wanted.here / csv)
    if pages is not None and found:
        _write_pages(found, key, catalogue, wanted.here / pages)
    if as_json:
        output.data(json.dumps([msgspec.to_builtins(one) for one in marks], indent=1, ensure_ascii=False))
    elif marks:
        for line in table_lines(marks):
            output.data(line)
        figures = class_figures(marks, catalogue)
        output.data(f"It was: {answer_words(key, catalogue)}. {figures.found} of {figures.trainees} found it.")
        output.data(f"The best policy takes {key.best_minutes:.0f} minutes.")
    return output.REFUSED if refused else output.DONE


def _files(wanted: Asked, given: Sequence[Path]) -> list[Path]:
    """Return the hand-in files named, those of a folder in order of their names."""
    found: list[Path] = []
    for one in given:
        path = wanted.here / one
        inside = sorted(path.glob("*.handin.json")) if path.is_dir() else [path]
        if not inside:
            raise TroubleshootError(f"There is no hand-in in {one}.", "Name the hand-in files.")
        found += inside
    return list(dict.fromkeys(found))


def _text(path: Path) -> str:
    from troubleshoot.casebook.exchange import LARGEST

    try:
        return read_at_most(path, LARGEST).decode("utf-8")
    except TooLong:
        raise TroubleshootError(
            f"{path} is too long to be a hand-in.", "Give a hand-in as `drill sit` wrote it."
        ) from None
    except UnicodeDecodeError:
        raise TroubleshootError(f"{path} is not UTF-8 text.", "Give a hand-in as `drill sit` wrote it.") from None
    except OSError as problem:
        raise TroubleshootError(f"{path} cannot be read: {problem.strerror or problem}.", "Look at the name.") from None


def _write_pages(found: Sequence[Any], key: Any, catalogue: Any, folder: Path) -> None:
    from troubleshoot.drills.marks_pages import class_page, trainee_page

    folder.mkdir(parents=True, exist_ok=True)
    pages = {folder / f"{Path(one.marks.file).name.removesuffix('.handin.json')}.html": one for one in found}
    refuse_existing([*pages, folder / "class.html"])
    for path, one in pages.items():
        path.write_text(trainee_page(one, key, catalogue), encoding="utf-8", newline="\n")
    (folder / "class.html").write_text(class_page(found, key, catalogue), encoding="utf-8", newline="\n")
    output.say(f"{len(pages) + 1} pages written to {folder}.")
