"""In which random tables a leaf finds its own way home: the openings that its nose may miss, the likeliest first."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ...sizes.tolerances import WELD
from ..row.openings import margins_at, met
from ..row.profile import Profiles, profiles

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from .model import RowModel

    Floats = NDArray[np.float64]


def profiles_at(model: RowModel, off: Floats) -> Profiles:
    """The row with its own deviations (used, n) float mm, as n rows.

    Their `rows` are the row as drawn, n times; what is asked of them must not depend on the deviations.
    """
    count = off.shape[1]
    drawn = profiles((model.row,))
    face, sill, head = ((own @ off).T[:, :, None] for own in (model.face, model.sill, model.head))
    board = (model.board @ off).T[:, :, None]
    x = np.broadcast_to(drawn.x, (count, *drawn.x.shape[1:])) + face
    x[:, :, 2:] += board

    def of_all(values: NDArray[np.bool_]) -> NDArray[np.bool_]:
        return np.repeat(values, count, axis=0)

    def leaf(values: Floats) -> Floats:
        return np.repeat(values, count)

    return Profiles(
        x,
        drawn.low + sill,
        drawn.high + head,
        of_all(drawn.present),
        of_all(drawn.holds),
        drawn.length + model.length @ off,
        drawn.thickness + model.thickness @ off,
        leaf(drawn.travel),
        leaf(drawn.lead_run),
        leaf(drawn.lead_rise),
        leaf(drawn.hand),
        leaf(drawn.line),
        (model.row,) * count,
    )


def guides(model: RowModel, off: Floats) -> NDArray[np.bool_]:
    """(n,) bool: whether a row guides its leaf, for poses that its hand holds, with own deviations (used, n) float mm.

    Which openings a nose meets at all is settled on the row as drawn.
    """
    left = np.arange(off.shape[1])
    drawn = profiles((model.row,))
    place = met(drawn)[:, 1]
    if not len(place):
        return np.ones(off.shape[1], dtype=bool)
    margins = margins_at(drawn, np.zeros(len(place), dtype=np.intp), place)
    for one in place[np.argsort(margins, kind="stable")].tolist():
        if not len(left):
            break
        own = profiles_at(model, off[:, left])
        margins = margins_at(own, np.arange(len(left)), np.full(len(left), one))
        left = left[margins >= -WELD]
    verdict = np.zeros(off.shape[1], dtype=bool)
    verdict[left] = True
    return verdict
