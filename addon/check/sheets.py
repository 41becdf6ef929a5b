"""What sheets do to the parts that are cut from them: thickness that nobody measured, leaves that are bowed or twisted.

    openings        ####        ####        ####        A sheet that rises by b over its length L rises by b·(l/L)²
                 .-------------------------------.      over a part l long. What a bowed leaf needs in height, the
    sills    .--'###        ####        ####     '--.   best way it can lie in the openings that it is in, is the
                                                        least strip around the points of its curve there.

A sheet L long and W wide whose corner rises by t, the other three flat, is z = t·x·y/(L·W): between two openings l
apart a leaf w wide turns so much that its edges need t·l·w/(2·L·W).
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ..sizes.arrays import Floats
from ..sizes.tolerances import CONTACT
from ..wood.assembly import Assembly, StowPath
from ..wood.part import Part
from ..wood.stock import sanded_limits
from .board_causes import BowedLeaf, UnmeasuredSheet
from .facts import Fact, LeafResult, Place
from .prepared import Prepared, cuts_for, land_of
from .spans import point


def unmeasured_sheets(assembly: Assembly) -> Iterator[Fact]:
    """A note for each sheet known only as what it is sold as; its amount is how much thinner it may be, mm."""
    found: dict[str, list[Part]] = {}
    for part in assembly.parts:
        if part.stock.measured is None:
            found.setdefault(part.stock.name, []).append(part)
    for name, parts in found.items():
        nominal = parts[0].stock.nominal
        limits = sanded_limits(nominal)
        first, *others = (
            Place((part.label,), point((part.box[0] + part.box[1]) / 2), nominal - limits.low)
            for part in parts
        )
        cause = UnmeasuredSheet(name, nominal, limits.low, limits.high)
        yield Fact(
            "sheet-unmeasured", "note", first.parts, first.at, first.amount, cause, others=tuple(others)
        )


def bowed_leaf(prepared: Prepared, path: StowPath, result: LeafResult) -> Iterator[Fact]:
    """A warning where a leaf's sheet is bowed or twisted by more than the room above and below it allows."""
    leaf = prepared.assembly.by_label[path.leaf]
    stock, inward = leaf.stock, -path.outward
    if stock.bow <= 0 and stock.twist <= 0:
        return
    if not any(gap.above is not None for gap in result.gaps):
        return
    places = _stations(prepared, leaf, path)
    along_u = abs(float(leaf.placement.axes[0] @ inward)) > 0.5
    across = leaf.shape.size[1] if along_u else leaf.shape.size[0]
    curve = 4 * stock.bow / stock.sheet_length**2
    bow = curve * across**2 / 4 if along_u != (leaf.grain == "u") else least_strip(places, curve)
    apart = float(np.ptp(places)) if len(places) else 0.0
    twist = stock.twist * apart * across / (2 * stock.sheet_length * stock.sheet_width)
    lack = bow + twist - result.vertical_play
    if lack > CONTACT:
        low, high = prepared.bounds(path.leaf)
        stowed = path.length - path.zero
        cause = BowedLeaf(stock.name, bow, twist, result.vertical_play)
        yield Fact(
            "leaf-bowed", "warning", (path.leaf,), point((low + high) / 2), lack, cause, path.leaf, stowed
        )


def _stations(prepared: Prepared, leaf: Part, path: StowPath) -> Floats:
    """(n,) float, mm: both faces of every opening that the leaf lies in stowed, along its way."""
    inward = -path.outward
    low, high = np.sort(np.array(leaf.box) @ inward)
    found = []
    for part, cut in cuts_for(path.leaf, prepared.assembly.parts):
        ends = part.placement.to_table(np.array(land_of(part, cut))) @ inward
        found += [float(np.clip(end, low, high)) for end in ends if ends.min() < high and ends.max() > low]
    return np.unique(found)


def least_strip(places: Floats, curve: float) -> float:
    """Height of the least strip, however it leans, around the points of a parabola at some places, mm.

    The vertical width of a strip around a convex chain is least along one of its sides or along its chord.

    Parameters
    ----------
    places : (n,) float, rising, mm
    curve : how much the parabola falls per mm² from its top
    """
    if len(places) < 3:
        return 0.0
    x, y = places, -curve * (places - places.mean()) ** 2
    slopes = np.append(np.diff(y) / np.diff(x), (y[-1] - y[0]) / (x[-1] - x[0]))
    rest = y[None] - slopes[:, None] * x[None]
    return float(np.ptp(rest, axis=1).min())
