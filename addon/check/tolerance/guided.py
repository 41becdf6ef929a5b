"""In which random tables the leaves find their own way home: the openings that a nose may miss, the likeliest first."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ...sizes.tolerances import WELD
from ..row.openings import margins_at
from ..row.profile import Profiles, profiles
from ..row.proof import prove

if TYPE_CHECKING:
    from collections.abc import Sequence

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
        (model.row,) * count,
    )


def guide_themselves(models: Sequence[RowModel], deviations: Floats) -> NDArray[np.bool_]:
    """(n,) bool: tables, given by their deviations (deviations, n) float mm, none of whose leaves needs steering.

    Which openings a nose meets at all is settled on the row as drawn.
    """
    left = np.arange(deviations.shape[1])
    for model, place in _openings(models):
        if not len(left):
            break
        own = profiles_at(model, deviations[model.used][:, left])
        margins = margins_at(own, np.arange(len(left)), np.full(len(left), place))
        left = left[margins >= -WELD]
    verdict = np.zeros(deviations.shape[1], dtype=bool)
    verdict[left] = True
    return verdict


def _openings(models: Sequence[RowModel]) -> list[tuple[RowModel, int]]:
    """Openings that are judged, with the row each, in the order of their margins as drawn."""
    found = []
    for model, proof in zip(models, prove([model.row for model in models]), strict=True):
        for place, proved in enumerate(proof.openings):
            if proved.verdict is not None:
                found.append((-np.inf if proved.margin is None else proved.margin, len(found), model, place))
    return [(model, place) for _, _, model, place in sorted(found, key=lambda one: one[:2])]
