"""Poses of leaves among openings, clipped as polygons by shapely: free exactly where the proof says so.

A leaf's pose counts as free as long as its two long sides and the chamfers of its leading end are outside the wood. Its
square ends lean over a corner of wood by less than the thickness times the sine of the tilt; what they touch is counted
here on its own, with the ends built in, and has to be of that kind.
"""

from __future__ import annotations

from random import Random

import numpy as np
import pytest

from addon.check.row.profile import Row, RowOpening, hidden, profiles
from addon.check.row.stances import Stances
from tests import row_samples

ROWS, POSES = 60, 200
NEAR = 1e-3
"""mm; how far in wood and how far from it the poses near contact are."""

NOTHING = 1e-9
"""mm²; the smallest overlap of a leaf's corner pushed in by NEAR is about NEAR²/2, one along a side more."""


def sample(seed: int) -> row_samples.Row:
    return row_samples.row(
        Random(seed), one_sided=0.2 * (seed % 2), short=seed % 3 == 0, step=(0.1, 0.5, 3.0)[seed % 3]
    )


def slopes(rng: np.random.Generator) -> np.ndarray:
    """Nearly level ones, tilted ones, and some that no hand would choose."""
    return rng.normal(0, 0.05, POSES) * rng.choice([0.02, 0.2, 1.0, 6.0], POSES)


def heights(rng: np.random.Generator, low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """A quarter each just below and just above a bound, the others anywhere about there."""
    bottom, top = np.where(np.isfinite(low), low, -20.0), np.where(np.isfinite(high), high, 20.0)
    at = np.where(rng.random(POSES) < 0.5, bottom, top)
    near = at + rng.choice([-NEAR, NEAR], POSES)
    return np.where(
        rng.random(POSES) < 0.5, near, rng.uniform(np.minimum(bottom, top) - 3, np.maximum(bottom, top) + 3)
    )


def test_poses_are_free_exactly_where_polygons_do_not_overlap() -> None:
    poses = of_ends = 0
    for seed in range(ROWS):
        row, rng = sample(seed), np.random.default_rng(seed)
        depth, slope = rng.uniform(row.first - 5, row.travel, POSES), slopes(rng)
        low, high = Stances(profiles((row,)), np.zeros(POSES, dtype=np.intp), depth).room(slope)
        c = heights(rng, low, high)
        says_free = (low <= c) & (c <= high)
        area = row_samples.overlap(row, list(row.openings), depth, c + slope * depth, np.arctan(slope))
        free = area <= NOTHING
        assert not (free & ~says_free).any(), f"row {seed}: said to collide, but does not"
        ends = says_free & ~free
        # With its ends the leaf does collide, without them it does not, and it leans enough for an end to overhang.
        whole_low, whole_high = row_samples.bounds(row, depth, slope)
        sides_low, sides_high = row_samples.bounds(row, depth, slope, ends=False)
        assert np.all((c < whole_low)[ends] | (c > whole_high)[ends]), (
            f"row {seed}: collides, but not with an end"
        )
        assert np.all((sides_low <= c)[ends] & (c <= sides_high)[ends])
        assert np.all(wood_near_an_end(row, depth, slope)[ends])
        poses, of_ends = poses + POSES, of_ends + int(ends.sum())
    assert poses >= 10_000
    assert 0 < of_ends < poses / 20


def wood_near_an_end(row: row_samples.Row, depth: np.ndarray, slope: np.ndarray) -> np.ndarray:
    """(n,) bool: whether wood is within what an end of the leaf spans along the travel when it leans."""
    corners = row_samples.leaf_corners(row, depth, slope * depth, np.arctan(slope))[:, :, 0]
    found = np.zeros(len(depth), dtype=bool)
    for end in ([0, 5], [1, 2, 3, 4]):
        first, last = corners[:, end].min(axis=1), corners[:, end].max(axis=1)
        for one in row.openings:
            found |= (first <= one.end) & (last >= one.face)
    return found


@pytest.mark.parametrize("seed", range(30))
def test_bounds_are_those_of_the_support_functions(seed: int) -> None:
    """To 1e-9 mm, in every pose (check-values J-08: support function of lips and corners)."""
    row, rng = sample(seed + 1000), np.random.default_rng(seed)
    depth, slope = rng.uniform(row.first - 5, row.travel, POSES), slopes(rng)
    low, high = Stances(profiles((row,)), np.zeros(POSES, dtype=np.intp), depth).room(slope)
    expected_low, expected_high = row_samples.bounds(row, depth, slope, ends=False)
    assert np.isfinite(expected_low).any() or np.isfinite(expected_high).any()
    np.testing.assert_allclose(low, expected_low, rtol=0, atol=1e-9)
    np.testing.assert_allclose(high, expected_high, rtol=0, atol=1e-9)


@pytest.mark.parametrize("seed", range(20))
def test_turns_are_the_derivatives_of_the_room(seed: int) -> None:
    """Central differences of two steps that agree with one another, so that no kink lies between them."""
    row, rng = sample(seed + 2000), np.random.default_rng(seed)
    depth, slope = rng.uniform(row.first, row.travel, POSES), rng.normal(0, 0.05, POSES)
    stances = Stances(profiles((row,)), np.zeros(POSES, dtype=np.intp), depth)
    with np.errstate(invalid="ignore"):  # where nothing bounds the leaf the room is infinite on both sides
        fine, coarse = (
            (stances.gap(slope + step)[0] - stances.gap(slope - step)[0]) / (2 * step)
            for step in (1e-7, 1e-6)
        )
    smooth = np.isfinite(fine) & np.isfinite(coarse) & (np.abs(fine - coarse) < 1e-2)
    assert smooth.any()
    np.testing.assert_allclose(stances.gap(slope)[1][smooth], fine[smooth], rtol=0, atol=2e-2)


def test_boards_that_touch_hide_each_other_whatever_the_rounding() -> None:
    """0.1 + 0.2 is 0.30000000000000004, more than 0.3 (IEEE 754): a board that ends at the one still hides what begins
    at the other, and edges that differ by as much are flush."""
    more, less = 0.1 + 0.2, 0.3
    for end, face, sill, other in (
        (less, more, less, more),
        (more, less, more, less),
        (less, more, more, less),
    ):
        before, behind = RowOpening(0.0, end, sill, 20.0), RowOpening(face, 18.0, other, 20.0)
        row = Row(100.0, 12.0, (before, behind), 30.0)
        assert hidden(profiles((row,))).tolist() == [[False, True]]
    before = RowOpening(0.0, less, less, 20.0)
    for seen in (RowOpening(less, 18.0, less + 1e-6, 20.0), RowOpening(less + 1e-6, 18.0, less, 20.0)):
        assert not hidden(profiles((Row(100.0, 12.0, (before, seen), 30.0),))).any()


def behind_others(row: Row, opening: RowOpening) -> bool:
    """Edge by edge: whether other wood is as far out where the nose would meet an opening, on both sides."""
    around = [one for one in row.openings if one.face < opening.face <= one.end]
    for side, land in ((-1, opening.sill), (1, opening.head)):
        edges = [one.edge_at(opening.face, side) for one in around]
        if land is not None and not any(
            edge is not None and side * edge <= side * land + opening.entry.rise for edge in edges
        ):
            return False
    return True


def test_openings_behind_others_edge_by_edge() -> None:
    """Boards that overlap along the way, many rows of different length at once."""
    random, rows = Random(7), []
    for _ in range(200):
        openings = [
            RowOpening(
                random.uniform(0.0, 60.0),
                board := random.uniform(10.0, 60.0),
                None if random.random() < 0.2 else random.uniform(0.0, 3.0),
                None if random.random() < 0.2 else random.uniform(17.0, 20.0),
                row_samples.chamfer(random, board),
                row_samples.chamfer(random, board),
            )
            for _ in range(random.randint(2, 6))
        ]
        rows.append(Row(100.0, 12.0, tuple(openings), 120.0))
    found = hidden(profiles(tuple(rows)))
    wanted = [[behind_others(row, one) for one in row.openings] for row in rows]
    assert [own[: len(row.openings)].tolist() for own, row in zip(found, rows, strict=True)] == wanted
    assert 50 < sum(map(sum, wanted)) < sum(map(len, wanted)) - 50
