"""Ends that stand against another part without being joined to it: those of ledger strips, of fixed tops."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from ...sizes.tolerances import ANGLE, CONTACT
from ...wood.assembly import Assembly
from ...wood.features import End
from ...wood.joints import Joint
from ...wood.seating import as_drawn

_ENDS: Final[tuple[End, End]] = ("start", "end")


def abutments(assembly: Assembly) -> Iterator[Joint]:
    """Dry butt joints for ends that, as drawn, touch a face of another part that they are not joined to.

    Leaves, which slide, are left out.
    """
    parts = [as_drawn(part) for part in assembly.parts if not part.role.slides]
    joined = {frozenset((joint.a, joint.b)) for joint in assembly.joints if joint.kind != "face"}
    low, high = (np.array([part.box[side] for part in parts]).reshape(-1, 3) for side in (0, 1))
    along = np.array([part.placement.axes[0] for part in parts]).reshape(-1, 3)
    for axis in range(3):
        others = [k for k in range(3) if k != axis]
        square = np.flatnonzero(np.abs(along[:, axis]) > 1.0 - ANGLE)
        shared = (
            np.minimum(high[square, None], high)[..., others]
            - np.maximum(low[square, None], low)[..., others]
        )
        beside = (shared > CONTACT).all(axis=2)
        for upper, ends, faces in ((False, low, high), (True, high, low)):
            touch = beside & (np.abs(ends[square, None, axis] - faces[None, :, axis]) <= CONTACT)
            for row, other in zip(*np.nonzero(touch), strict=True):
                a, b = parts[square[row]], parts[other]
                if frozenset((a.label, b.label)) not in joined:
                    end = _ENDS[int(upper == (a.placement.axes[0][axis] > 0))]
                    yield Joint(a.label, b.label, "butt", end, fastening="dry")
