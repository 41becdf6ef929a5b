"""Files of older formats, kept in tests/data/format-1 and format-2, are read as they were meant and saved in today's.

The figures beside each file, and the defaults in defaults.json, are what the program of that time printed.
"""

from __future__ import annotations

import json
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from addon.designs.table import build
from addon.designs.table.design import check
from addon.designs.table.parameters import LISTS, Table
from addon.files.editing import set_values, update_text
from addon.files.old_format import KEY_NAMES, SECTION_NAMES, label_of_today
from addon.files.table_file import parse_table, read_table, read_text
from addon.files.writer import new_table_text
from addon.sizes.errors import TableFileError

DATA = Path(__file__).resolve().parent / "data"
FOLDER, SECOND = DATA / "format-1", DATA / "format-2"


class Found(NamedTuple):
    """What the program of that time found."""

    verdict: str
    leaves: list[tuple[str, float, float, float, str | None]]
    """Label, clearance, how far it stands out, end gap, what it stops at; mm."""
    findings: list[tuple[str, str, list[str], float]]
    """Rule, severity, parts, amount in mm."""


FILES = {
    "quilting-table": Found(
        "clear",
        [
            ("L1", 1.5, -19.2, 1.5, "S2"),
            ("L2", 1.5, -19.2, 1.5, "S1"),
            ("L3", 1.5, -19.2, 1.5, "E1"),
            ("L4", 1.5, -19.2, 1.5, "E2"),
        ],
        [],
    ),
    "seed-bench": Found(
        "clear",
        [("L1", 1.5875, -19.84375, 1.5875, "S2"), ("L2", 1.5875, -19.84375, 1.5875, "S2")],
        [],
    ),
    "hemming-table": Found(
        "clear",
        [("L1", 1.5, -19.2, 1.5, "S2"), ("L2", 1.5, -19.2, 1.5, "S1")],
        [("finger-room", "note", ["L1", "L2"], 25.0)],
    ),
    "measured-parts": Found(
        "blocked",
        [
            ("L1", 0.7, -20.0, 0.7, "S2"),
            ("L2", 0.7, -20.0, 0.7, "S1"),
            ("L3", 1.5, -20.0, 1.5, "E1"),
            ("L4", 1.2, -20.0, 1.5, "E2"),
        ],
        [("overlap", "error", ["F1", "K2"], 0.1), ("table-rocks", "warning", ["P3"], 2.0)],
    ),
    "inches": Found(
        "clear",
        [("L1", 1.5, -19.2, 1.5, "S2"), ("L2", 1.5, -19.2, 1.5, "E1")],
        # Pushed to one side, the bottom panel reaches 6 - 2 * 0.5 - 3.175 mm into the other groove; 3 are asked for.
        [("short-part", "warning", ["E1", "S2"], 0.79375), ("thin-bearing", "warning", ["F1", "S3"], 1.175)],
    ),
}


NEW = ("thin-wood", "sheet-unmeasured")
"""Rules that were not looked for at the time."""


@pytest.mark.parametrize("name", FILES)
def test_an_old_file_gives_what_it_gave(name: str) -> None:
    expected = FILES[name]
    report = check(read_table(FOLDER / f"{name}.toml"))
    findings = [one for one in report.findings if one.rule not in NEW]
    warned = any(one.severity == "warning" for one in report.findings)
    assert report.verdict == ("tight" if warned and expected.verdict == "clear" else expected.verdict)
    for leaf, (label, clearance, proud, end_gap, stops_at) in zip(
        report.leaves, expected.leaves, strict=True
    ):
        assert leaf.leaf == label
        assert [leaf.clearance, leaf.proud, leaf.end_gap] == pytest.approx(
            [clearance, proud, end_gap], abs=1e-9
        )
        assert leaf.stops_at == (stops_at and label_of_today(stops_at))
    assert [(one.rule, one.severity, list(one.parts)) for one in findings] == [
        (rule, severity, [label_of_today(part) for part in parts])
        for rule, severity, parts, _ in expected.findings
    ]
    assert [one.amount for one in findings] == pytest.approx([amount for *_, amount in expected.findings])


DIMENSIONS = {
    "S1": "length width thickness slot_width slot_height slot_offset slot_sill groove_offset groove_width groove_depth",
    "R3": "window_width window_height window_offset window_sill",
}
"""Every dimension that format 1 had, at a part that has it."""


@pytest.mark.parametrize(
    ("part", "dimension"), [(part, one) for part in DIMENSIONS for one in DIMENSIONS[part].split()]
)
def test_dimensions_of_that_time_are_read(part: str, dimension: str) -> None:
    entry = f'\n[[as_cut]]\npart = "{part}"\ndimension = "{dimension}"\ndeviation = 0.1\n'
    table = parse_table(read_text(FOLDER / "quilting-table.toml") + entry)
    changed, drawn = build(table).by_label[part], build(replace(table, as_cut=())).by_label[part]
    assert changed.shape != drawn.shape


def test_labels_of_today() -> None:
    old = ["S1", "F1", "R12", "L3", "E2", "P8", "D1", "T2", "N4", "K3", "G10", "ship", "F", "F1a"]
    assert [label_of_today(label) for label in old] == (
        [
            "S1",
            "B1",
            "R12",
            "L3",
            "STOP2",
            "LEG8",
            "LEDG1",
            "TOP2",
            "RUN4",
            "KICK3",
            "GUIDE10",
            "ship",
            "F",
            "F1a",
        ]
    )


@pytest.mark.parametrize("units", ["mm", "in"])
def test_what_an_old_file_leaves_out_takes_the_default_of_its_time(units: str) -> None:
    table = parse_table(f'units = "{units}"\n[[stow]]\nside = "front"\noffset = 0\n')
    entries = '[[stock]]\nname = "18 mm birch plywood"\nnominal = 18\n'
    entries += '[[stock]]\nname = "12 mm birch plywood"\nnominal=12\n'
    listed = parse_table(
        f'units = "{units}"\n' + entries.replace("= 18", '= "18 mm"').replace("=12", '= "12 mm"')
    )
    defaults: dict[str, Any] = json.loads((FOLDER / "defaults.json").read_text(encoding="utf-8"))
    for item, expected in zip(table.stock, defaults.pop("stock"), strict=True):
        assert {name: getattr(item, name) for name in expected} == expected
    assert len(defaults) > 90
    for key, expected in defaults.items():
        section, _, name = key.partition(".")
        today = SECTION_NAMES.get(section, section).removesuffix("[]")
        name = KEY_NAMES.get((today, name), name)
        if today == "as_cut":
            continue  # nothing but what may be left out
        home = (
            {"stock": listed.stock, "stow": table.stow}[today][0] if today in LISTS else getattr(table, today)
        )
        assert getattr(home, name) == expected, key


@pytest.mark.parametrize("name", FILES)
def test_saving_an_old_file_keeps_its_table_and_says_it_in_todays_words(name: str) -> None:
    text = read_text(FOLDER / f"{name}.toml")
    table = parse_table(text)
    for saved in (update_text(text, {}), new_table_text(table)):
        raw = tomllib.loads(saved)
        assert raw["format"] == 4
        assert parse_table(saved) == table
        assert not raw.keys() & SECTION_NAMES.keys()
        assert not [key for key in KEY_NAMES if key[1] in raw.get(key[0], {})]
        assert update_text(saved, {}) == saved


def test_only_names_change_in_the_text_of_an_old_file_and_defaults_of_its_time_are_added() -> None:
    text = read_text(FOLDER / "measured-parts.toml")
    expected = text
    for old, new in (
        ('name = "Measured', 'format = 4\nname = "Measured'),
        ('table.corner_joint = "mitred"   #', 'table.corner_joint = "mitered"  #'),
        ("lie =", "direction ="),
        ("roof = 9                        #", "wood_above_slots = 9            #"),
        ("rail =", "wood_below_slots ="),
        ("[floor]", "[bottom]"),
        ("5.5              # of 12\n", "5.5              # of 12\ngroove_bit = 0\ngroove_run_on = 0\n"),
        ("\npost =", "\nwood_beside_window ="),
        ("least_post =", "least_wood_beside_window ="),
        ("recess =", "set_back ="),
        ('direction = "across" }', 'direction = "across", lead_chamfer = 0}'),
        (
            "least_wood_beside_window = 12\n",
            'least_wood_beside_window = 12\nupper_windows = "closed"\nwindow_chamfer = 2\nstand_off = 0\n',
        ),
        ("guides = true\n", 'guides = true\nspread = "wide"\n'),
        ('"F1"', '"B1"'),
        ('"P3"', '"LEG3"'),
        ('"D1"', '"LEDG1"'),
        ('"N1"', '"RUN1"'),
        ('"K2"', '"KICK2"'),
        ('"G2"', '"GUIDE2"'),
    ):
        assert old in expected
        expected = expected.replace(old, new, 1)
    expected += "\n[tolerances]\nsquareness = 0\n"
    assert update_text(text, {}) == expected
    windows = "\ufeff" + text.replace("\n", "\r\n")
    assert update_text(windows, {}) == "\ufeff" + expected.replace("\n", "\r\n")


@pytest.mark.parametrize(
    ("text", "start"),
    [
        ("", "format = 4\n"),
        ("# mine", "# mine\nformat = 4\n"),
        ("# mine\n\n[floor]\ngroove_depth = 5\n", "# mine\n\nformat = 4\n\n[bottom]\ngroove_depth = 5\n"),
        (
            "floor.groove_depth = 5\nfloor . stock = 'x'\n",
            "format = 4\nbottom.groove_depth = 5\nbottom.groove_bit = 0\nbottom.groove_run_on = 0\n"
            "bottom . stock = 'x'\n",
        ),
        (
            "'floor' = { groove_depth = 5 }\n",
            "format = 4\n'bottom' = { groove_depth = 5, groove_bit = 0,groove_run_on = 0}\n",
        ),
        ("[ floor ]  # x\n'groove_depth'  =  5\n", "format = 4\n\n[ bottom ]  # x\n'groove_depth'  =  5\n"),
        (
            "sides = {roof = '5/16 in', 'rail'=20}",
            "format = 4\nsides = {wood_above_slots = '5/16 in', 'wood_below_slots'=20}",
        ),
    ],
)
def test_layouts_of_an_old_text(text: str, start: str) -> None:
    text = text.replace("'x'", "'12 mm birch plywood'")
    assert update_text(text, {}).startswith(start.replace("'x'", "'12 mm birch plywood'"))


def test_an_old_text_takes_changes_under_the_names_of_today() -> None:
    text = read_text(FOLDER / "measured-parts.toml")
    changes = {"sides.wood_above_slots": 10.0, "bottom.groove_depth": None, "as_cut[0].part": "LEG1"}
    changed = update_text(text, changes)
    assert parse_table(changed) == set_values(parse_table(text), changes)
    assert "wood_above_slots = 10           # by hand\n" in changed


def refusal(text: str) -> str:
    with pytest.raises(TableFileError) as caught:
        parse_table(text, "bench.toml")
    return str(caught.value)


def test_what_is_wrong_in_an_old_file_is_said_in_its_own_words() -> None:
    assert (
        refusal("[sides]\nroof = -8")
        == "bench.toml: sides.roof = -8 lies outside the allowed range; use 2 to 200 mm."
    )
    assert refusal("[floor]\nstock = 'oak'").startswith(
        'bench.toml: floor.stock = "oak" names no entry of [[stock]]'
    )
    assert refusal("floor = 3") == "bench.toml: floor = 3 is not one section; write [bottom]."
    assert "sides.roof is called sides.wood_above_slots in this format; use that name." in refusal(
        "[sides]\nroof = 8\nwood_above_slots = 9"
    )
    assert "floor is called bottom in this format; use that name." in refusal("[floor]\n[bottom]\n")


def test_files_of_today_may_use_names_of_today_only() -> None:
    assert "sides.roof is called sides.wood_above_slots in this format; use that name." in refusal(
        "format = 4\n[sides]\nroof = 8"
    )
    assert "floor is called bottom in this format; use that name." in refusal(
        "format = 4\n[floor]\nstock = 'x'"
    )
    assert parse_table('format = 4\n[table]\ncorner_joint = "mitred"').table.corner_joint == "mitered"


@pytest.mark.parametrize("value", ["1", "5", "true", '"4"', "4.0"])
def test_other_formats_are_refused(value: str) -> None:
    assert refusal(f"format = {value}") == (
        f"bench.toml: format = {value} is the format of another program, or of a later version of this one; use 4."
    )


def test_a_table_of_today_says_its_format_in_its_first_line() -> None:
    lines = [line for line in new_table_text(Table()).splitlines() if line and line[0] != "#"]
    assert lines[0].split("#")[0].strip() == "format = 4"


# -- format 2: the names of today, and windows that were closed
# ------------------------------------------------------------------------------------------------------------------


class Built(NamedTuple):
    """What the program of that time built: parts, knee clearance, sum of all numbers of openings, clearances; mm."""

    parts: int
    knee: float
    openings: int
    numbers: float
    leaves: list[tuple[str, float, str]]


SECOND_FILES = {
    "quilting-table": Built(
        40,
        626.1,
        16,
        14303.0,
        [("L1", 1.5, "S2"), ("L2", 1.5, "S1"), ("L3", 1.5, "STOP1"), ("L4", 1.5, "STOP2")],
    ),
    "seed-bench": Built(26, 743.74375, 4, 4222.353125, [("L1", 1.5875, "S2"), ("L2", 1.5875, "S2")]),
    "hemming-table": Built(21, 573.1, 2, 2188.8, [("L1", 1.5, "S2"), ("L2", 1.5, "S1")]),
    "half-built": Built(
        40,
        615.9,
        14,
        12908.0,
        [("L1", 1.5, "S2"), ("L2", 1.5, "S1"), ("L3", 1.5, "STOP1"), ("L4", 1.5, "STOP2")],
    ),
    "half-built-inches": Built(
        48, 617.5375, 10, 9889.33125, [("L1", 1.5875, "S2"), ("L2", 1.5875, "S1"), ("L3", 1.5875, "STOP1")]
    ),
}


@pytest.mark.parametrize("name", SECOND_FILES)
def test_a_file_of_format_2_is_built_as_it_was(name: str) -> None:
    expected = SECOND_FILES[name]
    table = read_table(SECOND / f"{name}.toml")
    built = build(table)
    openings = [o for part in built.parts for o in part.shape.openings]
    assert not any(o.open_above for o in openings)
    low = min(float(part.box[0][2]) for part in built.parts if not part.role.stands_on_floor)
    assert (len(built.parts), low) == (expected.parts, pytest.approx(expected.knee))
    numbers = sum(o.u0 + o.u1 + o.v0 + o.v1 + o.front_chamfer for o in openings)
    assert (len(openings), numbers) == (expected.openings, pytest.approx(expected.numbers))
    leaves = [(one.leaf, pytest.approx(one.clearance), one.stops_at) for one in check(table, built).leaves]
    assert leaves == expected.leaves


@pytest.mark.parametrize("units", ["mm", "in"])
def test_what_a_file_of_format_2_leaves_out_takes_the_default_of_its_time(units: str) -> None:
    defaults: dict[str, Any] = json.loads((SECOND / "defaults.json").read_text(encoding="utf-8"))[units]
    assert len(defaults) > 75
    for text in (
        f'format = 2\nunits = "{units}"',
        f'format = 2\nunits = "{units}"\n[ribs]\n[leaves]\n[stowing]',
    ):
        table = parse_table(text)
        for key, expected in defaults.items():
            section, _, name = key.partition(".")
            assert getattr(getattr(table, section), name) == pytest.approx(expected), key


@pytest.mark.parametrize("name", SECOND_FILES)
def test_saving_a_file_of_format_2_keeps_its_table(name: str) -> None:
    text = read_text(SECOND / f"{name}.toml")
    table = parse_table(text)
    for saved in (update_text(text, {}), new_table_text(table)):
        assert tomllib.loads(saved)["format"] == 4
        assert parse_table(saved) == table
        assert update_text(saved, {}) == saved


def test_only_what_was_left_out_is_added_to_a_text_of_format_2() -> None:
    text = read_text(SECOND / "half-built.toml")
    saved = update_text(text, {})
    kept = [line for line in saved.splitlines() if line and line in text.splitlines()]
    assert kept == [line for line in text.splitlines() if line and line != "format = 2"]
    added = {line for line in saved.splitlines() if line and line not in text}
    assert added == {
        "format = 4", "[sides]", "wood_above_slots = 8", "[ribs]", 'upper_windows = "closed"', "window_chamfer = 2",
        "stand_off = 0", "[leaves]", "lead_chamfer = 0", "[stowing]", "guides = false",
        'spread = "wide"', "set_back = 19.2", "[bottom]", "groove_bit = 0", "groove_run_on = 0",
        "[tolerances]", "squareness = 0",
    }  # fmt: skip


# -- format 3: grooves whose stopped ends were square, and went no farther than their depth
# ------------------------------------------------------------------------------------------------------------------


def test_grooves_of_a_file_of_format_3_stop_where_they_did() -> None:
    """By hand: 1500 mm less two sides of 17.7 mm is 1464.6 mm, and a groove 6 mm longer at either end 1476.6 mm; today
    3 mm more at either end."""
    lengths = []
    for number in (3, 4):
        board = build(parse_table(f"format = {number}")).by_label["S1"]
        (groove,) = board.shape.grooves
        lengths.append((groove.u1 - groove.u0, groove.end_radius))
    assert lengths == [(pytest.approx(1476.6), 0.0), (pytest.approx(1482.6), 3.0)]


@pytest.mark.parametrize("units", ["mm", "in"])
def test_saving_a_file_of_format_3_keeps_its_table(units: str) -> None:
    text = f'format = 3\nunits = "{units}"\n[bottom]\ngroove_depth = "6 mm"\n'
    saved = update_text(text, {})
    added = {line for line in saved.splitlines() if line and line not in text}
    assert {"format = 4", "groove_bit = 0", "groove_run_on = 0"} <= added
    assert parse_table(saved) == parse_table(text)


def test_a_change_to_a_file_of_format_2() -> None:
    text = read_text(SECOND / "half-built.toml")
    changed = parse_table(update_text(text, {"ribs.upper_windows": "open"}))
    assert changed == set_values(parse_table(text), {"ribs.upper_windows": "open"})
    assert changed.ribs.window_chamfer == 2.0


# -- format 3: leaves without positions spread wide


def test_a_file_of_format_3_keeps_the_positions_that_its_leaves_were_given() -> None:
    """Inside are ±732.3; less 60 for a leg, 17.7 for a rib, 2 beside the leaf and half of its width, 182.45: 470.15."""
    for units, set_back in (("mm", 19.2), ("in", 19.05)):
        table = parse_table(f'format = 3\nunits = "{units}"')
        assert (table.stowing.spread, table.stowing.set_back) == ("wide", pytest.approx(set_back))
    old = parse_table("format = 3")
    low, high = build(old).by_label["L1"].box
    assert (float(low[0] + high[0]) / 2) == pytest.approx(-470.15)
    saved = update_text("format = 3", {})
    assert parse_table(saved) == old
    assert tomllib.loads(saved) == {
        "format": 4,
        "stowing": {"spread": "wide", "set_back": 19.2},
        "bottom": {"groove_bit": 0, "groove_run_on": 0},
        "tolerances": {"squareness": 0},
    }
    assert parse_table("format = 3\n[stowing]\nset_back = 10").stowing.set_back == 10
