"""The drawings of a case on paper: a reading on its ruler, and belief over time; dark ink on white, no colour alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from troubleshoot.case.shares import percent
from troubleshoot.case.view import BandShown, MomentShown
from troubleshoot.case.viewing import bands_shown
from troubleshoot.knowledge.answers import InterpretedReading, ReadingContext, in_shown_unit, spread_in_shown_unit
from troubleshoot.knowledge.model import Check
from troubleshoot.reports.svg import svg_box, svg_document, svg_line, svg_text

WIDE, EDGE = 560.0, 8.0
INK, SOUND, OUT = "#1a1a1a", "#cfe3cf", "#eeeeee"


@dataclass(frozen=True)
class Ruler:
    """A reading among its bands, with its spread; all in the unit shown."""

    bands: tuple[BandShown, ...]
    value: float
    spread: float
    shown: str


def ruler_of(check: Check, read: InterpretedReading, context: ReadingContext) -> Ruler:
    """Return a number that was read, on its ruler, in the units of the context."""
    assert read.value is not None
    spread = spread_in_shown_unit(check, read.uncertainty or 0.0, context.system)
    value = in_shown_unit(check, read.value, context.system)
    return Ruler(bands_shown(check, context, read.value), value, spread, read.shown)


def ruler_svg(ruler: Ruler) -> str:
    """Return a reading on its ruler; bands with an open end reach to the end of the drawing."""
    limits = [(band.low, band.low_written) for band in ruler.bands if band.low is not None]
    marks = [*(limit for limit, _ in limits), ruler.value - ruler.spread, ruler.value + ruler.spread]
    room = max((max(marks) - min(marks)) * 0.25, abs(max(marks, key=abs)) * 0.05, 1e-9)
    low_end, high_end = min(marks) - room, max(marks) + room

    def place(value: float) -> float:
        held = max(low_end, min(high_end, value))
        return EDGE + (held - low_end) / (high_end - low_end) * (WIDE - 2 * EDGE)

    parts = []
    for band in ruler.bands:
        left = place(low_end if band.low is None else band.low)
        right = place(high_end if band.high is None else band.high)
        parts.append(svg_box(left, 26, right - left, 14, f'fill="{SOUND if band.normal else OUT}" stroke="{INK}"'))
        if len(band.words) * 5.6 < right - left:
            parts.append(svg_text((left + right) / 2, 37, band.words, "middle", 'font-size="10"'))
    parts += [svg_text(place(limit), 53, words, "middle", 'font-size="10"') for limit, words in dict(limits).items()]
    at, left, right = place(ruler.value), place(ruler.value - ruler.spread), place(ruler.value + ruler.spread)
    anchor = "start" if at < WIDE * 0.6 else "end"
    parts += [
        svg_line(left, 20, right, 20, INK, wide=2),
        svg_line(at, 16, at, 44, INK, wide=2.5),
        svg_text(at + (4 if anchor == "start" else -4), 13, ruler.shown, anchor, 'font-weight="bold"'),
    ]
    return svg_document(f"Reading {ruler.shown} on its ruler", (WIDE, 58), parts)


def belief_svg(title: str, moments: Sequence[MomentShown]) -> str:
    """Return how the probability of a cause went, a step for each thing done; empty with nothing done."""
    if not moments:
        return ""
    high, foot, left = 150.0, 18.0, 44.0
    step = (WIDE - left - EDGE) / len(moments)

    def level(share: float) -> float:
        return foot + (1.0 - share) * (high - 2 * foot)

    parts = [svg_line(left, level(share), WIDE - EDGE, level(share), "#bbbbbb") for share in (0.0, 0.5, 1.0)]
    parts += [svg_text(left - 6, level(share) + 4, f"{share * 100:.0f} %", "end") for share in (0.0, 0.5, 1.0)]
    for place, one in enumerate(moments):
        x = left + place * step
        parts.append(svg_line(x, level(one.before), x, level(one.after), INK, wide=2))
        parts.append(svg_line(x, level(one.after), x + step, level(one.after), INK, wide=2))
        parts.append(svg_text(x + step / 2, high - 3, str(place + 1), "middle", 'font-size="10"'))
        parts.append(svg_text(x + 3, level(one.after) - 4, percent(one.after), "start", 'font-size="10"'))
    return svg_document(f"Probability of: {title}", (WIDE, high), parts)
