"""Numbers as people type them: decimal comma or point, fractions, groups of thousands.

The rule where two readings are possible: a point is always the decimal point; a comma followed by exactly three
figures ("1,234") may be either and is refused, except in units that are counted whole (rpm, counts), where nobody
writes three decimals; everything else has one reading.
"""

import math
import re
from typing import NamedTuple


class NumberUnclear(ValueError):
    """The text starts like a number but has no reading, or two; `args[0]` says why."""


class ParsedNumber(NamedTuple):
    """A number at the start of a text, and how many characters it took."""

    value: float
    length: int


_VULGAR = dict(zip("½¼¾⅓⅔⅛⅜⅝⅞", ("1/2", "1/4", "3/4", "1/3", "2/3", "1/8", "3/8", "5/8", "7/8"), strict=True))
_SIGNS = str.maketrans(
    {"−": "-", "–": "-", "\u2009": " ", "\u00a0": " ", "\u202f": " ", "’": "'", "”": '"', "“": '"'}
    | {"º": "°", "μ": "µ", "\u2126": "Ω"}
)

_FRACTION = re.compile(r"([+-]?)(?:([0-9]{1,6})[ -])?([0-9]{1,6})/([0-9]{1,6})(?![0-9.,/])")
_GROUPED = re.compile(r"([+-]?[0-9]{1,3}(?:([ '_])[0-9]{3})(?:\2[0-9]{3})*)([.,][0-9]+)?(?![0-9.,])")
_PLAIN = re.compile(r"[+-]?(?:[0-9][0-9.,]*|[.,][0-9]+)")
_EXPONENT = re.compile(
    r"(?:[eE]([+-]?[0-9]{1,3})|\s?[x×*·]\s?10(?:\^([+-]?[0-9]{1,3})|([⁻⁺]?[⁰¹²³⁴-⁹]{1,3})))(?![0-9])"
)
_SUPERSCRIPT = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺", "0123456789-+")


def tidy(text: str) -> str:
    """Return `text` with typographic signs and spaces put into their plain forms."""
    text = text.translate(_SIGNS)
    for sign, fraction in _VULGAR.items():
        text = re.sub(rf"(?<=[0-9]) ?{sign}", f" {fraction}", text).replace(sign, fraction)
    return text.strip()


def read_number(text: str, *, whole: bool = False) -> ParsedNumber | None:
    """Read the number at the start of tidied `text`; None when it does not start with one.

    `whole`: the quantity is counted in whole numbers, so "4,500" is four thousand five hundred.

    Raises NumberUnclear for "1,234", "1.2.3", "1/0" and the like.
    """
    found = _FRACTION.match(text)
    if found:
        return ParsedNumber(_fraction(found), found.end())
    found = _GROUPED.match(text)
    if found:
        digits = re.sub(r"[ '_]", "", found[1]) + (found[3] or "").replace(",", ".")
        return ParsedNumber(_finite(float(digits)), found.end())
    found = _PLAIN.match(text)
    if not found:
        return None
    value = float(_decimal(found[0].rstrip(",."), whole))
    end = found.end()
    power = _EXPONENT.match(text, end)
    if power:
        exponent = int(power[1] or power[2] or power[3].translate(_SUPERSCRIPT))
        value, end = float(f"{value!r}e{exponent}") if "e" not in repr(value) else value * 10.0**exponent, power.end()
    return ParsedNumber(_finite(value), end)


def _fraction(found: re.Match[str]) -> float:
    """Return the value of "1/2" or "1 1/2"."""
    if int(found[4]) == 0:
        raise NumberUnclear(f"{found[0]} divides by zero")
    value = int(found[2] or 0) + int(found[3]) / int(found[4])
    return -value if found[1] == "-" else value


def _decimal(digits: str, is_whole: bool) -> str:
    """Return digits with points and commas as one plain decimal number."""
    points, commas = digits.count("."), digits.count(",")
    if not commas and points <= 1:
        return digits
    whole = digits.lstrip("+-")
    if points and commas:
        if points == 1 and re.fullmatch(r"[0-9]{1,3}(,[0-9]{3})+\.[0-9]*", whole):
            return digits.replace(",", "")
        if commas == 1 and re.fullmatch(r"[0-9]{1,3}(\.[0-9]{3})+,[0-9]*", whole):
            return digits.replace(".", "").replace(",", ".")
    elif commas == 1:
        if re.fullmatch(r"[1-9][0-9]{0,2},[0-9]{3}", whole):
            if is_whole:
                return digits.replace(",", "")
            with_point = digits.replace(",", ".")
            raise NumberUnclear(f'"{digits}" may be {digits.replace(",", "")} or {with_point}; write one of these')
        return digits.replace(",", ".")
    elif commas and re.fullmatch(r"[0-9]{1,3}(,[0-9]{3})+", whole):
        return digits.replace(",", "")
    elif points and re.fullmatch(r"[0-9]{1,3}(\.[0-9]{3})+", whole):
        return digits.replace(".", "")
    raise NumberUnclear(f'"{digits[:30]}" is not a number')


def _finite(value: float) -> float:
    """Return `value` unless it overflowed."""
    if not math.isfinite(value):
        raise NumberUnclear("the number is too large to be a measurement")
    return value
