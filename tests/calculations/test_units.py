"""Typed quantities: what people write, the outside oracle (pint), and that no text at all crashes the reader."""

import contextlib
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from troubleshoot.calculations.unit_table import SPELLINGS, SPELLINGS_WHERE_ASKED, UNITS
from troubleshoot.calculations.units import (
    Measured,
    QuantityRefused,
    convert,
    dimension_of,
    display_unit,
    known_units,
    read_quantities,
    read_quantity,
    show_measured,
    show_number,
    show_quantity,
)
from troubleshoot.calculations.unusual_units import PINT_INSIDE, registry

READS = [
    # typed, asked, value; conversions by NIST SP 811 factors worked by hand or exact by definition
    ("45 psi", "psi", 45),
    ("45psi", "psi", 45),
    ("3,1 bar", "psi", 3.1e5 / 6894.757293168),
    ("310 kPa", "psi", 310e3 / 6894.757293168),
    ("160F", "degF", 160),
    ("71 °C", "degF", 159.8),
    ("-40 C", "degF", -40),
    ("20 oz", "ozf", 20),
    ("500 g", "ozf", 17.63698),
    ("5 N", "ozf", 5 / 0.27801385),
    ("1 lb", "lb", 1),
    ('0.016"', "in", 0.016),
    ("16 thou", "in", 0.016),
    ("0,016 in", "in", 0.016),
    ("0.4mm", "in", 0.4 / 25.4),
    ("12 AWG", "AWG", 12),
    ("2.5 mm²", "mm^2", 2.5),
    ("30 deg", "deg dist", 30),
    ("30°", "deg crank", 30),
    ("62 %", "%", 62),
    ("62%", "%", 62),
    ("12,5 V", "V", 12.5),
    ("1/2 turn", "turn", 0.5),
    ("1 1/2 turns", "turn", 1.5),
    ("1½", "turn", 1.5),
    ("½ in", "in", 0.5),
    ("4,500 rpm", "rpm", 4500),
    ("4 500 rpm", "rpm", 4500),
    ("4'500", "rpm", 4500),
    ("4500 min-1", "rpm", 4500),
    ("4500/min", "rpm", 4500),
    ("1,234,567 Btu/gal", "Btu/gal", 1234567),
    ("1,234.5 ft", "ft", 1234.5),
    ("1.234,5 m", "m", 1234.5),
    ("1234,567 m", "m", 1234.567),
    ("29.92 inHg", "inHg abs", 29.92),
    ("14.7 psi", "psia", 14.7),
    ("14.7:1", "AFR", 14.7),
    (".87", "lambda", 0.87),
    ("8.6e-7 kg·m²", "g*cm^2", 8.6),
    ("10 kΩ", "ohm", 10000),
    ("2.5k", "ohm", 2500),
    ("45 PSI", "psi", 45),
    ("5.7 l", "in^3", 5700 / 16.387064),
    ("350 ci", "in^3", 350),
    ("62 lb/hr", "lb/h", 62),
    ("300 ft-lb", "lbf*ft", 300),
    ("0.016-inch", "in", 0.016),
    ("5/16 in", "in", 0.3125),
    ("0.030”", "in", 0.030),
    ("180 ºF", "degF", 180),
    ("12v", "V", 12),
    ("25 mOhm", "ohm", 0.025),
]


@pytest.mark.parametrize(("typed", "asked", "value"), READS)
def test_reads_what_people_type(typed, asked, value):
    got = read_quantity(typed, asked)
    assert got.unit == asked
    assert got.value == pytest.approx(value, rel=1e-6)


@pytest.mark.parametrize(
    ("typed", "asked", "spread"),
    [
        ("45 ± 1 psi", "psi", 1),
        ("45±1", "psi", 1),
        ("45 psi ± 1 psi", "psi", 1),
        ("45 psi +/- 2 %", "psi", 0.9),
        ("62 ± 2 %", "%", 2),
        ("20 ± 1 °C", "degF", 1.8),
        ("310 ± 7 kPa", "psi", 7 / 6.894757293168),
        ("45-50 psi", "psi", 2.5),
        ("5600–5700", "rpm", 50),
        ("5,600 to 5,700 rpm", "rpm", 50),
        ("0,4 V - 0,6 V", "V", 0.1),
        ("-30 to -20 %", "%", 5),
        ("300...320 kPa", "psi", 10 / 6.894757293168),
        ("about 40 psi", "psi", 2),
        ("~5600", "rpm", 280),
    ],
)
def test_reads_uncertainty(typed, asked, spread):
    assert read_quantity(typed, asked).uncertainty == pytest.approx(spread)


@pytest.mark.parametrize(
    ("typed", "asked", "says"),
    [
        ("", "V", "Nothing was typed"),
        ("about twelve", "V", "cannot be read"),
        ("nan", "V", "cannot be read"),
        ("inf", "V", "cannot be read"),
        ("1e400", "V", "too large"),
        ("45 psi", "V", "psi is a pressure; this asks for a voltage"),
        ("160", "wombat", "no known unit"),
        ("12 wombats", "V", "not a unit known here"),
        ("1,234 m", "m", "may be 1234 or 1.234"),
        ("1.2.3", "m", "not a number"),
        ("1/0 turn", "turn", "divides by zero"),
        ("45 ± -1 psi", "psi", "negative uncertainty"),
        ("1 ± 2 ± 3", "psi", "cannot be read"),
        ("18 psig", "psia", "gauge pressure here; this asks for absolute"),
        ("18 psia", "psi", "absolute pressure here; this asks for gauge"),
        ("20 deg crank", "deg dist", "crank angle; this asks for a distributor angle"),
        ("18 in", "inHg", "is a length; this asks for a pressure"),
        ("20 30", "V", "cannot be read"),
        ("50-45 psi", "psi", "no range from low to high"),
        ("45-50-55 psi", "psi", "cannot be read"),
        ("about psi", "psi", "cannot be read"),
        ("45 lbs", "psi", "is a mass; this asks for a pressure"),
        ("20°", "degF", "is an angle; this asks for a temperature"),
        ("14 psi gauge", "psia", "gauge pressure here"),
        ("10² V", "V", "cannot be read"),
    ],
)
def test_refuses_in_one_sentence(typed, asked, says):
    with pytest.raises(QuantityRefused) as refused:
        read_quantity(typed, asked)
    assert says in refused.value.sentence
    assert "\n" not in refused.value.sentence
    assert refused.value.advice


def test_unusual_units_are_read_by_pint():
    assert read_quantity("1 furlong", "ft").value == pytest.approx(660, rel=1e-5)
    assert read_quantity("3.1 kgf/cm^2", "psi").value == pytest.approx(3.1 * 98066.5 / 6894.757293168)


def test_lists_are_read_with_any_separator():
    for typed in ("155 150 148 psi", "155, 150, 148", "155; 150; 148 psi", "155 psi; 150 psi; 148 psi"):
        assert [m.value for m in read_quantities(typed, "psi")] == [155, 150, 148]
    assert [m.value for m in read_quantities("8,5; 6", "A")] == [8.5, 6]


def test_every_spelling_leads_to_a_unit_of_the_table():
    assert set(SPELLINGS.values()) <= known_units()
    for spellings in SPELLINGS_WHERE_ASKED.values():
        assert set(spellings.values()) <= known_units()


@pytest.mark.parametrize("name", sorted(UNITS))
def test_factors_agree_with_pint(name):
    """Pint (an independent table of definitions) agrees with every factor and zero it has a word for."""
    words = {
        "circular_mil": "circular_mil",
        "inHg": "inch_Hg",
        "inHg abs": "inch_Hg",
        "inH2O": "inch_H2O",
        "step": None,
        "count": None,
        "ozf": "ounce*standard_gravity",
        "gf": "gram*standard_gravity",
        "hp": "horsepower",
        "lb/(hp*h)": "pound/horsepower/hour",
        "thou": "thou",
        "gal/h": "US_liquid_gallon/hour",
    }
    unit = UNITS[name]
    spelled = words.get(name, name.replace(" abs", "").replace("psia", "psi").replace("Mohm", "megaohm"))
    if unit.dimension not in PINT_INSIDE or spelled is None:
        return
    ureg = registry()
    inside = PINT_INSIDE[unit.dimension]
    zero, one = (ureg.Quantity(value, spelled.replace("^", "**")).to(inside).magnitude for value in (0, 1))
    assert unit.offset == pytest.approx(zero, rel=1e-9, abs=1e-12)
    assert unit.factor == pytest.approx(one - zero, rel=3e-6)


@given(st.sampled_from(sorted(UNITS)), st.floats(-1e5, 1e5, allow_nan=False), st.sampled_from(["us", "metric"]))
def test_display_and_back_alters_nothing(unit, value, system):
    """A change of display system alters the words, not the quantity."""
    shown = display_unit(unit, system)
    assert dimension_of(shown) == dimension_of(unit)
    back = convert(convert(value, unit, shown), shown, unit)
    assert back == pytest.approx(value, rel=1e-9, abs=1e-9)
    assert show_quantity(value, unit, system)


@given(st.sampled_from(sorted(UNITS)), st.floats(1e-3, 1e5), st.none() | st.floats(1e-3, 10))
def test_what_is_shown_reads_back(unit, value, spread):
    """The echo of a quantity, typed again, is the same quantity to the figures shown."""
    value = float(show_number(value))
    text = show_measured(Measured(value, spread, unit, ""))
    again = read_quantity(text, unit)
    assert again.value == pytest.approx(value, rel=1e-9)
    assert (again.uncertainty or 0) == pytest.approx(spread or 0, rel=0.06, abs=1e-6)


ALPHABET = "0123456789.,+-±/ '\"°%eE½²psiVbarkmΩµF×^()[]{}\n\t\\λ"


@settings(max_examples=400)
@given(st.text(ALPHABET, max_size=24) | st.text(max_size=40), st.sampled_from(sorted(UNITS)))
def test_any_text_is_read_or_refused(text, unit):
    """No text crashes the reader, and what it reads is a finite number."""
    for reader in (lambda: [read_quantity(text, unit)], lambda: read_quantities(text, unit)):
        try:
            got = reader()
        except QuantityRefused as refused:
            assert refused.sentence
            continue
        assert all(math.isfinite(m.value) and m.unit == unit for m in got)


@given(st.from_regex(r"[0-9]{1,4}([.,][0-9]{1,2})? ?(psi|bar|kPa|V|mm|oz|deg|%|furlong|acre|kg/m)", fullmatch=True))
def test_a_number_with_any_unit_is_read_or_refused(text):
    for unit in ("psi", "V", "ozf", "in", "%", "degF"):
        with contextlib.suppress(QuantityRefused):
            assert math.isfinite(read_quantity(text, unit).value)


def test_an_uncertainty_in_another_unit_is_converted_and_one_of_another_kind_refused():
    """6.894757 kPa is 1 psi (NIST SP 811, table B.8)."""
    read = read_quantity("38 psi ± 6.894757 kPa", "psi")
    assert (read.value, read.unit) == (38.0, "psi") and read.uncertainty == pytest.approx(1.0, rel=1e-6)
    assert read_quantity("38 psi ± 2 psi", "psi").uncertainty == 2.0
    with pytest.raises(QuantityRefused):
        read_quantity("38 psi ± 2 V", "psi")
