"""The moments of a leaf's way that a filmstrip shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from ...check.running import running_clearances, tight_places
from ...check.slide.proof import prove_leaves
from ...check.slide.snags import home_to_pose, snag_of
from ...wood.part import Placement

if TYPE_CHECKING:
    from collections.abc import Sequence

    from ...check.prepared import Prepared
    from ...check.running import Running
    from ...check.slide.snags import Snag
    from ...sizes.units import Units

_SAME: Final = 2.0
"""Travels nearer to each other than this are one moment, mm."""


@dataclass(frozen=True, eq=False)
class Still:
    """One picture of the strip.

    Parameters
    ----------
    words : what it shows
    pose : where the leaf is, and how near to what
    place : of the leaf
    snag : where the leaf is instead, as it may snag
    """

    words: str
    pose: Running
    place: Placement
    snag: Snag | None = None


def stills_of(prepared: Prepared, leaves: Sequence[str], units: Units) -> dict[str, list[Still]]:
    """For each leaf the start of its way, its nose at the slot, each tightest place, where it may snag, and home.

    Leaves that come later in their order are not in their slots yet.
    """
    order = [path.leaf for path in prepared.assembly.stow_paths]
    tight = tight_places(prepared)
    chosen: dict[str, list[tuple[str, float]]] = {}
    for leaf in leaves:
        path = prepared.assembly.path_of(leaf)
        home = path.length - path.zero
        found = [("before its slot", -path.zero), ("nose at the slot", 0.0)]
        found += [(f"tightest at {one.part}", one.travel) for one in tight[leaf] if one.travel < home - _SAME]
        last = "home, tightest" if any(one.travel >= home - _SAME for one in tight[leaf]) else "home"
        chosen[leaf] = [*found, (last, home)]
    poses = running_clearances(
        prepared,
        {leaf: [travel for _, travel in own] for leaf, own in chosen.items()},
        {leaf: order[order.index(leaf) + 1 :] for leaf in leaves},
    )
    snags = {proof.leaf: snag_of(proof, units) for proof in prove_leaves(prepared)}
    strips = {}
    for leaf, own in chosen.items():
        part, path = prepared.assembly.by_label[leaf], prepared.assembly.path_of(leaf)
        stills = [
            Still(words, pose, part.placement.moved(path.offset_at(pose.travel)))
            for (words, _), pose in zip(own, poses[leaf], strict=True)
        ]
        snag = snags.get(leaf)
        if snag is not None:
            stills.append(_snagging(prepared, snag))
        strips[leaf] = sorted(stills, key=lambda still: still.pose.travel)
    return strips


def _snagging(prepared: Prepared, snag: Snag) -> Still:
    part = prepared.assembly.by_label[snag.leaf]
    move = home_to_pose(snag.view, snag.pose)
    origin = move[:3, :3] @ part.placement.origin + move[:3, 3]
    place = Placement(origin, part.placement.axes @ move[:3, :3].T)
    (pose,) = running_clearances(prepared, {snag.leaf: [snag.pose.travel]})[snag.leaf]
    assert np.isfinite(origin).all()
    return Still(f"may snag at {snag.opening}", pose, place, snag)
