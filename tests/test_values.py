"""Parameters in Blender's float32 properties: what is not touched stays, what is touched comes out as typed."""

from __future__ import annotations

from fractions import Fraction
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from addon.files.examples import EXAMPLES
from addon.files.table_file import parse_table
from addon.scene.state import values
from addon.sizes.declare import Parameter

LENGTH = Parameter("length", "length", "Length", "A length", 1.0, "mm", low=0.0, high=4000.0)


def held(mm: float) -> float:
    """What a float32 property gives back."""
    return float(np.float32(mm / 1000.0))


@given(st.floats(0.0, 4000.0))
def test_an_untouched_length_counts_as_unchanged(mm):
    assert values.same(LENGTH, SimpleNamespace(length=held(mm)), mm, "mm")


@given(st.integers(0, 3_999_999))
def test_a_length_typed_in_hundredths_comes_out_as_typed(hundredths):
    # float32 has 24 bits: up to 4 m they tell lengths apart by 0.00024 mm, so 0.001 mm is always kept.
    mm = hundredths / 1000
    assert round(values.taken(LENGTH, held(mm), "mm"), 3) == mm


@given(st.integers(1, 400), st.integers(0, 63))
def test_sixty_fourths_of_an_inch_survive(inches, part):
    # NIST SP 811: 1 in = 25.4 mm exactly. float32 is off by up to 0.00012 mm below 4 m, rounding by 0.00005 mm.
    mm = float((inches + Fraction(part, 64)) * Fraction(254, 10))
    if mm < 4000:
        assert values.taken(LENGTH, held(mm), "mm") == pytest.approx(mm, abs=1.8e-4)


def test_the_limits_hold_although_float32_is_coarse():
    limited = Parameter("gap", "length", "Gap", "A gap", 1.0, "mm", low=0.1, high=2000.1)
    assert values.taken(limited, float(np.float32(2.0001)), "mm") <= 2000.1
    assert values.taken(limited, float(np.float32(0.0001)), "mm") >= 0.1


def tree() -> SimpleNamespace:
    """A stand-in for the tree of properties, with float32 lengths."""

    class Group(SimpleNamespace):
        def __setattr__(self, name, value):
            super().__setattr__(name, float(np.float32(value)) if isinstance(value, float) else value)

    class Entries(list):
        def add(self):
            self.append(Group())

        def remove(self, index):
            del self[index]

    sections = {name: Group() for name in values.SECTION_ITEMS}
    return Group(**sections, **{name: Entries() for name in values.LIST_ITEMS})


@pytest.mark.parametrize("name", EXAMPLES)
def test_filling_and_reading_back_changes_nothing(name):
    table, group = EXAMPLES[name].table(), tree()
    values.fill_all(group, table)
    assert values.changes(group, table) == {}


def test_only_what_the_user_changed_is_found():
    table, group = EXAMPLES["quilting"].table(), tree()
    values.fill_all(group, table)
    group.table.length = 1.5103
    group.stow[2].offset_given = True
    group.leaves.count = 3
    group.ribs.through_at_given = True
    group.ribs.through_at = "-566, 566"
    group.stock[0].measured_given = False
    assert values.changes(group, table) == {
        "table.length": 1510.3,
        "leaves.count": 3,
        "ribs.through_at": (-566.0, 566.0),
        "stock[0].measured": None,
    }


def test_a_list_of_lengths_is_read_in_the_tables_unit():
    table, group = parse_table('units = "in"\n'), tree()
    values.fill_all(group, table)
    group.ribs.through_at_given, group.ribs.through_at = True, "-22 1/2; 10"
    assert values.changes(group, table)["ribs.through_at"] == pytest.approx((-571.5, 254.0))


def test_a_list_that_does_not_read_is_refused_by_name():
    table, group = EXAMPLES["quilting"].table(), tree()
    values.fill_all(group, table)
    group.ribs.through_at_given, group.ribs.through_at = True, "here, there"
    with pytest.raises(ValueError, match=r"ribs\.through_at = 'here, there' is not a length"):
        values.changes(group, table)
