"""Line drawings: what is hidden against rays toward the eye, lengths against geometry by hand and shapely 2.2.0.

The ray caster (`line_samples`) is that of Möller and Trumbore, Fast, Minimum Storage Ray-Triangle Intersection, 1997.
Widths and kinds of lines: ISO 128-2; scales: ISO 5455; isometric views: ISO 5456-3 (all from memory).
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from addon.designs.table import build
from addon.files.examples import EXAMPLES
from addon.files.table_file import parse_table
from addon.paper.lines.chains import crowded, merged, specks
from addon.paper.lines.hidden import hidden_lines, lines_of
from addon.paper.lines.seen import edges_of, surface_of
from addon.paper.views import VIEWS
from random_tables import sound_table
from tests.line_samples import box, free_way, triangles_of, turned

ISOMETRIC = VIEWS["isometric"].axes
FRONT = VIEWS["front"].axes
SHORT = np.sqrt(2 / 3)
"""By how much isometric projection shortens the three axes."""


@pytest.fixture(scope="module")
def assemblies():
    return {name: build(parse_table(EXAMPLES[name].text(), name)) for name in EXAMPLES}


def flat(lines, which) -> np.ndarray:
    return lines.ends[which][:, :, :2]


def drawn(lines) -> list[np.ndarray]:
    return merged(
        [flat(lines, lines.outline), flat(lines, lines.visible & ~lines.outline), flat(lines, ~lines.visible)]
    )


def lengths(segments: np.ndarray) -> np.ndarray:
    return np.hypot(*(segments[:, 1] - segments[:, 0]).T)


def wrong(parts, axes, places=None, count=60, seed=0) -> tuple[int, int]:
    """How many random points on edges are judged otherwise than by a ray, and how many were looked at."""
    lines = hidden_lines(parts, axes, places)
    rng = np.random.default_rng(seed)
    visible, hidden = np.flatnonzero(lines.visible), np.flatnonzero(~lines.visible)
    which = np.concatenate([rng.choice(one, count // 2) for one in (visible, hidden) if len(one)])
    which = which[lines.length[which] > 4e-6]
    nearest = 1e-6 / lines.length[which]
    share = nearest + rng.random(len(which)) * (1 - 2 * nearest)
    start, end = lines.ends[which, 0], lines.ends[which, 1]
    points = start + share[:, None] * (end - start)
    along = (end - start) / lines.length[which, None]
    beside = np.stack([-along[:, 1], along[:, 0], np.zeros(len(which))], axis=1)
    seen = free_way(points @ axes, beside @ axes, axes[2], triangles_of(parts, places))
    return int((seen != lines.visible[which]).sum()), len(which)


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("covered", [True, False], ids=["covered", "stowed"])
@pytest.mark.parametrize("example", EXAMPLES)
def test_tables_against_rays(assemblies, example, covered, view):
    """20 drawings of 60 points each; the two kinds of piece, visible and hidden, equally often."""
    assembly = assemblies[example]
    places = assembly.cover if covered else None
    bad, count = wrong(assembly.parts, VIEWS[view].axes, places, seed=len(view))
    assert bad == 0
    assert count >= 50


@pytest.mark.parametrize("seed", range(4))
def test_random_tables_against_rays(seed):
    _, assembly = sound_table(f"lines {seed}")
    bad, count = wrong(
        assembly.parts, VIEWS[("isometric", "below", "top", "front")[seed]].axes, count=200, seed=seed
    )
    assert bad == 0
    assert count >= 190


@pytest.mark.parametrize("seed", range(6))
def test_parts_that_run_into_each_other_against_rays(seed):
    """Blocks of random size and turn through each other, as after a wrong cut."""
    rng = np.random.default_rng(seed)
    parts = [
        box(rng.uniform(20, 120, 3), rng.uniform(-60, 60, 3), str(number), turned(*rng.uniform(0, 6, 3)))
        for number in range(7)
    ]
    bad, count = wrong(parts, VIEWS["below" if seed % 2 else "isometric"].axes, count=400, seed=seed)
    assert bad == 0
    assert count >= 390


def test_cube():
    lines = hidden_lines([box((40.0, 40.0, 40.0))], ISOMETRIC)
    outlines, edges, hidden = drawn(lines)
    assert [len(one) for one in (outlines, edges, hidden)] == [6, 3, 3]
    np.testing.assert_allclose(lines.length, 40 * SHORT, rtol=1e-12)


def test_stacked_cubes_have_one_line_at_their_joint():
    a = 40.0
    lines = hidden_lines([box((a, a, a)), box((a, a, a), (0, 0, a), "B")], ISOMETRIC)
    outlines, edges, _ = drawn(lines)
    assert lines.visible.sum() == 16  # nine of the upper one, seven of the lower one
    # The border: two sides of twice the height, four edges; the joint: two. Within: the upright one and two on top.
    assert sorted(np.round(lengths(outlines) / (a * SHORT), 9)) == [1] * 6 + [2, 2]
    assert sorted(np.round(lengths(edges) / (a * SHORT), 9)) == [1, 1, 2]


def test_box_behind_a_box():
    """From the front, against the areas' borders."""
    front, back = (box((100.0, 30.0, 80.0)), box((120.0, 30.0, 90.0), (50.0, 200.0, 40.0), "B"))
    lines = hidden_lines([back, front], FRONT)
    near, far = shapely.box(0, 0, 100, 80), shapely.box(50, 40, 170, 130)
    outlines, edges, hidden = drawn(lines)
    covered = far.boundary.intersection(near)
    assert len(edges) == 0
    assert lengths(outlines).sum() == pytest.approx(near.length + far.length - covered.length, abs=1e-9)
    assert lengths(hidden).sum() == pytest.approx(covered.length, abs=1e-9)
    for segments, wanted in ((outlines, near.boundary.union(far.boundary)), (hidden, covered)):
        assert shapely.multilinestrings(list(segments)).difference(wanted.buffer(1e-9)).length == 0


def test_faces_that_touch_do_not_hide_edges():
    """A block on a board, a hair above it, and a hair within: its foot is seen as it stands, and not from below."""
    board = box((100.0, 100.0, 10.0), label="B")
    for lift in (0.0, 5e-7, -5e-7):
        block = box((30.0, 30.0, 30.0), (20.0, 40.0, 10.0 + lift))
        lines = hidden_lines([board, block], ISOMETRIC)
        of_block = lines.visible & (lines.part == 1)
        assert lines.length[of_block].sum() == pytest.approx(9 * 30 * SHORT, abs=1e-9)
    below = hidden_lines([board, block], VIEWS["below"].axes)
    assert below.length[below.visible & (below.part == 1)].sum() < 4 * 30 * SHORT


def test_sunk_block_is_seen_down_to_the_face():
    """A block halfway in a board: its corners end where they enter the wood, 12 mm below its top."""
    parts = [box((100.0, 100.0, 20.0), label="B"), box((30.0, 30.0, 20.0), (35.0, 35.0, 12.0))]
    lines = hidden_lines(parts, ISOMETRIC)
    upright = np.abs(lines.ends[:, 0, 0] - lines.ends[:, 1, 0]) < 1e-9
    ends = lines.visible & (lines.part == 1) & upright
    np.testing.assert_allclose(lines.length[ends], 12 * SHORT, rtol=1e-9)
    assert ends.sum() == 3


@pytest.mark.parametrize("view", VIEWS)
@pytest.mark.parametrize("example", EXAMPLES)
def test_visible_and_hidden_make_up_all_edges(assemblies, example, view):
    surface = surface_of(assemblies[example].parts, VIEWS[view].axes)
    lines = lines_of(surface)
    assert lines.length.sum() == pytest.approx(edges_of(surface).length.sum(), rel=1e-12)
    assert not (lines.outline & ~lines.visible).any()
    assert lines.visible.any()


def test_facets_of_an_arc_have_no_lines_between_them(assemblies):
    """A finger hole's outline is seen from above as its two rims, and as nothing that joins them."""
    leaf = assemblies["quilting"].by_label["L1"]
    (hole,) = leaf.shape.holes
    lines = hidden_lines([leaf], leaf.placement.axes[[0, 1, 2]])
    center = (leaf.placement.origin @ leaf.placement.axes.T)[:2] + (hole.u, hole.v)
    away = np.hypot(*(lines.ends[:, :, :2] - center).reshape(-1, 2).T).reshape(-1, 2)
    rim = away.max(axis=1) < hole.diameter / 2 + 0.1
    assert rim.sum() > 40
    np.testing.assert_allclose(away[rim], hole.diameter / 2, atol=0.02)
    around = merged([flat(lines, rim)])[0]
    assert lengths(around).sum() == pytest.approx(np.pi * hole.diameter, rel=2e-3)


def test_a_round_hole_has_two_contours_along_its_axis(assemblies):
    """Of all the facets' edges along a hole, the eye sees those two as lines where the wall turns away from it."""
    leaf = assemblies["quilting"].by_label["L1"]
    (hole,) = leaf.shape.holes
    axes = ISOMETRIC @ leaf.placement.axes
    edges = edges_of(surface_of([leaf], axes))
    ends = leaf.placement.to_part(edges.ends @ axes)
    near = (
        np.hypot(*(ends[:, :, :2] - (hole.u, hole.v)).reshape(-1, 2).T).reshape(-1, 2).max(axis=1)
        < hole.diameter
    )
    along = near & (np.abs(ends[:, 0, :2] - ends[:, 1, :2]).max(axis=1) < 1e-9)
    assert along.sum() == 2
    assert edges.contour[along].all()


@pytest.mark.parametrize("seed", range(5))
def test_merged_lines_cover_the_same_and_nothing_twice(seed):
    """Against shapely's unions of lines on a coarse grid, where many lie on each other; one direction at a time, as
    lines that cross have no exact nodes."""
    rng = np.random.default_rng(seed)
    ways = np.array([(1, 0), (0, 1), (1, 1), (2, -1)])
    turns = rng.integers(0, 4, (3, 60))
    start = rng.integers(0, 12, (3, 60, 2))
    kinds = np.stack([start, start + ways[turns] * rng.integers(1, 5, (3, 60, 1))], axis=2).astype(float)
    found = merged(list(kinds))
    for turn, way in enumerate(ways):
        before = shapely.MultiLineString()
        for own, its_turns, segments in zip(kinds, turns, found, strict=True):
            step = segments[:, 1] - segments[:, 0]
            mine = segments[np.abs(step @ (-way[1], way[0])) < 1e-9 * lengths(segments)]
            lines = shapely.union_all(shapely.linestrings(own[its_turns == turn]))
            wanted = lines.difference(before)
            assert lengths(mine).sum() == pytest.approx(wanted.length, abs=1e-6)
            assert shapely.distance(shapely.points(mine.reshape(-1, 2)), wanted).max(initial=0.0) < 1e-9
            before = before.union(lines)


def test_pieces_that_abut_become_one_line():
    pieces = np.array(
        [[(0, 0), (1, 2)], [(3, 6), (1, 2)], [(3, 6), (4, 8)], [(4.001, 8.002), (5, 10)]], dtype=float
    )
    (found,) = merged([pieces])
    assert sorted(np.round(lengths(found) / np.sqrt(5), 9)) == [0.999, 4.0]


def test_isometric_views_are_true_along_all_axes():
    for name in ("isometric", "below"):
        view = VIEWS[name]
        shown = np.hypot(*(np.eye(3) @ view.axes.T)[:, :2].T) * view.enlarged
        np.testing.assert_allclose(shown, 1.0, rtol=1e-12)
        assert np.linalg.det(view.axes) == pytest.approx(1.0)


def test_crowded_stretches():
    """By hand: a line beside another for 6 mm, one beside a line of the other kind for 2 mm, and one too far away."""
    own = np.array(
        [[(0, 0), (10, 0)], [(4, 0.5), (12, 0.5)], [(0, 5), (10, 5)], [(0, 0), (0, 9)]], dtype=float
    )
    others = np.array([[(8, 4.6), (14, 4.6)], [(0, 8), (9, 8.5)]], dtype=float)
    found = sorted(crowded(own, others, 0.7, 1.5).tolist())
    assert found == [[[4, 0], [10, 0]], [[4, 0.5], [10, 0.5]], [[8, 5], [10, 5]]]
    assert len(crowded(own, others, 0.7, 2.5)) == 2
    assert len(crowded(own, others, 0.45, 1.5)) == 1


def test_specks():
    """Two pieces in a corner are a speck; the same at a long line is none, and a lone piece neither."""
    corner = np.array([[(0, 0), (1, 0)], [(1, 0), (1, 1)]], dtype=float)
    longer = np.array([[(11, 1), (19, 1)]], dtype=float)
    lone = np.array([[(5, 5), (6, 5)]], dtype=float)
    segments = np.concatenate([corner, corner + (10.0, 0.0), longer, lone])
    assert specks(segments, 1.5).tolist() == [True, True, False, False, False, False]
