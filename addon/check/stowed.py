"""How the leaves lie stowed: what ends their travel, how far they stand out."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ..sizes.tolerances import CONTACT
from .causes import NothingStops, StandsOut, StopsEarly
from .facts import Fact
from .grips import grip_facts
from .spans import point

if TYPE_CHECKING:
    from collections.abc import Iterator

    from ..wood.assembly import StowPath
    from .causes import Point
    from .facts import LeafResult
    from .prepared import Prepared


def stowed_facts(prepared: Prepared, path: StowPath, result: LeafResult) -> Iterator[Fact]:
    """Facts about one leaf stowed."""
    yield from _end_of_travel(prepared, path, result)
    yield from _outer_end(prepared, path, result)
    yield from grip_facts(prepared, path, result)


def _nose(prepared: Prepared, path: StowPath, outer: bool = False) -> Point:
    """Middle of the leaf's nose stowed, or of its outer end."""
    low, high = prepared.bounds(path.leaf)
    middle = (low + high) / 2
    axis = int(np.abs(path.outward).argmax())
    middle[axis] = high[axis] if (path.outward[axis] > 0) == outer else low[axis]
    return point(middle)


def _end_of_travel(prepared: Prepared, path: StowPath, result: LeafResult) -> Iterator[Fact]:
    gap, leaf = result.end_gap, path.leaf
    home, nose = path.length - path.zero, _nose(prepared, path)
    if gap is None or gap > prepared.assembly.limits.end_gap + CONTACT:
        amount = gap if gap is not None else path.length
        cause = NothingStops(gap, result.stops_at)
        yield Fact("no-end-stop", "warning", (leaf,), nose, amount, cause, leaf, home)
    elif gap < -CONTACT and result.stops_at == path.end_stop:
        parts, cause = (result.stops_at, leaf), StopsEarly(result.stops_at)
        yield Fact("end-stop-near", "warning", parts, nose, -gap, cause, leaf, home + gap)


def _outer_end(prepared: Prepared, path: StowPath, result: LeafResult) -> Iterator[Fact]:
    excess = result.proud - prepared.assembly.limits.leaf_proud
    if excess > CONTACT:
        place, home = _nose(prepared, path, outer=True), path.length - path.zero
        parts, cause = (path.leaf, path.side), StandsOut(path.side, excess)
        yield Fact("leaf-proud", "note", parts, place, result.proud, cause, path.leaf, home)
