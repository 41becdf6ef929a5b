"""How deviations move a leaf's row, against parts that are cut so and rows read off them anew."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from addon.check.prepared import prepare
from addon.check.row.leaf_rows import leaf_rows
from addon.check.row.profile import Row
from addon.check.tolerance.deviations import Register
from addon.check.tolerance.model import RowModel, row_models
from addon.check.tolerance.shop import cover_sums
from addon.designs.table import build
from addon.designs.table.parameters import AsCut, Table
from addon.files.table_file import parse_table
from tests.old_tables import EXAMPLES

QUILTING = EXAMPLES["quilting"].table()


def models(table: Table) -> tuple[Register, dict[tuple[str, str], RowModel]]:
    prepared = prepare(build(table))
    register = Register(prepared.assembly)
    made = row_models(leaf_rows(prepared), register)
    return register, {(one.leaf, one.view): one for one in made}


REGISTER, MODELS = models(QUILTING)


def one_off(register: Register, name: str, amount: float) -> np.ndarray:
    (number,) = [number for number, one in enumerate(register.found) if one.name == name]
    return np.eye(len(register.found))[number] * amount


def numbers(row: Row) -> dict[tuple[str, float | None, bool], tuple[float | None, ...]]:
    """Openings by what a deviation of a tenth of a millimeter does not turn into something else."""
    return {
        (one.label, round(one.face, -1), one.window): (one.face, one.board, one.sill, one.head)
        for one in row.openings
    }


@pytest.mark.parametrize(
    ("part", "dimension", "leaf", "name"),
    [
        ("S1", "slot_height", "L1", "S1, slot for L1: height"),
        ("S4", "slot_sill", "L3", "S4, slot for L3: sill height"),
        ("S2", "slot_offset", "L2", "S2, slot for L2: place along the board"),
        ("S3", "slot_width", "L4", "S3, slot for L4: width"),
        ("R6", "window_height", "L1", "R6, window for L1: height"),
        ("R13", "window_sill", "L2", "R13, window for L2: sill height"),
        ("R6", "window_offset", "L1", "R6, window for L1: place along the board"),
        ("R3", "window_offset", "L3", "R3, window for L3: place along the board"),
        ("R2", "window_width", "L4", "R2, window for L4: width"),
        ("L2", "thickness", None, "L2: thickness"),
        ("L4", "width", None, "L4: width"),
        ("L1", "length", None, "L1: length"),
        ("S1", "groove_offset", None, "S1: height of the groove"),
        ("S3", "groove_offset", None, "S3: height of the groove"),
    ],
)
@pytest.mark.parametrize("amount", [0.1, -0.1])
def test_a_dimension_that_was_cut_so(
    part: str, dimension: str, leaf: str | None, name: str, amount: float
) -> None:
    """Rows read off the table with this one dimension as cut are those that the linear map gives."""
    entry = AsCut(part, dimension, deviation=amount, leaf=leaf)
    prepared = prepare(build(replace(QUILTING, as_cut=(entry,))))
    cut, parts = leaf_rows(prepared), prepared.assembly.by_label
    moved = 0
    for one in cut:
        drawn = MODELS[one.leaf, one.view]
        given = drawn.row_at(one_off(REGISTER, name, amount))
        if parts[part].role.slides and part != one.leaf:
            continue  # as an obstacle stowed a leaf is put by tolerances of its own
        assert given.thickness == pytest.approx(one.row.thickness, abs=1e-9)
        assert given.length == pytest.approx(one.row.length, abs=1e-9)
        windows = {key: value for key, value in numbers(one.row).items() if key[2]}
        own = {key: value for key, value in numbers(given).items() if key[2]}
        assert own.keys() == windows.keys()
        for key, wanted in windows.items():
            assert own[key] == pytest.approx(wanted, abs=1e-9)
        moved += given != drawn.row
    assert moved >= 1


def test_parts_move_with_what_they_butt_on() -> None:
    """Worked out by hand: S1 is the front side, R5 to R7 start on the left side, R2 on the front one."""
    drawn = MODELS["L3", "plan"]
    thicker = drawn.row_at(one_off(REGISTER, "S1: thickness", 0.2))
    for old, new in zip(drawn.row.openings, thicker.openings, strict=True):
        if old.window:
            # Looking along -x, left is -y: all that starts on the front side comes nearer to the right.
            assert new.sill == pytest.approx((old.sill or 0) - 0.2)
            assert new.head == pytest.approx((old.head or 0) - 0.2)
    drawn = MODELS["L1", "plan"]
    placed = drawn.row_at(one_off(REGISTER, "R1: place", 0.5))
    # R6 and its fellows in L1's way start on R1; seen along +y, left is -x.
    moved = {
        old.label: (new.sill or 0) - (old.sill or 0)
        for old, new in zip(drawn.row.openings, placed.openings, strict=True)
        if old.sill is not None
    }
    starts = {joint.a: joint.b for joint in build(QUILTING).joints if joint.part_end == "start"}
    for label, off in moved.items():
        assert off == pytest.approx(-0.5 if starts.get(label) == "R1" or label == "R1" else 0.0), label
    # Its middle stays where it was set out, so its faces move by half of what it is thicker.
    thicker = drawn.row_at(one_off(REGISTER, "R1: thickness", 0.2))
    butted = [
        ((old.sill or 0) - (new.sill or 0))
        for old, new in zip(drawn.row.openings, thicker.openings, strict=True)
        if starts.get(old.label) == "R1" and old.sill is not None
    ]
    assert len(butted) >= 3
    assert butted == pytest.approx([0.1] * len(butted))


def test_heights_count_from_the_floor() -> None:
    """A higher groove lifts the bottom panel and all ribs, so that seen from these the side's slot sinks."""
    drawn = MODELS["L1", "side"]
    lifted = drawn.row_at(one_off(REGISTER, "S1: height of the groove", 0.3))
    for old, new in zip(drawn.row.openings, lifted.openings, strict=True):
        off = -0.3 if old.label == "S1" else 0.0
        assert (new.sill, new.head) == (
            pytest.approx(None if old.sill is None else old.sill + off),
            pytest.approx(None if old.head is None else old.head + off),
        )


def test_a_leaf_at_rest_keeps_its_lower_face() -> None:
    """L4 lies stowed below L1's way, L1 above L4's: thicker by 0.3 mm, L4 stands 0.3 higher, and L1 no lower."""

    def off(leaf: str, thicker: str) -> list[float]:
        drawn = MODELS[leaf, "side"]
        moved = drawn.row_at(one_off(REGISTER, f"{thicker}: thickness", 0.3))
        return [
            ((new.sill or 0.0) - (old.sill or 0.0)) + ((new.head or 0.0) - (old.head or 0.0))
            for old, new in zip(drawn.row.openings, moved.openings, strict=True)
            if old.label == thicker
        ]

    assert off("L1", "L4") == pytest.approx([0.3])
    assert off("L4", "L1") == pytest.approx([0.0])


def test_one_sheet_is_off_in_all_its_parts() -> None:
    """n parts of one sheet that is off by d are off by n·d, not sqrt(n)·d."""
    register = Register(build(QUILTING))
    play = cover_sums(register)[0]
    sheet = one_off(register, "18 mm birch plywood: mean thickness", 0.3)
    # Two sides stand across the ends of the leaves' row.
    assert float(play.at(sheet[:, None])[0]) == pytest.approx(play.nominal - 2 * 0.3)
    assert [one.name for one in register.found if one.kind == "sheet thickness"] == [
        "18 mm birch plywood: mean thickness"
    ]
    many = replace(QUILTING, tolerances=replace(QUILTING.tolerances, sheets="many"))
    register = Register(build(many))
    play = cover_sums(register)[0]
    own = [one for one in register.found if one.kind == "sheet thickness"]
    assert len(own) == 2
    assert {play.form[number] for number, one in enumerate(register.found) if one in own} == {-1.0}


def test_three_layers_of_one_sheet() -> None:
    """Three layers of +0.3 are 0.9 mm thicker; root sum square would say 0.52."""
    assembly = build(QUILTING)
    register = Register(build(QUILTING))
    layers = [register.thickness(assembly.by_label[label]) for label in ("L1", "L2", "L3")]
    sheet = one_off(register, "18 mm birch plywood: mean thickness", 0.3)
    assert sum(sheet[number] * own[number] for own in layers for number in own) == pytest.approx(0.9)


def test_what_was_measured_is_not_off() -> None:
    entry = AsCut("R6", "window_sill", deviation=0.2, leaf="L1")
    register, made = models(replace(QUILTING, as_cut=(entry, AsCut("L1", "thickness", value=17.9))))
    names = {one.name for one in register.found}
    assert not names & {"R6, window for L1: sill height", "L1: thickness"}
    assert "R11, window for L1: sill height" in names
    assert not made["L1", "side"].thickness.any()
    assert made["L2", "side"].thickness.any()


def test_windows_set_out_from_the_lower_edge() -> None:
    """Then a rib too wide by 0.4, glued to the bottom panel by its upper edge, has its windows 0.4 lower."""
    table = replace(QUILTING, tolerances=replace(QUILTING.tolerances, windows_from="lower"))
    register, made = models(table)
    drawn = made["L1", "side"]
    wide = drawn.row_at(one_off(register, "R6: width", 0.4))
    for old, new in zip(drawn.row.openings, wide.openings, strict=True):
        if old.label == "R6":
            assert new.sill == pytest.approx((old.sill or 0) - 0.4)
            assert new.head == pytest.approx((old.head or 0) - 0.4)
        else:
            assert new == old
    assert not any(one.name == "R6: width" for one in REGISTER.found)


def test_tolerances_are_those_of_the_file() -> None:
    text = (
        EXAMPLES["quilting"].text().replace("opening_place = 0.5", "opening_place = 0.7").replace(
            "sawn_size = 0.5", "sawn_size = 0"
        )
    )  # fmt: skip
    register, _ = models(parse_table(text))
    kinds = {one.kind: one.tolerance for one in register.found}
    assert kinds["opening place"] == 0.7
    assert kinds["opening size"] == 0.2
    assert kinds["groove place"] == 0.3
    assert kinds["part place"] == 0.5
    assert "sawn size" not in kinds
    # Half of the greatest differences within a sheet and between sheets.
    assert (kinds["thickness"], kinds["sheet thickness"]) == (0.3, 0.5)
    assert [one.routed for one in register.found] == [
        one.kind in ("opening size", "opening place", "groove place") for one in register.found
    ]


def test_where_a_part_was_put_deviates_no_more_once_it_was_measured() -> None:
    """R3's place across, and the second of R2's windows by its number; their fellows still may be off."""
    names = {one.name for one in REGISTER.found}
    entries = (AsCut("R3", "place_across", deviation=0.1), AsCut("R2", "window_2_sill", deviation=0.1))
    register, _ = models(replace(QUILTING, as_cut=entries))
    second = build(QUILTING).by_label["R2"].shape.openings[1].leaf
    gone = names - {one.name for one in register.found}
    assert gone == {"R3: place", f"R2, window for {second}: sill height"}


def test_a_rib_set_out_from_its_lower_edge_is_read_off_as_the_model_has_it() -> None:
    """0.1 mm wider at the glued edge, its windows sit 0.1 mm lower: with windows set out from the lower edge."""
    table = replace(QUILTING, tolerances=replace(QUILTING.tolerances, windows_from="lower"))
    register, made = models(table)
    entry = AsCut("R1", "width", deviation=0.1)
    for one in leaf_rows(prepare(build(replace(table, as_cut=(entry,))))):
        given = made[one.leaf, one.view].row_at(one_off(register, "R1: width", 0.1))
        for key, wanted in numbers(one.row).items():
            assert numbers(given)[key] == pytest.approx(wanted, abs=1e-9)
