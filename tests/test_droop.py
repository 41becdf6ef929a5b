"""The sag of leaves: moduli, creep, sections, the free nose and the covering leaf."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from addon.check.forces import droop
from addon.check.forces.beams import fields
from addon.check.row.profile import Chamfer, Row, RowOpening
from addon.designs.table import build
from addon.wood.features import Groove
from addon.wood.limits import Limits
from addon.wood.part import Shape, rectangle
from addon.wood.stock import Stock
from tests.old_tables import EXAMPLES

# -- stock
# ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("nominal", "along", "across"),
    [(6.5, 12737, 4763), (9, 11395, 6105), (12, 10719, 6781), (15, 10316, 7184), (18, 10048, 7452),
     (21, 9858, 7642), (24, 9717, 7783)],
)  # fmt: skip
def test_birch_plywood(nominal, along, across):
    """Handbook of Finnish Plywood, mean moduli in bending, from memory; each pair sums to 17 500 there."""
    assert droop.birch_moduli(nominal) == (along, across)
    assert along + across == 17_500


def test_moduli_between_beyond_and_instead_of_the_table():
    assert droop.birch_moduli(10.5) == pytest.approx((11057.0, 6443.0))
    assert droop.birch_moduli(3.0) == droop.birch_moduli(6.5)
    assert droop.birch_moduli(40.0) == droop.birch_moduli(24.0)
    own = Stock("MDF", 18.0, 18.2, modulus_along=2700.0)
    assert droop.moduli(own) == (2700.0, 7452.0)
    assert droop.moduli(Stock("birch", 18.0, 17.7)) == (10048.0, 7452.0)  # by nominal, not measured thickness


def test_creep():
    """EN 1995-1-1, Table 3.2 (from memory): plywood 0.8, 1.0, 2.5 and solid wood 0.6, 0.8, 2.0 in classes 1 to 3."""
    assert droop.final(0.89306) == pytest.approx(1.6075, abs=1e-4)
    classes = (1, 2, 3)
    assert [float(droop.final(1.0, one)) - 1 for one in classes] == pytest.approx([0.8, 1.0, 2.5])
    assert [float(droop.final(1.0, one, "solid wood")) - 1 for one in classes] == pytest.approx(
        [0.6, 0.8, 2.0]
    )


# -- leaves
# ------------------------------------------------------------------------------------------------------------


def polygon_second_moment(section: shapely.Polygon) -> float:
    """About the level line through the centroid: the textbook sum over a polygon's edges."""
    x, y = np.array(shapely.transform(section, lambda p: p - section.centroid.coords[0]).exterior.coords).T
    a = x[:-1] * y[1:] - x[1:] * y[:-1]
    return abs(float((a * (y[:-1] ** 2 + y[:-1] * y[1:] + y[1:] ** 2)).sum() / 12))


@pytest.mark.parametrize("axis", [0, 1])
def test_sections_of_a_leaf_with_rim_and_tray(axis):
    """Against shapely: the section through field and tray as a polygon, and the volume left over."""
    field, tray = (
        Groove(20, 880, 20, 345, 9.0, "back", "field"), Groove(60, 840, 60, 305, 13.0, "back", "tray")
    )  # fmt: skip
    pull = Groove(30, 55, 120, 240, 15.0, "back", "pull")
    own = fields(Shape(rectangle(900, 365), 27.0, (field, tray, pull)), axis)
    width, edges = ((365, ((20, 345), (60, 305))), (900, ((20, 880), (60, 840))))[axis]
    section = shapely.box(0, 0, width, 27)
    for (low, high), depth in zip(edges, (9, 13), strict=True):
        section = section.difference(shapely.box(low, 27 - depth, high, 28))
    if axis == 1:  # the pull is a third of the width long, but no tenth of the length
        section = section.difference(shapely.box(30, 27 - 15, 55, 28))
    assert own.second_moments.min() == pytest.approx(polygon_second_moment(section), rel=1e-12)
    assert own.second_moments[0] == pytest.approx(width * 27**3 / 12)  # through the rim alone
    left_over = 900 * 365 * 27 - 860 * 325 * 9 - 780 * 245 * 4 - (25 * 120 * 6 if axis == 1 else 0)
    assert own.volume == pytest.approx(left_over)


def test_the_free_nose():
    """w l⁴ / 8EI is 1.5 rho g l⁴ / (E t²) for a board; with two supports, the AISC overhang (from memory)."""
    stock = Stock("birch", 18.0, 17.7)
    leaf = droop.board(365.0, 17.7, stock)
    eased = Chamfer(3.0, 3.0)
    openings = tuple(RowOpening(x, 18.0, 0.0, 18.5, eased, eased) for x in (0.0, 300.0, 700.0))
    first, second, home = droop.nose_droops(Row(900.0, 17.7, openings, 880.0), leaf)
    assert [(one.opening, one.travel, one.free, one.span) for one in (first, second, home)] == [
        (1, 300.0, 285.0, 12.0), (2, 700.0, 385.0, 312.0), (None, 880.0, 165.0, 712.0)
    ]  # fmt: skip
    for one in (first, second, home):
        expected = 1.5 * 685e-9 * 9.80665 * one.free**4 / (10048 * 17.7**2)
        assert one.clamped == pytest.approx(expected)
        a, span = one.free, one.span
        table = leaf.weight * a * (4 * a**2 * span - span**3 + 3 * a**3) / (24 * leaf.stiffness)
        assert one.droop == pytest.approx(table)
    assert home.droop < 0 < home.clamped  # the long span lifts the nose


def test_a_ceiling_carries_nothing_and_a_passed_opening_no_longer_does():
    leaf = droop.board(365.0, 17.7, Stock("birch", 18.0, 17.7))
    openings = (
        RowOpening(0, 18.0, 0.0, 18.5), RowOpening(300, 18.0, None, 18.5), RowOpening(600, 18.0, 0.0, 18.5)
    )  # fmt: skip
    found = droop.nose_droops(Row(500.0, 17.7, openings, 900.0), leaf)
    assert [(one.opening, one.free, one.span) for one in found] == [(1, 282.0, 18.0), (None, 282.0, 18.0)]
    loose = replace(openings[0], holds=False)
    assert droop.nose_droops(Row(500.0, 17.7, (loose, *openings[1:]), 400.0), leaf) == ()


def test_sag_of_the_covering_leaves():
    """The example's leaves: clear span between ledgers, and the sum of textbook cases with creep of the own weight."""
    assembly = replace(build(EXAMPLES["quilting"].table()), limits=Limits(load=150.0, sag=500.0))
    assert droop.well_span(assembly) == pytest.approx(960 - 4 * 17.7)
    sags = droop.well_sags(assembly)
    assert set(sags) == set(assembly.cover)
    _, width, thickness = assembly.by_label["L1"].shape.size
    stiffness = 10048 * width * thickness**3 / 12
    weight = 685e-9 * 9.80665 * width * thickness
    own, span = sags["L1"], 960 - 4 * 17.7
    assert own.own == pytest.approx(5 * weight * span**4 / (384 * stiffness))
    assert own.load == pytest.approx(150 * span**3 / (48 * stiffness))
    assert own.total == pytest.approx(1.8 * own.own + own.load)
    assert own.allowed == pytest.approx(span / 500)
    assert own.enough == (own.ratio >= 500)


def test_a_lasting_load_creeps_and_grain_across_bends_more():
    stock = Stock("birch", 18.0, 18.0)
    along, across = (droop.board(300.0, 18.0, stock, along=one) for one in (True, False))
    assert across.stiffness / along.stiffness == pytest.approx(7452 / 10048)
    assert droop.board(300.0, 18.0, replace(stock, grain="none")).stiffness == across.stiffness
    short, lasting = (droop.sag(800.0, along, 100.0, 0.05, lasting=share) for share in (0.0, 0.5))
    expected = 100 * 800**3 / (48 * along.stiffness) + 5 * 0.05 * 800**4 / (384 * along.stiffness)
    assert short.load == pytest.approx(expected)
    assert lasting.load == pytest.approx(1.4 * expected)
    assert not droop.sag(2400.0, along, 200.0).enough
