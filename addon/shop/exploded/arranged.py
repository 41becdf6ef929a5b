"""At what scale an exploded table goes onto a sheet, its gaps measured on the paper."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from ...fit.explosion.explosion import explode
from ...model.errors import ExportError
from ..drawing.sheet import A3, A4
from ..lines.layout import placed_at
from .sight import GAP, SEEN, Sight, gaps_for

if TYPE_CHECKING:
    from collections.abc import Collection

    from numpy.typing import NDArray

    from ...fit.explosion.explosion import Explosion
    from ...fit.explosion.explosion import Layout as Order
    from ...fit.steps import Steps
    from ..drawing.sheet import Sheet
    from ..lines.layout import Layout
    from ..lines.views import ViewFrom

    Floats = NDArray[np.float64]

_PLAIN: Final = 10
"""Reduction beyond which a larger sheet is taken."""

_PARTS: Final = (1, 2, 5, *range(10, 101))
"""Reductions: those of ISO 5455 (from memory), and any whole one where 1:10 is too large for what comes apart."""


_USUAL: Final = 5
"""About how many of them are tried."""


def arrange(
    order: Order, view: ViewFrom, shown: Collection[str], sheet: Sheet | None, left: float, right: float
) -> Steps[tuple[Explosion, Layout]]:
    """The exploded view at the largest scale at which it fits a sheet, and where it stands, scale after scale.

    Parameters
    ----------
    sheet : where it must be that one
    shown : labels of the parts that are drawn
    left, right : room to be kept free, mm on the paper

    Raises
    ------
    ExportError : where it is too large for the paper
    """
    for number, parts in enumerate(_PARTS):
        yield number / (number + _USUAL)
        for paper in (A4, A3) if sheet is None else (sheet,):
            if sheet is None and paper is A4 and parts > _PLAIN:
                continue
            found = explosion_in(order, view, view.enlarged / parts)
            points = corners(found, view.axes, shown)[:, :2]
            layout = placed_at(points, view, paper, (left + right) / 2, parts)
            if layout is not None:
                return found, _shifted(layout, (left - right) / 2)
    raise ExportError(
        f"{order.assembly.name} cannot be drawn exploded: it is too large for the paper even at 1:{_PARTS[-1]}."
    )


def _shifted(layout: Layout, to_the_right: float) -> Layout:
    x0, y0, x1, y1 = layout.box
    box = x0 + to_the_right, y0, x1 + to_the_right, y1
    return replace(layout, place=layout.place + np.array([to_the_right, 0.0]), box=box)


def explosion_in(
    order: Order, view: ViewFrom, scale: float, share: float = SEEN, gap: float = GAP
) -> Explosion:
    """The exploded view in which gaps are wide enough on the paper and parts come out from behind each other.

    Parameters
    ----------
    scale : of the paper
    share : of its own size by which a part comes out
    gap : between parts, mm on the paper
    """
    gaps = gaps_for(view.axes, scale, gap)
    sideways = np.zeros((len(order.units), 3))
    first = explode(order, gaps, Sight(view.axes, order.units, sideways, share).show)
    # How far what goes up and down has to go depends on where the sides are.
    sideways = np.where(first.offsets[:, 2:] == 0, first.offsets, 0.0)
    return explode(order, gaps, Sight(view.axes, order.units, sideways, share).show)


def corners(explosion: Explosion, axes: Floats, shown: Collection[str]) -> Floats:
    """(n, 3) float, mm in the view's axes: corners of the boxes of shown parts where they end up."""
    blocking, moved = explosion.layout.blocking, explosion.part_offsets(1.0)
    ends = np.stack([blocking.low + moved, blocking.high + moved])[:, blocking.numbers(shown)]
    found = [
        np.stack([ends[x, :, 0], ends[y, :, 1], ends[z, :, 2]], axis=1)
        for x in (0, 1)
        for y in (0, 1)
        for z in (0, 1)
    ]
    return np.concatenate(found) @ axes.T
