"""Every leaf through its openings, whichever way it is held: seen from the side and from above.

Where it needs steering: the opening missed by the most. And the poses in which leaves snag: where the nose misses an
opening, or where a leaf that does not pass is held.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, sin

import numpy as np

from ...sizes.arrays import Floats
from ..prepared import Prepared
from ..row.leaf_rows import LeafRow, leaf_rows
from ..row.openings import VERDICTS, OpeningProof, Pose, Verdict
from ..row.proof import RowProof, prove


@dataclass(frozen=True, eq=False)
class ViewProof:
    """A leaf in one view: where its row lies in the table, and what is proven of it."""

    of: LeafRow
    proof: RowProof


@dataclass(frozen=True, eq=False)
class LeafProof:
    """A leaf in both views; the worse one decides."""

    leaf: str
    side: ViewProof
    plan: ViewProof

    @property
    def views(self) -> tuple[ViewProof, ViewProof]:
        """Both views, from the side first."""
        return self.side, self.plan

    @property
    def verdict(self) -> Verdict:
        """The worse of both views'."""
        return VERDICTS[max(VERDICTS.index(view.proof.verdict) for view in self.views)]

    @property
    def steer(self) -> float | None:
        """Least distance off line of the outer end with which an opening can be missed, mm; None: with none."""
        return min((view.proof.steer for view in self.views if view.proof.steer is not None), default=None)


def prove_leaves(prepared: Prepared) -> list[LeafProof]:
    """The proof of every leaf that has a stow path, in their order."""
    return together(leaf_rows(prepared))


def together(rows: Sequence[LeafRow]) -> list[LeafProof]:
    """The proofs of rows that come in pairs, the side view of each leaf before its plan view."""
    views = [ViewProof(row, proof) for row, proof in zip(rows, prove([one.row for one in rows]), strict=True)]
    return [LeafProof(side.of.leaf, side, plan) for side, plan in zip(views[::2], views[1::2], strict=True)]


def worst_opening(proof: LeafProof) -> tuple[ViewProof, int] | None:
    """The view and the number of the opening that a leaf misses by the most; None where it misses none."""
    found = [
        (miss(view, number), -place, view, number)
        for place, view in enumerate(proof.views)
        for number, proved in enumerate(view.proof.openings)
        if proved.verdict == "needs-steering"
    ]
    if not found:
        return None
    _, _, view, number = max(found, key=lambda one: one[:2])
    return view, number


def miss(view: ViewProof, number: int) -> float:
    """By how much the worst pose misses an opening, mm."""
    proved: OpeningProof = view.proof.openings[number]
    if proved.margin is not None:
        return max(-proved.margin, 0.0)
    assert proved.snag is not None
    low, high = proved.catch_low, proved.catch_high
    below = 0.0 if low is None else low - proved.snag.height
    above = 0.0 if high is None else proved.snag.height + view.of.row.thickness - high
    return max(below, above)


@dataclass(frozen=True, eq=False)
class Snag:
    """One pose to be shown.

    Parameters
    ----------
    opening : label of the part that the leaf meets
    corner : (x, z) of the leaf's corner that meets it, in the view, mm
    below : whether it is the lower one
    amount : by how much the leaf misses the opening, mm, or, where it is held, how much it lacks; None where nothing
        holds it before
    held : whether the leaf is held there, and does not pass
    """

    view: ViewProof
    opening: str
    pose: Pose
    corner: tuple[float, float]
    below: bool
    amount: float | None
    held: bool = False

    @property
    def leaf(self) -> str:
        """Label of the leaf."""
        return self.view.of.leaf


def snag_of(proof: LeafProof, view: str = "", opening: int = -1) -> Snag | None:
    """What to show of a leaf; None where it guides itself.

    Parameters
    ----------
    view, opening : the opening to be missed; where it cannot be missed, or without one, it is where the leaf is held,
        or else the opening missed by the most
    """
    for one in proof.views:
        own = one.proof.openings[opening] if one.of.view == view and opening >= 0 else None
        if own is not None and own.snag is not None:
            return _missing(one, opening, own.snag)
    held = next((found for one in proof.views if (found := _held(one)) is not None), None)
    worst = worst_opening(proof)
    if held is not None or worst is None:
        return held
    pose = worst[0].proof.openings[worst[1]].snag
    assert pose is not None
    return _missing(*worst, pose)


def _missing(view: ViewProof, number: int, pose: Pose) -> Snag:
    label, proved = view.of.row.openings[number].label, view.proof.openings[number]
    upper = _upper(view, pose)
    below = -np.inf if proved.catch_low is None else proved.catch_low - pose.height
    above = -np.inf if proved.catch_high is None else upper[1] - proved.catch_high
    corner = (pose.travel, pose.height) if below >= above else upper
    amount = None if proved.margin is None else miss(view, number)
    return Snag(view, label, pose, corner, below >= above, amount)


def _upper(view: ViewProof, pose: Pose) -> tuple[float, float]:
    """The upper leading corner in a pose, mm."""
    thickness = view.of.row.thickness
    return pose.travel - thickness * sin(pose.tilt), pose.height + thickness * cos(pose.tilt)


def _held(view: ViewProof) -> Snag | None:
    """The pose in which a leaf that does not pass is held."""
    proof = view.proof
    if proof.verdict != "does-not-pass" or proof.fit is None or proof.fit_margin is None or not proof.edges:
        return None
    edge = proof.edges[-1]
    label = view.of.row.openings[edge.opening].label
    lacks = -2 * proof.fit_margin
    return Snag(view, label, proof.fit, (edge.x, edge.z), edge.side == "lower", lacks, held=True)


def stowed_to_pose(view: ViewProof, pose: Pose) -> Floats:
    """(4, 4) float, mm: moves a leaf that lies stowed, in table coordinates, into a pose.

    Its lower leading corner, at (travel, level) of the row, comes to the pose's; it turns about what the view looks
    along, the leading end rising toward the view's z.
    """
    row, frame = view.of.row, view.of.frame
    turn = np.array(
        [[cos(pose.tilt), -sin(pose.tilt), 0.0], [sin(pose.tilt), cos(pose.tilt), 0.0], [0.0, 0.0, 1.0]]
    )
    moved = np.eye(4)
    moved[:3, :3] = frame.T @ turn @ frame
    moved[:3, 3] = np.array(view.of.place(pose.travel, pose.height)) - moved[:3, :3] @ np.array(
        view.of.place(row.travel, row.rest)
    )
    return moved
