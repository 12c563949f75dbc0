"""From a number that was read to evidence: graded at the limits, by its size inside a band, and by what is expected.

Near a limit a reading counts partly on either side: the limit has a blend zone, a tenth of the normal band wide on each
side or as wide as the reading is uncertain. Inside normal its place counts: sound cars lie about the middle, what a
cause has pulled but not far enough lies on that side, so that a value just inside normal is nearly neutral or speaks
for the cause, and one in the middle against it. Outside normal its
size counts: what is read of a car with nothing wrong lies close to the limit, a mild cause goes a little beyond it, a
gross one far. These densities fall off as (1 + t / scale)^-2 with the distance t from the limit, so that size shifts
belief by no more than the ratio of the scales. A cause that is expected to make the check read one number is weighed by
how likely this number is about that one.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

from troubleshoot.calculations.units import Measured
from troubleshoot.knowledge.against import against_checks, against_id, held_against
from troubleshoot.knowledge.answers import InterpretedReading
from troubleshoot.knowledge.bands import BandLimit, bands_for, share_in_bands
from troubleshoot.knowledge.car import Car
from troubleshoot.knowledge.catalogue import Catalogue
from troubleshoot.knowledge.compiling import fits
from troubleshoot.knowledge.degrees import Leaf, expects_number, leaves, variants_of, written_for
from troubleshoot.knowledge.limits import LimitValue, Readings, expected_number, limits_rest_on, readings_behind
from troubleshoot.knowledge.mistaken import density_when_wrong
from troubleshoot.knowledge.model import DEGREES, Cause, Check, Expects
from troubleshoot.problems import TroubleshootError
from troubleshoot.reasoning.events import Compared, Evidence

BLEND = 0.1
"""The standard width of the blend zone at a limit, as a share of the normal band."""

SCALES = (0.25, 0.75, 1.5, 3.0)
"""How far beyond a limit readings go, in half widths of normal: nothing wrong, mild, clear, gross; from memory.

The clear one is what the even spread of a band stands for: the others count against it.
"""
CLEAR = 2

BLEND_AT_LIMIT = 0.5
"""The blend zone is no wider than this share of the limit: normal from 0.4 to 22 kilohm says nothing of 0.05."""

ANYWHERE = 0.15
"""The share of right readings of a fault that lie anywhere in their band, from memory: far is no sign of a slip."""

SOUND = 0.5
"""How far readings of sound cars scatter about the middle of normal, in half widths: its limits are two of that off."""

LEAN = 0.8
"""How steeply readings grow, across normal, towards the side to which a cause pulls them; from memory."""

WIDEST = 8.0
"""A normal band counts as no wider than the range outside it over this half; some are open at one side."""


def evidence_of(
    identifier: str,
    check: Check,
    read: InterpretedReading,
    causes: Mapping[str, Cause],
    car: Car,
    readings: Readings | None = None,
    checks: Mapping[str, Check] | None = None,
) -> Evidence:
    """Return a reading as evidence; its shares are kept where no number was read.

    `readings` are the numbers read of other checks, by which limits and expectations are worked out. Of the `causes`
    those that cannot be on this car are left out.
    """
    value, spread = read.value, read.uncertainty or 0.0
    if value is None or check.reading is None:
        return Evidence(identifier, read.shares)
    bands = read.bands or bands_for(check, car, readings, checks)
    half = _half_width(check, bands)
    graded = share_in_bands(value, max(spread, _zone(half, value, bands)), bands)
    within = _within(bands, half, value)
    sizes = tuple(
        (_sound(within),) * 4 if band.normal and half > 0.0 else _sizes(check, band, value, half) for band in bands
    )
    sized = sizes if any(one != _EVEN for one, share in zip(sizes, graded, strict=True) if share > 0.0) else ()
    leaning = (1.0 - LEAN * within, 1.0 + LEAN * within) if sized and half > 0.0 else None
    expected = tuple(_expected(check, causes, car, bands, half, value, spread, readings, checks))
    spreads = (1.0 - ANYWHERE) * _spread_of(check, bands, half, value, spread)
    spreads += ANYWHERE * _spread_of(check, bands, 0.0, value, spread)
    wrong = density_when_wrong(check, bands, value) / spreads
    return Evidence(identifier, graded, sized, leaning, expected, wrong)


def compared(
    identifier: str,
    check: Check,
    read: InterpretedReading,
    other: InterpretedReading,
    causes: Mapping[str, Cause],
    car: Car,
) -> Compared | None:
    """Return what a reading says held against another; None where one of the two is no number."""
    against = check.against
    if against is None or read.value is None or other.value is None or check.reading is None:
        return None
    mine, theirs = (read.value, read.uncertainty or 0.0), (other.value, other.uncertainty or 0.0)
    held = held_against(against, check.reading.unit, mine, other.unit, theirs)
    if held is None:
        return None
    value, spread, per_unit = held
    made = against_checks({identifier: check})[against_id(identifier)]
    bands = bands_for(made, car)
    known = InterpretedReading(
        value, spread, against.reading.unit, "", "", "", share_in_bands(value, spread, bands), None, "", bands
    )
    says = evidence_of(against_id(identifier), made, known, causes, car)
    own = read.bands or bands_for(check, car)
    density = _spread_about(made, bands, value, spread) * per_unit / _spread_about(check, own, *mine)
    return Compared(against.check, says, density)


def _spread_about(check: Check, bands: Sequence[BandLimit], value: float, spread: float) -> float:
    return _spread_of(check, bands, _half_width(check, bands), value, spread)


def evidence_rests_on(check: Check) -> frozenset[str]:
    """Return the checks whose readings bear on what a reading of this one says: by its limits, or what is expected.

    It is kept with the check, for it is asked for after every event of a case.
    """
    kept = vars(check)
    if "rests_on" not in kept:
        kept["rests_on"] = _evidence_rests_on(check)
    found: frozenset[str] = kept["rests_on"]
    return found


def _evidence_rests_on(check: Check) -> frozenset[str]:
    expects = (leaf for moves in check.moved_by.values() for _, leaf in leaves(moves) if isinstance(leaf, Expects))
    return limits_rest_on(check).union(*(readings_behind(one) for one in expects))


def evidence_from(
    catalogue: Catalogue, car: Car, taken: Mapping[str, InterpretedReading], among: Collection[str]
) -> list[Evidence]:
    """Return readings, by check id, as evidence; those of checks that are not `among` the problem's are left out."""
    numbers = {
        name: Measured(read.value, read.uncertainty, read.unit, "")
        for name, read in taken.items()
        if read.value is not None
    }
    found = []
    for name, read in taken.items():
        if name not in among:
            continue
        check = catalogue.checks[name]
        others = {other: number for other, number in numbers.items() if other != name}
        made = evidence_of(name, check, read, catalogue.causes, car, others, catalogue.checks)
        beside = taken.get(check.against.check) if check.against and check.against.check in among else None
        if beside is not None:
            made = replace(made, compared=compared(name, check, read, beside, catalogue.causes, car))
        found.append(made)
    return found


_EVEN = (1.0, 1.0, 1.0, 1.0)


def _half_width(check: Check, bands: Sequence[BandLimit]) -> float:
    """Return half the width of the normal band; of one open at a side no more than a share of what lies outside it."""
    assert check.reading is not None
    least, most = check.reading.plausible
    normal = [band for band in bands if band.normal]
    if not normal:
        return 0.0
    low, high = max(normal[0].low, least), min(normal[-1].high, most)
    half = max(0.5 * (high - low), 0.0)
    if normal[0].low == -math.inf:
        half = min(half, max(most - high, 0.0) / WIDEST)
    if normal[-1].high == math.inf:
        half = min(half, max(low - least, 0.0) / WIDEST)
    return half


def _zone(half: float, value: float, bands: Sequence[BandLimit]) -> float:
    """Return the standard width of the blend zone at the limit nearest to a value."""
    limits = [one for band in bands for one in (band.low, band.high) if math.isfinite(one) and one != 0.0]
    nearest = min(limits, key=lambda one: abs(value - one), default=math.inf)
    return min(2.0 * BLEND * half, BLEND_AT_LIMIT * abs(nearest))


def _within(bands: Sequence[BandLimit], half: float, value: float) -> float:
    """Return where a value lies across normal: -1 at its low limit and below, 0 in the middle, 1 at its high one."""
    normal = [band for band in bands if band.normal]
    if not normal or half <= 0.0:
        return 0.0
    below, above = value - normal[0].low, normal[-1].high - value
    place = 1.0 - above / half if above < below else below / half - 1.0
    return max(-1.0, min(1.0, place))


def _sound(within: float) -> float:
    """Return how densely readings of sound cars lie there, against an even spread over normal."""
    edge = 1.0 / SOUND
    share = math.erf(edge / math.sqrt(2.0))
    return 2.0 / SOUND / math.sqrt(2.0 * math.pi) * math.exp(-0.5 * (within / SOUND) ** 2) / share


def _room(check: Check, band: BandLimit) -> float:
    """Return the width of a band inside the plausible range."""
    assert check.reading is not None
    least, most = check.reading.plausible
    return max(min(band.high, most) - max(band.low, least), 0.0)


def _beyond(band: BandLimit, value: float) -> float | None:
    """Return how far a value lies beyond the limit of an open band; None for a band between two limits."""
    if band.normal or (math.isfinite(band.low) and math.isfinite(band.high)):
        return None
    limit = band.low if math.isfinite(band.low) else band.high
    if not math.isfinite(limit):
        return None
    return max(0.0, value - limit if math.isfinite(band.low) else limit - value)


def _density(beyond: float, room: float, scale: float) -> float:
    """Return how likely a distance beyond a limit is against an even spread over the room that is there."""
    scale = min(scale, room) or 1.0
    return (room + scale) / scale / (1.0 + beyond / scale) ** 2


def _sizes(check: Check, band: BandLimit, value: float, half: float) -> tuple[float, float, float, float]:
    beyond, room = _beyond(band, value), _room(check, band)
    if beyond is None or not (half > 0.0 and room > 0.0):
        return _EVEN
    densities = [_density(beyond, room, scale * half) for scale in SCALES]
    nothing, mild, clear, gross = (one / densities[CLEAR] for one in densities)
    return nothing, mild, clear, gross


def _expected(
    check: Check,
    causes: Mapping[str, Cause],
    car: Car,
    bands: Sequence[BandLimit],
    half: float,
    value: float,
    spread: float,
    readings: Readings | None,
    checks: Mapping[str, Check] | None,
) -> list[tuple[str, int, float]]:
    """Return the variants that expect a number, with how likely this one is against the spread of its outcome."""
    found = []
    usual = _spread_of(check, bands, half, value, spread)
    for cause, signature in check.moved_by.items():
        if not expects_number(signature) or cause not in causes or not fits(car, causes[cause].for_):
            continue
        by_way: dict[str | None, dict[str, Leaf]] = {}
        numbers: dict[int, LimitValue | None] = {}
        for number, variant in enumerate(variants_of(causes.get(cause))):
            if variant.way not in by_way:
                by_way[variant.way] = written_for(signature, variant.way)
            written = by_way[variant.way]
            leaf = written.get(variant.degree) or (written.get("clear") or next(iter(written.values()), None))
            if not isinstance(leaf, Expects) or (variant.degree not in written and not _for_all(written)):
                continue
            if id(leaf) not in numbers:
                numbers[id(leaf)] = _number_or_none(check, leaf, car, readings, checks)
            wanted = numbers[id(leaf)]
            if wanted is None:
                continue
            width = math.hypot(wanted.uncertainty, spread)
            likely = math.exp(-0.5 * ((value - wanted.value) / width) ** 2) / (width * math.sqrt(2.0 * math.pi))
            found.append((cause, number, likely / usual))
    return found


def _number_or_none(
    check: Check, leaf: Expects, car: Car, readings: Readings | None, checks: Mapping[str, Check] | None
) -> LimitValue | None:
    try:
        return expected_number(check, leaf, car, readings, checks)
    except TroubleshootError:
        return None


def _for_all(written: Mapping[str, object]) -> bool:
    """Return whether what is expected without a degree holds for all of them."""
    return not any(degree in written for degree in DEGREES if degree != "clear")


def _spread_of(check: Check, bands: Sequence[BandLimit], half: float, value: float, spread: float) -> float:
    """Return the density, per unit, with which the outcomes of a clear cause spread over the number read."""
    shares = share_in_bands(value, max(spread, _zone(half, value, bands)), bands)
    total = 0.0
    for share, band in zip(shares, bands, strict=True):
        beyond, room = _beyond(band, value), _room(check, band)
        if share > 0.0 and room > 0.0:
            sized = beyond is not None and half > 0.0
            total += share / room * (_density(beyond or 0.0, room, SCALES[CLEAR] * half) if sized else 1.0)
    return total or 1.0
