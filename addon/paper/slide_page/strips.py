"""The clearances stretched: which heights the lower picture shows, and how many times as large."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from ...check.row.proof import RowProof
from ..section import Panel
from ..sheet.clip import Rectangle

STRETCHES: Final = (20, 10, 5, 2, 1)
"""How many times heights may be as large as lengths."""

_WHOLE: Final = (20, 10)
"""Stretches at which the leaf is rather shown whole than stretched further with its middle left out."""

_MOST: Final = 4.0
"""Largest scale of heights: 4:1 shows a tenth of a millimeter as a line's width."""

_NEAR: Final = 6.0
"""mm; wood this far behind what is nearest to the leaf is shown as well."""

_PAD: Final = 4.8
"""Beside what has to be seen, mm on the sheet."""

GAP: Final = 5.0
"""Between the two strips of a leaf whose middle is left out, mm on the sheet."""


@dataclass(frozen=True)
class Strips:
    """The panels of the stretched picture, the lower one first; one, or two with the leaf's middle left out between."""

    panels: tuple[Panel, ...]
    stretch: int

    @property
    def box(self) -> Rectangle:
        """All of it, mm."""
        low, high = self.panels[0].box, self.panels[-1].box
        return low[0], low[1], high[2], high[3]

    def across_at(self, z: float) -> float | None:
        """y on the sheet of a height, mm; None where it is not shown."""
        for panel in self.panels:
            if panel.z - 1e-9 <= z <= panel.z_top + 1e-9:
                return panel.across_at(z)
        return None


def stretch_in(proof: RowProof, scale: float, room: float) -> int | None:
    """How many times as large heights can be in so much room, mm; None where there is not enough."""
    plan = _plan(proof, scale, room)
    return None if plan is None else plan[0]


def strips(proof: RowProof, scale: float, box: Rectangle, x: float) -> Strips | None:
    """The stretched picture in a box of the sheet; None where it has no room.

    Parameters
    ----------
    scale : mm on the sheet for a mm of the travel
    x : travel at the box's left border, mm
    """
    left, bottom, right, top = box
    plan = _plan(proof, scale, top - bottom)
    if plan is None:
        return None
    stretch, taken, ranges = plan
    across = scale * stretch
    spare = (top - bottom - taken) / 2
    panels, at = [], bottom
    for place, (low, high) in enumerate(ranges):
        below = spare if place == 0 else 0.0
        above = spare if place == len(ranges) - 1 else 0.0
        height = (high - low) * across + 2 * _PAD + below + above
        panels.append(Panel((left, at, right, at + height), x, low - (_PAD + below) / across, scale, across))
        at += height + GAP
    return Strips(tuple(panels), stretch)


def _plan(proof: RowProof, scale: float, room: float) -> tuple[int, float, list[tuple[float, float]]] | None:
    """Stretch, height on the sheet and ranges of heights, mm."""
    lower, upper = _ranges(proof)
    choices: list[tuple[int, list[tuple[float, float]]]] = []
    whole = [(min(lower[0], upper[0]), max(lower[1], upper[1]))]
    choices += [(stretch, whole) for stretch in _WHOLE]
    if lower[1] < upper[0]:
        choices += [(stretch, [lower, upper]) for stretch in STRETCHES]
    choices += [(stretch, whole) for stretch in STRETCHES if stretch not in _WHOLE]
    for stretch, ranges in choices:
        across = scale * stretch
        if len(ranges) == 2 and (upper[0] - lower[1]) * across < 2 * _PAD + GAP:
            continue  # nothing would be left out
        taken = sum((high - low) * across + 2 * _PAD for low, high in ranges) + GAP * (len(ranges) - 1)
        if taken <= room and (across <= _MOST or stretch == STRETCHES[-1]):
            return stretch, taken, ranges
    return None


def _ranges(proof: RowProof) -> tuple[tuple[float, float], tuple[float, float]]:
    """Heights that have to be seen below and above the leaf, mm."""
    row = proof.row
    below = list(_edges(proof, -1)) or [(row.rest, row.rest)]
    above = list(_edges(proof, 1)) or [(row.rest + row.thickness, row.rest + row.thickness)]
    nearest_low, nearest_high = max(land for land, _ in below), min(land for land, _ in above)
    lows = [edge for pair in below for edge in pair if edge >= nearest_low - _NEAR]
    highs = [edge for pair in above for edge in pair if edge <= nearest_high + _NEAR]
    return (min(lows), nearest_low), (nearest_high, max(highs))


def _edges(proof: RowProof, side: int) -> Iterator[tuple[float, float]]:
    """The land and the rim of all wood on one side, mm."""
    for opening in proof.row.openings:
        land = opening.sill if side < 0 else opening.head
        if land is not None:
            yield land, land + side * opening.entry.rise
