"""Bowed and twisted leaves as solids among the exported pieces of the boards that they lie in, by manifold3d.

A leaf that is said to need so much room is bent to that shape and put into its openings: with that room it fits in one
pose, found by a linear program (HiGHS, by scipy), and with a little less it overlaps some board in every pose tried.
"""

from __future__ import annotations

from dataclasses import replace
from math import atan

import manifold3d
import numpy as np
import pytest
from scipy.optimize import linprog

from addon.check.check import check
from addon.designs.table import build
from addon.designs.table.parameters import Table
from addon.files.editing import set_values
from addon.wood.stock import Stock
from tests.old_tables import EXAMPLES
from tests.oracles import Exported

pytestmark = pytest.mark.once

LEAF = "L3"
SHARP = {
    "sides.slot_chamfer": 0.0,
    "ribs.window_chamfer": 0.0,
    "leaves.finger_hole": 0.0,
    "limits.finger_hole": 0.0,
}
FINE = 400
"""Facets of a bent leaf."""


def table(clearance: float, **sheet: float) -> Table:
    found = set_values(EXAMPLES["quilting"].table(), {**SHARP, "stowing.clearance_above": clearance})
    stock: tuple[Stock, ...] = (replace(found.stock[0], **sheet), *found.stock[1:])
    return replace(found, stock=stock)


def boards(exported: Exported) -> manifold3d.Manifold:
    """The slot's side and all ribs that the leaf lies in, from the exported pieces."""
    labels = [label for label, role in exported.roles.items() if role in ("side", "rib")]
    low, high = exported.boxes[LEAF].low, exported.boxes[LEAF].high
    solids = [
        body.solid
        for label in labels
        for body in exported.bodies[label]
        if (body.low < high + 50).all() and (body.high > low - 50).all()
    ]
    return manifold3d.Manifold.batch_boolean(solids, manifold3d.OpType.Add)


def faces_inside(exported: Exported) -> np.ndarray:
    """(n,) float, mm: both faces of the boards that stand across the leaf, along x, where it lies between them."""
    low, high = exported.boxes[LEAF].low, exported.boxes[LEAF].high
    across = [
        body
        for label, role in exported.roles.items()
        if role in ("side", "rib")
        for body in exported.bodies[label]
        if body.high[0] - body.low[0] < 18 and body.low[1] < low[1] + 200 < body.high[1]
        if body.low[0] < high[0] and body.high[0] > low[0]
    ]
    return np.unique(np.clip([at for body in across for at in (body.low[0], body.high[0])], low[0], high[0]))


def bent(low: np.ndarray, high: np.ndarray, curve: float, tilt: float, lift: float) -> manifold3d.Manifold:
    """A strip of a leaf along x that falls by curve·x² from its middle, tilted and lifted."""
    middle = (low + high) / 2
    x = np.linspace(low[0], high[0], FINE + 1)
    z = -curve * (x - middle[0]) ** 2 + tilt * (x - middle[0]) + lift
    lower, upper = np.stack([x, low[2] + z], axis=1), np.stack([x, high[2] + z], axis=1)
    ring = np.concatenate([lower, upper[::-1]])
    strip = manifold3d.Manifold.extrude(manifold3d.CrossSection([ring]), 20.0)
    turned = strip.rotate((90.0, 0.0, 0.0))  # (x, z, y) → (x, -y, z)
    return turned.translate((0.0, middle[1] + 10.0, 0.0))


def best_pose(places: np.ndarray, middle: float, curve: float) -> tuple[float, float]:
    """Tilt and lift with which a bent leaf keeps within the least strip above the line that it is drawn on."""
    x = places - middle
    fall = -curve * x**2
    one = np.ones(len(x))
    # 0 <= fall + tilt·x + lift <= top
    above = np.stack([-x, -one, 0 * one], axis=1)
    below = np.stack([x, one, -one], axis=1)
    found = linprog(
        [0.0, 0.0, 1.0],
        np.concatenate([above, below]),
        np.concatenate([fall, -fall]),
        bounds=[(None, None), (None, None), (0, None)],
    )
    return float(found.x[0]), float(found.x[1])


def test_a_bowed_leaf_fits_with_the_room_that_it_is_said_to_need_and_with_no_less() -> None:
    (fact,) = (one for one in check(build(table(1.5, bow=50.0))).facts if one.parts == (LEAF,))
    assert fact.rule == "leaf-bowed"
    need = 3.0 + fact.amount  # the room below is 1.5 mm, and so is that above
    curve = 4 * 50.0 / 2440.0**2
    for room, fits in ((need + 0.02, True), (need - 0.05, False)):
        assembly = build(table(room - 1.5, bow=50.0))
        told = [one for one in check(assembly).facts if one.rule == "leaf-bowed" and one.parts == (LEAF,)]
        assert bool(told) != fits
        exported = Exported(assembly)
        wood, leaf = boards(exported), exported.boxes[LEAF]
        low, high = leaf.low, leaf.high
        tilt, lift = best_pose(faces_inside(exported), float((low[0] + high[0]) / 2), curve)
        if fits:
            solid = bent(low, high, curve, tilt, lift - 1.5 + 0.01)
            assert (solid ^ wood).volume() < 1e-3
            continue
        for turn in np.linspace(-4e-3, 4e-3, 9):
            for more in np.linspace(-0.5, 0.5, 11):
                solid = bent(low, high, curve, tilt + turn, lift - 1.5 + more)
                assert (solid ^ wood).volume() > 1e-3


@pytest.mark.parametrize("twist", [40.0, 50.0])
def test_a_twisted_leaf_turns_by_as_much_as_it_is_said_to(twist: float) -> None:
    """Between the first and the last opening that it lies in the sheet's section turns by t·l/(L·W); each end turned
    half of that needs, for a section w wide and as thick as the slot, w·sin(turn) more height than it is thick."""
    flat, twisted = (
        {
            one.parts: one
            for one in check(build(table(0.0, bow=0.0, twist=by))).facts
            if one.rule == "leaf-bowed"
        }
        for by in (0.0, twist)
    )
    assert not flat
    fact = twisted[LEAF,]
    assembly = build(table(0.0, bow=0.0, twist=twist))
    leaf = assembly.by_label[LEAF]
    width = leaf.shape.size[1]
    exported = Exported(assembly)
    faces = faces_inside(exported)
    turn = atan(twist * float(np.ptp(faces)) / (2440.0 * 1220.0)) / 2
    section = manifold3d.Manifold.cube((1.0, width, 17.7), True).rotate((float(np.degrees(turn)), 0.0, 0.0))
    bounds = section.bounding_box()
    height = bounds[5] - bounds[2]
    assert 1.5 + fact.amount == pytest.approx(height - 17.7, abs=2e-3)
