"""The car as a map: its systems, each part shaded by how suspect it is, and where the meter's leads go."""

from __future__ import annotations

from textual.content import Content
from textual.widget import Widget

from troubleshoot.case.system_map import Part, System
from troubleshoot.tui.plain import beside, lines, plain

SHADES = ((0.55, "█"), (0.25, "▓"), (0.10, "▒"), (0.03, "░"))
"""From which probability of its likeliest cause a part has which shade; the shape says it without colour."""
LEGEND = "░ 3 %  ▒ 10 %  ▓ 25 %  █ 55 % and more"
LEADS = {"R": "(R)", "B": "(B)", "M": "(●)"}
LEAD_WORDS = {"R": "R red lead", "B": "B black lead", "M": "● measured here"}
NAMED = 9
"""Columns of the name of a system."""
JOIN = " ─ "


def shade(share: float) -> str:
    """Return the shade of a probability, nothing below the first.

    >>> shade(0.6), shade(0.12), shade(0.01)
    ('█', '▒', '')
    """
    return next((sign for least, sign in SHADES if share >= least), "")


def part_words(part: Part) -> Content:
    """Return one part: its name, its shade, and the leads that go there."""
    sign = shade(part.share)
    style = "bold $accent" if part.share >= 0.25 else "$accent" if sign else "$quiet"
    name = plain(f"{part.name} {sign}".rstrip(), style)
    marks = [plain(f" {LEADS[lead]}", "bold reverse") for lead in part.leads]
    return beside(name, *marks)


WHOLE, LIT, LEAST = 2, 1, 0
"""How much of the map is drawn: every system, those suspect or measured, or the two that matter most."""


def systems_of(systems: tuple[System, ...], much: int) -> tuple[System, ...]:
    """Return the systems of a map with so much on it, in their order; where nothing is suspect, the first ones.

    What is measured matters most, then what is most suspect.
    """
    if much == WHOLE:
        return systems
    worth = {
        one.name: (any(part.leads for part in one.parts), max(part.share for part in one.parts)) for one in systems
    }
    lit = [one for one in systems if worth[one.name] >= (False, SHADES[-1][0])] or systems
    kept = sorted(lit, key=lambda one: worth[one.name], reverse=True)[: len(lit) if much == LIT else 2]
    return tuple(one for one in systems if one in kept)


def map_lines(systems: tuple[System, ...], width: int, much: int = WHOLE) -> list[Content]:
    """Return the map: a line a system, wrapped between parts where it must be, and what the signs mean."""
    shown: list[Content] = []
    for system in systems_of(systems, much):
        line = plain(system.name.ljust(NAMED), "bold")
        for place, part in enumerate(system.parts):
            words = part_words(part)
            joined = beside(plain(JOIN, "$quiet"), words) if place else words
            if line.cell_length + joined.cell_length > width and place:
                shown.append(line)
                line = beside(" " * NAMED, joined)
            else:
                line = beside(line, joined)
        shown.append(line)
    leads = {lead for system in systems for part in system.parts for lead in part.leads}
    told = "   ".join([LEGEND, *(LEAD_WORDS[lead] for lead in LEADS if lead in leads)])
    return [*shown, plain(f"{'':{NAMED}}{told}", "$quiet")]


class CarMap(Widget):
    """The systems of one car."""

    DEFAULT_CSS = "CarMap { height: auto; }"

    def __init__(self, id: str | None = None) -> None:
        super().__init__(id=id)
        self.systems: tuple[System, ...] = ()
        self.much = WHOLE

    def show(self, systems: tuple[System, ...]) -> None:
        """Show the map of a car; nothing at all hides it."""
        self.systems = systems
        self.display = bool(systems)
        self.refresh(layout=True)

    def fit(self, room: int) -> None:
        """Draw as much as goes into so many lines, and at the least what matters most."""
        width = max(self.content_size.width, 20)
        fitting = (one for one in (WHOLE, LIT) if len(map_lines(self.systems, width, one)) <= room)
        much = next(fitting, LEAST)
        if much != self.much:
            self.much = much
            self.refresh(layout=True)

    def render(self) -> Content:
        """Draw as wide as there is room."""
        return lines(*map_lines(self.systems, max(self.content_size.width, 20), self.much))

    def get_content_height(self, container: object, viewport: object, width: int) -> int:  # noqa: ARG002
        """Return how many lines it takes."""
        return len(map_lines(self.systems, max(width, 20), self.much)) if self.systems else 0
