"""Eased leads whose worst pose is not the steepest one, against a dense search of poses as polygons."""

from __future__ import annotations

from random import Random

import numpy as np

from addon.check.row.profile import Chamfer, Row, RowOpening
from addon.check.row.proof import prove
from tests import row_samples
from tests.large import sampled
from tests.test_row_snags import missing

SLOPES = 2001


def close_row(random: Random, gap: float) -> Row:
    """Two to four openings up to `gap` mm apart, for a leaf whose lead is long and high."""
    thickness, face = random.choice([6.0, 9.0, 12.0, 18.0, 25.0]), 0.0
    openings: list[RowOpening] = []
    for _ in range(random.randint(2, 4)):
        board, sill = random.choice([3.0, 9.0, 18.0, 40.0]), random.uniform(-0.5, 0.5)
        head = sill + thickness + random.uniform(0.2, 6)
        edges = (None if random.random() < 0.15 else sill, None if random.random() < 0.15 else head)
        chamfers = row_samples.chamfer(random, board), row_samples.chamfer(random, board)
        openings.append(RowOpening(face, board, *edges, *chamfers))
        face += board + random.uniform(0, gap)
    span = openings[-1].end
    lead = Chamfer(random.uniform(0.5, 12), random.uniform(0.2, 0.49) * thickness)
    return Row(random.uniform(0.6, 3) * span + 13, thickness, tuple(openings), span + 10, lead)


def worst(leaf: Row, opening: RowOpening) -> tuple[float, bool] | None:
    """By how much allowed poses miss an opening at most, mm, and whether the worst is none of the steepest two.

    Of slopes up to 1 either way, only those that a leaf near level gets to.
    """
    slopes = np.linspace(-1.0, 1.0, SLOPES)
    held = row_samples.before(leaf, opening.face)
    low, high = row_samples.bounds(leaf, np.full(SLOPES, opening.face), slopes, held, ends=False)
    free = low <= high
    if not free.any():
        return None
    start = np.flatnonzero(free)[np.abs(slopes[free]).argmin()]
    closed = np.flatnonzero(~free)
    first = closed[closed < start].max(initial=-1) + 1
    last = closed[closed > start].min(initial=SLOPES) - 1
    some = slice(first, last + 1)
    slope = np.tile(slopes[some], 2)
    nose = np.concatenate([low[some], high[some]]) + slope * opening.face
    by = missing(leaf, opening, nose, slope)
    at = int(by.argmax())
    return float(by[at]), 5 < at % (last + 1 - first) < last - first - 5


def test_no_pose_between_the_steepest_ones_misses_by_more_than_the_margin() -> None:
    between = 0
    for seed in range(sampled(48, 2000)):
        leaf = close_row(Random(seed), (2.0, 10.0, 100.0)[seed % 3])
        (proof,) = prove([leaf])
        for opening, proved in zip(leaf.openings, proof.openings, strict=True):
            found = worst(leaf, opening) if proved.verdict not in (None, "does-not-pass") else None
            if found is None:
                continue
            by, inside = found
            if proved.margin is None:
                continue  # nothing holds it, or it has no wood
            assert by <= -proved.margin + 1e-6, (seed, opening)
            between += inside and by > -proved.margin - 1e-3
    assert between >= 1


def test_a_step_that_only_a_leaning_lead_meets() -> None:
    """A lead 5 high, held 2 before the next opening, whose sill is lower than a level nose; room for slopes up to 0.8.

    Level, the blunt face's end is 5 above the sill; by hand the end of a lead at a slope s < 0 that turns about the
    edge 2 behind its nose is at 5·√(1 + s²) + 2·s above it, least where s/√(1 + s²) = -2/5: 5·√(1 - 0.16) = 4.583.
    """
    first = RowOpening(0.0, 18.0, 0.0, 30.0)
    for sill, verdict in ((4.58, "guides-itself"), (4.59, "needs-steering")):
        leaf = Row(300.0, 12.0, (first, RowOpening(20.0, 18.0, sill, None)), 38.0, Chamfer(1e-6, 5.0))
        (proof,) = prove([leaf])
        assert proof.openings[1].verdict == verdict
        assert proof.openings[1].margin is not None
        assert abs(proof.openings[1].margin - (5 * np.sqrt(1 - 0.16) - sill)) < 1e-4
