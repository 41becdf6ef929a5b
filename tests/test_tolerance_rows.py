"""Margins of toleranced rows against polygons, linear programs, and every corner of the box of tolerances."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from random import Random

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import linprog, minimize_scalar

from addon.check.row.profile import Chamfer, Row, RowOpening
from addon.check.row.proof import prove
from addon.check.tolerance.deviations import Form
from addon.check.tolerance.guided import guides
from addon.check.tolerance.maps import Compiled, compiled
from addon.check.tolerance.model import RowModel, model_of_row
from addon.check.tolerance.triples import level_worst, triples_of, worst_of
from tests.large import sampled
from tests.row_samples import bounds, row

Floats = NDArray[np.float64]


def free_model(own: Row) -> RowModel:
    """A row in which every face, board, sill, height and size of the leaf is off by itself."""
    forms: list[tuple[Form, Form, Form, Form]] = []
    for number in range(len(own.openings)):
        face, board, sill, height = range(4 * number, 4 * number + 4)
        forms.append(({face: 1.0}, {board: 1.0}, {sill: 1.0}, {sill: 1.0, height: 1.0}))
    last = 4 * len(own.openings)
    return model_of_row(own, forms, {last: 1.0}, {last + 1: 1.0})


def heights_model(own: Row) -> RowModel:
    """A row in which every sill and every upper edge is off by itself, and the leaf's thickness."""
    forms: list[tuple[Form, Form, Form, Form]] = [
        ({}, {}, {2 * number: 1.0}, {2 * number + 1: 1.0}) for number in range(len(own.openings))
    ]
    return model_of_row(own, forms, {}, {2 * len(own.openings): 1.0})


def toleranced(
    seed: int,
    *,
    heights: bool = False,
    eased: bool | None = None,
    one_sided: float = 0.0,
    short: bool = False,
) -> Compiled:
    random = Random(seed)
    own = row(random, eased=eased, one_sided=one_sided, short=short)
    model = heights_model(own) if heights else free_model(own)
    tolerances = np.array([random.choice([0.1, 0.2, 0.3, 0.5]) for _ in model.used])
    return compiled(model, tolerances)


def drawn(own: Compiled, count: int, seed: int) -> Floats:
    uniform = np.random.default_rng(seed).random((len(own.tolerances), count)) * 2 - 1
    return uniform * own.tolerances[:, None]


def by_polygons(own: Row) -> float:
    """Fit margin by lowering the leaf's outline onto the wood's, at many depths, slopes closer and closer."""
    places = np.array([x for one in own.openings for x in (one.face, one.face + one.entry.run,
                                                          one.end - one.exit.run, one.end)])  # fmt: skip
    ends = np.concatenate([places, places + own.length, places + own.lead.run, [own.travel]])
    depths = np.unique(np.concatenate([ends, ends - 0.02, np.linspace(own.first, own.travel, 12)]))
    least = np.inf
    for depth in depths[(depths >= own.first) & (depths <= own.travel)]:
        best, width = 0.0, 0.06
        room = np.zeros(1)
        for count in (61, 21, 21, 21):
            slopes = np.linspace(best - width, best + width, count)
            low, high = bounds(own, np.full(count, depth), slopes)
            if not (np.isfinite(low).any() and np.isfinite(high).any()):
                room = np.array([np.inf])
                break
            room = high - low
            best, width = float(slopes[room.argmax()]), 3 * width / count
        least = min(least, float(room.max()))
    return least / 2


@pytest.mark.once
@pytest.mark.parametrize("seed", range(300, sampled(303, 308)))
def test_margins_against_polygons(seed: int) -> None:
    """Leaf and wood as outlines that share nothing with the analysis; the grid of depths is good to 0.001 mm."""
    own = toleranced(seed, short=seed % 3 == 0)
    off = drawn(own, 1, seed)
    found = float(own.margins_of(off, sizes=True)[0])
    assert found == pytest.approx(by_polygons(own.model.row_of(off[:, 0])), abs=2e-3)


def held_at_once(seed: int) -> tuple[Compiled, Floats]:
    """A row whose leaf is longer than the row, so that all openings hold it together, and the same with deviations."""
    random = Random(seed)
    face, openings = 0.0, []
    for _ in range(random.randint(1, 4)):
        sill = random.uniform(-0.4, 0.4)
        chamfer = Chamfer(*[random.uniform(1, 3)] * 2)
        openings.append(RowOpening(face, 18.0, sill, sill + 19.5, chamfer, chamfer))
        face += 18.0 + random.uniform(60, 200)
    own = Row(openings[-1].end + 60.0, 18.0, tuple(openings), openings[-1].end + 20.0)
    model = free_model(own)
    made = compiled(model, np.full(len(model.used), 0.3))
    return made, drawn(made, 5, seed)


def stations(own: Row) -> tuple[Floats, Floats, Floats]:
    """x, lower and upper edges of all stations, chamfered openings included."""
    rows = []
    for one in own.openings:
        assert one.sill is not None
        assert one.head is not None
        rows += [
            (one.face, one.sill - one.entry.rise, one.head + one.entry.rise),
            (one.face + one.entry.run, one.sill, one.head),
            (one.end - one.exit.run, one.sill, one.head),
            (one.end, one.sill - one.exit.rise, one.head + one.exit.rise),
        ]
    x, low, high = np.array(rows).T
    return x, low, high


@pytest.mark.parametrize("seed", range(12))
def test_margins_against_scipy(seed: int) -> None:
    """The concave room by scipy's bounded search; and with t instead of t·sqrt(1 + s²) by its linear program."""
    made, off = held_at_once(seed)
    for column, found in zip(off.T, made.margins_of(off), strict=True):
        own = made.model.row_of(column)
        x, low, high = stations(own)

        def lacking(
            s: float, x: Floats = x, low: Floats = low, high: Floats = high, t: float = own.thickness
        ) -> float:
            return float(t * np.sqrt(1 + s * s) + (low - s * x).max() - (high - s * x).min())

        searched = minimize_scalar(lacking, bounds=(-0.05, 0.05), method="bounded", options={"xatol": 1e-13})
        assert found == pytest.approx(-searched.fun / 2, abs=1e-7)
        # Greatest r with low <= c + s·x and c + s·x + t + r <= high at all stations; variables c, s, r.
        ones = np.ones_like(x)
        solved = linprog(
            [0, 0, -1],
            A_ub=np.block(
                [[-ones[:, None], -x[:, None], 0 * ones[:, None]], [ones[:, None], x[:, None], ones[:, None]]]
            ),
            b_ub=np.concatenate([-low, high - own.thickness]),
            bounds=[(None, None)] * 3,
        )
        bend = own.thickness * (np.sqrt(1 + solved.x[1] ** 2) - 1)
        assert -solved.fun - bend - 1e-7 <= 2 * found <= -solved.fun + 1e-7
        assert found == pytest.approx(prove([own])[0].fit_margin, abs=1e-7)


@pytest.mark.parametrize("seed", range(40, 64))
def test_sign_is_that_of_the_proof(seed: int) -> None:
    own = toleranced(seed, eased=False, one_sided=0.3 * (seed % 2), short=seed % 3 == 0)
    off = drawn(own, 12, seed)
    proofs = prove([own.model.row_of(column) for column in off.T])
    for margin, proof in zip(own.margins_of(off), proofs, strict=True):
        wanted = np.inf if proof.fit_margin is None else proof.fit_margin
        assert (margin >= -1e-9) == (wanted >= -1e-9)
        if not own.holds.possible and not own.holds.doubt:
            assert margin == pytest.approx(wanted, abs=1e-6)


@pytest.mark.parametrize("seed", range(8))
def test_worst_case_is_the_worst_corner_of_the_box(seed: int) -> None:
    """All 2^n corners by the proof; the closed form is theirs but for the slope's t·(sqrt(1 + s²) - 1)."""
    random = Random(1000 + seed)
    face, openings = 0.0, []
    for _ in range(3):
        sill = random.uniform(-0.5, 0.5)
        openings.append(RowOpening(face, 18.0, sill, sill + 19.5, Chamfer(2, 2), Chamfer(2, 2)))
        face += 18.0 + random.uniform(60, 200)
    model = heights_model(Row(openings[-1].end + 60.0, 18.0, tuple(openings), openings[-1].end + 20.0))
    tolerances = np.array([random.choice([0.1, 0.2, 0.3, 0.5]) for _ in model.used])
    made = compiled(model, tolerances)
    corners = np.array(list(product((-1.0, 1.0), repeat=len(tolerances)))) * tolerances
    assert len(corners) == 128
    margins = [one.fit_margin or 0.0 for one in prove([model.row_of(corner) for corner in corners])]
    triples = triples_of(made)
    worst = worst_of(made, triples)
    assert worst is not None
    assert worst.case == pytest.approx(min(margins), abs=1e-7)
    change = triples.change(np.array([worst.triple]))[0]
    assert worst.margin == pytest.approx(
        triples.margin[worst.triple] - np.abs(change) @ tolerances, abs=1e-12
    )
    # The slope there is at most what the sills may differ by, over the shortest way between two lands.
    slope = 2.0 / 60
    assert -18.0 * (np.sqrt(1 + slope**2) - 1) / 2 <= worst.remainder <= 1e-9
    assert prove([model.row_of(worst.deviations)])[0].fit_margin == pytest.approx(worst.case, abs=1e-9)
    levels = [
        min(one.head or 0 for one in own) - max(one.sill or 0 for one in own) - model.row_of(corner).thickness
        for corner in corners
        for own in (model.row_of(corner).openings,)
    ]  # fmt: skip
    assert level_worst(made) == pytest.approx(min(levels) / 2, abs=1e-9)


@pytest.mark.parametrize("seed", range(100, 130))
def test_no_random_row_is_worse_than_the_worst_case(seed: int) -> None:
    own = toleranced(seed, one_sided=0.2 * (seed % 2), short=seed % 4 == 0)
    worst = worst_of(own, triples_of(own))
    margins = own.margins_of(drawn(own, 300, seed), sizes=True)
    if worst is None:
        assert np.isinf(margins).all()
        return
    assert margins.min() >= worst.case - 1e-9
    assert np.isin(np.abs(worst.deviations), [0.0, *own.tolerances]).all()
    off = drawn(own, 300, seed)
    assert own.level_of(off).min() >= level_worst(own) - 1e-9
    assert (own.level_of(off) <= margins + 1e-9).all()


def test_level_stack_by_hand() -> None:
    """Three equal openings in line: the middle one's sill against the outer ones' tops, weights 1/2 each."""
    chamfer = Chamfer(2.0, 2.0)
    openings = tuple(RowOpening(200.0 * k, 18.0, 0.0, 20.0, chamfer, chamfer) for k in range(3))
    made = compiled(heights_model(Row(900.0, 18.0, openings, 430.0)), np.array([0.3, 0.1] * 3 + [0.4]))
    worst = worst_of(made, triples_of(made))
    assert worst is not None
    # Outer sills up by 0.3, the middle top down by 0.1, the leaf thicker by 0.4: room 2.0 - 0.8.
    # Or the middle sill up by 0.3 and the outer tops down by 0.1: the same. Either is worse than one board alone
    # only by being met at every slope.
    assert 2 * worst.margin == pytest.approx(2.0 - (0.3 + 0.1 + 0.4))
    assert 2 * level_worst(made) == pytest.approx(2.0 - (0.3 + 0.1 + 0.4))


def test_a_leaf_whose_rear_stands_on_a_runner() -> None:
    """A runner to 250 mm, then a sill 0.8 higher; a top between them. The leaf is 200 long: with its nose at the sill's
    start, x = 302, its rear is at 102, so the top at 168 meets it a share 66/200 of the way up from 0 to 0.8."""
    openings = (
        RowOpening(-300.0, 550.0, 0.0, None),
        RowOpening(150.0, 18.0, None, 20.0),
        RowOpening(302.0, 18.0, 0.8, None),
    )
    made = compiled(free_model(Row(200.0, 18.0, openings, 320.0)), np.full(14, 0.1))
    assert any(one.at == "rear" for own in made.holds.certain for one in own)
    found = float(made.margins_of(np.zeros((14, 1)))[0])
    assert found == pytest.approx((20.0 - 0.8 * 66 / 200 - 18.0) / 2, abs=3e-4)
    # A leaf longer by 0.1 has its rear 0.1 further back: the same top meets it higher.
    longer = float(made.margins_of(np.eye(14)[:, [list(made.model.used).index(12)]] * 0.1)[0])
    assert longer - found == pytest.approx(-0.8 * (66.1 / 200.1 - 66 / 200) / 2, abs=1e-6)


def test_a_leaf_that_nothing_holds() -> None:
    own = Row(500.0, 18.0, (RowOpening(0.0, 18.0, 0.0, None), RowOpening(100.0, 18.0, 0.0, None)), 400.0)
    made = compiled(free_model(own), np.full(10, 0.2))
    assert np.isinf(made.margins_of(drawn(made, 3, 1))).all()
    assert worst_of(made, triples_of(made)) is None
    assert level_worst(made) == np.inf


def test_a_window_that_stands_out_from_its_strip() -> None:
    """A strip reaches into a window chamfered by 1 mm whose sill is as high: its face is 1 mm lower than the strip.

    Cut 0.9 mm higher it still is; cut 1.3 mm higher, it stands 0.3 mm above the strip on which the leaf slides.
    """
    slot, strip = RowOpening(0.0, 18.0, 0.0, 20.0), RowOpening(18.0, 100.0, 0.0, 20.0, window=False)
    window = RowOpening(110.0, 18.0, 0.0, 30.0, Chamfer(1.0, 1.0))
    own = Row(200.0, 12.0, (slot, strip, window), 140.0)
    model = model_of_row(own, [({}, {}, {}, {}), ({}, {}, {}, {}), ({}, {}, {0: 1.0}, {})], {}, {})
    off = np.array([[0.0, 0.9, 1.3]])
    assert guides(model, off).tolist() == [True, True, False]
    margin = prove([model.row_of(off[:, 2])])[0].openings[2].margin
    assert margin == pytest.approx(-0.3, abs=1e-9)


def test_tables_guide_as_each_row_by_itself_is_proved() -> None:
    """Rows that lie on their first sill and are held by a hand: it is off line by what this sill and the leaf are."""
    seen = [0, 0]
    for seed in range(sampled(12, 300)):
        random = Random(seed)
        own = row(random, one_sided=0.15)
        drawn_edges = [one for one in own.openings if one.sill is not None and one.head is not None]
        strips = tuple(
            RowOpening(one.end - 2.0, random.uniform(5.0, 160.0), one.sill, one.head, window=False)
            for one in drawn_edges[:2]
        )
        own = replace(own, openings=(*own.openings, *strips), hand=random.choice([1.0, 5.0]))
        model = free_model(own)
        off = np.random.default_rng(seed).uniform(-0.5, 0.5, (len(model.used), 12))
        wanted = [
            all(one.verdict in (None, "guides-itself") for one in proof.openings)
            for proof in prove([model.row_of(column) for column in off.T])
        ]
        assert guides(model, off).tolist() == wanted, seed
        seen[0] += sum(wanted)
        seen[1] += len(wanted) - sum(wanted)
    assert min(seen) > 20
