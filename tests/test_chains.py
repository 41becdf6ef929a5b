"""Sums along chains of parts: against linear programs (HiGHS, through scipy) and exact fractions, and by hand."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from random import Random

import numpy as np
import pytest
from scipy.optimize import linprog

from addon.check.chains.links import Chain, Link
from addon.check.chains.pressed import groups, pressed, standing, through
from addon.check.chains.trims import Bounds, least_trims, shared_trims
from tests.chain_samples import chain, free_but_ends, grid, link, program, random_grid, row
from tests.large import sampled

GRIDS = [random_grid(Random(seed)) for seed in range(sampled(150, 1500))]


def ends(one: Chain) -> tuple[list[int], list[int]]:
    """Numbers of the parts that end a chain, below and above."""
    low = [n for n in sorted(one.held) if one.above[n]]
    return low, [n for n in sorted(one.held) if one.below[n]]


# -- by hand
# ------------------------------------------------------------------------------------------------------------------


def test_three_segments_of_one_row_push_the_far_side_out_by_their_sum() -> None:
    """Five segments, the middle three 1.5 too long at their high ends: 4.5 in all. Common practice, no source."""
    one = row((0, 0), (0, 1.5), (0, 1.5), (0, 1.5), (0, 0))
    assert max(through(one)) == 4.5
    low = dict(zip(one.labels, pressed(one, "low").positions, strict=True))
    assert [low[f"rib {n}"] for n in (1, 2, 3, 4)] == [0.0, 1.5, 3.0, 4.5]
    assert (low["segment 1.4"], low["segment 1.5"], low["high side"]) == (3.0, 4.5, 4.5)
    high = dict(zip(one.labels, pressed(one, "high").positions, strict=True))
    assert [high[f"rib {n}"] for n in (1, 2, 3, 4)] == [-4.5, -3.0, -1.5, 0.0]
    assert (high["low side"], high["segment 1.2"]) == (-4.5, -4.5)
    evenly = dict(zip(one.labels, pressed(one, "evenly").positions, strict=True))
    assert [evenly[f"rib {n}"] for n in (1, 2, 3, 4)] == pytest.approx([-0.9, -0.3, 0.3, 0.9])
    assert evenly["segment 1.3"] == pytest.approx(-0.75)
    assert (evenly["low side"], evenly["high side"]) == (0.0, 0.0)


def test_the_row_with_the_most_excess_pushes_a_rib_and_the_others_open() -> None:
    """In the first bay the second row is 2 too long, the first 0.5; in the second bay only the first row is, by 1."""
    one = grid([[(0, 0.5), (1, 0)], [(0, 2), (0, 0)]])
    low = pressed(one, "low")
    assert max(through(one)) == 3.0
    assert low.positions[one.labels.index("rib 1")] == 2.0
    assert low.positions[one.labels.index("high side")] == 3.0
    opened = {(one.labels[at.low], one.labels[at.high]): low.gap(at) for at in one.links if low.gap(at)}
    assert opened == {("segment 1.1", "rib 1"): 1.5, ("segment 2.2", "high side"): 1.0}


def test_too_long_and_too_short_make_up_for_each_other_in_one_row_and_not_beside_another() -> None:
    assert max(through(row((0, 1.5), (-1.5, 0)))) == 0.0
    assert max(through(grid([[(0, 1.5), (-1.5, 0)], [(0, 0), (0, 0)]]))) == 1.5


def test_what_is_short_opens_at_the_far_end_of_whichever_way_it_is_pressed() -> None:
    one = row((0, -0.15), (-0.15, 0), (0, -0.15))
    assert through(one) == pytest.approx([-0.45] * 6)
    for way, last in (("low", -1), ("high", 0)):
        gaps = [pressed(one, way).gap(at) for at in one.links]  # type: ignore[arg-type]
        assert gaps[last] == pytest.approx(0.45)
        assert sum(gaps) == pytest.approx(0.45)
    assert [pressed(one, "evenly").gap(at) for at in one.links] == pytest.approx([0.075] * 6)


def test_groups_part_at_ribs_that_other_rows_hold() -> None:
    """Two short segments in different bays, each beside one as drawn: two matters. In a table of one row it is one."""
    beside = grid([[(0, -2), (0, 0), (-1, 0)], [(0, 0), (0, 0), (0, 0)]])
    assert [set(one.labels) for one in groups(beside)] == [
        {"low side", "segment 1.1", "rib 1"}, {"rib 2", "segment 1.3", "high side"}
    ]  # fmt: skip
    (alone,) = groups(row((0, -2), (0, 0), (-1, 0)))
    assert len(alone.labels) == 7


def test_what_butts_on_one_thick_side_is_one_matter() -> None:
    thick = [Link(0, n, 1.0, 1.0, 0.0, False, (0.0, 0.0, 0.0)) for n in (1, 2, 3)]
    far = [link(n, 4, 0.0) for n in (1, 2, 3)]
    labels = ["side", "rib 1", "rib 2", "rib 3", "far side"]
    assert len(groups(chain(labels, [*thick, *far]))) == 1
    own = [link(0, n, 1.0, ends_low=False) for n in (1, 2, 3)]
    assert len(groups(chain(labels, [*own, *far]))) == 3


def test_least_trims_come_off_the_ends_that_are_too_long() -> None:
    one = grid([[(0, 1.5), (0, 0)], [(0, 0), (0, 0)]])
    found = least_trims(one, {})
    assert {(at.low, at.high): off for at, off in zip(one.links, found.amounts, strict=True) if off} == {
        (1, 3): 1.5
    }
    assert not any(found.positions)


def test_a_trim_is_shared_by_all_segments_of_a_row() -> None:
    """1.5 too much between two sides, three segments: 0.5 off each."""
    one = row((0, 0), (0, 1.5), (0, 0))
    found = shared_trims(one, {})
    assert found is not None
    off = {one.labels[at.ending]: by for at, by in zip(one.links, found.amounts, strict=True) if by > 1e-9}
    assert off == {f"segment 1.{n}": pytest.approx(0.5) for n in (1, 2, 3)}


def test_a_trim_shared_beside_a_row_as_drawn_stays_in_its_bay() -> None:
    """The other row holds both ribs, so that nothing taken off beyond them helps."""
    one = grid([[(0, 0), (0, 1.5), (0, 0)], [(0, 0), (0, 0), (0, 0)]])
    found = shared_trims(one, {})
    assert found is not None
    assert {one.labels[at.ending] for at, by in zip(one.links, found.amounts, strict=True) if by > 1e-9} == {
        "segment 1.2"
    }


# -- against linear programs
# ------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("one", GRIDS[:: max(1, len(GRIDS) // 100)], ids=str)
def test_pressed_positions_are_the_nearest_that_a_linear_program_finds(one: Chain) -> None:
    """Of all positions in which nothing overlaps, those pressed toward one end are nearest to it, each part for itself:
    so their sum is least."""
    low, high = ends(one)
    for way, fixed, beyond, sign in (("low", low, high, 1.0), ("high", high, low, -1.0)):
        free = free_but_ends(one)
        for number in beyond:
            free[number] = (0.0, None) if sign > 0 else (None, 0.0)
        assert all(free[number] == (0.0, 0.0) for number in fixed)
        positions = pressed(one, way).positions  # type: ignore[arg-type]
        assert sign * program(one, [sign] * len(positions), free) == pytest.approx(sum(positions), abs=1e-7)


@pytest.mark.parametrize("one", GRIDS[:: max(1, len(GRIDS) // 100)], ids=str)
def test_what_a_chain_is_too_long_is_how_far_its_far_end_has_to_give(one: Chain) -> None:
    free = free_but_ends(one)
    for number in ends(one)[1]:
        free[number] = (None, None)
    (far,) = ends(one)[1]
    cost = [float(number == far) for number in range(len(one.labels))]
    assert max(through(one)) == pytest.approx(program(one, cost, free), abs=1e-7)


@pytest.mark.parametrize("one", GRIDS[:: max(1, len(GRIDS) // 60)], ids=str)
def test_the_least_trims_are_those_of_a_linear_program(one: Chain) -> None:
    for bounds in (None, 1.0):
        limits: dict[int, Bounds] = {}
        if bounds is not None:
            random = Random(str(one.links))
            limits = {
                n: (-random.choice([0.5, 1.0, 2.0]), random.choice([0.5, 1.0, 2.0]))
                for n in range(len(one.labels))
                if n not in one.held and random.random() < 0.5
            }
        free = [limits.get(n, bound) for n, bound in enumerate(free_but_ends(one))]
        count = len(one.links)
        cost = [0.0] * len(one.labels) + [1.0] * count
        expected = program(one, cost, [*free, *[(0.0, None)] * count], np.eye(count).tolist())
        found = least_trims(one, limits)
        assert found.total == pytest.approx(expected, abs=1e-5)
        for at, off in zip(one.links, found.amounts, strict=True):
            assert found.positions[at.high] - found.positions[at.low] + off >= at.excess - 1e-7
        for number, (low, high) in limits.items():
            assert low - 1e-7 <= found.positions[number] <= high + 1e-7


@pytest.mark.parametrize("one", GRIDS[:: max(1, len(GRIDS) // 60)], ids=str)
def test_the_most_that_is_taken_off_one_part_is_as_little_as_a_linear_program_makes_it(one: Chain) -> None:
    """Each part cut at one end; the least in all, and of that the smallest greatest share."""
    found = shared_trims(one, {})
    if found is None:
        return
    cut = [at for at in range(len(one.links)) if _is_cut(one, at)]
    count = len(cut)
    taken = [[float(at == own) for own in cut] for at in range(len(one.links))]
    free = [*free_but_ends(one), *[(0.0, None)] * count]
    total = program(one, [0.0] * len(one.labels) + [1.0] * count, free, taken)
    assert found.total == pytest.approx(total, abs=1e-5)
    names = len(one.labels)
    rows = [np.concatenate([np.zeros(names), np.eye(count)[k], [-1.0]]) for k in range(count)]
    for at, one_link in enumerate(one.links):
        line = np.zeros(names + count + 1)
        line[one_link.low], line[one_link.high] = 1.0, -1.0
        line[names:-1] = -np.array(taken[at])
        rows.append(line)
    rows.append(np.concatenate([np.zeros(names), np.ones(count), [0.0]]))
    most = [0.0] * count + [-one_link.excess for one_link in one.links] + [total + 1e-9]
    cost = [0.0] * (names + count) + [1.0]
    least = linprog(cost, A_ub=np.array(rows), b_ub=most, bounds=[*free, (0.0, None)], method="highs")
    assert least.status == 0
    assert max(found.amounts) == pytest.approx(float(least.fun), abs=1e-5)


def _is_cut(one: Chain, at: int) -> bool:
    """Whether a part is cut at this link: at its end that is too long, else at its upper one, if it has two."""
    own = [n for n, other in enumerate(one.links) if other.ending == one.links[at].ending]
    return at == max(own, key=lambda n: (one.links[n].excess > 0, one.links[n].ends_low))


# -- forced in evenly, in exact fractions
# ------------------------------------------------------------------------------------------------------------------


def exact_evenly(one: Chain) -> list[Fraction]:
    """Every route enumerated, the hardest placed first, all in rational numbers."""
    places: dict[int, Fraction] = dict.fromkeys(one.held, Fraction(0))

    def routes(at: int) -> Iterator[list[Link]]:
        for onward in one.above[at]:
            if onward.high in places:
                yield [onward]
            else:
                for rest in routes(onward.high):
                    yield [onward, *rest]

    def give(route: list[Link]) -> Fraction:
        pushed = sum((Fraction(at.excess) for at in route), places[route[0].low] - places[route[-1].high])
        return pushed / len(route)

    while len(places) < len(one.labels):
        open_ones = [route for number in places for route in routes(number) if len(route) > 1]
        hardest = max(open_ones, key=give)
        off, at = give(hardest), places[hardest[0].low]
        for step in hardest[:-1]:
            at += Fraction(step.excess) - off
            places[step.high] = at
    return [places[number] for number in range(len(one.labels))]


@pytest.mark.parametrize("one", GRIDS, ids=str)
def test_forced_in_evenly_is_exact(one: Chain) -> None:
    positions = pressed(one, "evenly").positions
    assert positions == pytest.approx([float(at) for at in exact_evenly(one)], abs=1e-9)


@pytest.mark.parametrize("one", GRIDS[:: max(1, len(GRIDS) // 60)], ids=str)
def test_forced_in_evenly_presses_no_joint_more_than_has_to_be(one: Chain) -> None:
    """The joint that gives most gives no more than a linear program can make it; HiGHS."""
    cost = [0.0] * len(one.labels) + [1.0]
    least = program(one, cost, [*free_but_ends(one), (None, None)], [[1.0]] * len(one.links))
    found = pressed(one, "evenly")
    assert max(-found.gap(at) for at in one.links) == pytest.approx(least, abs=1e-7)


# -- groups
# ------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("one", GRIDS[:: max(1, len(GRIDS) // 100)], ids=str)
def test_groups_leave_each_others_sums_alone(one: Chain) -> None:
    """What is off at a joint in its group is what is off there in the whole chain."""
    whole = {
        (one.labels[at.low], one.labels[at.high]): off
        for at, off in zip(one.links, through(one), strict=True)
    }
    seen = []
    for group in groups(one):
        for at, off in zip(group.links, through(group), strict=True):
            pair = group.labels[at.low], group.labels[at.high]
            assert off == pytest.approx(whole[pair])
            seen.append(pair)
    assert len(seen) == len(set(seen))
    off_there = {(one.labels[at.low], one.labels[at.high]) for at in one.links if at.excess}
    assert off_there <= set(seen)


@pytest.mark.parametrize("one", GRIDS[:: max(1, len(GRIDS) // 100)], ids=str)
def test_parts_that_stand_are_those_that_no_linear_program_moves(one: Chain) -> None:
    """Pressed either way they stay at 0 (HiGHS: the least and the greatest position, ends free to be pushed)."""
    still = standing(one)
    low, high = ends(one)
    for number in range(len(one.labels)):
        if number in one.held:
            continue
        reach = []
        for beyond, sign in ((high, 1.0), (low, -1.0)):
            free = free_but_ends(one)
            for end in beyond:
                free[end] = (0.0, None) if sign > 0 else (None, 0.0)
            cost = [sign * float(n == number) for n in range(len(one.labels))]
            reach.append(program(one, cost, free))
        assert (number in still) == (reach == pytest.approx([0.0, 0.0], abs=1e-7))
