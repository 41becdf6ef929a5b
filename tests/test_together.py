"""Two leaves pushed home at once, against intervals worked out axis by axis in exact fractions."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from random import Random

import numpy as np
import pytest

from addon.check.drawn_way import meetings_at_once
from addon.check.prepared import prepare
from addon.designs.table import build
from addon.files.editing import set_values
from addon.wood.assembly import Assembly, Move, StowPath
from tests.old_tables import EXAMPLES

SQUARE = set_values(EXAMPLES["quilting"].table(), {"leaves.edge_radius": 0, "leaves.finger_hole": 0})
BUILT = build(SQUARE)


def path_of_two_moves(leaf: str, random: Random) -> StowPath:
    """From anywhere by way of anywhere home, in whole millimeters."""
    places = [
        np.array([random.randint(-900, 900), random.randint(-900, 900), random.randint(-60, 60)])
        for _ in range(2)
    ]
    corners = [*(place.astype(float) for place in places), np.zeros(3)]
    moves = tuple(Move(start, end) for start, end in pairwise(corners))
    return replace(BUILT.path_of(leaf), moves=moves, zero=0.0)


def first_overlap(assembly: Assembly, one: StowPath, other: StowPath) -> float | None:
    """Share of the way at which two boxes begin to overlap, both going evenly; None if they never do."""
    prepared = prepare(assembly)
    (low_a, high_a), (low_b, high_b) = (
        [[Fraction(value) for value in corner] for corner in prepared.bounds(path.leaf)]
        for path in (one, other)
    )
    turns = sorted(
        {Fraction(0), Fraction(1), *(Fraction(path.moves[0].length / path.length) for path in (one, other))}
    )
    for begin, end in pairwise(turns):
        enter, leave = Fraction(0), Fraction(1)
        starts = [[Fraction(x) for x in path.offset_at(float(begin) * path.length)] for path in (one, other)]
        stops = [[Fraction(x) for x in path.offset_at(float(end) * path.length)] for path in (one, other)]
        for k in range(3):
            start, stop = starts[0][k] - starts[1][k], stops[0][k] - stops[1][k]
            # overlap on this axis while low_b - high_a < start + share·(stop - start) < high_b - low_a
            bounds = [(low_b[k] - high_a[k], 1), (high_b[k] - low_a[k], -1)]
            for bound, sign in bounds:
                speed, rest = sign * (stop - start), sign * (bound - start)
                if speed > 0:
                    enter = max(enter, rest / speed)
                elif speed < 0:
                    leave = min(leave, rest / speed)
                elif rest >= 0:
                    leave = Fraction(-1)
        if enter < leave - Fraction(1, 10**7):
            return float(begin + enter * (end - begin))
    return None


@pytest.mark.parametrize("seed", range(60))
def test_first_meeting_of_two_leaves_on_bent_ways(seed: int) -> None:
    random = Random(seed)
    pair = random.sample(["L1", "L2", "L3", "L4"], 2)
    paths = tuple(path_of_two_moves(leaf, random) for leaf in sorted(pair))
    assembly = replace(BUILT, stow_paths=paths)
    expected = first_overlap(assembly, *paths)
    found = list(meetings_at_once(prepare(assembly)))
    assert len(found) == (0 if expected is None else 1)
    if expected is not None:
        assert found[0].rule == "leaves-meet"
        assert found[0].parts == tuple(sorted(pair))
        assert found[0].travel == pytest.approx(expected * paths[0].length, abs=1e-3)


def test_both_outcomes_come_up() -> None:
    outcomes = set()
    for seed in range(60):
        random = Random(seed)
        pair = random.sample(["L1", "L2", "L3", "L4"], 2)
        paths = tuple(path_of_two_moves(leaf, random) for leaf in sorted(pair))
        outcomes.add(first_overlap(replace(BUILT, stow_paths=paths), *paths) is None)
    assert outcomes == {True, False}
