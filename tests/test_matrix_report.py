"""The matrix of leaves and positions in words, as data and as advice."""

from __future__ import annotations

import json

import pytest

from addon.check.matrix import leaf_matrix
from addon.check.prepared import prepare
from addon.check.slide.study import notes_of_positions
from addon.designs.table import build
from addon.designs.table.design import TABLE, check_prepared
from addon.reports.slide import matrix_document, matrix_text
from tests.matrix_samples import cut, worked_out
from tests.old_tables import EXAMPLES


def test_the_table_for_the_shop_has_a_column_a_position_and_says_below_what_is_amiss() -> None:
    matrix, _, _ = worked_out({**cut(0, "L1", "width", 2.7), **cut(1, "L2", "length", 25.0, "end")})
    lines = matrix_text(matrix, "Quilting table", "mm").splitlines()
    rule = next(number for number, line in enumerate(lines) if set(line) == {"-"})
    table = lines[rule + 1 : lines.index("", rule)]
    assert {len(line) for line in lines[rule - 2 : rule + 1]} == {len(lines[rule])}
    assert lines[rule - 1].split() == [
        "Leaf",
        "Way",
        "round",
        *["through", "S1", "through", "S2", "through", "S4", "through", "S3"],
    ]
    assert [line[:2] for line in table] == ["L1", "L2", "  ", "  ", "  ", "L3", "L4"]
    assert table[0].split() == ["L1", "any", "way", "round", *["-0.7", "x"] * 4]
    assert table[-1].split() == ["L4", "any", "way", "round", *["1.5"] * 4]
    assert table[1].split()[-2:] == ["1.5", "!"]
    below = "\n".join(lines[lines.index("", rule) :])
    assert (
        "L1 in the position of L1, as drawn or turned both ways: S1 (end edge of the slot of L1) stands 0.7 mm"
        in below
    )
    assert (
        "L2 in the position of L3, as drawn or turned over: comes to rest with its outer end 5.8 mm out of S4"
        in below
    )
    assert "L3 in position" not in below


def test_the_table_speaks_the_units_of_its_table() -> None:
    bench = EXAMPLES["seed-bench"].table()
    text = matrix_text(leaf_matrix(prepare(build(bench))), bench.name, bench.units)
    assert "(smallest clearance, in)" in text
    assert text.endswith("Every leaf fits every position, whichever way round.")


def test_the_document_holds_every_cell_in_millimeters() -> None:
    matrix, _, _ = worked_out(cut(0, "L1", "width", 2.7))
    document = json.loads(json.dumps(matrix_document(matrix, "Quilting table", "mm"), allow_nan=False))
    assert (document["units"], document["interchangeable"], document["leaves"]) == (
        "mm",
        False,
        ["L1", "L2", "L3", "L4"],
    )
    assert len(document["cells"]) == 64
    for cell, data in zip(matrix.cells, document["cells"], strict=True):
        assert (data["leaf"], data["position"], data["turn"]) == (cell.leaf, cell.position, cell.turn)
        assert data["clearance_mm"] == pytest.approx(cell.clearance, abs=1e-8)
        assert (data["verdict"], data["stops_home"]) == (cell.verdict, cell.stops_home)


def test_a_leaf_that_does_not_fit_elsewhere_has_one_note() -> None:
    """L1 is too wide for its own slot, which the check tells: it is neither tried elsewhere nor others in its place."""
    matrix, prepared, table = worked_out(
        {**cut(0, "L1", "width", 2.7), **cut(1, "L2", "length", 25.0, "end")}
    )
    (long,) = TABLE.advise(table, prepared.assembly, notes_of_positions(matrix))
    assert (long.severity, long.rule) == ("note", "leaf-elsewhere")
    assert (long.leaf, long.amount) == ("L2", pytest.approx(23.5))
    assert long.message == (
        "L2 does not fit its own slot end for end or turned both ways: S1 (front side) stands up to 23.5 mm in its way,"
        " and does not end where it should in its own slot turned over, the slots of L3 and L4 any way round: its outer"
        " end is up to 5.8 mm out of S2."
    )
    assert long.remedy is not None
    assert long.remedy.set == ()
    # advice alone: the check's verdict is that of the leaves in their own positions
    assert check_prepared(table, prepared).verdict == "blocked"


def test_where_nothing_stops_any_leaf_no_leaf_is_singled_out() -> None:
    matrix, _, _ = worked_out({"stowing.end_stops": False})
    assert {cell.position for cell in matrix.cells if not cell.stops_home} == {"L3", "L4"}
    assert list(notes_of_positions(matrix)) == []
