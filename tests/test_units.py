"""Lengths as text. The inch is 25.4 mm exactly: NIST SP 811 (2008), appendix B."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from addon.sizes.units import (
    format_amount,
    format_length,
    format_range,
    format_size,
    nearest_fraction,
    parse_length,
    spell_length,
)

finite = st.floats(allow_nan=False, allow_infinity=False, min_value=-1e5, max_value=1e5)
units = st.sampled_from(["mm", "in"])

# Nearest fraction to 1/16, 1/32 and 1/64 in and its error in inches (fraction less exact; None: not tabulated),
# derived from the exact inch of NIST SP 811.
SHEETS = {
    18: [("11/16", -0.0212), ("23/32", 0.0101), ("45/64", -0.0055)],
    17.7: [("11/16", -0.0094), ("11/16", -0.0094), ("45/64", 0.0063)],
    12: [("1/2", 0.0276), ("15/32", -0.0037), ("15/32", -0.0037)],
    9: [("3/8", None), ("11/32", -0.0106), ("23/64", 0.0050)],
    6: [("1/4", 0.0138), ("1/4", 0.0138), ("15/64", -0.0018)],
    6.5: [("1/4", -0.0059), ("1/4", -0.0059), ("1/4", -0.0059)],
    15: [("9/16", None), ("19/32", 0.0032), ("19/32", 0.0032)],
    21: [("13/16", None), ("13/16", None), ("53/64", 0.0014)],
    24: [("15/16", -0.0074), ("15/16", -0.0074), ("15/16", -0.0074)],
    1220: [("48 1/16", 0.0310), ("48 1/32", -0.0002), ("48 1/32", -0.0002)],
    2440: [("96 1/16", -0.0005), ("96 1/16", -0.0005), ("96 1/16", -0.0005)],
    1525: [("60 1/16", 0.0231), ("60 1/32", -0.0081), ("60 3/64", 0.0075)],
    1250: [("49 3/16", None), ("49 7/32", 0.0062), ("49 7/32", 0.0062)],
    2500: [("98 7/16", None), ("98 7/16", None), ("98 27/64", -0.0033)],
    740: [("29 1/8", None), ("29 1/8", None), ("29 9/64", 0.0068)],
}


@pytest.mark.parametrize("mm", SHEETS)
@pytest.mark.parametrize("column", [0, 1, 2])
def test_nearest_fractions_of_common_sheets(mm: float, column: int) -> None:
    fraction = nearest_fraction(mm, 16 << column)
    text, error = SHEETS[mm][column]
    whole, _, part = text.rpartition(" ")
    assert fraction == (int(whole) if whole else 0) + Fraction(part)
    if error is not None:
        assert float(fraction - Fraction(str(mm)) * 10 / 254) == pytest.approx(error, abs=0.00005)


def test_ties_go_to_the_even_multiple() -> None:
    # NIST SP 811, B.7.1, from memory: a lone 5 rounds to the even digit. 1/32 in is halfway from 0/16 to 1/16.
    assert nearest_fraction(0.79375, 16) == 0
    assert nearest_fraction(2.38125, 16) == Fraction(1, 8)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("1", 25.4),  # NIST SP 811, appendix B
        ("12", 304.8),  # one foot is 0.3048 m exactly: NIST SP 811, appendix B
        (1, 25.4),
        (23.75, 603.25),
        ("23 3/4", 603.25),
        ("23-3/4", 603.25),
        ('23 3/4"', 603.25),
        ("23 3/4 in", 603.25),
        ("23   3/4  inches", 603.25),
        (" 23.75 in. ", 603.25),
        ("+23 3/4", 603.25),
        ("-23 3/4", -603.25),
        ("-23-3/4", -603.25),
        ("\u221223 3/4", -603.25),
        ("3/4", 19.05),
        ("7/4", 44.45),
        ("23/32 in", 18.25625),
        (".5", 12.7),
        ("5.", 127.0),
        ("2.5e-1", 6.35),
        ("18 mm", 18.0),
        ("-372.7mm", -372.7),
        (0, 0.0),
        ("-0", 0.0),
        (-0.0, 0.0),
    ],
)
def test_reading_in_an_inch_file(text: object, mm: float) -> None:
    assert parse_length(text, "in") == mm
    assert math.copysign(1, parse_length(text, "in")) == math.copysign(1, mm)


@pytest.mark.parametrize(
    ("text", "mm"),
    [(18, 18.0), (17.7, 17.7), ("17.7", 17.7), ("1 in", 25.4), ("23/32 in", 18.25625), ("1/2", 0.5)],
)
def test_reading_in_a_mm_file(text: object, mm: float) -> None:
    assert parse_length(text, "mm") == mm


def test_decimals_are_read_as_written_and_rounded_once() -> None:
    # 0.1 in is 2.54 mm, though the binary 0.1 times the binary 25.4 is one unit in the last place more or less.
    for tenths in range(1, 4000):
        assert parse_length(tenths / 10, "in") == float(Fraction(tenths, 10) * Fraction(254, 10))


@pytest.mark.parametrize(
    ("value", "clause"),
    [
        ("", "is empty"),
        ("   ", "is empty"),
        ("garbage", "is not a length"),
        ("23 3/4 cm", "is not a length"),
        ("23,75", "is not a length"),
        ("3/4/5", "is not a length"),
        ("23 -3/4", "is not a length"),
        ("23.5 3/4", "is not a length"),
        ("1 2 3", "is not a length"),
        ("1_000", "is not a length"),
        ("23\n3/4", "is not a length"),
        ("\u0663", "is not a length"),
        ("nan", "is not a length"),
        ("inf", "is not a length"),
        ("--3", "is not a length"),
        ("in", "is not a length"),
        ("3/0", "fraction over zero"),
        ("23 4/3", "not less than one"),
        ("23 3/3", "not less than one"),
        ("1" * 61, "too long"),
        ("1e999", "too large"),
        (10**400, "too large"),
        (math.nan, "not a finite number"),
        (math.inf, "not a finite number"),
        (-math.inf, "not a finite number"),
        (True, "yes or no"),
        (False, "yes or no"),
        (None, "is not a length"),
        ([1], "is not a length"),
    ],
)
def test_what_is_no_length_is_refused_with_a_clause(value: object, clause: str) -> None:
    for unit in ("mm", "in"):
        with pytest.raises(ValueError) as caught:
            parse_length(value, unit)
        assert clause in str(caught.value)
        assert str(caught.value).startswith(("is ", "has "))
        assert ": " in str(caught.value), "it says what to write"


@given(st.text(max_size=70), units)
def test_any_text_is_a_finite_length_or_refused(text: str, unit: str) -> None:
    try:
        read = parse_length(text, unit)
    except ValueError as error:
        clause = str(error)
    else:
        clause = "is read: " + format_length(read, unit)
        assert math.isfinite(read)
    assert ": " in clause


@pytest.mark.parametrize(
    ("mm", "text"),
    [
        (0.0, "0"),  # zero as 0, whole and fraction as "48 1/32", reduced: common practice, no source
        (-0.0, "0"),
        (5e-324, "2.0e-325"),  # the least float64 there is
        (25.4, "1"),
        (19.05, "3/4"),
        (-19.05, "-3/4"),
        (603.25, "23 3/4"),
        (-603.25, "-23 3/4"),
        (18.25625, "23/32"),
        (3.96875, "5/32"),
        (1220, "48 1/32"),  # 0.0002 in off
        (2440, "96 1/16"),  # 0.0005 in off
        (18.0, "0.709"),  # 45/64 is 0.0055 in off
        (17.7, "0.697"),
        (31.9999 * 25.4, "32"),  # what rounds up to a whole inch carries
        (0.9999 * 25.4, "1"),
        (-31.9999 * 25.4, "-32"),
        (4.0, "0.157"),
        (0.01, "0.0004"),  # not "0", though 0 is within 1/1000 in
        (-0.01, "-0.0004"),
        (0.0000001, "0.000000004"),
        (1e-12, "3.9e-14"),
    ],
)
def test_showing_inches(mm: float, text: str) -> None:
    assert format_length(mm, "in") == text


@pytest.mark.parametrize(
    ("mm", "text"),
    [
        (0.0, "0"),
        (4.0, "4"),
        (17.7, "17.7"),
        (100.0, "100"),
        (564.999999, "565"),
        (921.6, "921.6"),
        (-372.7, "-372.7"),
        (364.9049, "364.9"),
        (0.004, "0.004"),
        (-0.0049, "-0.005"),
        (0.00012, "0.0001"),
        (1e-12, "1e-12"),
    ],
)
def test_showing_millimeters(mm: float, text: str) -> None:
    assert format_length(mm, "mm") == text


def test_showing_with_the_unit() -> None:
    assert format_amount(4.0, "mm") == "4.0 mm"
    assert format_amount(4.25, "mm") == "4.25 mm"
    assert format_amount(0.0, "mm") == "0 mm"
    assert format_amount(1e-12, "mm") == "1e-12 mm"
    assert format_amount(3.96875, "in") == "5/32 in"
    assert format_size(1500.0, "mm") == "1500 mm"
    assert format_size(603.25, "in") == "23 3/4 in"
    assert format_length(25.4 / 64, "in", denominator=16) == "0.016"


def test_ranges_in_inches_allow_nothing_that_is_refused() -> None:
    assert format_range(300, 4000, "mm") == "300 to 4000 mm"
    assert format_range(None, 50, "mm") == "50 mm or less"
    assert format_range(0.5, None, "mm") == "0.5 mm or more"
    assert format_range(300, 4000, "in") == "11.812 to 157.48 in"  # 300 mm is 11.8110… in
    low, high = format_range(300, 4000, "in").removesuffix(" in").split(" to ")
    assert parse_length(low, "in") >= 300
    assert parse_length(high, "in") <= 4000


@given(finite, units)
def test_what_is_not_zero_never_reads_zero_and_keeps_its_sign(mm: float, unit: str) -> None:
    shown = format_length(mm, unit)
    read = parse_length(shown, unit)
    assert (read == 0) == (mm == 0)
    assert read == 0 or math.copysign(1, read) == math.copysign(1, mm)
    # Two decimals of a mm; 1/1000 in for a fraction, half of that for a decimal.
    assert abs(read - mm) <= (0.005 if unit == "mm" else 0.0254) * 1.000001


@given(finite | st.floats(-1e-300, 1e-300), units)
def test_spelling_loses_nothing(mm: float, unit: str) -> None:
    assert parse_length(spell_length(mm, unit), unit) == mm


@given(st.integers(-(64 * 400), 64 * 400))
def test_64ths_are_spelled_as_fractions(count: int) -> None:
    mm = float(Fraction(count, 64) * Fraction(254, 10))
    spelled = spell_length(mm, "in")
    if count % 64:
        assert isinstance(spelled, str)
        assert Fraction(spelled.split()[-1].lstrip("-")).denominator == Fraction(count, 64).denominator
    else:
        assert spelled == count // 64
        assert isinstance(spelled, int)
    assert parse_length(spelled, "in") == mm


@pytest.mark.parametrize(
    ("mm", "unit", "spelled"),
    [
        (1500.0, "mm", 1500),
        (17.7, "mm", 17.7),
        (603.25, "in", "23 3/4"),
        (1524.0, "in", 60),
        (2.54, "in", 0.1),
        (17.7, "in", "17.7 mm"),
        (3.0, "in", "3 mm"),
        (0.0, "in", 0),
    ],
)
def test_spelling(mm: float, unit: str, spelled: object) -> None:
    assert spell_length(mm, unit) == spelled
    assert type(spell_length(mm, unit)) is type(spelled)
