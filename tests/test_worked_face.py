"""Leaves with a rim, a tray recess or a pull on one face: the solids by manifold3d, volumes and heights by hand."""

from __future__ import annotations

from functools import reduce

import manifold3d as m3
import numpy as np
import pytest

from addon.designs.table import build
from addon.designs.table.design import check
from addon.designs.table.parameters import Table
from addon.files.editing import Changes, set_values
from addon.sizes.errors import AsCutError
from addon.wood.assembly import Assembly
from addon.wood.meshes.mesh import mesh_of
from addon.wood.part import Part, Placement
from addon.wood.solids.solids import convex_pieces, pieces_of
from addon.wood.sound import check_features
from tests.old_tables import EXAMPLES
from tests.shape_bench import allowed, as_manifold, difference, difference_from_union, reference

pytestmark = pytest.mark.once

QUILTING = EXAMPLES["quilting"].table()
T = 17.7
"""Thickness of the leaves' sheet, mm."""
TRAY = {"leaves.tray_depth": 6, "leaves.tray_border": 55}
RIM = {"leaves.rim_height": 8, "leaves.rim_width": 15}
PULL = {"leaves.pull_length": 90, "leaves.pull_width": 22, "leaves.pull_inset": 60, "leaves.tray_border": 90}
OPEN_PULL = {"leaves.finger_hole": 0, "leaves.pull_length": 90, "leaves.pull_inset": 0}
ALL: Changes = {**TRAY, **RIM, **PULL}
FACES: dict[str, Changes] = {
    "tray": TRAY,
    "hole in the tray": {**TRAY, "leaves.tray_border": 18},
    "rim": RIM,
    "pull": PULL,
    "pull out of the end": OPEN_PULL,
    "all": ALL,
    "all below": {**ALL, "leaves.face": "lower"},
    "tray as far as the rim": {**RIM, **TRAY, "leaves.tray_border": 15},
    "leading edges chamfered": {**ALL, "leaves.lead_chamfer": 4},
}
BROADSIDE: Changes = {
    "leaves.count": 2, "leaves.cover_length": 735, "stowing.set_back": 45, "stow[3]": None, "stow[2]": None,
    "stow[0].offset": 0, "stow[1].side": "left", "stow[1].offset": 0, "stow[1].tier": "lower",
    "stowing.tier_gap": 7,
}  # fmt: skip


def leaves_of(changes: Changes) -> tuple[Part, ...]:
    return build(set_values(QUILTING, changes)).with_role("leaf")


@pytest.mark.parametrize("name", FACES)
def test_leaves_equal_manifold3d_and_their_pieces(name: str) -> None:
    for shape in dict.fromkeys(leaf.shape for leaf in leaves_of(FACES[name])):
        check_features(shape)
        solid, expected = as_manifold(mesh_of(shape)), reference(shape)
        assert solid.status() == m3.Error.NoError
        assert abs(difference(solid, expected)) <= allowed(expected)
        assert difference_from_union(solid, convex_pieces(shape)) <= allowed(solid)


# -- where the recesses are, against boxes in the table's own coordinates
# ------------------------------------------------------------------------------------------------------------


def block(low: np.ndarray, high: np.ndarray) -> m3.Manifold:
    return m3.Manifold.cube((high - low).tolist()).translate(low.tolist())


def expected_leaf(
    table: Table, low: np.ndarray, high: np.ndarray, up: bool, outer: tuple[int, float]
) -> m3.Manifold:
    """A leaf in its bounding box: rim strips, field, tray and pull on the face that is up or down.

    `outer`: axis of its way and -1 or +1 for where its outer end is on it.
    """
    leaves, plan = table.leaves, np.array([1.0, 1.0, 0.0])
    board_low, board_high = low.copy(), high.copy()
    if up:
        board_high[2] -= leaves.rim_height
    else:
        board_low[2] += leaves.rim_height
    field, strips = board_high[2] if up else board_low[2], []
    rim = leaves.rim_width
    for axis in (0, 1) if leaves.rim_height else ():
        for at_high in (False, True):
            strip_low, strip_high = low.copy(), high.copy()
            if at_high:
                strip_low[axis] = high[axis] - rim
            else:
                strip_high[axis] = low[axis] + rim
            strip_low[2], strip_high[2] = (field, high[2]) if up else (low[2], field)
            strips.append(block(strip_low, strip_high))
    cuts = []

    def recess(begin: np.ndarray, end: np.ndarray, depth: float) -> None:
        begin, end = begin.copy(), end.copy()
        begin[2], end[2] = (field - depth, field + 1) if up else (field - 1, field + depth)
        cuts.append(block(begin, end))

    if leaves.tray_depth:
        recess(low + leaves.tray_border * plan, high - leaves.tray_border * plan, leaves.tray_depth)
    if leaves.pull_length:
        axis, sign = outer
        begin, end = (low + high) / 2, (low + high) / 2
        begin[1 - axis] -= leaves.pull_length / 2
        end[1 - axis] += leaves.pull_length / 2
        near = leaves.pull_inset if leaves.pull_inset else -1.0
        far = leaves.pull_inset + leaves.pull_width
        if sign < 0:
            begin[axis], end[axis] = low[axis] + near, low[axis] + far
        else:
            begin[axis], end[axis] = high[axis] - far, high[axis] - near
        recess(begin, end, leaves.pull_depth)
    solid = reduce(lambda a, b: a + b, strips, block(board_low, board_high))
    return reduce(lambda a, b: a - b, cuts, solid)


def placed(leaf: Part, placement: Placement) -> m3.Manifold:
    mesh = mesh_of(leaf.shape)
    return m3.Manifold(
        m3.Mesh64(
            vert_properties=placement.to_table(mesh.vertices), tri_verts=mesh.triangles.astype(np.uint64)
        )
    )


@pytest.mark.parametrize("over", [False, True], ids=["same face up", "turned over"])
@pytest.mark.parametrize("face", ["upper", "lower"])
@pytest.mark.parametrize("other", [{}, BROADSIDE, OPEN_PULL], ids=["lengthwise", "broadside", "open pull"])
def test_rim_tray_and_pull_are_where_they_should_be(other: Changes, face: str, over: bool) -> None:
    plain = {
        "leaves.edge_radius": 0,
        "leaves.finger_hole": 0,
        "leaves.face": face,
        "leaves.turned_over": over,
    }
    if face == "lower":
        plain["leaves.rim_height"] = 0  # on their rims leaves would stand above fixed top boards
    worked = {"leaves.tray_depth": 6, "leaves.tray_border": 55} if other is OPEN_PULL else ALL
    table = set_values(QUILTING, {**worked, **other, **plain})
    assembly = build(table)
    directions = set()
    for path in assembly.stow_paths:
        leaf = assembly.by_label[path.leaf]
        axis = int(np.abs(path.outward).argmax())
        outer = (axis, float(path.outward[axis]))
        directions.add(outer)
        pieces = pieces_of(leaf)
        low, high = pieces.low.min(axis=0), pieces.high.max(axis=0)
        expected = expected_leaf(table, low, high, (face == "upper") != over, outer)
        assert abs(difference(placed(leaf, leaf.placement), expected)) <= allowed(expected)
        lies = assembly.cover[path.leaf]
        corners = lies.to_table(mesh_of(leaf.shape).vertices)
        assert corners[:, 2].max() == pytest.approx(770)
        along = lies.axes[0 if leaf.placement.axes[0, axis] else 1]
        outer_end = int(np.abs(along).argmax()), float(along.sum()) * float(outer_sign(leaf, outer))
        expected = expected_leaf(table, corners.min(axis=0), corners.max(axis=0), face == "upper", outer_end)
        assert abs(difference(placed(leaf, lies), expected)) <= allowed(expected)
    assert len(directions) == len(assembly.stow_paths)


def outer_sign(leaf: Part, outer: tuple[int, float]) -> float:
    """+1 where the leaf's outer end is that of its greater u (or v), else -1."""
    axis, sign = outer
    return sign * float(leaf.placement.axes[:2, axis].sum())


# -- by hand
# ------------------------------------------------------------------------------------------------------------


def test_volumes_of_rim_and_recesses_by_hand() -> None:
    """Strips of 8 by 15 mm all around, a recess 6 mm deep, a pull of 90 by 22 by 8 mm; the leaf is 921.6 by 364.9."""
    length, width = 921.6, 364.9
    plain, worked = leaves_of({})[0], leaves_of(ALL)[0]
    rim = 8 * (length * width - (length - 30) * (width - 30))
    tray, pull = 6 * (length - 180) * (width - 180), 90 * 22 * 8
    expected = mesh_of(plain.shape).volume + rim - tray - pull
    assert mesh_of(worked.shape).volume == pytest.approx(expected, rel=1e-12)
    assert sum(s.count * s.length * s.width * s.height for s in worked.strips) == pytest.approx(
        rim, rel=1e-12
    )
    assert worked.board == pytest.approx(plain.board)
    assert worked.shape.size[2] == pytest.approx(T + 8)
    assert plain.strips == ()


def test_slots_windows_and_tiers_make_room_for_the_rim() -> None:
    """The rim counts like a thicker leaf: in the cover, in each slot and window, and once a tier in the body."""
    table = set_values(QUILTING, RIM)
    assembly, drawn = build(table), build(QUILTING)
    report = check(table, assembly)
    assert (report.verdict, {one.rule for one in report.findings} - {"thin-wood"}) == ("clear", set())
    for result in report.leaves:
        assert result.clearance == pytest.approx(1.5)
        for gap in result.gaps:
            assert (gap.above, gap.below) == (pytest.approx(1.5), pytest.approx(1.5))

    def bottom(one: Assembly) -> float:
        return float(one.by_label["S1"].placement.origin[2])

    # the well keeps its depth below the leaves, so that all that lies under it comes down by the rim as well
    assert bottom(assembly) == pytest.approx(bottom(drawn) - 3 * 8)
    for part in assembly.parts:
        for opening in part.shape.openings:
            assert opening.v1 - opening.v0 == pytest.approx(T + 8 + 3)


def test_a_table_without_rim_and_recess_is_what_it_was() -> None:
    for leaf in leaves_of({}):
        assert (leaf.shape.grooves, leaf.strips) == ((), ())
        assert leaf.placement.axes[2].tolist() == [0, 0, 1]
        assert leaf.board == leaf.shape.size


@pytest.mark.parametrize("name", FACES)
@pytest.mark.parametrize("over", [False, True])
def test_recesses_change_no_clearance(name: str, over: bool) -> None:
    """What passes first and last is as thick as ever: 1.5 mm above and below."""
    table = set_values(QUILTING, {**FACES[name], "leaves.turned_over": over})
    report = check(table)
    assert {leaf.verdict for leaf in report.leaves} == {"clear"}
    assert [leaf.clearance for leaf in report.leaves] == [pytest.approx(1.5)] * 4
    assert [leaf.proud for leaf in report.leaves] == [pytest.approx(-19.2)] * 4


# -- as cut
# ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("label", "end", "open_length"), [("L1", "start", 25.0 + 3), ("L1", "end", 25.0), ("L2", "end", 25.0 + 3)]
)
def test_a_pull_that_runs_out_of_the_end_still_does_when_the_leaf_is_longer(
    label: str, end: str, open_length: float
) -> None:
    """By its volume: what the pull takes is as long as from its inner edge to where the leaf ends now."""
    entry = {"part": label, "dimension": "length", "deviation": 3.0, "end": end}
    changes = {f"as_cut[0].{name}": value for name, value in entry.items()}
    volume = {
        pull: mesh_of(
            build(set_values(QUILTING, {**OPEN_PULL, **changes, "leaves.pull_length": pull}))
            .by_label[label]
            .shape
        ).volume
        for pull in (0, 90)
    }
    assert volume[0] - volume[90] == pytest.approx(90 * 8 * open_length, rel=1e-9)


def test_recesses_are_no_grooves_that_could_be_cut_otherwise() -> None:
    changes = {**ALL, "as_cut[0].part": "L1", "as_cut[0].dimension": "groove_depth", "as_cut[0].deviation": 1}
    with pytest.raises(AsCutError, match="L1 has no dimension 'groove_depth'"):
        build(set_values(QUILTING, changes))
