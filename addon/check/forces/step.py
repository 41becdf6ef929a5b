"""The step between neighbors in the cover: a leaf with a load on it sags, the one beside it does not."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ...sizes.tolerances import CONTACT
from ...wood.assembly import Assembly
from ...wood.part import Part
from .beams import deflection
from .droop import board, leaf_board, well_span


@dataclass(frozen=True)
class Step:
    """How far a leaf sinks beside its neighbors under the load at its middle, mm.

    Parameters
    ----------
    before : by itself
    after : with the center supports under its long edges, which bend along with it
    allowed : by the limits
    supports : labels of those
    """

    before: float
    after: float
    allowed: float
    supports: tuple[str, ...]


def steps_between(assembly: Assembly) -> dict[str, Step]:
    """Leaf label → its step beside its neighbors. Empty without ledgers, or with one leaf alone.

    Leaf and supports bend as beams side by side on the same two ledgers: what they carry adds up. That a leaf twists
    toward an edge without support is left out.
    """
    span, limits = well_span(assembly), assembly.limits
    if span is None or len(assembly.cover) < 2:
        return {}
    supports = [(part, board(part.shape.thickness, part.shape.size[1], part.stock).stiffness) for part in
                assembly.with_role("support")]  # fmt: skip
    found = {}
    for label in assembly.cover:
        own = leaf_board(assembly.by_label[label]).stiffness
        under = [(part.label, stiffness) for part, stiffness in supports if _is_under(assembly, part, label)]
        whole = own + sum(stiffness for _, stiffness in under)
        before, after = (
            float(deflection("simple, middle", limits.load, span, stiffness)) for stiffness in (own, whole)
        )
        found[label] = Step(before, after, limits.step, tuple(name for name, _ in under))
    return found


def _is_under(assembly: Assembly, support: Part, leaf: str) -> bool:
    """Whether a support lies under one of a covering leaf's edges."""
    shape, place = assembly.by_label[leaf].shape, assembly.cover[leaf]
    ends = place.to_table(np.array([(0.0, 0.0, 0.0), shape.size]))
    low, high = support.box
    across = 1 - int(np.argmax((high - low)[:2]))
    return any(low[across] - CONTACT <= edge[across] <= high[across] + CONTACT for edge in ends)
