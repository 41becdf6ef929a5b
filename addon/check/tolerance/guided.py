"""In which random tables a leaf finds its own way home: the openings that its nose may miss, the likeliest first."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Floats
from ...sizes.tolerances import WELD
from ..row.openings import margins_at, met
from ..row.profile import Profiles, profiles
from .model import RowModel


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
    thickness = drawn.thickness + model.thickness @ off

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
        thickness,
        leaf(drawn.travel),
        leaf(drawn.lead_run),
        leaf(drawn.lead_rise),
        leaf(drawn.hand),
        _rest(model, x[:, :, 0], drawn.low[0, :, 1] + sill[:, :, 0]) + thickness / 2,
        (model.row,) * count,
    )


def _rest(model: RowModel, face: Floats, sill: Floats) -> Floats | float:
    """Heights of the leaf's lower edge on its way, mm, with faces and sills of the openings, (n, openings) float mm
    each, -inf where there is none; see `Row.rest`."""
    if model.row.level is not None:
        return model.row.level
    face = np.where(np.isfinite(sill), face, np.inf)
    first = np.isfinite(sill) & (face == face.min(axis=1, keepdims=True, initial=np.inf))
    return np.where(first.any(axis=1), np.where(first, sill, np.inf).min(axis=1, initial=np.inf), 0.0)


def guides(model: RowModel, off: Floats) -> NDArray[np.bool_]:
    """(n,) bool: whether a row guides its leaf, for poses that its hand holds, with own deviations (used, n) float mm.

    Which openings a nose meets is settled table by table: an edge that is hidden behind a strip as drawn stands out
    from it where its window is cut a little narrower.
    """
    guided = np.ones(off.shape[1], dtype=bool)
    table, met_there = met(profiles_at(model, off)).T
    place = np.unique(met_there)
    if not len(place):
        return guided
    margins = margins_at(profiles((model.row,)), np.zeros(len(place), dtype=np.intp), place)
    for one in place[np.argsort(margins, kind="stable")].tolist():
        left = table[(met_there == one) & guided[table]]
        if len(left):
            own = profiles_at(model, off[:, left])
            margins = margins_at(own, np.arange(len(left)), np.full(len(left), one))
            guided[left] = margins >= -WELD
    return guided
