"""Lengths as text. The inch is 25.4 mm exactly: NIST SP 811 (2008), appendix B."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from addon.sizes.units import (
    BY_HAND,
    CALIPER,
    TAPE,
    Reading,
    format_amount,
    format_at_least,
    format_at_most,
    format_given,
    format_number,
    format_range,
    format_size,
    nearest_fraction,
    parse_length,
    shown_by,
    spell_length,
    tape,
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
        ("18 millimeters", 18.0),
        ("18 millimetres", 18.0),
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
        ("23 3/4 km", "is not a length"),
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
        clause = "is read: " + format_size(read, unit)
        assert math.isfinite(read)
    assert ": " in clause


# Sizes and positions, as a tape reads them


@pytest.mark.parametrize("mm", SHEETS)
@pytest.mark.parametrize("column", [0, 1, 2])
def test_sizes_of_common_sheets(mm: float, column: int) -> None:
    assert format_size(mm, shown_by("in", 16 << column)) == f"{SHEETS[mm][column][0]} in"


@pytest.mark.parametrize(
    ("mm", "inches", "millimeters"),
    [
        (
            0.0,
            "0 in",
            "0 mm",
        ),  # zero as 0, whole and fraction as "48 1/32", reduced: common practice, no source
        (-0.0, "0 in", "0 mm"),
        (5e-324, "0 in", "0 mm"),
        (1e-12, "0 in", "0 mm"),
        (-1e-12, "0 in", "0 mm"),
        (-0.04, "0 in", "0 mm"),
        (25.4, "1 in", "25.4 mm"),
        (19.05, "3/4 in", "19 mm"),  # 19.05 is halfway: to the even tenth
        (19.15, "3/4 in", "19.2 mm"),
        (-19.05, "-3/4 in", "-19 mm"),
        (603.25, "23 3/4 in", "603.2 mm"),
        (-603.25, "-23 3/4 in", "-603.2 mm"),
        (31.9999 * 25.4, "32 in", "812.8 mm"),  # what rounds up to a whole inch carries
        (0.9999 * 25.4, "1 in", "25.4 mm"),
        (-31.9999 * 25.4, "-32 in", "-812.8 mm"),
        (1500.0, "59 1/16 in", "1500 mm"),  # 59.0551 in is 3.53/64 in over 59
        (364.9049, "14 23/64 in", "364.9 mm"),  # 14.3663 in is 23.44/64 in over 14
        (564.999999, "22 1/4 in", "565 mm"),  # 22.2441 in is 15.62/64 in over 22
        (99.96, "3 15/16 in", "100 mm"),  # 3.9354 in is 59.87/64 in over 3
        (25.4 / 128, "0 in", "0.2 mm"),  # 1/128 in is halfway from 0 to 1/64: to the even multiple
        (0.5953125, "1/32 in", "0.6 mm"),  # and 3/128 in to 2/64
    ],
)
def test_sizes(mm: float, inches: str, millimeters: str) -> None:
    assert format_size(mm, "in") == inches
    assert format_size(mm, "mm") == millimeters


# Clearances and deviations, as a caliper or a feeler gauge reads them


@pytest.mark.parametrize(
    ("mm", "inches", "millimeters"),
    [
        (0.0, "0 in", "0 mm"),
        (-0.0, "0 in", "0 mm"),
        (4.3e-14, "0 in", "0 mm"),  # what arithmetic leaves of nothing
        (-4.3e-14, "0 in", "0 mm"),
        (4.0, "0.157 in", "4.0 mm"),  # 0.15748 in
        (4.25, "0.167 in", "4.25 mm"),  # 0.16732 in
        (-4.25, "-0.167 in", "-4.25 mm"),
        (17.7, "0.697 in", "17.7 mm"),  # 0.69685 in
        (18.25625, "0.719 in", "18.26 mm"),  # 23/32 in is 0.71875 in
        (1.5875, "0.062 in", "1.59 mm"),  # 1/16 in is 0.0625 in: halfway, to the even thousandth
        (25.4, "1.000 in", "25.4 mm"),
        (0.125, "0.005 in", "0.12 mm"),  # halfway: to the even hundredth
        (0.135, "0.005 in", "0.14 mm"),
        (0.996, "0.039 in", "1.0 mm"),
        (9.999, "0.394 in", "10.0 mm"),
        (0.003, "less than 0.001 in", "less than 0.01 mm"),
        (-0.003, "-0.001 in", "-0.01 mm"),  # what is not zero never reads zero
        (0.00001, "less than 0.001 in", "less than 0.01 mm"),
    ],
)
def test_amounts(mm: float, inches: str, millimeters: str) -> None:
    assert format_amount(mm, "in") == inches
    assert format_amount(mm, "mm") == millimeters


def test_numbers_of_numpy_are_said_as_those_of_python() -> None:
    """Since numpy 2 its floats write their type with the number: ``np.float64(11.23)``."""
    assert format_amount(np.float64(11.23), "mm") == "11.23 mm"
    assert format_amount(np.float64(25.4), "in") == "1.000 in"


def test_amounts_in_a_column() -> None:
    assert [format_number(mm, "mm") for mm in (0.0, 1.5, 0.003, -2.25, 12.0)] == [
        "0", "1.5", "0.01", "-2.25", "12.0",
    ]  # fmt: skip
    assert [format_number(mm, "in") for mm in (0.0, 1.5, 0.003, -2.25, 12.7)] == [
        "0", "0.059", "0.001", "-0.089", "0.500",
    ]  # fmt: skip


@given(finite, units)
def test_shown_lengths_are_off_by_half_a_step_at_most_and_plain(mm: float, unit: str) -> None:
    exact = Fraction(repr(mm))
    halves = {"mm": (Fraction(1, 20), Fraction(1, 200)), "in": (Fraction(254, 1280), Fraction(254, 20000))}[
        unit
    ]
    for shown, half in zip((format_size(mm, unit), format_amount(mm, unit)), halves, strict=True):
        assert not shown.startswith("-0 ")
        assert "e" not in shown.removeprefix("less than ")
        read = Fraction(repr(parse_length(shown.removeprefix("less than "), unit)))
        least = half * 2 if read and abs(exact) <= half else half  # one step for what is nearly nothing
        assert abs(read - exact) <= least + Fraction(1, 10**9)


# Bounds and needs


@pytest.mark.parametrize(
    ("mm", "unit", "at_most", "at_least"),
    [
        (24.37, "mm", "24.3 mm", "24.4 mm"),
        (24.3, "mm", "24.3 mm", "24.3 mm"),
        (24.3 + 1e-9, "mm", "24.3 mm", "24.3 mm"),  # dust
        (24.3 - 1e-9, "mm", "24.3 mm", "24.3 mm"),
        (-3.21, "mm", "-3.3 mm", "-3.2 mm"),
        (0.047, "mm", "0.04 mm", "0.05 mm"),  # a small bound is read more finely
        (0.0, "mm", "0 mm", "0 mm"),
        (100.0, "in", "3 59/64 in", "3 15/16 in"),  # 3.93701 in is 59.97/64 in over 3
        (0.3, "in", "0.011 in", "0.012 in"),  # 0.01181 in
    ],
)
def test_bounds_round_inward_and_needs_outward(mm: float, unit: str, at_most: str, at_least: str) -> None:
    assert format_at_most(mm, unit) == at_most
    assert format_at_least(mm, unit) == at_least


def test_bounds_for_a_hand() -> None:
    assert format_at_most(24.9, "mm", BY_HAND) == "24 mm"
    assert format_at_least(24.1, "mm", BY_HAND) == "25 mm"
    assert format_at_most(9.57, "mm", BY_HAND) == "9.5 mm"  # 1 mm would be more than a tenth of it
    assert format_at_most(0.87, "mm", BY_HAND) == "0.87 mm"
    assert format_at_most(24.9, "in", BY_HAND) == "15/16 in"  # 0.98031 in
    assert format_at_least(24.9, "in", BY_HAND) == "1 in"


@given(finite, units, st.sampled_from([TAPE, CALIPER, BY_HAND, tape(16), tape(32)]))
def test_bounds_are_on_the_safe_side(mm: float, unit: str, reading: Reading) -> None:
    """Outside sizes rounded down and openings up keep a fit; dust of a millionth of a millimeter apart."""
    exact, dust = Fraction(repr(mm)), Fraction(2, 10**6)
    step = max((reading.mm, reading.step("in") * Fraction(254, 10))[unit == "in"], dust)
    most, least = (
        Fraction(repr(parse_length(shown(mm, unit, reading), unit)))
        for shown in (format_at_most, format_at_least)
    )
    assert exact - step - dust < most <= exact + dust
    assert exact - dust <= least < exact + step + dust


@pytest.mark.parametrize(
    ("mm", "unit", "text"),
    [
        (2.0, "mm", "2 mm"),
        (364.9, "mm", "364.9 mm"),
        (0.05, "mm", "0.05 mm"),
        (0.1 + 0.2, "mm", "0.3 mm"),
        (603.25, "in", "23 3/4 in"),
        (0.79375, "in", "1/32 in"),
        (0.508, "in", "0.02 in"),
        (17.7, "in", "17.7 mm"),
        (0.0, "in", "0 in"),
    ],
)
def test_lengths_that_somebody_chose_are_shown_as_chosen(mm: float, unit: str, text: str) -> None:
    assert format_given(mm, unit) == text


def test_ranges_in_inches_allow_nothing_that_is_refused() -> None:
    assert format_range(300, 4000, "mm") == "300 to 4000 mm"
    assert format_range(None, 50, "mm") == "50 mm or less"
    assert format_range(0.5, None, "mm") == "0.5 mm or more"
    assert format_range(300, 4000, "in") == "11 13/16 to 157 7/16 in"  # 11.8110 and 157.4803 in
    assert format_range(0.5, 2, "in") == "1/32 to 5/64 in"  # 0.0197 and 0.0787 in
    for low, high in ((300, 4000), (0.5, 2), (1, 60), (2, 200)):
        ends = format_range(low, high, "in").removesuffix(" in").split(" to ")
        assert low <= parse_length(ends[0], "in") < parse_length(ends[1], "in") <= high


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
