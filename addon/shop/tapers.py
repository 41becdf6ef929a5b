r"""Tapers sawn on a jig: a sled that runs along the fence, on which each board lies with its taper over the edge.

  foot                                      seen from above; the blade cuts along the sled's edge
   ______________________________
  |\                             |  stop    what lies beyond the edge falls off: A at the foot, nothing where the
  | \____________________________|  B       taper begins, and at the other end the board stands back by B
A |_____________________________ edge of the sled, line of the blade
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import atan2, degrees
from typing import Final, Literal

from ..sizes.units import Units
from ..wood.features import EdgeTaper, Taper
from ..wood.part import Part
from .cut_list import exact
from .figures import Figure
from .job import Job

TOOTH: Final[dict[Units, float]] = {"mm": 5.0, "in": 25.4 * 3 / 16}
"""How far the blade stands out of the wood, mm: about a tooth (common practice, no source)."""

BASE: Final[dict[Units, float]] = {"mm": 12.0, "in": 25.4 / 2}
"""Thickness of the jig's base, mm (common practice, no source)."""

Lying = Literal["flat", "on edge"]


@dataclass(frozen=True, eq=False)
class TaperCut:
    """One setting of the jig.

    Parameters
    ----------
    labels : of the boards, each as often as it is cut so
    lying : flat where an edge is sawn, on edge where a face is
    length : of the board
    run : from the foot to where the taper begins
    foot : A, by how much the foot stands over the sled's edge
    back : B, how far back from the edge the other end is
    angle : between the board and the sled's edge
    wood : what the blade goes through
    blade : how high it stands over the jig's base
    reached : whether a blade of the shop's reach goes through in one pass
    """

    labels: tuple[str, ...]
    lying: Lying
    length: Figure
    run: Figure
    foot: Figure
    back: Figure
    angle: Figure
    wood: Figure
    blade: Figure
    reached: bool


def taper_cuts(job: Job) -> tuple[TaperCut, ...]:
    """All settings of the jig, those of the longest tapers first."""
    found: dict[tuple[str, ...], tuple[TaperCut, list[str]]] = {}
    for part in job.drawn.parts:
        for one in _of_part(job, part):
            key = one.lying, one.length.printed, one.run.printed, one.foot.printed, one.wood.printed
            found.setdefault(key, (one, []))[1].append(part.label)
    cuts = [replace(one, labels=tuple(labels)) for one, labels in found.values()]
    return tuple(sorted(cuts, key=lambda one: (-one.run.value, one.lying)))


def _of_part(job: Job, part: Part) -> Iterator[TaperCut]:
    for number, feature in enumerate(part.shape.features):
        if not isinstance(feature, EdgeTaper | Taper):
            continue
        own = {
            one.name: job.rounded.figure(part, one) for one in part.shape.dimensions if one.number == number
        }
        board = {
            one.name: job.rounded.figure(part, one) for one in part.shape.dimensions if one.number is None
        }
        lying: Lying = "flat" if isinstance(feature, EdgeTaper) else "on edge"
        yield _cut(job, part.label, lying, own["taper_length"], own["taper_amount"], board)


def _cut(
    job: Job, label: str, lying: Lying, run: Figure, amount: Figure, board: dict[str, Figure]
) -> TaperCut:
    wood = board["thickness" if lying == "flat" else "width"]
    tools, units = job.tools, job.units
    high = wood.value + TOOTH[units]
    turned = degrees(atan2(amount.value, run.value))
    behind = amount.value * (board["length"].value - run.value) / run.value
    return TaperCut(
        (label,),
        lying,
        board["length"],
        run,
        amount,
        job.rule.figure("taper, B", behind),
        Figure("taper, angle", round(turned, 1), f"{turned:.1f}", unit="°"),
        exact(job, "taper, wood at the blade", wood.value),
        job.rule.figure("taper, blade over the base", high, "up"),
        high + BASE[units] <= tools.blade_reach,
    )
