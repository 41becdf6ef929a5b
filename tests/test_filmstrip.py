"""The filmstrip: its pictures, what they say, and what the enlarged sections show, measured on the paper."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pypdf
import pytest

from addon.check.prepared import prepare
from addon.check.row.leaf_rows import leaf_rows
from addon.check.running import running_clearances
from addon.command_line.main import main
from addon.designs.table import build
from addon.designs.table.design import check
from addon.designs.table.parameters import AsCut
from addon.files.examples import EXAMPLES as TODAY
from addon.paper.close_up import draw_running, view_of, walls
from addon.paper.filmstrip_page import filmstrip, stills_of
from addon.paper.sheet import Drawing
from addon.paper.sheet.items import Fill
from addon.sizes.errors import ExportError
from large_table import large_table
from tests.old_tables import EXAMPLES

pytestmark = pytest.mark.usefixtures("worked_out_once")

QUILTING, SEED_BENCH = (EXAMPLES[name].table() for name in ("quilting", "seed-bench"))
LOW = replace(QUILTING, as_cut=(AsCut("R3", "window_height", deviation=-2.5),))
"""L3 and L4 overlap the rib R3 by 1.0 mm, as in test_running."""


def words_of(drawing) -> list[str]:
    return [item.text for item, _ in drawing.texts()]


@pytest.mark.parametrize("table", [QUILTING, SEED_BENCH], ids=["quilting", "bench"])
def test_each_leaf_starts_meets_its_slot_is_tightest_and_comes_home(table):
    prepared = prepare(build(table))
    results = {result.leaf: result for result in check(table).leaves}
    leaves = [path.leaf for path in prepared.assembly.stow_paths]
    for leaf, stills in stills_of(prepared, leaves).items():
        path = prepared.assembly.path_of(leaf)
        travels = [still.pose.travel for still in stills]
        assert travels == sorted(travels)
        assert (travels[0], travels[1], travels[-1]) == pytest.approx(
            (-path.zero, 0.0, path.length - path.zero)
        )
        tightest = next(still for still in stills if still.words.startswith("tightest"))
        assert tightest.pose.travel == pytest.approx(results[leaf].travel)
        assert tightest.pose.clearance == pytest.approx(results[leaf].clearance, abs=1e-6)
        for still in stills:
            if still.snag is None:  # the leaf is where its stow path says
                home = prepared.assembly.by_label[leaf].placement.origin
                assert still.place.origin - home == pytest.approx(path.offset_at(still.pose.travel))


def test_captions_say_travel_and_clearance_in_the_users_unit():
    said = words_of(filmstrip(SEED_BENCH, prepare(build(SEED_BENCH)), date="2026-11-26", leaves=["L1"]))
    assert "L1.3  tightest at S1" in said
    assert "clearance 0.062 in to S1" in said
    assert "travel 1/8 in" in said
    assert {"Seed-sorting bench", "2026-11-26"} <= set(said)
    assert any(text.startswith("not to scale") for text in said)


def test_a_picture_for_each_moment_of_each_leaf_and_nothing_beside_the_sheet():
    prepared = prepare(build(QUILTING))
    drawing = filmstrip(QUILTING, prepared, date="2026-11-26")
    leaves = [path.leaf for path in prepared.assembly.stow_paths]
    count = sum(len(own) for own in stills_of(prepared, leaves).values())
    assert len(drawing.named("caption")) == 3 * count
    assert len(drawing.named("leaf")) == count
    for _, box in drawing.texts():
        assert box[0] >= 0
        assert box[1] >= 0
        assert box[2] <= drawing.width
        assert box[3] <= drawing.height
    boxes = [box for item, box in drawing.texts() if item.name == "caption"]
    for number, one in enumerate(boxes):
        for other in boxes[:number]:
            assert one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]


@pytest.mark.parametrize("travel", [3.0, 82.4, 940.8])
def test_the_inset_shows_the_clearance_at_its_scale(travel):
    """The gap between what is filled as leaf and as wood, measured on the paper, is the clearance times the scale."""
    prepared = prepare(build(QUILTING))
    (pose,) = running_clearances(prepared, {"L1": [travel]})["L1"]
    view = view_of([row for row in leaf_rows(prepared) if row.leaf == "L1"], pose)
    drawing = Drawing(80.0, 60.0)
    draw_running(drawing, (0, 0, 80, 60), view, pose, 5.0, "5:1", "mm", walls(prepared, view, pose))
    fills = [item for item in drawing.items if isinstance(item, Fill)]
    leaf = next(item.rings[0] for item in fills if item.name == "leaf in the inset")
    wood = [ring for item in fills if item.name.startswith("wood") for ring in item.rings]
    gaps = [
        np.maximum(leaf.min(axis=0) - ring.max(axis=0), ring.min(axis=0) - leaf.max(axis=0)).max()
        for ring in wood
    ]
    assert min(gaps) == pytest.approx(5.0 * pose.clearance, abs=0.01)
    assert "1.5 mm" in words_of(drawing)


def test_an_overlap_is_hatched_and_said():
    prepared = prepare(build(LOW))
    drawing = filmstrip(LOW, prepared, date="2026-11-26", leaves=["L3"])
    assert drawing.named("overlap in the inset")
    assert any(text == "overlaps R3 by 1.0 mm" for text in words_of(drawing))


def test_a_leaf_that_is_not_stowed_is_refused_in_one_sentence():
    with pytest.raises(ExportError, match=r"^L9 has no filmstrip: .* L1, L2, L3, L4\.$"):
        filmstrip(QUILTING, prepare(build(QUILTING)), date="", leaves=["L9"])


def test_the_command_writes_a_page_for_each_leaf(tmp_path, capsys):
    path = tmp_path / "bench.toml"
    path.write_text(EXAMPLES["seed-bench"].text(), encoding="utf-8")
    image = tmp_path / "strip.pdf"
    assert main(["draw", str(path), "--filmstrip", "--image", str(image)]) == 0
    assert len(pypdf.PdfReader(image).pages) == 2
    assert main(["draw", str(path), "--filmstrip", "--leaf", "L2", "--image", str(tmp_path / "l2.svg")]) == 0
    assert "<svg" in (tmp_path / "l2.svg").read_text(encoding="utf-8")
    assert main(["draw", str(path), "--leaf", "L2", "--image", str(tmp_path / "no.svg")]) == 2
    assert "--leaf needs --filmstrip" in capsys.readouterr().err


def test_of_many_equally_tight_places_as_many_are_shown_as_a_sheet_takes():
    """Twelve of eighteen: the slot, a window in each of sixteen rows, and the far side that L1 stops before; from the
    first to the last, which is where it is stowed. Nine through ribs come first, then ten segments a row, of which L1
    passes the second.
    """
    stills = stills_of(prepare(build(large_table(9, 16, strips=False))), ["L1"])["L1"]
    rows = [f"R{1 + 10 * row}" for row in (2, 3, 5, 6, 8, 9, 11, 12, 14, 15)]
    assert [still.words for still in stills if still.snag is None] == [
        "before its slot",
        "nose at the slot",
        *(f"tightest at {part}, one of 18 places" for part in ["S1", *rows]),
        "stowed, tightest",
    ]


def test_what_is_too_small_for_the_picture_is_left_out_of_it():
    """Chamfers of 2 and 3 mm are narrower than the narrowest line at 1:23 or less, and double no line."""
    drawing = filmstrip(QUILTING, prepare(build(QUILTING)), date="")
    plain = replace(QUILTING, sides=replace(QUILTING.sides, slot_chamfer=0.0, corner_radius=0.0))
    plain = replace(plain, ribs=replace(plain.ribs, window_chamfer=0.0))
    bare = filmstrip(plain, prepare(build(plain)), date="")
    edges, of_bare = (sum(len(own.paths) for own in one.named("edges")) for one in (drawing, bare))
    assert edges == pytest.approx(of_bare, rel=0.02)


def test_parts_that_a_leaf_meets_at_once_are_one_picture():
    """By hand: KICK1 and KICK2 on either side of L1 begin behind the side at the same depth, then come three rows."""
    stills = stills_of(prepare(build(TODAY["quilting"].table())), ["L1"])["L1"]
    assert [still.words for still in stills] == [
        "before its slot",
        "nose at the slot",
        "tightest at S1",
        "tightest at KICK1 and KICK2",
        "tightest at R6",
        "tightest at R11",
        "tightest at R16",
        "stowed, tightest",
    ]
