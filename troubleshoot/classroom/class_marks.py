"""Mark what a class handed in: find the files, replay and mark each, and write the pages to print."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain, count
from pathlib import Path
from textwrap import wrap

from troubleshoot.casebook.exchange import LARGEST
from troubleshoot.classroom.grading import Marks, mark
from troubleshoot.classroom.handing_in import ENDING, FileThere
from troubleshoot.classroom.key_file import Key
from troubleshoot.classroom.marks_pages import Marked, class_page, trainee_page
from troubleshoot.classroom.marks_table import answer_words, class_figures, table_lines
from troubleshoot.classroom.noticing import noticed
from troubleshoot.classroom.replaying import HandInRefused, replay
from troubleshoot.classroom.rubric import Rubric
from troubleshoot.classroom.sitting import refuse_unknown_checks
from troubleshoot.classroom.variants import key_for
from troubleshoot.file_reading import TooLong, read_at_most
from troubleshoot.file_writing import write_whole
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.problems import TroubleshootError


@dataclass(frozen=True)
class ClassMarks:
    """The hand-ins of a class that replayed, best first, and in words what was refused."""

    key: Key
    marked: tuple[Marked, ...]
    refused: tuple[str, ...]

    @property
    def marks(self) -> list[Marks]:
        """Return the marks alone, best first."""
        return [one.marks for one in self.marked]


def hand_in_files(given: Sequence[Path]) -> list[Path]:
    """Return the hand-in files named, those of a folder in order of their names; refuses a folder without any."""
    found: list[Path] = []
    for path in given:
        inside = sorted(path.glob(f"*{ENDING}")) if path.is_dir() else [path]
        if not inside:
            raise TroubleshootError(f"There is no hand-in in {path}.", "Name the hand-in files, or their folder.")
        found += inside
    return list(dict.fromkeys(found))


def mark_class(
    files: Sequence[Path],
    keys: Key | Sequence[Key],
    rubric: Rubric,
    catalogue: Catalogue,
    done: Callable[[int, int], None] | None = None,
) -> ClassMarks:
    """Mark each file by its key; one that does not replay is refused in words, and the others are marked all the same.

    `done` is told how many of how many files have been looked at.
    """
    keys = [keys] if isinstance(keys, Key) else keys
    refuse_unknown_checks(keys[0].drill, catalogue)
    found: list[Marked] = []
    read: list[tuple[str, Path]] = []
    refused: list[str] = []
    for place, path in enumerate(files, start=1):
        try:
            text = read_hand_in(path)
            key = key_for(text, keys)
            replayed = replay(text, path.name, key.drill, catalogue)
            found.append(Marked(replayed, mark(replayed, key, rubric, catalogue), key))
            read.append((text, path))
        except TroubleshootError as problem:
            refused.append(str(problem))
        if done is not None:
            done(place, len(files))
    found = noticed(found, [text for text, _ in read], [path for _, path in read])
    found.sort(key=lambda one: (-one.marks.total, one.marks.trainee.casefold()))
    return ClassMarks(keys[0], tuple(found), tuple(refused))


def read_hand_in(path: Path) -> str:
    """Return the text of a hand-in file; HandInRefused when it cannot be one."""
    advice = "Give a hand-in as `drill sit` wrote it."
    try:
        return read_at_most(path, LARGEST).decode("utf-8")
    except TooLong:
        raise HandInRefused(f"{path} is too long to be a hand-in.", advice) from None
    except UnicodeDecodeError:
        raise HandInRefused(f"{path} is not UTF-8 text.", advice) from None
    except OSError as problem:
        raise HandInRefused(f"{path} cannot be read: {problem.strerror or problem}.", "Look at the name.") from None


def summary_lines(found: ClassMarks, catalogue: Catalogue) -> Iterator[str]:
    """Yield the table of marks, what it was, and how many found it; nothing when nothing was marked."""
    if not found.marked:
        return
    yield from table_lines(found.marks)
    if not all(one.finished for one in found.marks):
        yield "* not handed in"
    for one in found.marks:
        for remark in one.remarks:
            yield from wrap(f"{one.trainee} ({Path(one.file).name}): {remark}", 79, subsequent_indent="  ")
    figures = class_figures(found.marks, catalogue)
    yield f"It was: {answer_words(found.key, catalogue)}. {figures.words}."
    yield f"A good path takes {found.key.best_minutes:.0f} minutes, its repairs among them."


def _page_path(folder: Path, stem: str, used: Collection[Path]) -> Path:
    """Return a page's path that no other has: hand-ins from two folders may be called the same."""
    names = chain([stem], (f"{stem}-{number}" for number in count(2)))
    return next(path for name in names if (path := folder / f"{name}.html") not in used)


def write_pages(found: ClassMarks, catalogue: Catalogue, folder: Path) -> int:
    """Write a page for each trainee and one for the class; return how many. FileThere writes nothing."""
    whole = folder / "class.html"
    pages: dict[Path, Marked] = {}
    for one in found.marked:
        pages[_page_path(folder, Path(one.marks.file).name.removesuffix(ENDING), {whole, *pages})] = one
    for path in (*pages, whole):
        if path.exists():
            raise FileThere(f"{path} is there already.", "Name another folder, or move that file away.")
    folder.mkdir(parents=True, exist_ok=True)
    for path, one in pages.items():
        write_whole(path, trainee_page(one, catalogue), private=True, new=True)
    write_whole(whole, class_page(found.marked, found.key, catalogue), private=True, new=True)
    return len(pages) + 1


def read_remarks(path: Path) -> dict[str, str]:
    """Return the trainer's remarks, `Name: words` on a line each; a line without a name goes on with the last.

    TroubleshootError where the file cannot be read, or begins without a name.
    """
    advice = "Write `Name: what you want to say` on a line for each trainee."
    try:
        text = read_at_most(path, LARGEST).decode("utf-8-sig")
    except (OSError, TooLong, UnicodeError) as problem:
        raise TroubleshootError(f"{path} cannot be read as remarks: {problem}.", advice) from problem
    found: dict[str, str] = {}
    name = ""
    for line in text.splitlines():
        who, colon, words = line.partition(":")
        if colon and who.strip() and not line.startswith((" ", "\t")):
            name = " ".join(who.split()).casefold()
            found[name] = words.strip()
        elif line.strip():
            if not name:
                raise TroubleshootError(f"{path} begins without a name.", advice)
            found[name] += f"\n{line.strip()}"
    return found


def with_remarks(found: ClassMarks, remarks: Mapping[str, str]) -> ClassMarks:
    """Return the marks with the trainer's remarks; TroubleshootError for a name that nobody has."""
    names = {one.marks.trainee.casefold() for one in found.marked}
    unknown = sorted(remarks.keys() - names)
    if unknown:
        raise TroubleshootError(f"Nobody here is called {unknown[0][:60]}.", "Write the names as the table has them.")
    marked = tuple(replace(one, remark=remarks.get(one.marks.trainee.casefold(), "")) for one in found.marked)
    return replace(found, marked=marked)
