"""What the signs of a picture mean: only those that are on it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from ..palette import GREEN, HATCH, LEAF, SKY, VERMILION, WOOD
from ..sheet import Pen
from ..sheet.dimensions import LETTERS, NARROW, double_dashed
from .bands import MISS_HATCH, cross_hatch

if TYPE_CHECKING:
    from collections.abc import Callable

    from ...check.row.proof import RowProof
    from ..sheet import Drawing

    Sign = Callable[[Drawing, float, float], None]

PITCH: Final = 3.9
"""From one line to the next, mm."""

WIDTH: Final = 62.0
"""mm."""

_SIGN: Final = 9.0
"""Width of a sign, mm."""


def entries(proof: RowProof) -> list[tuple[str, Sign]]:
    """Words and what draws the sign before them."""
    mouths = proof.mouths
    judged = [one for one in mouths if one.verdict in ("guides-itself", "needs-steering")]
    found: list[tuple[str, Sign]] = [("wood, cut", _wood)]
    if proof.verdict == "does-not-pass":
        found.append(("leaf at its tightest", _leaf))
        found.append(("leaf in the wood", _in_wood))
    else:
        found.append(("leaf where it is tightest", _leaf))
    if judged:
        found.append(("nose can be here: caught", _caught))
        if any(one.verdict == "needs-steering" for one in judged):
            found.append(("nose can be here: misses", _missed))
        found.append(("the catch ends here", _catch))
    others = any(not one.holds for one in proof.row.openings)
    if proof.counterexample is not None:
        found.append(("leaf that misses, other leaves" if others else "leaf that misses by the most", _other))
    elif others:
        found.append(("another leaf", _other))
    return found


def draw_legend(drawing: Drawing, proof: RowProof, x: float, top: float) -> None:
    """All signs, one under the other."""
    for place, (words, sign) in enumerate(entries(proof)):
        y = top - place * PITCH - LETTERS / 2
        sign(drawing, x, y)
        drawing.text(words, x + _SIGN + 2.0, y, LETTERS, vertical="middle")


def _box(drawing: Drawing, x: float, y: float, color: str) -> list[tuple[float, float]]:
    ring = [(x, y - 1.35), (x + _SIGN, y - 1.35), (x + _SIGN, y + 1.35), (x, y + 1.35)]
    drawing.polygon(ring, color, Pen(NARROW))
    return ring


def _wood(drawing: Drawing, x: float, y: float) -> None:
    drawing.hatch([_box(drawing, x, y, WOOD)], HATCH, 1.6)


def _leaf(drawing: Drawing, x: float, y: float) -> None:
    _box(drawing, x, y, LEAF)


def _caught(drawing: Drawing, x: float, y: float) -> None:
    _box(drawing, x, y, SKY)


def _missed(drawing: Drawing, x: float, y: float) -> None:
    drawing.hatch([_box(drawing, x, y, VERMILION)], MISS_HATCH, 0.9, 135)


def _in_wood(drawing: Drawing, x: float, y: float) -> None:
    cross_hatch(drawing, [np.array(_box(drawing, x, y, VERMILION))])


def _catch(drawing: Drawing, x: float, y: float) -> None:
    drawing.fill([[(x + 2.0, y), (x + 0.4, y - 0.9), (x + 0.4, y + 0.9)]], GREEN)
    drawing.line((x + 2.0, y), (x + _SIGN, y), Pen(0.5, GREEN))


def _other(drawing: Drawing, x: float, y: float) -> None:
    drawing.line((x, y), (x + _SIGN, y), double_dashed(0.3))
