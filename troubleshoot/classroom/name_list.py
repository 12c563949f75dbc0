"""The names of a class: id and e-mail of each, a code that gives each a seat, slips of paper to hand out."""

from __future__ import annotations

import csv
import hashlib
import io
import secrets
from collections.abc import Sequence
from pathlib import Path

import msgspec
from jinja2 import Environment, FileSystemLoader
from msgspec import Struct

from troubleshoot.classroom.sitting import clean_name
from troubleshoot.file_reading import TooLong, read_at_most
from troubleshoot.file_writing import write_whole
from troubleshoot.problems import TroubleshootError

NAMES, SLIPS = "names.json", "slips.html"
LETTERS = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"
"""What codes are made of: nothing that is mistaken for something else on paper."""
LENGTH = 6
"""Letters of a code: 31 to the sixth, 900 million, for a class of two hundred."""
LARGEST = 1_000_000
HEADS = {"name": "name", "trainee": "name", "id": "id", "number": "id", "email": "email", "e-mail": "email",
         "mail": "email"}  # fmt: skip
"""Headings of a name list that are understood, in small letters."""


class NamesRefused(TroubleshootError):
    """The file is no list of names."""


class Person(Struct, frozen=True):
    """One trainee of a class: name, what a school knows them by, and the code that gives them their seat."""

    name: str
    id: str = ""
    email: str = ""
    code: str = ""

    @property
    def seat(self) -> str:
        """Return the seat that the code gives: the same in whatever browser it is typed."""
        return seat_of_code(self.code)


def seat_of_code(code: str) -> str:
    """Return the seat of a code, however it was typed.

    >>> seat_of_code("ab c-234") == seat_of_code("ABC234")
    True
    """
    plain = "".join(letter for letter in code.upper() if letter.isalnum())
    return hashlib.sha256(f"seat {plain}".encode()).hexdigest()[:16]


def read_names(path: Path) -> tuple[Person, ...]:
    """Return the people of a list: one name a line, or CSV with the headings name, id, email; NamesRefused else."""
    try:
        text = read_at_most(path, LARGEST).decode("utf-8-sig")
    except (OSError, TooLong, UnicodeError) as problem:
        raise NamesRefused(f"{path} cannot be read as a list of names: {problem}.", "Give UTF-8 text.") from problem
    rows = [
        row for row in csv.reader(io.StringIO(text), delimiter=_delimiter(text)) if any(cell.strip() for cell in row)
    ]
    heads = [HEADS.get(cell.strip().casefold(), "") for cell in rows[0]] if rows else []
    if "name" in heads:
        rows = rows[1:]
    else:
        heads = ["name", "id", "email"]
    found = []
    for row in rows:
        kept = {head: cell.strip() for head, cell in zip(heads, row, strict=False) if head}
        found.append(Person(clean_name(kept.pop("name", "")), **kept))
    if not found:
        raise NamesRefused(f"{path} has no name in it.", "Write one name a line, or CSV with the heading name.")
    twice = {one.name for one in found if [other.name.casefold() for other in found].count(one.name.casefold()) > 1}
    if twice:
        words = f"{path} has {sorted(twice)[0]} twice."
        raise NamesRefused(words, "Add something that tells them apart, as a letter of the surname.")
    return tuple(found)


def names_csv(names: Sequence[str]) -> str:
    """Return a list of names as CSV, with room for id and e-mail."""
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerows([("name", "id", "email"), *((one, "", "") for one in names)])
    return out.getvalue()


def _delimiter(text: str) -> str:
    first = text.partition("\n")[0]
    return max(",;\t", key=first.count)


def with_codes(people: Sequence[Person], into: Path) -> tuple[Person, ...]:
    """Return the people with a code each, kept in the class folder; whoever had one there keeps it."""
    before = {one.name.casefold(): one.code for one in kept_names(into)}
    made = tuple(msgspec.structs.replace(one, code=before.get(one.name.casefold()) or _new_code()) for one in people)
    into.mkdir(parents=True, exist_ok=True)
    write_whole(into / NAMES, msgspec.json.format(msgspec.json.encode(made), indent=1), private=True)
    return made


def _new_code() -> str:
    return "".join(secrets.choice(LETTERS) for _ in range(LENGTH))


def kept_names(into: Path) -> tuple[Person, ...]:
    """Return the people of a class by its folder; nobody where it has no list."""
    try:
        return msgspec.json.decode(read_at_most(into / NAMES, LARGEST), type=tuple[Person, ...])
    except (OSError, TooLong, msgspec.MsgspecError, UnicodeError):
        return ()


def person_at(into: Path, seat: str) -> Person | None:
    """Return who has a seat by the list; None where there is no list, or the seat is not in it."""
    return next((one for one in kept_names(into) if one.seat == seat), None)


def write_slips(people: Sequence[Person], title: str, addresses: Sequence[str], into: Path) -> Path:
    """Write one slip of paper for each to cut out, with the address and the code; return the file."""
    pages = Environment(loader=FileSystemLoader(Path(__file__).with_name("pages")), autoescape=True)
    text = pages.get_template("slips.html").render(people=people, title=title, addresses=addresses)
    write_whole(into / SLIPS, text, private=True)
    return into / SLIPS
