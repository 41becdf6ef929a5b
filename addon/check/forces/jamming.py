"""Whether friction can hold a leaf on its way home, and where a hand or a handle may push it: closed forms.

The model is rigid and plane, with Coulomb friction and no twist, bow, dust or swelling, and the coefficient of friction
is uncertain by a factor of two. The formulas broadcast; lengths in mm, angles in rad.

Words: a guided length L (`guidance`) lies along the travel between two diagonal contacts; a push along the travel acts
at an offset e from the middle of the leaf, whose width across the travel is w: in the side view its thickness, in the
plan view its width.

- jamming: the push's own moment presses the contacts so hard that their friction holds it. Another push frees the leaf.
- wedging: the line between the contacts lies in both friction cones. Then no push along the travel need free it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ...sizes.arrays import Floats
from ...wood.limits import Limits
from ..row.profile import Row
from .guidance import UNGUIDED, Guidance, Interval, Piecewise, Straight, guidance, united

FRICTION: Final = Limits.friction
"""Coefficient of friction where nothing else is said; that of `Limits.friction`.

Measured on solid wood: chestnut on chestnut static 0.36 to 0.55, mean 0.46, kinetic 0.28 to 0.39, mean 0.33
(Villar-Garcia et al., Int. Agrophysics 34, 2020); Scots pine static 0.24 and kinetic 0.17 on transverse faces, 0.12 and
0.08 on radial faces along the grain (Aira et al., Materiales de Construccion 64, 2014). Smooth dry wood on a hard
smooth surface, kinetic 0.3 to 0.5 (USDA Wood Handbook, from memory). Plywood on plywood: common practice, no source.
"""

NEAR_WEDGING: Final = 1.2
"""Factor on the guided length where it is near the wedging limit: there the plain rule was seen to promise too much, in
a simulation with a rigid-body physics engine that agreed with it within 1 to 7 % elsewhere."""

CLEAR: Final = 2.0
"""Factor on the guided length that a clear margin has: then twice the friction would still not hold the leaf (common
practice, no source)."""


def least_guided_length(offset: ArrayLike, mu: ArrayLike) -> Floats:
    """2·mu·e, mm: a leaf pushed at an offset moves while its guided length is more than this.

    Balance of a rigid drawer: the contacts press with N = F·e / L each, and it moves while F > 2·mu·N.
    """
    return 2.0 * np.asarray(mu, dtype=float) * np.abs(np.asarray(offset, dtype=float))


def greatest_offset(length: ArrayLike, mu: ArrayLike) -> Floats:
    """L / (2·mu), mm: a push less far off the middle than this moves the leaf (`least_guided_length` turned round)."""
    return np.asarray(length, dtype=float) / (2.0 * np.asarray(mu, dtype=float))


def prudent_offset(length: ArrayLike, width: ArrayLike, mu: ArrayLike) -> Floats:
    """Greatest offset of a push, mm, less by `NEAR_WEDGING` while the guided length is no longer than that times the
    wedging length."""
    length = np.asarray(length, dtype=float)
    near = length <= NEAR_WEDGING * wedging_length(width, mu)
    return greatest_offset(np.where(near, length / NEAR_WEDGING, length), mu)


def wedging_length(width: ArrayLike, mu: ArrayLike) -> Floats:
    """mu·w, mm: a leaf with a guided length up to this may wedge.

    It is the same length over which a leaf has to be guided to be pushed anywhere on an edge of width w, since there
    e is w / 2 at most. D. E. Whitney, J. Dyn. Sys. Meas. Control 104 (1982): l <= mu·d.
    """
    return np.asarray(mu, dtype=float) * np.asarray(width, dtype=float)


def wedging_tilt(clearance_ratio: ArrayLike, mu: ArrayLike) -> Floats:
    """c / mu, rad, with c = (opening - width) / opening: a leaf that is tilted by more than this when it comes to stand
    on two contacts may wedge. Whitney (1982); small tilts."""
    return np.asarray(clearance_ratio, dtype=float) / np.asarray(mu, dtype=float)


def entry_tilt(clearance_ratio: ArrayLike) -> Floats:
    """arccos(1 - c), rad: the tilt up to which a square end enters an opening at all; sqrt(2·c) for a small one
    (Whitney 1982)."""
    return np.arccos(1.0 - np.asarray(clearance_ratio, dtype=float))


def two_handle_friction(length: ArrayLike, spacing: ArrayLike) -> Floats:
    """L / s: the friction from which on a drawer sticks when it is pulled by one of two handles s apart."""
    return np.asarray(length, dtype=float) / np.asarray(spacing, dtype=float)


def push_factor(lean: ArrayLike, mu: ArrayLike) -> Floats:
    """tan(lean + arctan(mu)): push along the travel for each unit of force across it, on a chamfer that leans by `lean`
    from the travel, rad (statics of a wedge). inf where no push climbs it: from 90 degrees on."""
    angle = np.asarray(lean, dtype=float) + np.arctan(np.asarray(mu, dtype=float))
    climbs = angle < np.pi / 2 - 1e-12
    return np.where(climbs, np.tan(np.where(climbs, angle, 0.0)), np.inf)


def jamming_corners(length: float, width: float, mu: float) -> Floats:
    """Corners of the jamming diagram: (4, 2) float, in order around it.

    On its axes stand the push across the travel and the moment about the leading end's middle over half the width,
    each over the push along the travel; a moment is positive that turns from the travel toward the push across. Inside
    the parallelogram a leaf on two contacts slides, outside it jams.
    D. E. Whitney, MIT 2.875, class 3; Chin. J. Mech. Eng. 38:196 (2025), Fig. 6.
    """
    ratio = length / (width * mu)
    return np.array(
        [(-1 / mu, 2 * ratio + 1), (1 / mu, -1.0), (1 / mu, -(2 * ratio + 1)), (-1 / mu, 1.0)], dtype=float
    )


def slides(across: ArrayLike, moment: ArrayLike, length: float, width: float, mu: float) -> NDArray[np.bool_]:
    """Whether a leaf on two contacts slides under pushes across and moments, each over the push along the travel.

    Parameters
    ----------
    across, moment : as on the axes of `jamming_corners`; broadcast
    """
    across, moment = np.asarray(across, dtype=float), np.asarray(moment, dtype=float)
    ratio = length / (width * mu)
    return (np.abs(across) < 1 / mu) & (np.abs(moment + mu * (ratio + 1) * across) < ratio)


PhaseName = Literal["unguided", "entry", "held"]


@dataclass(frozen=True)
class Margins:
    """One quantity at three margins, mm. Which is the stricter depends on the quantity; None: it never comes to that.

    Parameters
    ----------
    plain : by the bare rule
    near : with the factor `NEAR_WEDGING` where the guided length is near the wedging limit
    clear : with the factor `CLEAR`, for a verdict with a clear margin
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
    wedging = float(wedging_length(row.thickness, mu))
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
        float(greatest_offset(length, mu)),
        float(prudent_offset(length, width, mu)),
        float(greatest_offset(length / CLEAR, mu)),
    )


def _anywhere(least: Piecewise, width: float, mu: float) -> Margins:
    """A push on the edge's very end is at the wedging limit by itself, so that `NEAR_WEDGING` always counts there."""
    needed = float(least_guided_length(width / 2, mu))
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
        found.append(Climb(number, lean, float(push_factor(lean, mu))))
    return tuple(found)
