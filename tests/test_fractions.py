"""In what fractions of an inch a table's sizes are shown: by the maker's choice, wherever they are shown.

Expected texts are worked out by hand from the table's sizes; a tape has sixteenths (common practice, no source).
"""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path

import pytest

from addon.check.prepared import prepare
from addon.command_line import main
from addon.designs.table import build
from addon.designs.table.parameters import Table
from addon.files.editing import set_values, update_text
from addon.files.examples import EXAMPLES
from addon.files.table_file import parse_table
from addon.paper.filmstrip_page import filmstrip
from addon.sizes.errors import ParameterError, TableFileError
from addon.sizes.units import (
    finest_of,
    format_amount,
    format_at_least,
    format_at_most,
    format_given,
    format_range,
    format_size,
    parse_length,
    shown_by,
)

BENCH = EXAMPLES["seed-bench"].table()
FINER = re.compile(r"\d/(?:32|64)\b")
"""A fraction that no tape has."""


def in_fractions(fraction: str) -> Table:
    return replace(BENCH, fraction=fraction)


@pytest.mark.parametrize(
    ("finest", "size", "at_most", "at_least"),
    [
        (64, "13 41/64 in", "13 41/64 in", "13 21/32 in"),
        (32, "13 21/32 in", "13 5/8 in", "13 21/32 in"),
        (16, "13 5/8 in", "13 5/8 in", "13 11/16 in"),
    ],
)
def test_sizes_and_bounds_are_shown_so(finest: int, size: str, at_most: str, at_least: str) -> None:
    """346.5 mm are 13.64173 in: 41.07 sixty-fourths over 13, 20.54 thirty-seconds, 10.27 sixteenths."""
    units = shown_by("in", finest)
    assert (format_size(346.5, units), format_at_most(346.5, units), format_at_least(346.5, units)) == (
        size, at_most, at_least
    )  # fmt: skip


def test_what_is_read_exactly_or_by_a_caliper_is_shown_as_ever() -> None:
    units = shown_by("in", 16)
    assert format_amount(2.5, units) == format_amount(2.5, "in") == "0.098 in"
    assert format_given(parse_length("23/32", "in"), units) == "23/32 in"
    assert format_size(346.5, shown_by("mm", 16)) == "346.5 mm"


def test_limits_are_rounded_inward_to_it() -> None:
    """15 mm are 0.59055 in: 37.8 sixty-fourths, 9.4 sixteenths."""
    assert format_range(0.0, 15.0, "in") == "0 to 37/64 in"
    assert format_range(0.0, 15.0, shown_by("in", 16)) == "0 to 9/16 in"


def test_to_everything_else_it_is_the_same_unit() -> None:
    units = shown_by("in", 32)
    assert units == "in"
    assert {units: 1}["in"] == 1
    assert json.dumps({"units": units}) == '{"units": "in"}'
    assert (finest_of(units), finest_of("in"), finest_of(shown_by(units, 16))) == (32, 64, 16)


def test_a_table_carries_it_wherever_its_unit_goes() -> None:
    assert finest_of(BENCH.units) == 64
    assert finest_of(in_fractions("1/32").units) == 32
    changed = set_values(in_fractions("1/32"), {"name": "Other", "legs.width": 70.0})
    assert (finest_of(changed.units), changed.fraction) == (32, "1/32")
    assert finest_of(set_values(changed, {"fraction": "1/16"}).units) == 16


def test_it_stands_in_the_file_and_is_changed_there() -> None:
    text = EXAMPLES["seed-bench"].text()
    changed = update_text(text, {"fraction": "1/16"}, "The table")
    assert parse_table(changed).fraction == "1/16"
    assert [new for old, new in zip(text.splitlines(), changed.splitlines(), strict=True) if old != new] == [
        line.replace('"1/64" ', '"1/16" ', 1) for line in text.splitlines() if line.startswith("fraction")
    ]
    with pytest.raises(TableFileError, match='fraction = "1/10" is none of the choices'):
        parse_table('units = "in"\nfraction = "1/10"\n')


def test_a_file_without_it_shows_what_it_did() -> None:
    """Sixty-fourths."""
    text = "".join(
        line for line in EXAMPLES["seed-bench"].text().splitlines(True) if not line.startswith("fraction")
    )
    assert parse_table(text) == BENCH


@pytest.mark.parametrize(
    "subcommand",
    [("check", "--details"), ("slide", "--details"), ("steps",), ("tolerance", "--count", "50", "--details")],
)
def test_the_command_line_shows_them(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], subcommand: tuple[str, ...]
) -> None:
    said = []
    for fraction in ("1/64", "1/16"):
        path = tmp_path / "bench.toml"
        path.write_text(
            update_text(EXAMPLES["seed-bench"].text(), {"fraction": fraction}, "The table"), encoding="utf-8"
        )
        main([subcommand[0], str(path), *subcommand[1:]])
        said.append(capsys.readouterr().out)
    assert FINER.search(said[0])
    assert not FINER.search(said[1])


def test_papers_show_them() -> None:
    """L1 is the tightest at R5's outer face, whose travel of 13 41/64 reads 13 5/8 on a tape."""
    said = []
    for fraction in ("1/64", "1/16"):
        table = in_fractions(fraction)
        drawing = filmstrip(table, prepare(build(table)), date="")
        said.append(" | ".join(item.text for item, _ in drawing.texts()))
    assert FINER.search(said[0])
    assert not FINER.search(said[1])


def test_refusals_show_them() -> None:
    """A bound of 57 sixty-fourths and a bit is one of 14 sixteenths, rounded down; a small one, of which a sixteenth is
    more than a tenth, is read more finely."""
    for fraction, bounds in (
        ("1/64", "between 35/64 in and 25 57/64 in"),
        ("1/16", r"between 0\.\d+ in and 25 7/8 in"),
    ):
        table = set_values(in_fractions(fraction), {"leaves.finger_hole_inset": 12.0})
        with pytest.raises(ParameterError, match=bounds):
            build(table)
