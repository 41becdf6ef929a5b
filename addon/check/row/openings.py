"""What can happen where the nose of a leaf meets the next opening, held by those that it is in already.

      #####        #####           #####  . . . . .  catch_high: the outer end of the chamfer
      #####        #####   nose_top  ###
       =========================         - - - - -   between nose_low and nose_high the openings behind let
             leaf              nose      - - - - -   the nose be, by any pose that they allow
      #####        #####             ###
      #####        #####           #####  . . . . .  catch_low
      held by these                meets this one

The opening catches the nose if it can be nowhere but between catch_low and catch_high; the smaller of the two distances
is the margin. Where it is negative, the pose at that end of what is free proves that the nose can miss: a snag. How
high the hand may hold the outer end follows from the poses that do not miss. Where a row says how far off line its hand
holds the outer end, only poses that it holds count: what any pose meets is met by these too, and what some pose misses
is asked again with the hand as one more opening, at the outer end.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import atan, cos, hypot, isfinite, isinf, sin
from typing import Final, Literal

import numpy as np

from ...sizes.arrays import Floats, Ints
from ...sizes.tolerances import WELD
from .corners import LeadingCorners, first_miss, reaching, straying
from .profile import Profiles, Row, hidden
from .stances import Stances

Verdict = Literal["guides-itself", "needs-steering", "does-not-pass"]

VERDICTS: Final[tuple[Verdict, ...]] = ("guides-itself", "needs-steering", "does-not-pass")
"""From the best to the worst."""

_MISS: Final = 0.25
"""Share of the leaf's thickness by which a pose misses an opening where nothing limits how far it may miss."""

_FREE: Final = 1.0
"""Slope of such a pose, at most."""

_LEAST: Final = 1e-6
"""mm; an outer end that is less off line than this is on it."""

_CLOSE: Final = 1e-10
"""How far off line an outer end may be is found to this share of the most that it can be,"""

_EXACT: Final = 1e-10
"""or when the margin there is no more than this, mm."""

_STEPS: Final = 100


@dataclass(frozen=True)
class Pose:
    """Where a leaf is: its lower leading corner at (travel, height) mm, tilted by `tilt` rad, nose up positive."""

    travel: float
    height: float
    tilt: float


@dataclass(frozen=True)
class OpeningProof:
    """What can happen where the nose meets an opening; lengths in mm, heights are those of the lower leading corner.

    Parameters
    ----------
    verdict : None where nothing is judged: the first opening, into which the hand leads the leaf, and openings that the
        nose never meets
    nose_low, nose_high : where the openings before let the nose be when it gets there; None where they do not hold
        it. For an eased lead these are the ends of its blunt face, less the t·sqrt(1 + s²) between them
    catch_low, catch_high : what the opening catches; None where it has no wood on that side
    margin : the smaller distance between the two; negative where the nose can miss the opening
    snag : the pose that misses it by the most
    hand : how high above its line the middle of the outer end must at least and may at most be held so that the nose
        cannot miss; an end is None where nothing is to be minded there, the whole where the outer end does not decide
    nose_top : how high the upper end of the nose's blunt face can be; None where nothing holds it
    steer : least distance off line of the outer end with which the nose can miss, mm; None: with none
    """

    verdict: Verdict | None = None
    nose_low: float | None = None
    nose_high: float | None = None
    catch_low: float | None = None
    catch_high: float | None = None
    margin: float | None = None
    snag: Pose | None = None
    hand: tuple[float | None, float | None] | None = None
    nose_top: float | None = None
    steer: float | None = None


def prove_openings(profiles: Profiles) -> list[tuple[OpeningProof, ...]]:
    """All openings of all rows: one proof an opening."""
    asked = met(profiles)
    proofs = [[OpeningProof()] * len(row.openings) for row in profiles.rows]
    if len(asked):
        for (number, place), proof in zip(asked.tolist(), _prove(profiles, *asked.T), strict=True):
            proofs[number][place] = proof
    return [tuple(own) for own in proofs]


def least_margins(profiles: Profiles) -> Floats:
    """(rows,) float, mm: by how much the nose meets the opening that it may miss first; inf where none is judged.

    -inf where nothing holds the leaf, or where it does not come as far. As `prove_openings` has it, with less work.
    """
    least = np.full(len(profiles.rows), np.inf)
    asked = met(profiles)
    if len(asked):
        row, place = asked.T
        np.minimum.at(least, row, margins_at(profiles, row, place))
    return least


def margins_at(profiles: Profiles, row: Ints, place: Ints) -> Floats:
    """(n,) float, mm: margins of single openings, given by row and number, (n,) int each; see `least_margins`."""
    hand = profiles.hand[row]
    low, high, room = _both_sides(profiles, row, place, hand)
    margin = np.where(room < -WELD, -np.inf, np.minimum(low.margin, high.margin))
    astray = np.flatnonzero((room < -WELD) & np.isfinite(hand))
    if len(astray):
        # No pose is as near to its line as that: those count that there are.
        margin[astray] = margins_at(
            replace(profiles, hand=np.full_like(profiles.hand, np.inf)), row[astray], place[astray]
        )
    return margin


def met(profiles: Profiles) -> Ints:
    """(n, 2) int: row and opening of each opening that the nose meets and that is judged."""
    face = np.where(profiles.present, profiles.x[:, :, 0], np.inf)
    first = face.min(axis=1, initial=np.inf)
    there = profiles.present & (face > first[:, None]) & (face <= profiles.travel[:, None])
    return np.argwhere(there & ~hidden(profiles))


@dataclass(frozen=True, eq=False)
class _Misses:
    """How a leading corner may miss openings on one side; (n,) float each, mm. The side is that of wood below.

    Attributes
    ----------
    reach : lowest height of the corner at the opening; -inf where nothing holds it
    margin : how far that is above what the opening catches; inf where it has no wood on this side
    slope, height : of the leaf, and of the corner, in the worst pose
    aim, begins : height of the corner, and slope nearest to a level leaf, with which it just misses; nan where it
        cannot, infinite where the openings let go of the leaf before, so that the outer end does not decide it
    """

    reach: Floats
    margin: Floats
    slope: Floats
    height: Floats
    aim: Floats
    begins: Floats

    def put(self, which: Ints, some: _Misses) -> None:
        """Set some of them, by number."""
        for name, values in vars(some).items():
            getattr(self, name)[which] = values

    def take(self, which: Ints) -> _Misses:
        """Some of them, by number."""
        return _Misses(*(values[which] for values in vars(self).values()))

    def turned(self) -> _Misses:
        """Those of the upper corner, found as those of the lower one with the leaf and its openings upside down."""
        return _Misses(-self.reach, self.margin, -self.slope, -self.height, -self.aim, -self.begins)


def _prove(profiles: Profiles, row: Ints, place: Ints) -> list[OpeningProof]:
    low, high, room = _both_sides(profiles, row, place, poses=True)
    most, least = _outer_end(profiles, row, low, high)
    steer = _steer(profiles, row, place, np.minimum(low.margin, high.margin), (least, most))
    missed = np.flatnonzero((room >= -WELD) & (np.minimum(low.margin, high.margin) < -WELD))
    missed = missed[np.isfinite(profiles.hand[row[missed]])]
    if len(missed):
        own = row[missed], place[missed], profiles.hand[row[missed]]
        held_low, held_high, held_room = _both_sides(profiles, *own, poses=True)
        there = np.flatnonzero(held_room >= -WELD)
        low.put(missed[there], held_low.take(there))
        high.put(missed[there], held_high.take(there))
    depth = profiles.x[row, place, 0]
    catch_low, catch_high = profiles.low[row, place, 0], profiles.high[row, place, 0]
    verdicts = _verdicts(room, np.minimum(low.margin, high.margin))
    return [
        _proof(verdict, profiles.rows[row[one]], float(depth[one]), _at(low, one), _at(high, one),
               float(catch_low[one]), float(catch_high[one]), (float(least[one]), float(most[one])), float(steer[one]))
        for one, verdict in enumerate(verdicts)
    ]  # fmt: skip


def _outer_end(profiles: Profiles, row: Ints, low: _Misses, high: _Misses) -> tuple[Floats, Floats]:
    """(n,) float each, mm: how high above its line the outer end may at most and must at least be held.

    nan where nothing is to be minded there, infinite where the outer end does not decide it.
    """
    length, thickness, rise = profiles.length[row], profiles.thickness[row], profiles.lead_rise[row]
    wide = np.array([profiles.rows[number].wide for number in row], dtype=bool)
    found = []
    for misses, side in ((low, -1.0), (high, 1.0)):
        slope = misses.begins
        with np.errstate(all="ignore"):
            cosine = 1 / np.sqrt(1 + slope * slope)
            corner = misses.aim + side * rise / cosine
            if side > 0:
                corner = corner - np.where(wide, thickness * cosine, thickness / cosine)
            middle = corner - length * slope * cosine + thickness / 2 * cosine
            found.append(np.where(np.isinf(slope), np.inf, middle - profiles.line[row]))
    return found[0], found[1]


def _steer(
    profiles: Profiles, row: Ints, place: Ints, margin: Floats, limits: tuple[Floats, Floats]
) -> Floats:
    """(n,) float, mm: least distance off line of the outer end with which the nose can miss; inf where it cannot.

    Where a limit lies beyond the line, or the outer end does not decide, it is searched for.
    """
    missed = margin < -WELD
    off = np.stack([-limits[0], limits[1]])
    plain = np.where(np.isnan(off), np.inf, off)
    steer = np.where(missed, plain.min(axis=0), np.inf)
    astray = np.flatnonzero(missed & ((plain < 0) | np.isinf(off)).any(axis=0))
    if len(astray):
        steer[astray] = _searched(profiles, row[astray], place[astray])
    return steer


def _searched(profiles: Profiles, row: Ints, place: Ints) -> Floats:
    """The same between nothing, which it is most often, and as far off as a leaf that stands on end is long.

    By where the line between two margins crosses zero, and now and then by halves.
    """

    def margins(some: Ints, hand: Floats) -> Floats:
        low, high, room = _both_sides(profiles, row[some], place[some], hand)
        return np.where(room < -WELD, np.inf, np.minimum(low.margin, high.margin)) + WELD

    steer, every = np.zeros(len(row)), np.arange(len(row))
    at_least = margins(every, np.full(len(row), _LEAST))
    some = np.flatnonzero(at_least >= 0)
    good, bad = np.zeros(len(some)), 2 * (profiles.length[row[some]] + profiles.thickness[row[some]])
    at_good, at_bad, close = at_least[some], np.full(len(some), -np.inf), bad * _CLOSE
    for step in range(_STEPS):
        own = np.flatnonzero((bad - good > close) & (at_good > _EXACT) & (at_bad < -_EXACT))
        if not len(own):
            break
        with np.errstate(all="ignore"):
            line = good + at_good * (bad - good) / (at_good - at_bad)
        by_line = (line > good) & (line < bad) & (step % 3 != 2)
        new = np.where(by_line, line, (good + bad) / 2)[own]
        at = margins(some[own], new)
        meets = at >= 0
        good[own[meets]], at_good[own[meets]] = new[meets], at[meets]
        bad[own[~meets]], at_bad[own[~meets]] = new[~meets], at[~meets]
    steer[some] = np.where(at_bad < -_EXACT, good, bad)
    return steer


def _both_sides(
    profiles: Profiles, row: Ints, place: Ints, hand: Floats | None = None, *, poses: bool = False
) -> tuple[_Misses, _Misses, Floats]:
    """How openings may be missed below and above, and the room (n,) float mm that the openings before them leave.

    Parameters
    ----------
    hand : (n,) float, mm; how far off line it may hold the outer end; by default anywhere
    """
    if hand is not None and not np.isfinite(hand).any():
        hand = None
    wide = np.array([profiles.rows[number].wide for number in row], dtype=bool)
    thin, broad, count = np.flatnonzero(~wide), np.flatnonzero(wide), len(row)
    # The upper corner of wide leaves is the lower one of the leaf turned upside down, worked out beside the others.
    both = profiles.both_ways_up()
    row, place = np.append(row, row[broad] + len(profiles.rows)), np.append(place, place[broad])
    depth, held = both.x[row, place, 0], None if hand is None else np.append(hand, hand[broad])
    counts = both.holds[row] & (both.x[row, :, 0] < depth[:, None])
    stances = Stances(both, row, depth, counts, hand=held)
    inside, room = stances.best() if poses else stances.some()
    asked = np.append(np.arange(len(row)), thin)
    side = np.repeat([-1.0, 1.0], [len(row), len(thin)])
    aim = np.append(both.low[row, place, 0], both.high[row[thin], place[thin], 0])
    corners = LeadingCorners(stances.take(asked) if len(thin) else stances, side)
    opposite = np.full(len(asked), -1)
    opposite[thin], opposite[len(row) :] = np.arange(len(row), len(asked)), thin
    misses = _misses(corners, inside[asked], room[asked], aim, opposite, poses=poses)
    high = _Misses(*np.full((6, count), np.nan))
    high.put(broad, misses.take(np.arange(count, len(row))).turned())
    high.put(thin, misses.take(np.arange(len(row), len(asked))))
    # A wide leaf needs room with either leading corner at the opening.
    least = room[:count].copy()
    least[broad] = np.minimum(least[broad], room[count:])
    return misses.take(np.arange(count)), high, least


def _verdicts(room: Floats, margin: Floats) -> list[Verdict]:
    best: list[Verdict] = ["guides-itself" if one >= -WELD else "needs-steering" for one in margin]
    return ["does-not-pass" if space < -WELD else one for space, one in zip(room, best, strict=True)]


def _misses(
    corners: LeadingCorners, inside: Floats, room: Floats, aim: Floats, opposite: Ints, *, poses: bool
) -> _Misses:
    """How leading corners may come past `aim`, (n,) float mm, from slopes `inside` at which there is `room`, mm.

    A nose that is too low comes from an outer end held too high: the least such height is that of the steepest slope
    at which the nose can be as low as that. Where nothing limits the nose, a pose that plainly misses stands for the
    worst. Without `poses` only reach and margin are worked out.
    """
    side, catches = corners.side, np.isfinite(aim)
    last, spare = corners.stances.last(inside, side, room), None
    if not poses:
        there = corners.farthest(np.where(np.isfinite(last), last, 0.0))[0]
        spare = np.where(catches, side * (np.where(catches, aim, 0.0) - there), np.inf)
    extreme, between = straying(corners, inside, room, last, opposite, spare)
    farthest = corners.farthest(np.where(np.isfinite(extreme), extreme, 0.0))[0]
    held = np.isfinite(extreme) & np.isfinite(farthest)
    reach = np.where(held, farthest, side * np.inf)
    margin = np.where(catches, side * (np.where(catches, aim, 0.0) - reach), np.inf)
    slope, at = np.where(held, extreme, inside), np.where(held, reach, 0.0)
    begins = np.full(len(aim), np.nan)
    if not poses:
        return _Misses(reach, margin, slope, at, aim, begins)
    free = np.flatnonzero(catches & ~held)
    at[free] = (aim + side * _MISS * corners.stances.thickness)[free]
    missed = np.flatnonzero(margin < -WELD)
    asked = np.concatenate([missed, free])
    if len(asked):
        own = corners.take(asked)
        start = np.append(inside[missed], np.clip(inside[free], -_FREE, _FREE))
        first, slope[free] = np.split(reaching(own, np.append(aim[missed], at[free]), start), [len(missed)])
        steep = own.farthest(own.side * _FREE)[0][: len(missed)]
        begins[missed] = np.where(held[missed] | np.isfinite(steep), first, np.inf)
        nearer = np.intersect1d(between, missed[held[missed]])
        if len(nearer):
            begins[nearer] = first_miss(corners.take(nearer), aim[nearer], inside[nearer], extreme[nearer])
    return _Misses(reach, margin, slope, at, aim, begins)


def _at(misses: _Misses, one: int) -> dict[str, float]:
    return {name: float(value[one]) for name, value in vars(misses).items()}


def _proof(
    verdict: Verdict, row: Row, depth: float, low: dict[str, float], high: dict[str, float],
    catch_low: float, catch_high: float, hand: tuple[float, float], steer: float,
) -> OpeningProof:  # fmt: skip
    if verdict == "does-not-pass":
        return OpeningProof(verdict, None, None, _or_none(catch_low), _or_none(catch_high))
    sloping = row.thickness * hypot(1.0, high["slope"])
    margin = min(low["margin"], high["margin"])
    steered = verdict == "needs-steering"
    return OpeningProof(
        verdict,
        _or_none(low["reach"]),
        _or_none(high["reach"] - sloping),
        _or_none(catch_low),
        _or_none(catch_high),
        _or_none(margin),
        _snag(row, depth, low, high) if steered else None,
        _hand(*hand) if steered else None,
        _or_none(high["reach"]),
        _or_none(steer),
    )


def _snag(row: Row, depth: float, low: dict[str, float], high: dict[str, float]) -> Pose:
    """The pose that misses by the most, on the worse side."""
    if low["margin"] <= high["margin"] + WELD:
        tilt = atan(low["slope"])
        return Pose(depth, low["height"] - row.lead.rise / cos(tilt), tilt)
    tilt = atan(high["slope"])
    top = high["height"] + row.lead.rise / cos(tilt)
    if row.wide:
        # The height is that of the upper corner, which is at the opening.
        return Pose(depth + row.thickness * sin(tilt), top - row.thickness * cos(tilt), tilt)
    return Pose(depth, top - row.thickness / cos(tilt), tilt)


def _hand(least: float, most: float) -> tuple[float | None, float | None] | None:
    """How far the outer end may be off its line; None where no height of it alone makes the nose meet the opening."""
    if isinf(least) or isinf(most) or least > most:
        return None
    return _or_none(least), _or_none(most)


def _or_none(value: float) -> float | None:
    return value if isfinite(value) else None
