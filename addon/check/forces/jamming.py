"""Whether friction can hold a leaf on its way home, and where a hand or a handle may push it.

In the side view the leaf's thickness counts across the travel, in the plan view its width. The formulas and what the
model leaves out are in `friction`; the guided length comes from `guidance`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from ..row.profile import Row
from . import friction
from .friction import CLEAR, FRICTION, NEAR_WEDGING
from .guidance import UNGUIDED, Guidance, guidance
from .piecewise import Interval, Piecewise, Straight, united

PhaseName = Literal["unguided", "entry", "held"]


@dataclass(frozen=True)
class Margins:
    """One quantity at three margins, mm. Which is the stricter depends on the quantity; None: it never comes to that.

    Parameters
    ----------
    plain : by the bare rule
    near : with the factor `friction.NEAR_WEDGING` where the guided length is near the wedging limit
    clear : with the factor `friction.CLEAR`, for a verdict with a clear margin
    """

    plain: float | None
    near: float | None
    clear: float | None


@dataclass(frozen=True)
class Phase:
    """A stretch of the way.

    Parameters
    ----------
    name : ``entry`` with both contacts in one opening, ``held`` with them in two, ``unguided`` with none
    start, stop : travel, mm
    least, greatest : guided length, mm
    offset : how far from the leaf's middle one handle may pull or push throughout, mm; half the width or more means
        anywhere
    """

    name: PhaseName
    start: float
    stop: float
    least: float
    greatest: float
    offset: Margins


@dataclass(frozen=True)
class Climb:
    """How a leaf that meets an opening off its middle gets in.

    Parameters
    ----------
    opening : number in the row
    lean : of the steeper of the opening's and the leaf's chamfer, from the travel, rad; a right angle without any
    factor : push along the travel for each unit of force across it; inf where no push does
    """

    opening: int
    lean: float
    factor: float

    @property
    def climbs(self) -> bool:
        """Whether a push makes the leaf slide up the chamfer."""
        return bool(np.isfinite(self.factor))


@dataclass(frozen=True)
class Jamming:
    """A leaf on its way, with friction. Travel is the x of its leading end in the row's coordinates, mm.

    Parameters
    ----------
    width : of the outer edge that may be pushed, mm
    mu : coefficient of friction
    guidance : guided length over travel
    phases : the way in order
    anywhere_from : travel after which the outer edge may be pushed anywhere, up to its end; None: not even stowed
    home_length : guided length stowed, mm
    home_offset : largest offset of a push stowed, mm
    seated : travel at which the nose is through the first opening that holds it; before that a hand has to lead it
    offset : how far from the middle one handle may be at most, from `seated` to its end, mm
    wedging_length : guided length up to which the leaf may wedge, mm
    wedging : stretches of travel in which it may
    climbs : one an opening
    """

    row: Row
    width: float
    mu: float
    guidance: Guidance
    phases: tuple[Phase, ...]
    anywhere_from: Margins
    home_length: float
    home_offset: Margins
    seated: float
    offset: Margins
    wedging_length: float
    wedging: tuple[Interval, ...]
    climbs: tuple[Climb, ...]


def judge(row: Row, width: float | None = None, mu: float = FRICTION) -> Jamming:
    """All that friction does to a leaf in one view.

    Parameters
    ----------
    row : in the side view or the plan view
    width : of the outer edge that may be pushed in this view, mm; by default all of it, the row's thickness
    mu : coefficient of friction, more than 0
    """
    width = row.thickness if width is None else width
    guided = guidance(row)
    least = guided.least
    opening = min(row.openings, key=lambda one: (not one.holds, one.face))
    seated = min(max(opening.end - opening.exit.run + row.lead.run, least.start), least.stop)
    stowed = float(least.at(least.stop))
    wedging = float(friction.wedging_length(row.thickness, mu))
    return Jamming(
        row,
        width,
        mu,
        guided,
        _phases(least, row.thickness, mu),
        _anywhere(least, width, mu),
        stowed,
        _offsets(stowed, row.thickness, mu),
        seated,
        _offsets(least.least(seated), row.thickness, mu),
        wedging,
        united([*guided.nose_low.within(wedging), *guided.nose_high.within(wedging)]),
        climbs(row, mu),
    )


def _offsets(length: float, width: float, mu: float) -> Margins:
    return Margins(
        float(friction.greatest_offset(length, mu)),
        float(friction.prudent_offset(length, width, mu)),
        float(friction.greatest_offset(length / CLEAR, mu)),
    )


def _anywhere(least: Piecewise, width: float, mu: float) -> Margins:
    """A push on the edge's very end is at the wedging limit by itself, so that `NEAR_WEDGING` always counts there."""
    needed = float(friction.least_guided_length(width / 2, mu))
    return Margins(*(least.above_from(factor * needed) for factor in (1.0, NEAR_WEDGING, CLEAR)))


def _phases(least: Piecewise, width: float, mu: float) -> tuple[Phase, ...]:
    stretches: list[tuple[PhaseName, list[Straight]]] = []
    for piece in least.pieces:
        name = _phase_name(piece)
        if stretches and stretches[-1][0] == name:
            stretches[-1][1].append(piece)
        else:
            stretches.append((name, [piece]))
    phases = []
    for name, pieces in stretches:
        ends = [end for piece in pieces for end in (piece.first, piece.last)]
        offset = _offsets(min(ends), width, mu)
        phases.append(Phase(name, pieces[0].start, pieces[-1].stop, min(ends), max(ends), offset))
    return tuple(phases)


def _phase_name(piece: Straight) -> PhaseName:
    if piece.tag == UNGUIDED:
        return "unguided"
    return "entry" if len(set(piece.tag)) == 1 else "held"


def climbs(row: Row, mu: float = FRICTION) -> tuple[Climb, ...]:
    """How the leaf gets up the chamfers of every opening. A leading end and an opening without any meet squarely."""
    found = []
    for number, opening in enumerate(row.openings):
        chamfers = [one for one in (opening.entry, row.lead) if one.run > 0 and one.rise > 0]
        lean = max((float(np.arctan2(one.rise, one.run)) for one in chamfers), default=np.pi / 2)
        found.append(Climb(number, lean, float(friction.push_factor(lean, mu))))
    return tuple(found)
