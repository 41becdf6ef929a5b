"""Writing table files: nothing lost, all explained; changes in place that leave the rest alone."""

from __future__ import annotations

import builtins
import difflib
import os
import stat
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from addon.designs.table.parameters import LISTS, SECTIONS, AsCut, Stow, Table
from addon.files.editing import set_values, update_text
from addon.files.editor import TableEditor
from addon.files.examples import EXAMPLES
from addon.files.keys import by_section, declared_parameters, parameter_of
from addon.files.saving import save_text
from addon.files.table_file import parse_table, read_table, read_text
from addon.files.writer import new_table_text
from addon.sizes.errors import DryAssemblyError, ExportError, TableFileError
from tests.large import sampled
from tests.table_strategies import tables, values

few = settings(max_examples=sampled(10, 20), deadline=None, suppress_health_check=list(HealthCheck))
"""Tables have a hundred values, so that drawing one takes long."""


# The full text


@few
@given(tables())
def test_a_written_table_reads_back_equal_and_takes_more_entries(table: Table) -> None:
    text = new_table_text(table)
    assert parse_table(text) == table
    assert text.endswith("\n")
    # A second TOML reader, tomlkit, agrees with the one of Python's library.
    assert tomlkit.parse(text).unwrap() == tomllib.loads(text)
    entry = '[[as_cut]]\npart = "R1"\ndimension = "length"\ndeviation = "4 mm"\n'
    assert parse_table(text + entry) == replace(
        table, as_cut=(*table.as_cut, AsCut("R1", "length", deviation=4.0))
    )


def test_a_table_without_cut_parts_is_written_without_that_key() -> None:
    text = new_table_text(Table())
    assert "as_cut" not in tomllib.loads(text)
    assert all(line.startswith("#") for line in text.splitlines() if "as_cut" in line)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_every_parameter_is_explained_once(units: str) -> None:
    text = new_table_text(Table(units=units, stow=(Stow("front", 0.0), Stow("back", 0.0))))
    flat = " ".join(text.replace("\n", " ").replace("#", " ").split())
    section = appended = ""
    explained: list[tuple[str, str]] = []
    for line in text.splitlines():
        if line.startswith("["):
            section = line.split("#")[0].strip(" []")
        if line.startswith("#   [["):
            appended = line.strip("# []")
        name = line.lstrip("# ").split(" =")[0]
        home = appended if line.startswith("#   ") and appended else section
        if name in by_section()[home] and " # " in line:
            explained.append((home, name))
    listed = [key.replace("[]", "") for key, _ in declared_parameters()]
    assert [f"{home}.{name}".lstrip(".") for home, name in explained] == listed
    for _, parameter in declared_parameters():
        assert parameter.help in flat
        assert all(f'"{word}": {meaning}' in flat for word, meaning in parameter.choices)


@pytest.mark.parametrize("units", ["mm", "in"])
def test_lines_fit_on_paper(units: str) -> None:
    text = new_table_text(Table(units=units, stow=(Stow("front", 1.23456789),)), intro="Some words. " * 30)
    assert max(len(line) for line in text.splitlines()) <= 108


def test_units_of_the_written_text() -> None:
    table = set_values(
        Table(units="in"), {"table.length": 603.25, "table.width": "30 in", "bottom.groove_depth": 6.0}
    )
    raw = tomllib.loads(new_table_text(table))
    assert raw["table"]["length"] == "23 3/4"
    assert raw["table"]["width"] == 30
    assert raw["bottom"]["groove_depth"] == "6 mm"
    assert "(11 13/16 to 157 7/16 in, default 60)" in new_table_text(table)
    assert "(300 to 4000 mm, default 1500)" in new_table_text(Table())


# The examples


@pytest.mark.parametrize("name", EXAMPLES)
def test_examples_carry_the_explanations_of_today(name: str) -> None:
    example = EXAMPLES[name]
    written = new_table_text(example.table(), example.intro)
    assert example.text() == written, "run `python -m addon.files.examples` after a change of a declaration"
    assert "as_cut" not in tomllib.loads(example.text())


def test_the_quilting_table() -> None:
    table = EXAMPLES["quilting"].table()
    assert (table.units, table.table.length, table.table.width, table.table.height) == ("mm", 1500, 960, 770)
    assert [(stock.nominal, stock.thickness) for stock in table.stock] == [(18, 17.7), (12, 11.8)]
    # Four leaves with gaps of 1 side by side in the well.
    assert (1500 - 2 * 17.7 - 5 * table.leaves.gap) / 4 == pytest.approx(364.9)
    assert [(stow.side, stow.tier) for stow in table.stow] == [
        ("front", "upper"), ("back", "upper"), ("right", "lower"), ("left", "lower"),
    ]  # fmt: skip
    assert table.ribs.through_at is None


def test_many_positions_leave_their_meaning_below() -> None:
    """A list longer than the paper is wide stays one line; its meaning goes below, in the same column."""
    many = [40.0 * number for number in range(-30, 31)]
    table = set_values(EXAMPLES["quilting"].table(), {"ribs.rows_at": many})
    lines = new_table_text(table).splitlines()
    at = next(index for index, line in enumerate(lines) if line.startswith("rows_at = ["))
    assert tomllib.loads(lines[at])["rows_at"] == many
    assert lines[at + 1].startswith(" " * 34 + "# Center lines (y) of the rows of segments")
    assert all(len(line) <= 108 for index, line in enumerate(lines) if index != at)


def test_the_seed_bench_is_an_inch_table() -> None:
    raw = tomllib.loads(EXAMPLES["seed-bench"].text())
    table = EXAMPLES["seed-bench"].table()
    assert raw["units"] == "in"
    assert raw["stock"][0]["measured"] == "23/32"
    assert table.stock[0].thickness == 18.25625
    assert {(stow.side, stow.tier) for stow in table.stow} == {("front", "upper")}
    assert len(table.stow) == table.leaves.count == 2


# Changes of a Table


def test_values_set_by_key() -> None:
    table = EXAMPLES["quilting"].table()
    changed = set_values(table, {"stow[2].tier": "upper", "table.length": 1400, "ribs.rows_at": [-10, 10.5]})
    assert changed.stow[2] == replace(table.stow[2], tier="upper")
    assert changed.table == replace(table.table, length=1400.0)
    assert changed.ribs.rows_at == (-10.0, 10.5)
    assert (
        set_values(changed, {"stow[2].tier": "lower", "table.length": 1500.0, "ribs.rows_at": None}) == table
    )
    assert table == EXAMPLES["quilting"].table(), "the table given is as it was"


def test_entries_added_and_taken_away_by_key() -> None:
    table = EXAMPLES["quilting"].table()
    cut = {"as_cut[0].part": "R1", "as_cut[0].dimension": "length", "as_cut[0].deviation": 4.0}
    changed = set_values(table, cut)
    assert changed.as_cut == (AsCut("R1", "length", deviation=4.0),)
    assert set_values(changed, {"as_cut[0]": None}) == table
    assert set_values(table, {"stow[0]": None, "stow[2]": None}).stow == (table.stow[1], table.stow[3])
    assert set_values(table, {"table.length": None}).table.length == Table().table.length


def test_keys_set_back_to_their_default() -> None:
    table = set_values(Table(), {"stock[0].measured": None})
    assert table.stock[0].measured is None
    assert table.stock[0].thickness == 18.0


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"table.lenght": 5}, "table.lenght is not a parameter; use table.length"),
        ({"table.length": 5}, "table.length = 5 lies outside the allowed range; use 300 to 4000 mm."),
        ({"table.length": float("nan")}, "is not a finite number"),
        (
            {"stow[9].tier": "upper"},
            "names entry 9 of 4 (counted from 0); use [0] to [3], or [4] to add one.",
        ),
        ({"stow[9]": None}, "names entry 9 of 4"),
        ({"stow[4].side": "front"}, "L5's offset (5th [[stow]]) is missing"),
        ({"stow[0].offset": None}, "L1's offset (1st [[stow]]) is missing"),
        ({"stow[0]": 1}, "is a whole entry; set its keys one by one."),
        ({"stow[0]": None, "stow[0].tier": "upper"}, "is changed and taken away at once"),
        ({"stock[0].name": "oak"}, 'sides.stock = "18 mm birch plywood" names no entry of [[stock]]'),
        ({"table.length.x": 1}, "is not a parameter"),
    ],
)
def test_changes_refused(changes: dict[str, Any], words: str) -> None:
    for change in (lambda: set_values(EXAMPLES["quilting"].table(), changes),
                   lambda: update_text(EXAMPLES["quilting"].text(), changes)):  # fmt: skip
        with pytest.raises(TableFileError) as caught:
            change()
        assert words in str(caught.value)


# Changes of a text

BENCH = """\
# My bench, by hand
format = 4
name = 'Bench'
units = "in"            # inches
table.length = "40-1/4" # measured twice
table.height = 34.0

# The sides
[sides]
wood_above_slots = "5/16"   # of an inch
# wood_below_slots = ...    # ask first

# The ribs
[ribs]
through_at = [ "-4 1/2",  # left
  4.50 ]

[[stow]]
side = "front"
offset = -10.00

# the second one
[[stow]]
side = "front"
offset = 10

# what was cut
[[as_cut]]
part = "R1"
dimension = "length"
value = "23 3/4"
"""


def lines_changed(before: str, after: str) -> tuple[list[str], list[str]]:
    """Lines that went and lines that came; all others are the same and in the same order."""
    old, new = before.splitlines(keepends=True), after.splitlines(keepends=True)
    compared = list(difflib.ndiff(old, new))
    return [line[2:] for line in compared if line[0] == "-"], [
        line[2:] for line in compared if line[0] == "+"
    ]


@pytest.mark.parametrize(
    ("changes", "gone", "come"),
    [
        ({"table.length": 1022.35, "sides.wood_above_slots": 7.9375, "stow[0].offset": -254.0}, [], []),
        (
            {"table.length": 41.5 * 25.4},
            ['table.length = "40-1/4" # measured twice\n'],
            ['table.length = "41 1/2" # measured twice\n'],
        ),
        (
            {"sides.wood_above_slots": 25.4},
            ['wood_above_slots = "5/16"   # of an inch\n'],
            ["wood_above_slots = 1        # of an inch\n"],
        ),
        (
            {"sides.wood_below_slots": 19.05},
            ["# wood_below_slots = ...    # ask first\n"],
            ['wood_below_slots = "3/4"    # ask first\n'],
        ),
        ({"sides.slot_chamfer": 2.0}, [], ['slot_chamfer = "2 mm"\n']),
        ({"name": "Bench 2"}, ["name = 'Bench'\n"], ['name = "Bench 2"\n']),
        ({"stow[0].tier": "lower"}, [], ['tier = "lower"\n']),
        ({"as_cut[0].value": 25.4 * 23.5}, ['value = "23 3/4"\n'], ['value = "23 1/2"\n']),
        (
            {"as_cut[0].value": None, "as_cut[0].deviation": -3.175},
            ['value = "23 3/4"\n'],
            ['deviation = "-1/8"\n'],
        ),
        (
            {"as_cut[1].part": "R2", "as_cut[1].dimension": "width", "as_cut[1].deviation": 0.0},
            [],
            ["\n", "[[as_cut]]\n", 'part = "R2"\n', 'dimension = "width"\n', "deviation = 0\n"],
        ),
        ({"legs.width": 50.8}, [], ["\n", "[legs]\n", "width = 2\n"]),
        ({"stow[0]": None}, ["[[stow]]\n", 'side = "front"\n', "offset = -10.00\n", "\n"], []),
        ({"stow[1]": None}, ["[[stow]]\n", 'side = "front"\n', "offset = 10\n", "\n"], []),
        (
            {"as_cut[0]": None},
            ["[[as_cut]]\n", 'part = "R1"\n', 'dimension = "length"\n', 'value = "23 3/4"\n'],
            [],
        ),
        ({"table.height": None}, ["table.height = 34.0\n"], []),
    ],
)
def test_only_what_is_changed_is_rewritten(changes: dict[str, Any], gone: list[str], come: list[str]) -> None:
    for text, end in ((BENCH, "\n"), ("\ufeff" + BENCH.replace("\n", "\r\n"), "\r\n")):
        changed = update_text(text, changes)
        assert lines_changed(text, changed) == (
            [line.replace("\n", end) for line in gone],
            [line.replace("\n", end) for line in come],
        )
        assert parse_table(changed) == set_values(parse_table(text), changes)


def test_a_new_key_stands_in_its_section_above_the_comment_on_the_next() -> None:
    changed = update_text(BENCH, {"sides.slot_chamfer": 2.0, "stow[0].tier": "lower"})
    assert (
        'wood_above_slots = "5/16"   # of an inch\nslot_chamfer = "2 mm"\n'
        "# wood_below_slots = ...    # ask first\n\n# The ribs" in changed
    )
    assert 'offset = -10.00\ntier = "lower"\n\n# the second one\n' in changed


def test_the_standard_stock_is_written_out_when_it_is_changed() -> None:
    changed = update_text('format = 4\nname = "x"\n', {"stock[0].measured": 17.9})
    raw = tomllib.loads(changed)
    assert [stock["measured"] for stock in raw["stock"]] == [17.9, Table().stock[1].measured]
    assert parse_table(changed) == set_values(Table(name="x"), {"stock[0].measured": 17.9})


def test_another_unit_rewrites_plain_numbers_only() -> None:
    text = 'format = 4\nunits = "in"\n[table]\nlength = 60 # keep\nheight = "860 mm"\nwidth = "30 in"\n[bottom]\n'
    text += "groove_depth = 0.3125\n"
    text += "[limits]\nload = 50\nsag = 300\n"
    changed = update_text(text, {"units": "mm"})
    expected = (
        text.replace('units = "in"', 'units = "mm"').replace("= 60", "= 1524").replace("0.3125", "7.9375")
    )
    assert parse_table(changed) == replace(parse_table(text), units="mm")
    gone, come = lines_changed(expected.replace("load = 50\n", ""), changed)
    assert not gone
    # What the file leaves out keeps its inch default, and is written out where that of a mm table is another.
    assert {"groove_slack = 0.79375\n", "gap = 1.5875\n", "measured = 18.25625\n"} <= set(come)
    assert "load = 222.411080763025\n" in come  # 50 lbf, 4.4482216152605 N each
    assert not [line for line in come if line.startswith(("corner_joint", "friction", "rim_height"))]
    back = update_text(changed, {"units": "in"})
    assert parse_table(back) == parse_table(text)
    assert {'gap = "1/16"\n', "load = 50\n", 'measured = "23/32"\n'} <= set(back.splitlines(keepends=True))


@few
@given(tables(), st.data())
def test_changed_text_and_changed_table_agree(table: Table, data: st.DataObject) -> None:
    text = new_table_text(table)
    single = [
        f"{home}.{name}" for home in SECTIONS for name in by_section()[home] if not name.endswith("stock")
    ]
    single += [
        f"{home}[{index}].{name}"
        for home in LISTS
        for index in range(len(getattr(table, home)))
        for name in by_section()[home]
        if home != "as_cut" and name not in ("name", "front_sanding", "back_sanding", "nominal", "measured")
    ]
    keys = data.draw(st.lists(st.sampled_from(single), min_size=1, max_size=4, unique=True))
    changes = {key: data.draw(values(parameter_of(key))) for key in keys}
    changed = update_text(text, changes)
    assert parse_table(changed) == set_values(table, changes)
    names = tuple(key.rpartition(".")[2] for key in keys)
    gone, come = lines_changed(text, changed)
    assert all(line.lstrip("# ").startswith((*names, "\n")) or line.startswith(" ") for line in gone + come)
    assert len(come) <= len(keys) + 1


def test_without_tomlkit_one_sentence_says_what_is_missing(monkeypatch: pytest.MonkeyPatch) -> None:
    found = builtins.__import__

    def missing(name: str, *rest: Any, **more: Any) -> Any:
        if name.startswith("tomlkit"):
            raise ImportError(name)
        return found(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", missing)
    with pytest.raises(DryAssemblyError, match="needs the Python package tomlkit; install it"):
        update_text(BENCH, {"table.length": 1000.0})
    assert parse_table(BENCH).name == "Bench", "reading needs none"


def test_a_change_that_did_not_take_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(TableEditor, "change", lambda self, changes, stock: None)
    with pytest.raises(DryAssemblyError, match="cannot be changed in place; save the table anew"):
        update_text(BENCH, {"table.length": 1000.0})


def test_a_last_line_without_an_end_is_ended() -> None:
    start = "format = 4\nname = 'x'"
    assert update_text(start, {"units": "mm"}) == start + '\nunits = "mm"\n'
    assert update_text(start, {"table.length": 1000}) == start + "\n\n[table]\nlength = 1000\n"
    assert update_text("format = 4", {"table.length": 1000}) == "format = 4\n\n[table]\nlength = 1000\n"


# Saving


def test_saving_replaces_the_file_whole(tmp_path: Path) -> None:
    path = tmp_path / "bench.toml"
    save_text(path, "name = 'a'\r\n")
    assert path.read_bytes() == b"name = 'a'\r\n"
    path.chmod(0o640)
    save_text(path, new_table_text(Table(name="Bänk")))
    assert read_table(path) == Table(name="Bänk")
    assert read_text(path) == new_table_text(Table(name="Bänk"))
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert list(tmp_path.iterdir()) == [path], "no scratch file is left"


def test_saving_through_a_link_keeps_the_link(tmp_path: Path) -> None:
    target, link = tmp_path / "bench.toml", tmp_path / "link.toml"
    target.write_text("old")
    link.symlink_to(target)
    save_text(link, "new")
    assert link.is_symlink()
    assert target.read_text() == "new"


def test_a_save_that_fails_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "bench.toml"
    path.write_text("old")

    def full(handle: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(ExportError, match=r"cannot be written: No space left on device; choose a place"):
        save_text(path, "new")
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]


def test_saving_into_no_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ExportError, match=r"cannot be written: there is no folder .*none; make it first"):
        save_text(tmp_path / "none" / "bench.toml", "x")
