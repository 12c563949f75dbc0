"""Begin a new tree: a few questions, two files, and the linter's word on them."""

from __future__ import annotations

import re
from pathlib import Path

from troubleshoot.cli import output
from troubleshoot.cli.lint import counted_words
from troubleshoot.file_writing import write_whole
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.drafting import draft_tree, find_cause
from troubleshoot.knowledge.linting import lint
from troubleshoot.knowledge.schema import write_schemas
from troubleshoot.problems import TroubleshootError

_ID = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


def refuse_bad_id(identifier: str) -> None:
    """Raise TroubleshootError unless an id is small letters, digits and single hyphens."""
    if not _ID.fullmatch(identifier) or len(identifier) > 48:
        raise TroubleshootError(f"{identifier[:60]} cannot be an id.", "Use small letters and hyphens, as idle-drops.")


def begin_tree(
    catalogue: Catalogue, folder: Path, identifier: str, says: str | None, meaning: str | None, causes: str | None
) -> None:
    """Write a starting tree into a folder; what was not given is asked. TroubleshootError when it cannot be."""
    refuse_bad_id(identifier)
    file = folder / "concerns" / f"{identifier}.yaml"
    cases = folder / "concerns" / f"{identifier}.cases.yaml"
    if file.exists() or cases.exists():
        raise TroubleshootError(f"{file} is there already.", "Choose another id, or correct that file.")
    says = says or _asked("What does the customer say?")
    meaning = meaning or _asked("What exactly is meant, so that two people agree whether the car does it?")
    chosen = _causes(catalogue, causes)
    draft = draft_tree(catalogue, identifier, says, meaning, chosen)
    file.parent.mkdir(parents=True, exist_ok=True)
    write_whole(file, draft.concern)
    write_whole(cases, draft.cases)
    write_schemas(folder / "schema", catalogue)
    output.data(str(file))
    output.data(str(cases))
    errors = [one for one in lint(folder) if one.level == "error" and Path(one.file).name in (file.name, cases.name)]
    for finding in errors:
        output.data(str(finding))
    follow = (
        "The linter finds nothing in them." if not errors else f"{counted_words(len(errors), 'finding')} to correct."
    )
    output.say(f"{follow} Next: troubleshoot --trees {folder} tree show {identifier}")


def _asked(question: str) -> str:
    answer = output.question(question)
    if answer is None or not answer.strip():
        raise TroubleshootError("The question was not answered.", "Begin again when you know; nothing was written.")
    return answer.strip()


def _causes(catalogue: Catalogue, given: str | None) -> list[str]:
    """Return the causes given with commas between, else ask for them one by one until an empty line."""
    if given is not None:
        return list(dict.fromkeys(find_cause(catalogue, one) for one in given.split(",") if one.strip()))
    chosen: list[str] = []
    while True:
        answer = output.question(f"Cause {len(chosen) + 1} that shows it (an id, or words of its title; empty ends)?")
        if answer is None or not answer.strip():
            return chosen
        try:
            cause = find_cause(catalogue, answer)
        except TroubleshootError as problem:
            output.say(str(problem))
            continue
        if cause not in chosen:
            chosen.append(cause)
            output.say(f"  {catalogue.causes[cause].title} ({cause})")
