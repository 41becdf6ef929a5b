"""Forces, stresses, densities and the like in the units of a table. Conversions: NIST SP 811 (2008), appendix B."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from addon.sizes.quantities import format_quantity, quantity_range, read_quantity, spell_quantity, unit_in

METRIC = ["N", "N/mm²", "kg/m³"]


@pytest.mark.parametrize(
    ("inch", "metric", "value"),
    [
        ("1 lbf", "N", 4.4482216152605),  # SP 811, B.8; exact
        ("1 psi", "N/mm²", 0.006894757),  # SP 811, B.8: 6.894757e3 Pa
        ("1 lb/ft³", "kg/m³", 16.01846),  # SP 811, B.8
        ("15700 psi", "N/mm²", 108.248),  # Wood Handbook's withdrawal constant, in both systems
        ("2.01e6 psi", "N/mm²", 13_900),  # Wood Handbook: yellow birch, 2.01 million psi, 13.9 GPa
    ],
)
def test_conversions(inch: str, metric: str, value: float) -> None:
    assert read_quantity(inch, metric, "mm") == pytest.approx(value, rel=4e-3 if value == 13_900 else 3e-6)
    number = float(inch.split()[0])
    assert read_quantity(number, metric, "in") == read_quantity(inch, metric, "mm")
    assert read_quantity(number, metric, "mm") == number


def test_ways_to_write_them() -> None:
    assert [read_quantity(text, "N", "in") for text in ("200 N", "200N", " 2e2 N ")] == [200.0] * 3
    assert read_quantity("45", "N", "in") == read_quantity(45, "N", "in") == read_quantity("45 lb", "N", "mm")
    assert read_quantity("685 kg/m3", "kg/m³", "in") == 685.0
    assert read_quantity("9000 N/mm2", "N/mm²", "in") == 9000.0
    assert read_quantity("0.4", "", "in") == 0.4


@pytest.mark.parametrize("text", ["", "N", "4 5 N", "1/2 lbf", "200 kN", "200 psi", "nan", "1" * 70])
def test_what_is_no_force_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r"^(is|has) "):
        read_quantity(text, "N", "in")


@given(st.floats(0, 1e6), st.sampled_from(METRIC), st.sampled_from(["mm", "in"]))
def test_spelling_loses_nothing(value: float, metric: str, units: str) -> None:
    assert read_quantity(spell_quantity(value, metric, units), metric, units) == value


def test_spelling() -> None:
    assert spell_quantity(200.0, "N", "mm") == 200
    assert spell_quantity(200.0, "N", "in") == "200 N"
    assert spell_quantity(read_quantity(45, "N", "in"), "N", "in") == 45
    assert spell_quantity(0.4, "", "in") == 0.4


def test_in_words() -> None:
    assert format_quantity(200.0, "N", "mm") == "200 N"
    assert format_quantity(200.0, "N", "in") == "45 lbf"  # 44.96
    assert format_quantity(10_048.0, "N/mm²", "in") == "1457339 psi"  # 10048 / 0.006894757
    assert format_quantity(54.34, "kg", "mm") == "54.3 kg"
    assert format_quantity(54.34, "kg", "in") == "120 lb"  # 119.8
    assert format_quantity(4.325, "m²", "in") == "46.6 sq ft"  # 46.55
    assert format_quantity(1.2345, "cm³", "mm") == "1.23 cm³"
    assert format_quantity(16.387064, "cm³", "in") == "1 in³"  # exact
    assert format_quantity(0.0, "N", "in") == "0 lbf"
    assert format_quantity(360.0, "", "in") == "360"
    assert (unit_in("N", "mm"), unit_in("N", "in"), unit_in("", "in")) == ("N", "lbf", "")


def test_ranges_are_rounded_inward() -> None:
    assert quantity_range(0, 2000, "N", "mm") == "0 to 2000 N"
    assert quantity_range(0, 2000, "N", "in") == "0 to 449 lbf"  # 449.6
    assert quantity_range(100, 2000, "kg/m³", "in") == "6.25 to 124 lb/ft³"  # 6.243 and 124.9
    assert quantity_range(50, 2000, "", "in") == "50 to 2000"
    for metric, low, high in (("N/mm²", 500, 50_000), ("kg/m³", 100, 2000), ("N", 3, 2000)):
        ends = quantity_range(low, high, metric, "in").split(" ")
        assert low <= read_quantity(float(ends[0]), metric, "in")
        assert read_quantity(float(ends[2]), metric, "in") <= high
