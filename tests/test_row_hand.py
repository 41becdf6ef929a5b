"""Leaves whose outer end a hand holds near its line: margins and least distances off line, by an account of their own.

The account is `row_samples`: leaf and wood as polygons, slope after slope. At one slope the outer end's height is a
straight line in the leaf's, so that what a hand allows there is an interval, and what misses is one as well.
"""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from random import Random

import numpy as np
import pytest
from scipy.optimize import brentq, linprog

from addon.check.row.bare import read_rows
from addon.check.row.openings import least_margins
from addon.check.row.profile import Chamfer, Row, RowOpening, profiles
from addon.check.row.proof import RowProof, prove
from addon.sizes.errors import RowError
from tests import row_samples
from tests.large import sampled

SEEDS = sampled(40, 400)

SLOPES = np.linspace(-0.5, 0.5, 4001)
STEP = SLOPES[1] - SLOPES[0]

Floats = np.ndarray


@cache
def samples() -> list[tuple[Row, RowProof]]:
    rows = []
    for seed in range(SEEDS):
        random = Random(f"hand/{seed}")
        made = row_samples.row(
            random, one_sided=0.15 * (seed % 2), short=seed % 5 == 0, step=random.choice([0.1, 0.5, 2.0])
        )
        rows.append(
            replace(
                made, hand=random.choice([0.2, 1.0, 5.0, 20.0]), wide=seed % 3 == 0 and made.lead.run == 0
            )
        )
    return list(zip(rows, prove(rows), strict=True))


def off_line(leaf: Row, height: Floats | float, slope: Floats) -> Floats:
    """(n,) mm: how far the middle of the outer end is above its line, with the lower leading corner at a height."""
    tilt = np.arctan(slope)
    return height - leaf.length * np.sin(tilt) + leaf.thickness / 2 * (np.cos(tilt) - 1) - leaf.rest


def free_heights(leaf: Row, opening: RowOpening, hand: float) -> tuple[Floats, Floats, Floats, bool]:
    """Slopes that a leaf near level gets to, and least and greatest height of its lower leading corner there.

    (n,) each, mm, with the corner at the opening's face; and whether these slopes end before those that are tried.
    """
    held = row_samples.before(leaf, opening.face)
    low, high = row_samples.bounds(leaf, np.full(len(SLOPES), opening.face), SLOPES, held, ends=False)
    low, high = low + SLOPES * opening.face, high + SLOPES * opening.face
    middle = off_line(leaf, 0.0, SLOPES)
    low, high = np.maximum(low, -hand - middle), np.minimum(high, hand - middle)
    free = low <= high
    if not free.any():
        return SLOPES[:0], low[:0], high[:0], True
    start = np.flatnonzero(free)[np.abs(SLOPES[free]).argmin()]
    closed = np.flatnonzero(~free)
    first = closed[closed < start].max(initial=-1) + 1
    last = closed[closed > start].min(initial=len(free))
    return SLOPES[first:last], low[first:last], high[first:last], first > 0 and last < len(free)


def limits(leaf: Row, opening: RowOpening, slope: Floats) -> tuple[Floats, Floats]:
    """Heights of the lower leading corner, (n,) mm each, below and above which the blunt face misses the opening."""
    secant = np.hypot(1.0, slope)
    low, high = np.full(len(slope), -np.inf), np.full(len(slope), np.inf)
    if opening.sill is not None:
        low = opening.sill - opening.entry.rise - leaf.lead.rise * secant
    if opening.head is not None:
        high = opening.head + opening.entry.rise - (leaf.thickness - leaf.lead.rise) * secant
    return low, high


def narrow(leaf: Row) -> bool:
    """Whether the upper leading corner counts where the lower one is."""
    return not leaf.wide


def judged() -> list[tuple[Row, RowOpening, object]]:
    return [
        (leaf, opening, proved)
        for leaf, proof in samples()
        for opening, proved in zip(leaf.openings, proof.openings, strict=True)
        if proved.verdict in ("guides-itself", "needs-steering") and narrow(leaf)
    ]


def test_no_pose_that_the_hand_holds_misses_by_more_than_the_margin() -> None:
    """Slope after slope; the greatest miss of all poses whose outer end is near its line."""
    compared = steered = saved = 0
    for leaf, opening, proved in judged():
        anyhow = prove([replace(leaf, hand=None)])[0].openings[leaf.openings.index(opening)]
        if anyhow.verdict == "guides-itself":
            assert (proved.verdict, proved.margin) == ("guides-itself", anyhow.margin)
            continue
        slope, low, high, ends = free_heights(leaf, opening, leaf.hand)
        if not len(slope):
            assert proved.verdict == "needs-steering"
            continue
        least, most = limits(leaf, opening, slope)
        miss = max((least - low).max(), (high - most).max())
        if proved.margin is None or not ends:
            assert proved.verdict == "needs-steering"
            continue
        # Between two slopes tried the nose swings about what holds it.
        near = STEP * (leaf.length + opening.face - leaf.first) + 1e-8
        assert miss <= -proved.margin + 1e-7
        assert miss >= -proved.margin - near
        compared += 1
        steered += proved.verdict == "needs-steering"
        saved += proved.verdict == "guides-itself"
    assert compared > SEEDS / 2
    assert steered > 5
    assert saved > 5


def test_least_distance_off_line_at_which_an_opening_can_be_missed() -> None:
    """Slope after slope: what misses is an interval of heights, whose outer ends are one as well."""
    found = none = 0
    for leaf, opening, proved in judged():
        slope, low, high, ends = free_heights(leaf, opening, np.inf)
        least, most = limits(leaf, opening, slope)
        nearest = np.inf
        for first, last in ((low, np.minimum(high, least)), (np.maximum(low, most), high)):
            some = first < last - 1e-9
            a, b = off_line(leaf, first[some], slope[some]), off_line(leaf, last[some], slope[some])
            off = np.where((a <= 0) & (b >= 0), 0.0, np.minimum(np.abs(a), np.abs(b)))
            nearest = min(nearest, off.min(initial=np.inf))
        if proved.steer is None:
            assert nearest == np.inf
            none += 1
        elif ends:
            near = STEP * (leaf.length + opening.face - leaf.first) + 1e-6
            assert proved.steer <= nearest + 1e-6
            assert proved.steer >= nearest - near
            found += 1
    assert found > SEEDS / 2
    assert none > 5


def test_an_opening_is_met_as_long_as_the_hand_stays_nearer_than_that() -> None:
    """In both views: a hand a little nearer guides, one a little farther off steers."""
    tried = 0
    for leaf, proof in samples():
        for number, proved in enumerate(proof.openings):
            if proved.verdict == "does-not-pass" or not proved.steer or proved.steer < 0.01:
                continue
            near, far = (
                prove([replace(leaf, hand=proved.steer * factor)])[0].openings[number]
                for factor in (1 - 1e-6, 1 + 1e-6)
            )
            held = free_heights(leaf, leaf.openings[number], proved.steer * 0.9)
            if len(held[0]):
                assert near.verdict == "guides-itself"
            assert far.verdict == "needs-steering"
            tried += 1
    assert tried > SEEDS / 2


def test_the_farther_off_the_hand_the_more_is_missed() -> None:
    for leaf, _ in samples():
        margins = least_margins(profiles(tuple(replace(leaf, hand=hand) for hand in (0.5, 2.0, 8.0, None))))
        there = margins[np.isfinite(margins)]
        held = [len(free_heights(leaf, one, 0.5)[0]) for one in leaf.openings if one.face > leaf.first]
        if all(held):
            assert (np.diff(there) <= 1e-7).all()


def test_leaf_held_by_a_slot_and_a_hand() -> None:
    """The nose is lowest with the outer end as high as the hand may hold it, the leaf on the inner edge of the slot.

    That slope is found by bisection (scipy), and the poses at it by a linear program (HiGHS).
    """
    hand, length, thick, face = 3.0, 700.0, 18.0, 200.0
    slot, sill = RowOpening(0, 18, 0, 20), RowOpening(face, 18, 0, None, Chamfer(1, 1))
    row = Row(length, thick, (slot, sill), 400, hand=hand)

    def above(tilt: float) -> float:
        """How far the outer end is above the hand's highest place, the leaf on the inner edge of the sill."""
        rear = face - length * np.cos(tilt)
        corner = np.tan(tilt) * (rear - 18.0)
        return corner + thick / 2 * np.cos(tilt) - thick / 2 - hand

    slope = np.tan(brentq(above, -0.1, 0.0, xtol=1e-14))
    # Of all heights c of the lower edge at this slope: least nose, above both stations of the sill, below those of the
    # head, the hand no higher than it may be.
    rear = face - length / np.hypot(1, slope)
    upper = thick * np.hypot(1, slope)
    low = linprog(
        [1.0],
        A_ub=[[-1.0], [-1.0], [1.0], [1.0]],
        b_ub=[slope * 0.0, slope * 18.0, 20.0 - upper - 0.0, 20.0 - upper - slope * 18.0],
        bounds=[(None, None)],
        method="highs",
    )
    nose = low.x[0] + slope * face
    proved = prove([row])[0].openings[1]
    assert proved.nose_low == pytest.approx(nose, abs=1e-7)
    assert proved.margin == pytest.approx(1.0 + nose, abs=1e-7)
    assert low.x[0] + slope * rear == pytest.approx(hand + thick / 2 * (1 - 1 / np.hypot(1, slope)), abs=1e-7)


def test_mirrored_leaves_are_held_alike() -> None:
    """The middle of the outer end is the same seen from either side."""
    compared = 0
    for leaf, proof in samples():
        if not leaf.wide:  # the upper leading corner is judged where the lower one is
            continue
        openings = tuple(
            replace(
                one,
                sill=None if one.head is None else -one.head,
                head=None if one.sill is None else -one.sill,
            )
            for one in leaf.openings
        )
        (turned,) = prove([replace(leaf, openings=openings, level=-leaf.rest - leaf.thickness)])
        assert turned.verdict == proof.verdict
        for one, other in zip(proof.openings, turned.openings, strict=True):
            if one.margin is not None:
                assert other.margin == pytest.approx(one.margin, abs=1e-7)
            if one.hand is not None:  # where wood keeps a leaf off its line, it leans one way alone
                assert other.steer == pytest.approx(one.steer, abs=1e-6)
                compared += 1
    assert compared > SEEDS / 8


def test_a_wide_leaf_is_steered_alike_from_either_side() -> None:
    """The hand has to let it as far off line that it fits with either leading corner at the last opening."""
    boards = (
        (-17.0, 12.0, 0.74, 14.54, Chamfer(4.4, 4.3), Chamfer(4.1, 6.7)),
        (58.1, 12.0, 1.96, 14.92, Chamfer(), Chamfer(4.5, 2.2)),
        (78.0, 40.0, 1.67, 15.52, Chamfer(), Chamfer(13.4, 2.9)),
        (195.5, 9.0, -0.07, 13.94, Chamfer(), Chamfer(2.0, 0.8)),
    )
    found = []
    for side in (1, -1):
        openings = tuple(
            RowOpening(face, board, *sorted((side * low, side * high)), entry, leave)
            for face, board, low, high, entry, leave in boards
        )
        level = 0.74 if side > 0 else -12.74
        (proof,) = prove([Row(150.5, 12.0, openings, 216.8, wide=True, hand=1.0, level=level)])
        found.append((proof.verdict, proof.openings[3].steer))
    (verdict, steer), mirrored = found
    assert steer is not None
    assert mirrored == (verdict, pytest.approx(steer, abs=1e-6))


def test_rows_of_bare_numbers_may_name_the_hand() -> None:
    """Without one any pose counts, as before."""
    row = {
        "leaf": {"length": 700, "thickness": 18},
        "openings": [
            {"face": 0, "board": 18, "sill": 0, "head": 20},
            {"face": 200, "board": 18, "sill": 0, "head": 20, "entry": [3, 3]},
        ],
        "travel": 300,
    }
    (anyhow,), _ = read_rows(json.dumps(row), "row")
    (held,), _ = read_rows(json.dumps({**row, "hand": 5}), "row")
    assert (anyhow.hand, held.hand) == (None, 5.0)
    assert [one.verdict for one in prove([anyhow, held])] == ["needs-steering", "guides-itself"]
    with pytest.raises(RowError, match="hand"):
        read_rows(json.dumps({**row, "hand": -1}), "row")


def test_a_hand_that_allows_nothing_is_the_limit_of_one_that_allows_hardly_anything() -> None:
    """Margins are continuous in the hand; with none at all, poses are still those along the line."""
    for leaf, _ in samples():
        (none,), (hardly,) = (prove([replace(leaf, hand=hand)]) for hand in (0.0, 1e-6))
        assert none.verdict == hardly.verdict
        for one, other in zip(none.openings, hardly.openings, strict=True):
            assert one.verdict == other.verdict
            assert one.margin == (None if other.margin is None else pytest.approx(other.margin, abs=1e-4))


def test_a_leaf_on_its_line_turns_up_where_nothing_is_above_it() -> None:
    """The outer end's middle stays on the line, by hand; a sill alone lets the nose rise as far as one likes."""
    first, second = RowOpening(0.0, 9.0, 0.0, None), RowOpening(60.0, 18.0, 0.0, 10.0)
    (proof,) = prove([Row(200.0, 9.0, (first, second), 90.0, hand=0.0)])
    assert proof.verdict == "needs-steering"
