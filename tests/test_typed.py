"""Lengths and quantities as they are typed into fields.

The inch is 25.4 mm exactly, the foot 0.3048 m, the pound-force 4.4482216152605 N: NIST SP 811 (2008), appendix B. How
carpenters write them (a blank or a dash before the fraction, marks of feet and inches, a zero left out) is common
practice, no source.
"""

from __future__ import annotations

from fractions import Fraction
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from addon.designs.table.parameters import LISTS, SECTIONS
from addon.files.keys import by_section, read_value
from addon.scene.state import typed, values
from addon.sizes.declare import Parameter
from addon.sizes.quantities import read_quantity
from addon.sizes.typed import has_comma, items_of, shown_length, shown_lengths, with_point
from addon.sizes.units import LengthError, parse_length
from addon.sizes.words import lines_of

INCH = Fraction(254, 10)
"""mm: NIST SP 811, appendix B."""

READINGS: list[tuple[str, float, float]] = [
    # typed, what it is in an inch table, what it is in a mm table; mm
    ("28 1/2", 723.9, 28.5),
    ("28-1/2", 723.9, 28.5),
    ("28\u20111/2", 723.9, 28.5),  # a hyphen that does not break
    ("28\u00a01/2", 723.9, 28.5),  # nor this blank
    ("28 1\u20442", 723.9, 28.5),  # Unicode's fraction slash
    ("28\u00bd", 723.9, 28.5),
    ("28 \u00bd", 723.9, 28.5),
    ("\u215b", 3.175, 0.125),
    ('28 1/2"', 723.9, 723.9),
    ("28 1/2\u2033", 723.9, 723.9),
    ("28 1/2\u201d", 723.9, 723.9),
    ("28 1/2''", 723.9, 723.9),
    ("28 1/2 IN", 723.9, 723.9),
    ("28 1/2in.", 723.9, 723.9),
    ("2' 4 1/2\"", 723.9, 723.9),
    ("2'4 1/2\"", 723.9, 723.9),
    ("2'-4 1/2\"", 723.9, 723.9),
    ("2\u2032 4 1/2\u2033", 723.9, 723.9),
    ("2\u2019 4\u00bd\u201d", 723.9, 723.9),
    ("2 ft 4 in", 711.2, 711.2),
    ("2ft 4", 711.2, 711.2),
    ("2 feet 4.5 inches", 723.9, 723.9),
    ("2'", 609.6, 609.6),
    ("2 1/2 ft", 762.0, 762.0),
    ("0' 1/2\"", 12.7, 12.7),
    ("-1' 6\"", -457.2, -457.2),
    ("1 1/2 in", 38.1, 38.1),
    ("18 mm", 18.0, 18.0),
    ("1.8 cm", 18.0, 18.0),
    ("1.5 m", 1500.0, 1500.0),
    ("1500", 38100.0, 1500.0),
    ("17.7", 449.58, 17.7),
    (".5", 12.7, 0.5),
    ("-372.7", -9466.58, -372.7),
    ("3/64", 1.190625, 0.046875),
]


@pytest.mark.parametrize(("text", "inch_table", "mm_table"), READINGS)
def test_what_is_typed_is_read_in_the_tables_unit(text: str, inch_table: float, mm_table: float) -> None:
    for comma in (False, True):
        assert parse_length(with_point(text, comma), "in") == inch_table
        assert parse_length(with_point(text, comma), "mm") == mm_table


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("17,7", 17.7),
        ("17.7", 17.7),  # Blender's other fields have points in all languages
        (",5", 0.5),
        ("-372,75", -372.75),
        ("1500,25 mm", 1500.25),
        ("28,5 in", 723.9),
        ("28,5 in.", 723.9),
        ("1,500", 1.5),
        ("0.125", 0.125),
        ("1500.125", 1500.125),
    ],
)
def test_decimals_have_a_comma_where_the_language_has_it(text: str, mm: float) -> None:
    assert parse_length(with_point(text, True), "mm") == mm


@pytest.mark.parametrize(
    ("text", "comma", "said"),
    [
        ("28,5", False, "has a comma"),
        ("1,500", False, "has a comma"),
        ("1.500", True, "can be read in two ways: write 1500 or 1,500"),
        ("12.345 mm", True, "can be read in two ways: write 12345 or 12,345"),
        ("1.500,5", True, "more than one comma or point"),
        ("1,500,000", True, "more than one comma or point"),
        ("1,2,3", True, "more than one comma or point"),
    ],
)
def test_what_could_be_meant_in_two_ways_is_not_read(text: str, comma: bool, said: str) -> None:
    with pytest.raises(LengthError, match=said):
        with_point(text, comma)


@pytest.mark.parametrize(
    "text",
    ["28 - 1/2", "28 -1/2", "2' 13\"", "2' -4\"", "2.5' 3\"", "2' 3'", "2' 300 mm", "1 m 20 cm", "28 1/2 1/2", "2 x 4",
     "28 +", "28 1 /", "'", "1'' 2'", "2 * 14", "\u00bd\u00bd", "28 km"],
)  # fmt: skip
def test_what_is_no_length_is_refused(text: str) -> None:
    for units in ("in", "mm"):
        with pytest.raises(LengthError):
            parse_length(text, units)


@pytest.mark.parametrize(
    ("text", "comma", "items"),
    [
        ("-566, 566", False, ["-566", "566"]),
        ("-566; 566;", False, ["-566", "566"]),
        ("28,5", False, ["28", "5"]),
        ("28,5", True, ["28,5"]),
        ("28,5; 30", True, ["28,5", "30"]),
        ("28,5, 30,25", True, ["28,5", "30,25"]),
        ("  ", True, []),
    ],
)
def test_a_comma_in_a_decimal_parts_no_list(text: str, comma: bool, items: list[str]) -> None:
    assert items_of(text, comma) == items


@pytest.mark.parametrize(
    ("locale", "comma"),
    [("de_DE", True), ("de", True), ("fr_FR", True), ("pt_BR", True), ("sr_RS@latin", True), ("es", True),
     ("ru_RU", True), ("en_US", False), ("en_GB", False), ("ja_JP", False), ("zh_HANS", False), ("", False),
     ("ne_NP", False), ("th_TH", False)],
)  # fmt: skip
def test_languages_with_a_comma(locale: str, comma: bool) -> None:
    # LC_NUMERIC, decimal_point, of the GNU C Library's locales
    assert has_comma(locale) is comma


whole = st.integers(0, 300)
sixty_fourths = st.sampled_from([(top, 2**power) for power in range(1, 7) for top in range(1, 2**power, 2)])


@given(whole, sixty_fourths, st.sampled_from([" ", "-", "  "]), st.sampled_from(["", '"', " in", "''"]))
def test_inches_and_fractions_are_read_exactly(
    number: int, part: tuple[int, int], gap: str, mark: str
) -> None:
    text = f"{number}{gap}{part[0]}/{part[1]}{mark}"
    exact = (number + Fraction(*part)) * INCH
    assert parse_length(text, "in") == float(exact)
    assert parse_length(text, "mm") == float(exact if mark else exact / INCH)


@given(
    st.integers(0, 30),
    st.integers(0, 11),
    sixty_fourths,
    st.sampled_from(["' ", "'-", "'", " ft ", " feet "]),
)
def test_feet_and_inches_are_read_exactly(feet: int, number: int, part: tuple[int, int], mark: str) -> None:
    text = f'{feet}{mark}{number} {part[0]}/{part[1]}"'
    exact = (12 * feet + number + Fraction(*part)) * INCH
    assert parse_length(text, "in") == parse_length(text, "mm") == float(exact)


@given(st.integers(-99_999, 99_999), st.integers(0, 4), st.booleans())
def test_decimals_are_read_exactly_with_a_comma_or_a_point(digits: int, places: int, comma: bool) -> None:
    sign, size = "-" if digits < 0 else "", str(abs(digits)).zfill(places + 1)
    text = sign + size[: len(size) - places] + (("," if comma else ".") + size[-places:] if places else "")
    assert parse_length(with_point(text, comma), "mm") == float(Fraction(digits, 10**places))


def test_what_is_shown_has_its_unit() -> None:
    assert shown_length(17.7, "mm", False) == "17.7 mm"
    assert shown_length(17.7, "mm", True) == "17,7 mm"
    assert shown_length(723.9, "in", False) == "28 1/2 in"
    assert shown_length(18.0, "in", False) == "18 mm"
    assert shown_lengths((-566.0, 566.5), "mm", False) == "-566, 566.5 mm"
    assert shown_lengths((-566.0, 566.5), "mm", True) == "-566; 566,5 mm"
    assert shown_lengths((-571.5, 18.0), "in", False) == "-22 1/2 in, 18 mm"
    assert shown_lengths((), "in", False) == ""


@given(st.integers(-40_000_000, 40_000_000), st.sampled_from(["mm", "in"]), st.booleans())
def test_what_is_shown_reads_as_the_same(tenths_of_microns: int, units: Any, comma: bool) -> None:
    # lengths are chosen to 1e-4 mm, the last digit that a changed length keeps
    mm = float(Fraction(tenths_of_microns, 10_000))
    shown = shown_length(mm, units, comma)
    assert parse_length(with_point(shown, comma), units) == mm
    assert parse_length(with_point(shown, comma), "mm" if units == "in" else "in") == mm


# Typed into the properties: stand-ins with float32 lengths, as Blender has them


def section(*items: Parameter) -> Any:
    """Properties of these parameters as they are at first."""
    import numpy as np

    class Group(SimpleNamespace):
        def __setattr__(self, name: str, value: Any) -> None:
            super().__setattr__(name, float(np.float32(value)) if isinstance(value, float) else value)

    found = Group()
    for item in items:
        start = values.starting_value(item)
        setattr(found, item.name, values.shown(item, start, "mm"))
        setattr(found, item.name + values.GIVEN, False)
        for ending in (values.SPELLED, values.REFUSED, values.READ_AS):
            setattr(found, item.name + ending, "")
    return found


LENGTHS = [
    pytest.param(item, id=f"{name}.{item.name}")
    for name, items in by_section().items()
    for item in items.values()
    if item.kind == "length"
]


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("item", LENGTHS)
def test_every_length_is_shown_and_kept_as_typed(item: Parameter, units: Any) -> None:
    """At its limits and between them, in 64ths of an inch and in 0.05 mm, whatever float32 makes of it."""
    low, high = Fraction(repr(float(item.low or 0.0))), Fraction(repr(float(item.high or 0.0)))
    group = section(item)
    tried = 0
    for step, unit in ((INCH / 64, "in"), (Fraction(1, 20), "mm")):
        for part in (0, Fraction(1, 7), Fraction(1, 3), Fraction(2, 3), Fraction(6, 7), 1):
            size = ((low + part * (high - low)) // step) * step
            if not low <= size <= high:
                continue
            text = f"{size / INCH} in" if unit == "in" else f"{float(size)} mm"
            typed.type_in(group, item, text, units, False)
            assert getattr(group, item.name + values.REFUSED) == ""
            assert values.held_in(item, group, units) == float(size)
            shown = typed.text_of(group, item, units, False)
            assert parse_length(shown, units) == pytest.approx(
                float(size), abs=5e-5
            )  # 1e-4 mm is the last digit shown
            if unit == units or len(shown) <= 12:
                assert parse_length(shown, units) == float(size)
            assert not typed.type_in(group, item, shown, units, False)
            assert values.held_in(item, group, units) == float(size)
            tried += 1
    assert tried >= 4


@given(st.integers(0, 64 * 150))
def test_a_property_that_a_drag_or_a_script_set_is_a_64th_in_an_inch_table(count: int) -> None:
    item = by_section()["table"]["length"]
    exact = Fraction(count, 64) * INCH
    group = section(item)
    group.length = float(exact) / 1000
    if 300 <= exact <= 4000:
        assert values.held_in(item, group, "in") == float(exact)


LENGTH = by_section()["table"]["length"]
OUTSIDE = "lies outside the allowed range"


@pytest.mark.parametrize(
    ("units", "text", "said"),
    [
        ("in", "1500", f"1500 {OUTSIDE}: use 11 13/16 to 157 7/16 in, or write 1500 mm."),
        ("mm", "59 1/2", f"59 1/2 {OUTSIDE}: use 300 to 4000 mm, or write 59 1/2 in."),
        ("in", "5 m", f"5 m {OUTSIDE}: use 11 13/16 to 157 7/16 in."),
        ("mm", "-5", f"-5 {OUTSIDE}: use 300 to 4000 mm."),
        ("in", "sixty", 'sixty is not a length: write a number, "23 3/4", "18 mm" or "23/32 in".'),
        ("in", "", 'The field is empty: write a number, "23 3/4", "18 mm" or "23/32 in".'),
    ],
)  # fmt: skip
def test_what_is_not_taken_leaves_all_as_it_was_and_is_said(units: Any, text: str, said: str) -> None:
    group = section(LENGTH)
    typed.type_in(group, LENGTH, "60 in", units, False)
    before = values.held_in(LENGTH, group, units)
    assert not typed.type_in(group, LENGTH, text, units, False)
    assert group.length_refused == said
    assert values.held_in(LENGTH, group, units) == before == 1524.0
    assert typed.type_in(group, LENGTH, "61 in", units, False)
    assert group.length_refused == ""


@pytest.mark.parametrize(
    ("units", "text", "shown", "read_as"),
    [
        ("mm", "59 1/2 in", "1511.3 mm", "59 1/2 in is 1511.3 mm"),
        ("mm", "1.5 m", "1500 mm", "1.5 m is 1500 mm"),
        ("mm", "1500 mm", "1500 mm", ""),
        ("in", "1500 mm", "1500 mm", "1500 mm is about 59 1/16 in"),  # 59.055 in: 59 and 3.5 sixty-fourths
        ("in", "723.9 mm", "28 1/2 in", "723.9 mm is 28 1/2 in"),
        ("in", "2' 4 1/2\"", "28 1/2 in", "2' 4 1/2\" is 28 1/2 in"),
        ("in", "28-1/2", "28 1/2 in", ""),
        ("in", '28.5"', "28 1/2 in", ""),
    ],
)
def test_what_was_understood_is_shown_back(units: Any, text: str, shown: str, read_as: str) -> None:
    group = section(LENGTH)
    values.put(group, LENGTH, 800.0, units)
    assert typed.type_in(group, LENGTH, text, units, False)
    assert typed.text_of(group, LENGTH, units, False) == shown
    assert group.length_read_as == read_as
    assert group.length_refused == ""


def test_words_beside_a_field_go_when_something_else_gives_it_another_value() -> None:
    group = section(LENGTH)
    typed.type_in(group, LENGTH, "1500", "mm", False)
    typed.type_in(group, LENGTH, "9000", "mm", False)
    values.put(group, LENGTH, 1500.0, "mm")
    assert group.length_refused
    values.put(group, LENGTH, 1600.0, "mm")
    assert group.length_refused == ""


def test_the_default_comes_back_in_the_unit_of_the_table() -> None:
    gap = by_section()["limits"]["min_clearance"]
    group = section(gap)
    for units, default in (("mm", 0.5), ("in", 0.508)):  # 0.02 in
        typed.type_in(group, gap, "3 mm", units, False)
        assert typed.type_in(group, gap, "default", units, False)
        assert values.held_in(gap, group, units) == default
    nominal = by_section()["stock"]["nominal"]
    assert nominal.required
    group = section(nominal)
    assert not typed.type_in(group, nominal, "default", "mm", False)
    assert group.nominal_refused.startswith("default is not a length")


def test_a_length_that_may_be_left_out_is_given_by_typing_and_left_out_by_an_empty_field() -> None:
    above = by_section()["stow"]["clearance_above"]
    group = section(above)
    assert typed.text_of(group, above, "in", False) == ""
    assert not typed.type_in(group, above, "1/16 of it", "in", False)
    assert not group.clearance_above_given
    assert typed.type_in(group, above, "1/16", "in", False)
    assert group.clearance_above_given
    assert typed.text_of(group, above, "in", False) == "1/16 in"
    assert typed.type_in(group, above, "", "in", False)
    assert not group.clearance_above_given


def test_a_list_of_lengths() -> None:
    rows = by_section()["ribs"]["rows_at"]
    group = section(rows)
    assert typed.type_in(group, rows, "-22 1/2, 2' 1\"; 18 mm", "in", False)
    assert values.held_in(rows, group, "in") == (-571.5, 635.0, 18.0)
    assert typed.text_of(group, rows, "in", False) == "-22 1/2 in, 25 in, 18 mm"
    assert not typed.type_in(group, rows, "10, 1o", "in", False)
    assert group.rows_at_refused.startswith("1o is not a length")
    assert values.held_in(rows, group, "in") == (-571.5, 635.0, 18.0)
    assert typed.type_in(group, rows, "28,5", "mm", True)
    assert values.held_in(rows, group, "mm") == (28.5,)


QUANTITIES = [
    pytest.param(item, id=f"{name}.{item.name}")
    for name, items in by_section().items()
    for item in items.values()
    if item.kind == "number" and values.is_typed(item)
]


@pytest.mark.parametrize("item", QUANTITIES)
def test_quantities_have_the_unit_of_the_table(item: Parameter) -> None:
    low, high = item.low or 0.0, item.high or 0.0
    for units in ("mm", "in"):
        group = section(item)
        for part in (0.25, 0.5, 0.75):
            wanted = round(low + part * (high - low), 1)
            assert typed.type_in(group, item, f"{wanted} {item.unit}", units, False)
            assert values.held_in(item, group, units) == wanted
            shown = typed.text_of(group, item, units, False)
            assert read_quantity(shown, item.unit, units) == pytest.approx(wanted, abs=5e-5)
            assert not typed.type_in(group, item, shown, units, False)


def test_a_load_in_pounds() -> None:
    load = by_section()["limits"]["load"]
    group = section(load)
    assert typed.type_in(group, load, "50", "in", False)
    assert typed.text_of(group, load, "in", False) == "50 lbf"
    # 50 x 4.4482216152605 N
    assert values.held_in(load, group, "in") == pytest.approx(222.411080763025, abs=1e-12)
    assert typed.type_in(group, load, "50 lbf", "mm", False)
    assert (typed.text_of(group, load, "mm", False), group.load_read_as) == (
        "222.4111 N",
        "50 lbf is 222.4111 N",
    )
    assert not typed.type_in(group, load, "9000", "mm", False)
    assert group.load_refused == "9000 lies outside the allowed range: use 0 to 2000 N."


def test_what_is_typed_is_what_a_file_with_it_says() -> None:
    for text, inch_table, mm_table in READINGS:
        for units, mm in (("in", inch_table), ("mm", mm_table)):
            if LENGTH.low <= mm <= LENGTH.high:
                assert read_value(LENGTH, "table.length", text, units) == mm


def test_there_are_lengths_in_all_parts_of_the_file() -> None:
    assert len(LENGTHS) > 70
    assert {item.id.split(".")[0] for item in LENGTHS} <= {*SECTIONS, *LISTS, ""}


def test_no_line_of_a_sentence_ends_inside_of_an_amount() -> None:
    text = "1500 lies outside the allowed range: use 11 13/16 to 157 7/16 in, or write 1500 mm."
    for letters in range(24, 90):
        lines = lines_of(text, letters)
        assert " ".join(lines) == text
        assert all(len(line) <= letters for line in lines)
        for amount in ("11 13/16", "157 7/16 in", "1500 mm"):
            assert any(amount in line for line in lines)
    assert lines_of(text, 30, most=2)[-1].endswith(" …")
