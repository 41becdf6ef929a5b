"""Choices around leaves that slide in: which miss is shown, who is stowed before whom, where stops and strips stand.

By hand from the drawing of the quilting table; common practice, no source. mm; x to the right, y to the back, z up
from the room's floor.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from addon.check.prepared import prepare
from addon.check.row.openings import OpeningProof, Pose
from addon.check.slide.proof import LeafProof, ViewProof, worst_opening
from addon.designs.table import build
from addon.designs.table.parameters import AsCut, Table
from addon.files.editing import set_values
from addon.paper.filmstrip_page import stills_of
from addon.wood.assembly import Assembly
from addon.wood.meshes.mesh import mesh_of
from tests.old_tables import EXAMPLES

QUILTING = set_values(
    EXAMPLES["quilting"].table(),
    {
        "table.height": 770.0,
        "well.depth": 40.0,
        "sides.wood_above_slots": 8.0,
        "sides.wood_below_slots": 22.0,
        "stowing.tier_gap": 3.0,
        "stowing.clearance_above": 1.5,
        "stowing.clearance_below": 1.5,
        "stowing.runners": False,
        "stowing.kickers": False,
        "stowing.guides": False,
    },
)
"""Heights, by sheets of 17.7 and 11.8: the bottom panel's underside at 770 - 17.7 - 40 - 11.8 = 700.5, upper slots from
671.8 to 692.5 with leaves from 673.3 on, lower slots from 648.1 to 668.8 with leaves up to 667.3, the lower edge of
sides and ribs at 626.1."""


def box_of(assembly: Assembly, label: str) -> np.ndarray:
    """(2, 3): least and greatest corner of a part where it stands, mm."""
    part = assembly.by_label[label]
    points = part.placement.to_table(mesh_of(part.shape).vertices)
    return np.array([points.min(axis=0), points.max(axis=0)])


def lower_tier_first(table: Table) -> Table:
    """The same leaves numbered from the lower tier up."""
    return replace(table, stow=tuple(sorted(table.stow, key=lambda one: one.tier == "upper")))


# -- which opening is shown as the one that is missed by the most
# ------------------------------------------------------------------------------------------------------------------


def missing(view: str, *margins: float | None) -> ViewProof:
    """A view of a leaf with openings that are missed by so much (negative), or met (None)."""
    pose = Pose(0.0, 0.0, 0.0)
    openings = tuple(
        OpeningProof("guides-itself", margin=1.0)
        if margin is None
        else OpeningProof("needs-steering", margin=margin, snag=pose)
        for margin in margins
    )
    return ViewProof(SimpleNamespace(view=view), SimpleNamespace(openings=openings))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("side", "plan", "expected"),
    [
        ((-0.2, -0.5, -0.3), (-0.4,), ("side", 1)),
        ((-0.2, -0.3), (None, -0.4), ("plan", 1)),
        ((None, -0.4), (-0.4,), ("side", 1)),
        ((-0.4, -0.1, -0.4), (), ("side", 0)),
        ((None,), (None, -0.1, -0.1), ("plan", 1)),
    ],
    ids=["most", "most in plan", "side before plan", "the first that is reached", "the first in plan"],
)
def test_the_opening_missed_by_the_most_is_shown(side, plan, expected) -> None:
    """Where two are missed by as much, the one seen from the side, which gravity decides and a hand feels first; of
    those of one view, the one that the nose meets first."""
    found = worst_opening(LeafProof("L1", missing("side", *side), missing("plan", *plan)))
    assert found is not None
    assert (found[0].of.view, found[1]) == expected


# -- who is stowed before whom
# ------------------------------------------------------------------------------------------------------------------


def test_in_a_filmstrip_leaves_are_stowed_in_their_order() -> None:
    """The leaf of the left side, below L1, is 10 thicker than drawn, 5 up and 5 down: its upper face lies at 672.3,
    1.0 below L1's lower one.

    As L4 it goes in after L1, which has 1.5 around it when it is stowed. Numbered from the lower tier up, it is L2 and
    lies there when L3 above it is stowed.
    """
    first = prepare(build(replace(QUILTING, as_cut=(AsCut("L4", "thickness", deviation=10.0),))))
    stowed = stills_of(first, ["L1"])["L1"][-1].pose
    assert stowed.clearance == pytest.approx(1.5, abs=1e-6)
    turned = lower_tier_first(replace(QUILTING, as_cut=(AsCut("L2", "thickness", deviation=10.0),)))
    stowed = stills_of(prepare(build(turned)), ["L3"])["L3"][-1].pose
    assert (stowed.against, stowed.clearance) == ("L2", pytest.approx(1.0, abs=1e-6))


# -- stops and strips
# ------------------------------------------------------------------------------------------------------------------


def test_end_stops_reach_down_to_the_lower_edge_but_where_leaves_cross_below() -> None:
    """Stops stand behind the leaves of the short sides. In the lower tier they are as high as the ribs are deep below
    it, for the most glue: 626.1 to 668.8. In the upper tier leaves slide below them, so they are as high as the slot:
    671.8 to 692.5."""
    swapped = tuple(replace(one, tier="lower" if one.tier == "upper" else "upper") for one in QUILTING.stow)
    for stow, heights in ((QUILTING.stow, (626.1, 668.8)), (swapped, (671.8, 692.5))):
        assembly = build(replace(QUILTING, stow=stow))
        for label in ("STOP1", "STOP2"):
            assert box_of(assembly, label)[:, 2] == pytest.approx(heights), label


def strips(table: Table, prefix: str, lowest: float) -> set[tuple[float, float]]:
    """Bays along x, between ribs, in which strips of a kind lie whose lower face is at a height."""
    assembly = build(table)
    boxes = [box_of(assembly, part.label) for part in assembly.parts if part.label.startswith(prefix)]
    long = [one for one in boxes if np.ptp(one[:, 0]) > np.ptp(one[:, 1])]
    return {(round(one[0, 0], 2), round(one[1, 0], 2)) for one in long if abs(one[0, 2] - lowest) < 1e-6}


def test_of_two_strips_that_would_meet_that_of_the_earlier_leaf_is_fitted() -> None:
    """With 20 between the tiers, runners and kickers 12 high do not both fit where ways cross. The lower leaves, L3 and
    L4, go along x: numbered after the upper ones, they have kickers only where none of those lies above them, which is
    between the through ribs at -557.15 and -147.85 or 147.85 and 557.15. Numbered before, they have them everywhere.

    Kickers begin at the top of the lower slots, 671.8 - 20.
    """
    both = set_values(
        QUILTING,
        {
            "stowing.tier_gap": 20.0,
            "stowing.runners": True,
            "stowing.kickers": True,
            "stowing.strip_height": 12.0,
        },
    )
    free = {(-732.3, -574.85), (-130.15, 130.15), (574.85, 732.3)}
    crossed = {(-557.15, -147.85), (147.85, 557.15)}
    assert strips(both, "KICK", 651.8) == free
    assert strips(lower_tier_first(both), "KICK", 651.8) == free | crossed
