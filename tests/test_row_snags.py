"""Counter-examples of rows that must be steered, clipped as polygons by shapely, the hand's window, and edge cases."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import atan, cos, sin, tan
from random import Random

import numpy as np
import pytest

from addon.check.row.openings import OpeningProof
from addon.check.row.profile import SQUARE, Chamfer, Row, RowOpening, profiles
from addon.check.row.proof import RowProof, prove
from addon.check.row.stances import Stances
from tests import row_samples
from tests.large import sampled

SEEDS = sampled(50, 110)
NOTHING = 1e-9
"""mm²; less overlap is rounding."""


@cache
def samples() -> list[tuple[Row, RowProof]]:
    rows = []
    for seed in range(SEEDS):
        random = Random(seed)
        rows.append(
            row_samples.row(
                random, one_sided=0.15 * (seed % 2), short=seed % 5 == 0, step=random.choice([0.1, 0.5, 2.0])
            )
        )
    return list(zip(rows, prove(rows), strict=True))


def overlap(leaf: Row, openings: list[RowOpening], travel: float, height: float, tilt: float) -> float:
    """mm² of the leaf in the wood of some openings."""
    one = (np.array([value]) for value in (travel, height, tilt))
    return float(row_samples.overlap(leaf, openings, *one)[0])


def along(leaf: Row, proved: OpeningProof, move: float) -> tuple[float, float, float]:
    """The snag's pose, its nose moved along the leaf by so much along the travel."""
    snag = proved.snag
    assert snag is not None
    return snag.travel + move, snag.height + move * tan(snag.tilt), snag.tilt


def test_snags_are_allowed_before_and_collide_at_their_opening() -> None:
    checked = {"below": 0, "above": 0, "eased": 0}
    for leaf, proof in samples():
        for opening, proved in zip(leaf.openings, proof.openings, strict=True):
            if proved.verdict != "needs-steering":
                assert proved.snag is None
                continue
            snag = proved.snag
            assert snag is not None
            # The blunt face leans over the opening before or after the nose gets there.
            lean = leaf.thickness * abs(sin(snag.tilt)) + 1e-6
            own, held = [opening], row_samples.before(leaf, opening.face)
            low, high = row_samples.bounds(
                leaf, np.array([snag.travel]), np.array([tan(snag.tilt)]), held, ends=False
            )
            c = snag.height - snag.travel * tan(snag.tilt)
            assert low[0] - 1e-8 <= c <= high[0] + 1e-8, "not a pose that the openings before allow"
            assert snag.travel == opening.face
            assert overlap(leaf, own, *along(leaf, proved, -lean)) <= NOTHING, "collides before its opening"
            missed = proved.margin is None or proved.margin < -1e-3
            if missed:
                assert overlap(leaf, own, *along(leaf, proved, lean + 0.01)) > NOTHING, "does not collide"
            # No deeper: it is the face that stops it, not what comes behind.
            below = opening.sill is not None and snag.height < opening.sill - opening.entry.rise
            checked["below" if below else "above"] += missed
            checked["eased"] += missed and leaf.lead.rise > 0
    assert min(checked.values()) >= SEEDS / 4


def test_snags_do_not_collide_with_the_openings_before() -> None:
    """With all the leaf, ends included: a tilted end may lean over a corner, by no more than the depth of that lean."""
    counted = leaning = 0
    for leaf, proof in samples():
        snag = proof.counterexample
        if snag is None:
            continue
        assert proof.worst_opening is not None
        held = row_samples.before(leaf, leaf.openings[proof.worst_opening].face)
        area = overlap(leaf, held, snag.travel, snag.height, snag.tilt)
        counted += 1
        if area > 1e-6:
            low, high = row_samples.bounds(leaf, np.array([snag.travel]), np.array([tan(snag.tilt)]), held)
            c = snag.height - snag.travel * tan(snag.tilt)
            assert not low[0] - 1e-8 <= c <= high[0] + 1e-8, "not an end of it"
            leaning += 1
    assert counted >= SEEDS / 2
    assert leaning <= counted / 10


def poses_at(leaf: Row, opening: RowOpening, number: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """Heights of the nose and slopes of allowed poses with the nose at an opening, those on the bounds among them.

    Only those that a leaf near level gets to without leaving what is allowed.
    """
    held = row_samples.before(leaf, opening.face)
    slopes = np.linspace(-0.5, 0.5, 2001)
    low, high = row_samples.bounds(leaf, np.full(2001, opening.face), slopes, held, ends=False)
    free = low <= high
    start = np.flatnonzero(free)[np.abs(slopes[free]).argmin()]
    closed = np.flatnonzero(~free)
    first = closed[closed < start].max(initial=-1) + 1
    last = closed[closed > start].min(initial=len(free)) - 1
    rng = np.random.default_rng(seed)
    some = np.concatenate([[first, last], rng.integers(first, last + 1, number)])
    low, high = low[some], high[some]
    free_low, free_high = np.isinf(low), np.isinf(high)
    low = np.where(free_low, np.where(free_high, -slopes[some] * opening.face, high) - 60.0, low)
    high = np.where(free_high, low + 60.0, high)
    share = rng.choice([0.0, 1.0, 0.5], len(some))
    slope = np.tile(slopes[some], 3)
    c = np.concatenate([low, high, low + share * (high - low)])
    return c + slope * opening.face, slope


def missing(leaf: Row, opening: RowOpening, nose: np.ndarray, slope: np.ndarray) -> np.ndarray:
    """(n,) mm: by how much poses miss an opening; negative where they meet it.

    What counts is where the ends of the blunt face come to the opening's face, each on its line along the travel.
    """
    secant = np.hypot(1.0, slope)
    low, high = nose + leaf.lead.rise * secant, nose + (leaf.thickness - leaf.lead.rise) * secant
    below = -np.inf if opening.sill is None else opening.sill - opening.entry.rise - low
    above = -np.inf if opening.head is None else high - opening.head - opening.entry.rise
    return np.maximum(below, above)


def test_no_allowed_pose_misses_by_more_than_the_margin() -> None:
    guided = steered = 0
    for seed, (leaf, proof) in enumerate(samples()):
        for opening, proved in zip(leaf.openings, proof.openings, strict=True):
            if proved.verdict is None or proved.verdict == "does-not-pass":
                continue
            if proved.margin is None and proved.verdict == "needs-steering":
                continue
            nose, slope = poses_at(leaf, opening, 100, seed)
            worst = missing(leaf, opening, nose, slope).max()
            if proved.margin is None:
                assert worst == -np.inf
                continue
            assert worst <= -proved.margin + 1e-8
            if proved.margin > -20:
                # The slopes tried are 0.0005 apart, and the nose swings about the last opening behind it.
                assert worst >= -proved.margin - 0.0005 * (opening.face - leaf.first) - 1e-8
            guided += proved.verdict == "guides-itself"
            steered += proved.verdict == "needs-steering"
    assert guided >= SEEDS / 2
    assert steered >= SEEDS / 2


def outer_end(leaf: Row, nose: np.ndarray, slope: np.ndarray) -> np.ndarray:
    """(n,) mm: height of the middle of the outer end above where it is on the leaf's way."""
    corner = nose - leaf.length * slope / np.hypot(1.0, slope)
    return corner + leaf.thickness / 2 / np.hypot(1.0, slope) - (leaf.rest + leaf.thickness / 2)


def test_hand_inside_its_window_does_not_miss_and_outside_it_may() -> None:
    """Both directions: poses sampled, and those just outside made up from what holds the leaf."""
    inside = edges = 0
    for seed, (leaf, proof) in enumerate(samples()):
        for opening, proved in zip(leaf.openings, proof.openings, strict=True):
            if proved.hand is None:
                continue
            least, most = proved.hand
            assert proved.verdict == "needs-steering"
            assert least is not None or most is not None
            nose, slope = poses_at(leaf, opening, 150, seed)
            at = outer_end(leaf, nose, slope)
            within = np.ones(len(at), dtype=bool)
            within &= True if least is None else at >= least
            within &= True if most is None else at <= most
            assert np.all(missing(leaf, opening, nose, slope)[within] <= 1e-8)
            inside += int(within.sum())
            for bound, side in ((least, -1), (most, 1)):
                if bound is not None:
                    edges += misses_just_outside(leaf, opening, bound, side)
    assert inside > 18 * SEEDS
    assert edges > SEEDS / 2


def misses_just_outside(leaf: Row, opening: RowOpening, bound: float, side: int) -> int:
    """Assert that a hand beyond its bound by 0.01 mm may miss: of all slopes, one has an allowed pose that does.

    0 where the openings before do not let the outer end go there.
    """
    held = row_samples.before(leaf, opening.face)
    slope = np.linspace(-0.5, 0.5, 5001)
    nose = bound + side * 0.01 - outer_end(leaf, np.zeros(len(slope)), slope)
    low, high = row_samples.bounds(leaf, np.full(len(slope), opening.face), slope, held, ends=False)
    c = nose - slope * opening.face
    # Between two of the slopes tried a point of the leaf moves by up to 0.0002 of the length.
    near = 0.0002 * leaf.length
    allowed = (low <= c + near) & (c - near <= high)
    if not allowed.any():
        return 0
    assert missing(leaf, opening, nose, slope)[allowed].max() > -2 * near - 0.01
    return 1


def row(
    *openings: RowOpening, length: float = 700.0, travel: float | None = None, lead: Chamfer = SQUARE
) -> Row:
    return Row(length, 18.0, openings, openings[-1].end + 20 if travel is None else travel, lead)


def opening(
    face: float,
    sill: float | None = 0.0,
    head: float | None = 19.0,
    entry: Chamfer = SQUARE,
    board: float = 18.0,
) -> RowOpening:
    return RowOpening(face, board, sill, head, entry)


def test_a_single_opening_is_not_judged() -> None:
    proof = prove([row(opening(0))])[0]
    assert proof.openings == (OpeningProof(),)
    assert proof.verdict == "guides-itself"
    assert proof.fit_margin == pytest.approx(0.5, abs=1e-12)
    assert (proof.worst_opening, proof.counterexample) == (None, None)


@pytest.mark.parametrize("height", [18.0, 18.0 + 1e-11])
@pytest.mark.parametrize("base", [0.0, 100.1, -33.3, 1 / 3])
def test_no_clearance_at_all_leaves_no_tilt_and_nothing_to_miss(base: float, height: float) -> None:
    """Heights that do not subtract exactly are the same height."""
    leaf = row(opening(0, base, base + height), opening(200, base, base + height))
    proof = prove([leaf])[0]
    assert proof.fit_margin == pytest.approx(0, abs=1e-9)
    assert proof.verdict == "guides-itself"
    proved = proof.openings[1]
    assert proved.nose_low == pytest.approx(base, abs=1e-7)
    assert proved.margin == pytest.approx(0, abs=1e-7)


def test_less_than_no_clearance_does_not_pass() -> None:
    proof = prove([row(opening(0, 0, 17.99), opening(200))])[0]
    assert proof.verdict == "does-not-pass"
    assert proof.fit_margin == pytest.approx(-0.005, abs=1e-12)
    assert proof.counterexample is None


def test_chamfer_of_no_size_is_none_at_all() -> None:
    one, other = prove([row(opening(0), opening(200, entry=entry)) for entry in (SQUARE, Chamfer(5.0, 0.0))])
    assert one.openings == other.openings
    assert one.verdict == "needs-steering"


def test_equal_openings_of_a_mirrored_row_are_missed_alike() -> None:
    leaf = row(opening(0), opening(150), opening(300))
    proof = prove([leaf])[0]
    upside_down = prove(
        [row(*(replace(one, sill=18.0 - one.head, head=18.0 - one.sill) for one in leaf.openings))]
    )[0]
    for mine, other in zip(proof.openings[1:], upside_down.openings[1:], strict=True):
        assert mine.margin == pytest.approx(other.margin, abs=1e-9)
    # The third opening is met by a leaf that two hold: 18 + 132 + 18 of guide instead of 18.
    margins = [one.margin for one in proof.openings[1:]]
    assert margins[0] is not None
    assert margins[1] is not None
    assert margins[0] < margins[1] < 0


def test_a_leaf_shorter_than_the_gap_is_held_by_nothing() -> None:
    leaf = row(opening(0), opening(300), length=200.0)
    proof = prove([leaf])[0]
    proved = proof.openings[1]
    assert proof.verdict == "needs-steering"
    assert (proved.nose_low, proved.nose_high, proved.nose_top, proved.margin) == (None, None, None, None)
    assert proved.hand is None
    assert proof.worst_opening == 1
    assert proof.counterexample is not None
    assert overlap(leaf, [leaf.openings[1]], *along(leaf, proved, 1.0)) > NOTHING


@pytest.mark.parametrize("base", [None, 0.0])
def test_wood_on_one_side_alone(base: float | None) -> None:
    """Above or below the second opening there is nothing to miss."""
    second = opening(200, base, None if base is not None else 19.0)
    leaf = row(opening(0), second)
    proved = prove([leaf])[0].openings[1]
    # The first opening alone holds the leaf: J-02 with b = 18, h = 19, over the 182 to the next face.
    swing = 182 * tan(atan(Stances(profiles((row(opening(0)),)), np.zeros(1, dtype=int), np.array([300.0]))
                           .last(np.zeros(1), 1)[0]))  # fmt: skip
    assert proved.margin == pytest.approx(-swing, abs=1e-9)
    assert proved.catch_high is (None if base is not None else proved.catch_high)
    assert proved.catch_low is (None if base is None else proved.catch_low)
    assert proved.hand is not None
    least, most = proved.hand
    assert (least is None, most is None) == ((True, False) if base is not None else (False, True))


def test_nothing_below_on_either_side_is_nothing_to_mind() -> None:
    """Wood above alone, all along: a leaf that hangs down misses nothing, one that is pushed up does not get higher."""
    leaf = row(opening(0, None, 19.0), opening(200, None, 19.0, board=18.0))
    proof = prove([leaf])[0]
    proved = proof.openings[1]
    assert proof.fit_margin is None
    assert proof.verdict == "needs-steering", "its nose may be raised past the edge above"
    assert proved.catch_low is None
    assert proved.snag is not None
    assert proved.snag.height + 18 / cos(proved.snag.tilt) > 19


def test_no_wood_at_all_at_an_opening_cannot_be_missed() -> None:
    proof = prove([row(opening(0), opening(200, None, None), opening(300, -40, 70))])[0]
    assert proof.verdict == "guides-itself"
    assert proof.openings[1].margin is None


def test_openings_beyond_the_travel_are_not_judged() -> None:
    openings = (opening(0), opening(200, entry=Chamfer(5, 20)), opening(400, 30, 40))
    proof = prove([row(*openings, travel=399.0)])[0]
    assert proof.openings[2] == OpeningProof()
    assert proof.verdict == "guides-itself"
    assert prove([row(*openings, travel=401.0)])[0].verdict == "does-not-pass"


def test_order_of_the_openings_does_not_matter() -> None:
    openings = (opening(0), opening(150, 0.3, 19.3, Chamfer(3, 4)), opening(330, -0.2, 18.8))
    travel = 360.0
    straight = prove([row(*openings, travel=travel)])[0]
    shuffled = prove([row(*reversed(openings), travel=travel)])[0]
    assert shuffled.openings == tuple(reversed(straight.openings))
    assert (shuffled.verdict, shuffled.fit_margin) == (straight.verdict, straight.fit_margin)


def test_a_leaf_tilted_more_than_the_chamfer_is_caught_where_the_chamfer_begins() -> None:
    """Chamfer of slope 0.01, J-02's tilt of 19 in 18 by 18 is 0.054: the opening still catches by its rise alone."""
    flat = Chamfer(10.0, 0.1)
    leaf = row(opening(0), replace(opening(60), entry=flat), length=300.0)
    square = row(opening(0), opening(60), length=300.0)
    chamfered, plain = (prove([one])[0].openings[1] for one in (leaf, square))
    assert chamfered.margin is not None
    assert plain.margin is not None
    assert chamfered.margin - plain.margin == pytest.approx(0.1, abs=1e-9)
    assert chamfered.snag == plain.snag
    assert overlap(leaf, [leaf.openings[1]], *along(leaf, chamfered, 0.5)) > NOTHING


def test_a_rail_under_the_leaf_holds_it_down_to_the_next_opening() -> None:
    """Wood below that reaches the next opening's face keeps the nose from dropping, though nothing is above it."""
    wood_below_slots = opening(0, 0.0, None, board=200.0)
    proof = prove([row(wood_below_slots, opening(200, 0.0, None), length=700.0)])[0]
    assert proof.openings[1].verdict in (None, "guides-itself")


def test_many_rows_at_once_are_the_same_as_one_by_one() -> None:
    rows = [leaf for leaf, _ in samples()[:25]]
    for alone, (_, together) in zip((prove([one])[0] for one in rows), samples(), strict=False):
        assert alone.verdict == together.verdict
        assert alone.fit_margin == pytest.approx(together.fit_margin, abs=1e-9)
        assert [one.verdict for one in alone.openings] == [one.verdict for one in together.openings]
        for mine, other in zip(alone.openings, together.openings, strict=True):
            assert mine.margin == pytest.approx(other.margin, abs=1e-7)
