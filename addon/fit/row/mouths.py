"""What can happen where the nose of a leaf meets the next opening, held by those that it is in already."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from ...model.tolerances import WELD
from .stances import Stances, outward

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from .profile import Profiles
    from .stances import Function

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]

Verdict = Literal["guides-itself", "needs-steering", "does-not-pass"]

VERDICTS: Final[tuple[Verdict, ...]] = ("guides-itself", "needs-steering", "does-not-pass")
"""From the best to the worst."""

_MISS: Final = 0.25
"""Share of the leaf's thickness by which a pose misses a mouth where nothing limits how far it may miss."""


@dataclass(frozen=True)
class Pose:
    """Where a leaf is: its lower leading corner at (travel, height) mm, tilted by `tilt` rad, nose up positive."""

    travel: float
    height: float
    tilt: float


@dataclass(frozen=True)
class MouthProof:
    """What can happen where the nose meets an opening; lengths in mm, heights are those of the lower leading corner.

    Parameters
    ----------
    verdict : None where nothing is judged: the first mouth, into which the hand leads the leaf, and mouths that the
        nose never meets
    nose_low, nose_high : where the openings before let the nose be; None where they do not hold it. For an eased lead
        these are the ends of its blunt face, less the t·sqrt(1 + s²) between them
    catch_low, catch_high : what the mouth catches; None where it has no wood on that side
    margin : the smaller distance between the two; negative where the nose can miss the mouth
    snag : the pose that misses it by the most
    hand : how high above level the outer end must at least and may at most be held so that the nose cannot miss; an end
        is None where nothing is to be minded there, the whole where the outer end does not decide it
    """

    verdict: Verdict | None = None
    nose_low: float | None = None
    nose_high: float | None = None
    catch_low: float | None = None
    catch_high: float | None = None
    margin: float | None = None
    snag: Pose | None = None
    hand: tuple[float | None, float | None] | None = None


def prove_mouths(profiles: Profiles) -> list[tuple[MouthProof, ...]]:
    """All mouths of all rows: one proof an opening."""
    met = np.array(
        [
            (number, place)
            for number, row in enumerate(profiles.rows)
            for place, one in enumerate(row.openings)
            if row.first < one.face <= row.travel
        ],
        dtype=np.intp,
    ).reshape(-1, 2)
    proofs = [[MouthProof()] * len(row.openings) for row in profiles.rows]
    if len(met):
        for (number, place), proof in zip(met.tolist(), _prove(profiles, met[:, 0], met[:, 1]), strict=True):
            proofs[number][place] = proof
    return [tuple(own) for own in proofs]


def _prove(profiles: Profiles, row: Ints, place: Ints) -> list[MouthProof]:
    depth = profiles.x[row, place, 0]
    before = profiles.x[row, :, 0] < depth[:, None]
    stances = Stances(profiles, row, depth, before)
    inside, room = stances.best()
    falling, rising = stances.last(inside, -1), stances.last(inside, 1)
    catch_low, catch_high = profiles.low[row, place, 0], profiles.high[row, place, 0]
    lead, thickness = profiles.lead_rise[row], profiles.thickness[row]
    low = np.where(np.isfinite(falling), stances.lowest_nose(_finite(falling))[0], -np.inf)
    top = np.where(np.isfinite(rising), stances.highest_top(_finite(rising))[0], np.inf)
    margins = np.stack([low + lead - catch_low, catch_high - (top - lead)])
    aims = _aims(profiles, row, stances, inside, catch_low - lead, catch_high + lead, falling, rising)
    rest = np.array([profiles.rows[number].rest for number in row])
    proofs = []
    for one in range(len(row)):
        if room[one] < -WELD:
            proofs.append(
                MouthProof("does-not-pass", None, None, _or_none(catch_low[one]), _or_none(catch_high[one]))
            )
            continue
        slant = np.sqrt(1 + _finite(rising[one : one + 1])[0] ** 2)
        margin = float(margins[:, one].min())
        verdict: Verdict = "guides-itself" if margin >= -WELD else "needs-steering"
        hand = None
        if verdict == "needs-steering":
            hand = _hand(aims, one, margins[:, one], profiles.length[row[one]], rest[one])
        proofs.append(
            MouthProof(
                verdict,
                _or_none(low[one] + lead[one]),
                _or_none(top[one] - lead[one] - thickness[one] * slant),
                _or_none(catch_low[one]),
                _or_none(catch_high[one]),
                _or_none(margin),
                aims.snag(one, margins[:, one]) if verdict == "needs-steering" else None,
                hand,
            )
        )
    return proofs


@dataclass(frozen=True, eq=False)
class _Aims:
    """Slopes and heights of the nose at which it just misses the mouth, and of the worst miss; (n,) float each."""

    depth: Floats
    low_slope: Floats
    low_height: Floats
    high_slope: Floats
    high_height: Floats
    worst_low: tuple[Floats, Floats]
    worst_high: tuple[Floats, Floats]

    def snag(self, one: int, margins: Floats) -> Pose:
        """The pose that misses by the most, on the worse side."""
        slope, height = self.worst_low if margins[0] <= margins[1] + WELD else self.worst_high
        return Pose(float(self.depth[one]), float(height[one]), float(np.arctan(slope[one])))


def _aims(
    profiles: Profiles, row: Ints, stances: Stances, inside: Floats,
    low: Floats, high: Floats, falling: Floats, rising: Floats,
) -> _Aims:  # fmt: skip
    """Where poses begin to miss a mouth that catches the whole leaf between `low` and `high`, (n,) float mm.

    A nose that is too low comes from an outer end held too high: the least such height is that of the steepest slope
    at which the nose can be as low as that. Where nothing limits the nose, a pose that plainly misses stands for the
    worst.
    """
    thickness = profiles.thickness[row]
    low_miss, high_miss = low - _MISS * thickness, high + _MISS * thickness
    low_slope, far_low = (_where(stances.lowest_nose, aim, inside) for aim in (low, low_miss))
    high_slope, far_high = (_where(stances.highest_top, aim, inside) for aim in (high, high_miss))
    held_low, held_high = np.isfinite(falling), np.isfinite(rising)
    worst_low, worst_high = np.where(held_low, falling, far_low), np.where(held_high, rising, far_high)
    reach_low = np.where(held_low, stances.lowest_nose(worst_low)[0], low_miss)
    top = np.where(held_high, stances.highest_top(worst_high)[0], high_miss)
    return _Aims(
        stances.depth[:, 0],
        low_slope,
        low,
        high_slope,
        high - thickness * np.sqrt(1 + high_slope**2),
        (worst_low, reach_low),
        (worst_high, top - thickness * np.sqrt(1 + worst_high**2)),
    )


def _where(height: Function, aim: Floats, inside: Floats) -> Floats:
    """(n,) float: the slope nearest to `inside` at which a height that grows with the slope is `aim`, mm.

    `inside` where nothing bounds that height: then a leaf so inclined reaches any.
    """

    def missing(slope: Floats) -> tuple[Floats, Floats]:
        value, turn = height(slope)
        return value - aim, turn

    now = missing(inside)[0]
    bounded = np.isfinite(now)

    def bounded_missing(slope: Floats) -> tuple[Floats, Floats]:
        value, turn = missing(slope)
        return np.where(np.isfinite(value), value, 1.0), turn

    slope = outward(bounded_missing, inside, np.where(now > 0, -1.0, 1.0))
    return np.where(bounded & np.isfinite(slope), slope, inside)


def _hand(
    aims: _Aims, one: int, margins: Floats, length: float, rest: float
) -> tuple[float | None, float | None] | None:
    """How far the outer end may be off level; None where no height of it alone makes the nose meet the mouth."""
    if not np.isfinite(margins).any():
        return None
    most = least = None
    if margins[0] < 0:
        slope = aims.low_slope[one]
        most = float(aims.low_height[one] - length * slope / np.sqrt(1 + slope**2) - rest)
    if margins[1] < 0:
        slope = aims.high_slope[one]
        least = float(aims.high_height[one] - length * slope / np.sqrt(1 + slope**2) - rest)
    if least is not None and most is not None and least > most:
        return None
    return least, most


def _finite(values: Floats) -> Floats:
    return np.where(np.isfinite(values), values, 0.0)


def _or_none(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
