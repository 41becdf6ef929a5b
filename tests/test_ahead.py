"""What ends a leaf's travel, against linear programs (HiGHS, by scipy) and against amounts written by hand."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import linprog

from addon.check.prepared import Prepared, prepare
from addon.check.stowed import ahead_of
from addon.designs.table.design import check
from addon.files.editing import set_values
from addon.wood.assembly import Assembly, Move, StowPath
from addon.wood.features import EdgeTreatment, Feature, Groove, Opening
from addon.wood.part import Part, Placement, Shape, rectangle
from addon.wood.roles import LEAF, RIB, SIDE, Role
from addon.wood.solids.pieces import Pieces
from addon.wood.stock import Stock
from tests.convex_samples import turned
from tests.large import sampled
from tests.old_tables import EXAMPLES

Floats = NDArray[np.float64]

BOARD = Stock("board", 18.0)
INWARD = np.array([1.0, 0.0, 0.0])


def part(label: str, role: Role, shape: Shape, placement: Placement) -> Part:
    return Part(label, role.one, role, BOARD, shape, placement)


def row_of(leaf: Shape, others: list[Part], end_stop: str | None = None) -> Prepared:
    """A leaf stowed with its nose at x = 0, z from 0 up, its middle at y = 0; it came along x."""
    length, width, _ = leaf.size
    stowed = part("L1", LEAF, leaf, Placement.along("+x", "+y", (-length, -width / 2, 0.0)))
    way = Move(-INWARD * (length + 50), np.zeros(3))
    path = StowPath("L1", others[0].label, (way,), 20.0, -INWARD, end_stop)
    return prepare(Assembly("row", (stowed, *others), (), (path,)))


def upright(label: str, x: float, low: float, high: float, features: tuple[Feature, ...] = ()) -> Part:
    """A board 18 thick across the way, its face at x, from y = -200 to 200 and between two heights."""
    shape = Shape(rectangle(400.0, high - low), 18.0, features)
    return part(label, RIB, shape, Placement.along("+y", "+z", (x, -200.0, low)))


def meets_at(a: Floats, b: Floats) -> float | None:
    """Least shift along x of the hull of (n, 3) corners at which it has a point in common with another, mm.

    A linear program: weights of either's corners, each adding up to 1, with y and z alike and least difference in x.
    """
    count, other = len(a), len(b)
    across = np.concatenate([a[:, 1:], -b[:, 1:]]).T
    sums = np.zeros((2, count + other))
    sums[0, :count], sums[1, count:] = 1.0, 1.0
    found = linprog(
        np.concatenate([-a[:, 0], b[:, 0]]),
        A_eq=np.concatenate([across, sums]),
        b_eq=np.array([0.0, 0.0, 1.0, 1.0]),
        method="highs",
    )
    return float(found.fun) if found.status == 0 else None


def share_a_point(a: Floats, b: Floats) -> bool:
    """Whether the hulls of (n, 3) corners do: weights of either's, each adding up to 1, that give the same point."""
    sums = np.zeros((2, len(a) + len(b)))
    sums[0, : len(a)], sums[1, len(a) :] = 1.0, 1.0
    equal = np.concatenate([np.concatenate([a, -b]).T, sums])
    return linprog(np.zeros(len(a) + len(b)), A_eq=equal, b_eq=np.array([0.0] * 3 + [1.0] * 2)).status == 0


def corners(pieces: Pieces) -> list[Floats]:
    return [pieces.piece(i) for i in range(len(pieces))]


def random_leaf(random: Random) -> Shape:
    """A leaf with round long edges and a chamfered nose, or either, perhaps with a recess."""
    length, width = random.uniform(60, 120), random.uniform(30, 60)
    features: list[Feature] = []
    if random.random() < 0.6:
        size = random.choice([2.0, 5.0])
        features += [
            EdgeTreatment(edge, face, "round-over", size) for edge in (0, 2) for face in ("front", "back")
        ]  # type: ignore[arg-type]
    if random.random() < 0.6:
        features += [
            EdgeTreatment(1, face, "chamfer", random.choice([3.0, 7.0])) for face in ("front", "back")
        ]  # type: ignore[arg-type]
    if random.random() < 0.4:
        features.append(
            Groove(length / 3, length / 2, -1.0, width + 1.0, 6.0, random.choice(["front", "back"]))
        )  # type: ignore[arg-type]
    return Shape(rectangle(length, width), 16.0, tuple(features))


def random_board(random: Random, label: str) -> Part:
    """A board anywhere ahead, square or askew; perhaps with an opening that the leaf may pass."""
    length, width = random.uniform(5, 60), random.uniform(5, 60)
    features: tuple[Feature, ...] = ()
    if min(length, width) > 25 and random.random() < 0.6:
        features = (Opening(5.0, length - 5.0, 5.0, width - 5.0, 4.0, 2.0, 2.0),)
    place = (random.uniform(20, 150), random.uniform(-40, 40), random.uniform(-25, 40))
    axes = turned(random) if random.random() < 0.5 else np.array([[0.0, 1, 0], [0, 0, 1], [1, 0, 0]])
    return part(label, RIB, Shape(rectangle(length, width), 12.0, features), Placement(np.array(place), axes))


def test_the_first_thing_met_is_that_of_linear_programs() -> None:
    """Every pair of pieces a program of its own: the leaf goes as far as the least of them."""
    random = Random(20)
    met = 0
    for _ in range(sampled(14, 1000)):
        boards = [random_board(random, f"R{number}") for number in range(1, random.randrange(2, 6))]
        prepared = row_of(random_leaf(random), boards)
        own = corners(prepared.pieces[prepared.number["L1"]])
        others = [(b, one) for b in boards for one in corners(prepared.pieces[prepared.number[b.label]])]
        if any(share_a_point(one, other) for one in own for _, other in others):
            continue
        found = [
            (shift, board.label)
            for board, other in others
            for one in own
            if (shift := meets_at(one, other)) is not None and shift > 1e-4
        ]
        distance, label = ahead_of(prepared, prepared.assembly.stow_paths[0])
        if not found:
            assert distance is None
            continue
        expected = min(found)[0]
        assert distance == pytest.approx(expected, abs=1e-4)
        assert label in {one for shift, one in found if shift <= expected + 1e-4}
        met += 1
    assert met > 4


def eased(radius: float) -> Shape:
    edges = tuple(
        EdgeTreatment(edge, face, "round-over", radius)
        for edge in (0, 2)
        for face in ("front", "back")  # type: ignore[arg-type]
    )
    return Shape(rectangle(100.0, 60.0), 16.0, edges)


def window(y: float, low: float, radius: float) -> Opening:
    """60 + 2·y wide, from `low` below the leaf's underside to as much above it, in a board from z = -100."""
    return Opening(200.0 - 30.0 - y, 200.0 + 30.0 + y, 100.0 - low, 116.0 + low, radius)


def test_a_round_corner_beside_an_eased_edge_stops_nothing() -> None:
    """Room of 2 beside and 1 above and below: the corner of radius 5 reaches into the box around a leaf whose edges
    are rounded by 4, not to the leaf; the board behind it is 60 ahead."""
    boards = [upright("R1", 30.0, -100.0, 100.0, (window(2.0, 1.0, 5.0),)), upright("R2", 60.0, -5.0, 10.0)]
    prepared = row_of(eased(4.0), boards)
    assert ahead_of(prepared, prepared.assembly.stow_paths[0]) == (pytest.approx(60.0, abs=1e-6), "R2")
    square = row_of(Shape(rectangle(100.0, 60.0), 16.0), boards[:1])
    # A square edge has more room than the corner takes: 5 - 5 / sqrt(2) = 1.46 along the diagonal, of sqrt(5) = 2.24.
    assert ahead_of(square, square.assembly.stow_paths[0]) == (None, "")


def test_wood_behind_a_chamfered_nose_and_a_nose_that_meets_it_late() -> None:
    """A board 4 above the underside of a nose chamfered by 7: it is met where the chamfer is as high, 3 farther."""
    leaf = Shape(rectangle(100.0, 60.0), 16.0, (EdgeTreatment(1, "front", "chamfer", 7.0),))
    prepared = row_of(leaf, [upright("R1", 20.0, -50.0, 4.0)])
    assert ahead_of(prepared, prepared.assembly.stow_paths[0]) == (pytest.approx(23.0, abs=1e-6), "R1")


def test_its_own_end_stop_counts_however_long_the_leaf_and_a_board_beside_does_not() -> None:
    """The stop stands 12 behind the nose; wood of a window that is 1 too low overlaps the leaf, and stops it not."""
    low = upright("R1", -40.0, -100.0, 100.0, (Opening(160.0, 240.0, 101.0, 130.0),))
    stop = upright("STOP1", -12.0, -5.0, 20.0)
    prepared = row_of(eased(2.0), [low, stop], "STOP1")
    assert ahead_of(prepared, prepared.assembly.stow_paths[0]) == (pytest.approx(-12.0, abs=1e-6), "STOP1")
    alone = row_of(eased(2.0), [low])
    assert ahead_of(alone, alone.assembly.stow_paths[0]) == (None, "")


def test_the_quilting_table_without_end_stops() -> None:
    """Leaves 921.6 long, 3.5 inside the outer face at x = 750: the nose of L3 is at -175.1, within the rib at -179.4,
    whose window it passes; the next through rib's face is at -566 + 17.7 / 2 = -557.15, 382.05 farther."""
    table = set_values(
        EXAMPLES["quilting"].table(),
        {
            "stowing.set_back": 3.5,
            "stowing.end_stops": False,
            "ribs.through_at": (-566.0, -179.4, 179.4, 566.0),
        },
    )
    report = check(table)
    ends = {leaf.leaf: (leaf.end_gap, leaf.stops_at) for leaf in report.leaves}
    assert ends["L3"] == (pytest.approx(382.05), "R1")
    assert ends["L4"] == (pytest.approx(382.05), "R4")
    unstopped = {place.leaf for one in report.findings if one.rule == "no-end-stop" for place in one.places}
    assert unstopped == {"L3", "L4"}


def test_a_slot_that_is_too_low_stops_a_leaf_whose_nose_lies_in_it() -> None:
    """A leaf that lies in a slot whose wood it overlaps by 0.5 below: the side reaches past the nose, and stops it."""
    slot = Opening(160.0, 240.0, 100.5, 130.0)
    side = part(
        "S1",
        SIDE,
        Shape(rectangle(400.0, 200.0), 18.0, (slot,)),
        Placement.along("+y", "+z", (-10.0, -200.0, -100.0)),
    )
    prepared = row_of(Shape(rectangle(100.0, 60.0), 16.0), [side])
    assert ahead_of(prepared, prepared.assembly.stow_paths[0]) == (pytest.approx(-10.0, abs=1e-6), "S1")
