"""Leaves out of square, bowed and twisted, among the tolerances: against the bodies themselves in their openings.

Linear programs (HiGHS, by scipy) lay the curved or turned leaf itself, and outlines (shapely) the parallelogram; both
know nothing of the linear maps that are tested.
"""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
import shapely.affinity
from scipy import stats
from scipy.optimize import linprog

from addon.check.check import check_prepared
from addon.check.cover import cover_of, out_at_end
from addon.check.prepared import prepare
from addon.check.progress import run_through
from addon.check.row.leaf_rows import leaf_rows
from addon.check.row.profile import Row
from addon.check.tolerance.analysis import analyze
from addon.check.tolerance.deviations import Deviation, Register
from addon.check.tolerance.guided import guides
from addon.check.tolerance.maps import compiled
from addon.check.tolerance.model import RowModel, row_models
from addon.check.tolerance.shop import Shop, cover_sums
from addon.check.tolerance.statistics import deviations
from addon.designs.table import build
from addon.designs.table.parameters import Table
from addon.files.table_file import read_table
from addon.reports.tolerance import tolerance_document, tolerance_text
from addon.sizes.arrays import Floats
from tests.large import sampled
from tests.old_tables import EXAMPLES

pytestmark = pytest.mark.once

OLD = EXAMPLES["quilting"].table()
SHIPPED = {
    name: read_table(Path(__file__).parents[1] / "addon" / "examples" / f"{name}.toml")
    for name in ("quilting-table", "seed-bench")
}
SHEET = 2440.0, 1220.0
"""Length and width of the sheets of both tables, mm."""


def uneven(table: Table, *, bow: float = 0.0, twist: float = 0.0, square: float | None = None) -> Table:
    stock = tuple(replace(one, bow=bow, twist=twist) for one in table.stock)
    square = table.tolerances.squareness if square is None else square
    return replace(table, stock=stock, tolerances=replace(table.tolerances, squareness=square))


def models(table: Table) -> tuple[Register, dict[tuple[str, str], RowModel]]:
    prepared = prepare(build(table))
    register = Register(prepared.assembly)
    made = row_models(leaf_rows(prepared), register)
    return register, {(one.leaf, one.view): one for one in made}


def only(register: Register, name: str, amount: float) -> Floats:
    (number,) = [number for number, one in enumerate(register.found) if one.name == name]
    return np.eye(len(register.found))[number] * amount


def over(row: Row, rear: float, nose: float, side: int) -> tuple[Floats, Floats]:
    """Points of the flat of all wood on a side that a leaf from `rear` to `nose` is over, (n,) mm each."""
    x, z = [], []
    for one in row.openings:
        edge = one.sill if side < 0 else one.head
        start, end = max(one.face + one.entry.run, rear), min(one.end - one.exit.run, nose)
        if edge is not None and start <= end:
            points = np.linspace(start, end, 2 + int((end - start) / 5))
            x.append(points)
            z.append(np.full(len(points), edge))
    return (np.concatenate(x), np.concatenate(z)) if x else (np.zeros(0), np.zeros(0))


def room(row: Row, depth: float, *, curve: float = 0.0, turn: float = 0.0, oblique: float = 0.0) -> float:
    """Most room of a leaf with its leading corner at `depth`, whichever way it leans, mm; inf where nothing holds it.

    Its lower edge is z = c + s·x - curve·(x - middle)²; of a twisted one the two edges have slopes s ± turn and lie
    at heights of their own; of an oblique one the corner below trails the one above by so much, at both ends.
    """
    middle = depth - row.length / 2
    low_x, low = over(row, depth - row.length - oblique, depth - oblique, -1)
    high_x, high = over(row, depth - row.length, depth, 1)
    if not len(low) or not len(high):
        return math.inf
    low, high = low + curve * (low_x - middle) ** 2, high + curve * (high_x - middle) ** 2 - row.thickness
    wanted, most = [], []
    for edge, slope in ((0, turn), (1, -turn)) if turn else ((0, 0.0),):
        own = np.eye(2)[edge]
        for x, z in zip(low_x, low, strict=True):  # c + (s + slope)·x >= z
            wanted.append([*-own, -x, 0.0])
            most.append(slope * x - z)
        for x, z in zip(high_x, high, strict=True):  # c + (s + slope)·x + room <= z
            wanted.append([*own, x, 1.0])
            most.append(z - slope * x)
    found = linprog([0.0, 0.0, 0.0, -1.0], wanted, most, bounds=[(None, None)] * 4)
    assert found.status == 0
    return -float(found.fun)


def depths(row: Row) -> list[float]:
    """Where a corner of the leaf comes to an end of wood, a little past it, and home."""
    ends = {x for one in row.openings for x in (one.face + one.entry.run, one.end - one.exit.run)}
    some = {end + more for end in ends for more in (0.0, row.length)}
    return [row.travel, *sorted(one for one in some if 0 < one < row.travel)]


# -- out of square


@pytest.mark.parametrize(
    ("along", "across", "off"), [(920.0, 365.0, 1.0), (300.0, 900.0, 4.0), (40, 30, 0.2)]
)
def test_an_end_is_out_by_what_the_diagonals_say(along: float, across: float, off: float) -> None:
    """Corners of the parallelogram, measured as with a tape; as outlines (shapely) it is longer by that."""
    out = out_at_end(along, across, off)
    assert math.hypot(along + out, across) - math.hypot(along - out, across) == pytest.approx(off, abs=1e-9)
    leaf = shapely.Polygon([(0, 0), (along, 0), (along + out, across), (out, across)])
    assert leaf.bounds[2] - leaf.bounds[0] - along == pytest.approx(out, abs=1e-9)
    assert leaf.area == pytest.approx(along * across)


def test_a_leaf_out_of_square_has_less_room_at_its_ends_and_as_much_beside_it() -> None:
    """L1 of the old quilting table: between sides it has 3 mm more than its length. Lying along its neighbors, it is
    pushed to one side until its corner touches; what is left on the other side is the room (shapely's distance)."""
    assembly, square = build(uneven(OLD, square=3.0)), build(uneven(OLD, square=0.0))
    register, plain = Register(assembly), Register(square)
    gaps, without = ({gap.leaf: gap for gap in cover_sums(one)} for one in (register, plain))
    length, width, _ = assembly.by_label["L1"].shape.size
    out = out_at_end(length, width, 3.0)
    leaf = shapely.Polygon([(0, 0), (length, 0), (length + out, width), (out, width)])
    side = shapely.LineString([(length + 3.0, -10.0), (length + 3.0, width + 10.0)])
    off = only(register, "L1: difference of its diagonals", 3.0)[:, None]
    assert gaps["L1"].at(0 * off)[0] == pytest.approx(3.0)
    assert gaps["L1"].at(off)[0] == pytest.approx(leaf.distance(side), abs=1e-9)
    worst = without["L1"].worst(plain.tolerances)
    assert gaps["L1"].worst(register.tolerances) == pytest.approx(worst - out)
    assert gaps[""].worst(register.tolerances) == pytest.approx(without[""].worst(plain.tolerances))
    own, drawn = cover_of(assembly), cover_of(square)
    assert own is not None
    assert drawn is not None
    assert own.end_play["L1"].worst == pytest.approx(drawn.end_play["L1"].worst + out)
    assert own.play == drawn.play


@pytest.mark.parametrize("seed", range(sampled(3, 30)))
def test_a_parallelogram_in_its_openings_seen_from_above(seed: int) -> None:
    """Random tables in a hurry whose leaves are out of square by up to 20 mm: a parallelogram laid by a linear program
    has the margin that is said, and drawn so it shares nothing with the wood (shapely)."""
    table = replace(
        uneven(OLD, square=20.0),
        tolerances=replace(uneven(OLD, square=20.0).tolerances, opening_place=1.5, part_place=1.0),
    )
    register, made = models(table)
    model = made[("L1", "L2", "L3", "L4")[seed % 4], "plan"]
    own = compiled(model, register.tolerances)
    off = np.concatenate(list(deviations(register.found, "uniform", 4, seed + 1)), axis=1)
    (number,) = [
        n for n, one in enumerate(register.found) if one.name == f"{model.leaf}: difference of its diagonals"
    ]
    margins = own.margins_of(off[model.used], sizes=True)
    for column, margin in zip(off.T, margins.tolist(), strict=True):
        square = column.copy()
        square[number] = 0.0
        row = model.row_at(square)
        out = out_at_end(model.row.length, model.row.thickness, float(column[number]))
        least = min(room(row, depth, oblique=out) for depth in depths(row))
        # Where a corner stands on a land, a millimeter along it counts as little as the leaf leans.
        assert margin == pytest.approx(least / 2, abs=2e-3 * (1 + out))
        body = shapely.Polygon(
            [
                (row.travel - row.length - out, 0.0),
                (row.travel - out, 0.0),
                (row.travel, row.thickness),
                (row.travel - row.length, row.thickness),
            ]
        )
        lands = [(max(one.sill or -1e9, -1e9), one.head or 1e9) for one in row.openings if one.holds]
        level = max(low for low, _ in lands), min(high for _, high in lands)
        if (
            level[1] - level[0] > row.thickness
        ):  # straight along its way, as wide a way as its edges are apart
            wood = [
                shapely.box(one.face, *span)
                for one in row.openings
                for span in (
                    (-1e4, one.end, one.sill) if one.sill is not None else (),
                    (one.head, one.end, 1e4) if one.head is not None else (),
                )
                if span
            ]
            placed = shapely.affinity.translate(body, 0.0, level[0] + 1e-6)
            assert all(placed.intersection(one).area < 1e-6 for one in wood)


# -- bowed and twisted


def bow_of(row: Row, sheet: float) -> float:
    """What a sheet's bow makes of a leaf as long as a row's, mm: b·(l/L)²."""
    return sheet * (row.length / SHEET[0]) ** 2


@pytest.mark.parametrize("leaf", ["L1", "L3"])
@pytest.mark.parametrize("name", ["old", *SHIPPED])
def test_a_bowed_leaf_in_its_openings(name: str, leaf: str) -> None:
    """Up and down, at every depth: the room of the curved leaf itself. The curve between the faces of an opening, and
    on pieces of a strip, is taken at their middle; so much is the figure off at most."""
    table = {"old": OLD, **SHIPPED}[name]
    register, made = models(uneven(table, bow=20.0))
    model = made[leaf if (leaf, "side") in made else "L2", "side"]
    drawn = model.row
    (one,) = [one for one in register.found if one.name == f"{model.leaf}: bow"]
    bow = bow_of(drawn, 20.0)
    assert (one.kind, one.part, one.tolerance) == ("bow", model.leaf, pytest.approx(bow, rel=0.01))
    taken = []
    for amount in (one.tolerance, -one.tolerance / 2):
        flat = model.row_at(only(register, one.name, amount))
        curve = 4 * amount / drawn.length**2
        for depth in depths(drawn)[:: sampled(4, 1)]:
            expected = room(drawn, depth, curve=curve)
            assert room(flat, depth) == pytest.approx(expected, abs=0.15 * abs(amount) + 1e-6)
            taken.append(room(drawn, depth) - expected)
    assert max(taken) > 0.2 * bow or name == "seed-bench"
    assert min(taken) > -1e-6


def test_a_bowed_leaf_in_narrow_openings_is_exact_to_their_width() -> None:
    """The old quilting table has no strips: a slot and three windows, 17.7 thick, hold L3. Their faces are at most
    8·460·8.85/921.6² = 0.038 of the bow above or below their middle on the curve, and two of them make a room."""
    register, made = models(uneven(OLD, bow=20.0))
    model = made["L3", "side"]
    (one,) = [one for one in register.found if one.name == "L3: bow"]
    for amount in (one.tolerance, -one.tolerance):
        flat = model.row_at(only(register, one.name, amount))
        curve = 4 * amount / model.row.length**2
        for depth in depths(model.row)[:: sampled(3, 1)]:
            expected = room(model.row, depth, curve=curve)
            assert room(flat, depth) == pytest.approx(expected, abs=0.077 * abs(amount))


@pytest.mark.parametrize("name", ["old", *SHIPPED])
def test_a_twisted_leaf_in_its_openings(name: str) -> None:
    """Both edges laid by themselves: the figure takes no less than the twist does, and no more than it does between the
    outermost edges, t·l·w/(2·L·W)."""
    table = {"old": OLD, **SHIPPED}[name]
    register, made = models(uneven(table, twist=60.0))
    model = made["L2", "side"]
    drawn = model.row
    (one,) = [one for one in register.found if one.name == "L2: twist"]
    across = made["L2", "plan"].row.thickness
    corner = 60.0 * drawn.length * across / (SHEET[0] * SHEET[1])
    assert (one.kind, one.tolerance) == ("twist", pytest.approx(corner, rel=0.01))
    turn = one.tolerance / (2 * drawn.length)
    flat = model.row_at(only(register, one.name, one.tolerance))
    for depth in depths(drawn)[:: sampled(4, 1)]:
        said, expected, plain = room(flat, depth), room(drawn, depth, turn=turn), room(drawn, depth)
        assert said <= expected + 1e-6
        if math.isfinite(said):
            assert said >= plain - turn * drawn.length - 1e-6
    assert room(drawn, drawn.travel) - room(drawn, drawn.travel, turn=turn) > 0.3 * turn * drawn.length


def test_bowed_across_its_way_a_leaf_takes_the_height_of_the_arc() -> None:
    """The grain across the leaf: sheet and bow run across its width w, b·(w/2440)² high, whichever way."""
    drawn = build(uneven(OLD, bow=100.0))
    turned = tuple(replace(part, grain="v") if part.role.slides else part for part in drawn.parts)
    prepared = prepare(replace(drawn, parts=turned))
    register = Register(prepared.assembly)
    made = {(one.leaf, one.view): one for one in row_models(leaf_rows(prepared), register)}
    width = made["L3", "plan"].row.thickness
    (one,) = [one for one in register.found if one.name == "L3: bow"]
    assert (one.tolerance, one.one_sided) == (pytest.approx(100.0 * (width / SHEET[0]) ** 2), True)
    model = made["L3", "side"]
    bowed = model.row_at(only(register, one.name, one.tolerance))
    for old, new in zip(model.row.openings, bowed.openings, strict=True):
        assert new.sill == old.sill
        assert new.head == (None if old.head is None else pytest.approx(old.head - one.tolerance))


def test_margins_of_random_tables_are_those_of_the_bodies() -> None:
    """Everything off at once: margins by the analysis, and of the curved leaf laid at every depth. A margin is half a
    room, and so off by 0.038 of the bow at most."""
    register, made = models(uneven(OLD, bow=12.0))
    model = made["L3", "side"]
    own = compiled(model, register.tolerances)
    off = np.concatenate(list(deviations(register.found, "uniform", sampled(4, 40), 5)), axis=1)
    (number,) = [n for n, one in enumerate(register.found) if one.name == "L3: bow"]
    for column, margin in zip(off.T, own.margins_of(off[model.used], sizes=True).tolist(), strict=True):
        flat = column.copy()
        flat[number] = 0.0
        row, curve = model.row_at(flat), 4 * column[number] / model.row.length**2
        least = min(room(row, depth, curve=curve) for depth in depths(row))
        assert margin == pytest.approx(least / 2, abs=0.04 * abs(column[number]) + 2e-3)


def test_no_random_table_is_worse_than_the_worst_case() -> None:
    report = analyze(build(uneven(OLD, bow=12.0, twist=12.0)), count=500, guided=0, wanted=None)
    assert {"bow", "twist", "squareness"} <= {one.kind for one in report.deviations}
    for row in report.rows:
        assert row.governing is not None
        assert row.quantiles[0.001] >= row.governing.worst - 1e-6
    plain = analyze(build(OLD), count=500, guided=0, wanted=None)
    for row, flat in zip(report.rows, plain.rows, strict=True):
        assert row.governing is not None
        assert flat.governing is not None
        if row.view == "side":
            assert row.governing.worst < flat.governing.worst - 0.1
            effects = {one.kind for one in row.governing.effects}
            assert effects >= {"bow", "twist"}
        else:  # ribs beside the way are of the same sheets
            assert row.governing.worst <= flat.governing.worst + 1e-9
            lost = flat.governing.worst - row.governing.worst
            assert lost <= max(one.tolerance for one in report.deviations if one.kind == "bow")


def test_a_rib_bows_toward_the_leaf_that_passes_beside_it() -> None:
    """R6 of the old table is 409.3 mm long, held at its ends alone, 2 mm beside the way of L4. A sheet that rises by
    20 mm over 1000 makes 20·0.4093² = 3.3505 mm of that in its middle third, taken as its middle; in the outer thirds,
    at a sixth of the length, 4·(1/6)·(5/6) = 5/9 of it."""
    stock = tuple(replace(one, bow=20.0, sheet_length=1000.0) for one in OLD.stock)
    flat, (register, made) = models(OLD)[1]["L4", "plan"], models(replace(OLD, stock=stock))
    model = made["L4", "plan"]
    (found,) = (one for one in register.found if one.name == "R6: bow")
    assert (found.kind, found.part, found.one_sided) == ("bow", "R6", False)
    assert found.tolerance == pytest.approx(20.0 * 0.4093**2)
    (whole,) = (one for one in flat.row.openings if one.label == "R6")
    off = model.row_at(only(register, found.name, found.tolerance))
    pieces = [
        (one.board, (after.sill or 0.0) - (one.sill or 0.0) + (after.head or 0.0) - (one.head or 0.0))
        for one, after in zip(model.row.openings, off.openings, strict=True)
        if one.label == "R6"
    ]
    toward = 1.0 if pieces[1][1] > 0 else -1.0
    assert [moved * toward for _, moved in pieces] == pytest.approx(
        [3.3505 * k for k in (5 / 9, 1, 5 / 9)], abs=1e-4
    )
    assert sum(length for length, _ in pieces) == pytest.approx(whole.board)
    assert [length for length, _ in pieces] == pytest.approx([409.3 / 3] * 3, abs=1e-6)
    others = [after.sill == one.sill for one, after in zip(model.row.openings, off.openings, strict=True)]
    assert others.count(False) <= 3


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_a_bowed_rib_takes_the_room_that_its_bow_is_more_than(way: float) -> None:
    """Of 2 mm between R6 and L4, a bow of 3.3505 mm toward it leaves less than nothing, one away from it all."""
    stock = tuple(replace(one, bow=20.0, sheet_length=1000.0) for one in OLD.stock)
    register, made = models(replace(OLD, stock=stock))
    model = made["L4", "plan"]
    own = compiled(model, register.tolerances)
    (drawn,) = own.margins_of(np.zeros((len(model.used), 1)), sizes=True)
    (found,) = (one for one in register.found if one.name == "R6: bow")
    off = only(register, found.name, way * found.tolerance)[model.used, None]
    rib = [one for one in model.row_of(off[:, 0]).openings if one.label == "R6"]
    nearer = rib[1].sill is not None and rib[1].sill > (rib[0].sill or 0.0)
    nearer |= rib[1].head is not None and rib[1].head < (rib[0].head or 0.0)
    (margin,) = own.margins_of(off, sizes=True)
    assert margin == pytest.approx(drawn) if not nearer else margin < drawn - 0.3


def test_of_a_flat_sheet_or_across_its_grain_no_rib_bows() -> None:
    assert not [one for one in models(OLD)[0].found if one.kind == "bow"]
    drawn = build(uneven(OLD, bow=20.0))
    turned = tuple(replace(part, grain="v") if part.label.startswith("R") else part for part in drawn.parts)
    prepared = prepare(replace(drawn, parts=turned))
    register = Register(prepared.assembly)
    row_models(leaf_rows(prepared), register)
    assert {one.part[0] for one in register.found if one.kind == "bow"} == {"L"}


# -- random numbers and words


@pytest.mark.parametrize("distribution", ["uniform", "normal"])
def test_one_sided_deviations_are_sizes(distribution: str) -> None:
    """Uniform from 0 to the tolerance, or half a normal distribution (Kolmogorov and Smirnov's test, by scipy)."""
    (drawn,) = deviations([Deviation("a", "squareness", "L1", 2.0, one_sided=True)], distribution, 4000, 2)
    law = stats.uniform(0, 2) if distribution == "uniform" else stats.halfnorm(scale=2 / 3)
    assert stats.kstest(drawn[0], law.cdf).pvalue > 0.001


def test_what_was_off_before_is_off_alike() -> None:
    """A table whose leaves may be out of square, bowed and twisted, and the same with perfect leaves: paired."""
    plain, more = (models(one)[0].found for one in (uneven(OLD, square=0.0), uneven(OLD, bow=5.0, twist=5.0)))
    (without,), (with_them,) = (list(deviations(found, "uniform", 50, 1)) for found in (plain, more))
    before = {one.name: values for one, values in zip(plain, without, strict=True)}
    after = {one.name: values for one, values in zip(more, with_them, strict=True)}
    new = after.keys() - before.keys()
    assert all((after[name] == values).all() for name, values in before.items())
    words = ("difference of its diagonals", "bow", "twist")
    assert {one for one in new if one.startswith("L")} == {
        f"L{leaf}: {what}" for leaf in (1, 2, 3, 4) for what in words
    }
    assert all(one.startswith("R") and one.endswith(": bow") for one in new if not one.startswith("L"))


def test_guiding_is_asked_of_flat_leaves() -> None:
    register, made = models(uneven(OLD, bow=12.0, twist=12.0))
    model = made["L3", "side"]
    off = np.concatenate(list(deviations(register.found, "uniform", 30, 1)), axis=1)[model.used]
    flat = off.copy()
    kinds = [register.found[number].kind for number in model.used.tolist()]
    flat[[number for number, kind in enumerate(kinds) if kind in ("bow", "twist")]] = 0.0
    assert (flat != off).any()
    assert (guides(model, off) == guides(model, flat)).all()


@pytest.mark.parametrize("name", SHIPPED)
def test_shipped_tables_work_with_leaves_as_square_as_a_shop_cuts_them(name: str) -> None:
    table = SHIPPED[name]
    assert table.tolerances.squareness == pytest.approx({"mm": 1.0, "in": 0.04 * 25.4}[table.units])
    prepared = prepare(build(table))
    found = run_through(Shop().steps(prepared, check_prepared(prepared).facts))
    assert found.works.value >= 0.99
    assert found.guides is not None
    assert found.guides.value >= 0.99


def test_details_and_data_name_them() -> None:
    report = analyze(build(uneven(OLD, bow=12.0, twist=12.0)), count=50, guided=0, wanted=None)
    text = tolerance_text(report, "mm", details=True)
    for words in ("L1: difference of its diagonals, ±1.0 mm", "L1: bow, ±", "L1: twist, ±"):
        assert words in text
    own = {one["name"]: one for one in tolerance_document(report, "mm")["deviations"]}
    assert own["L1: difference of its diagonals"] == {
        "name": "L1: difference of its diagonals", "kind": "squareness", "part": "L1", "tolerance_mm": 1.0,
    }  # fmt: skip
    assert own["L4: bow"]["kind"] == "bow"
    bowed = tolerance_text(analyze(build(uneven(OLD, bow=40.0)), count=50, guided=0, wanted=None), "mm")
    assert "measure L3: bow (±" in bowed
