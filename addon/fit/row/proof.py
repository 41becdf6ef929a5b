"""Does a leaf go through its row of openings, must it be steered, or does it find its way home by itself?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

import numpy as np

from ...model.tolerances import WELD
from .mouths import MouthProof, Pose, Verdict, prove_mouths
from .profile import STATION_NAMES, STATIONS, Profiles, Row, StationName, profiles
from .stances import Stances

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Ints = NDArray[np.intp]
    Bools = NDArray[np.bool_]

_SAME: Final = 1e-7
"""mm; edges that bound a pose within this of the tightest one hold it together with that."""


@dataclass(frozen=True)
class Edge:
    """One place that holds a leaf: a station of an opening, on its lower or its upper edge."""

    opening: int
    """Number in the row."""
    side: Literal["lower", "upper"]
    station: StationName
    x: float
    z: float


@dataclass(frozen=True)
class RowProof:
    """A leaf through its row.

    Parameters
    ----------
    fit_margin : half the smallest room on the way, mm, where the leaf is tilted as well as may be; negative: it does
        not pass; None where wood is nowhere on both sides
    fit : the pose there, in the middle of that room
    edges : the places that hold it there
    mouths : one an opening
    """

    row: Row
    verdict: Verdict
    fit_margin: float | None
    fit: Pose | None
    edges: tuple[Edge, ...]
    mouths: tuple[MouthProof, ...]

    @property
    def worst_mouth(self) -> int | None:
        """Number of the mouth that can be missed by the most, one that nothing guides before all others."""
        found = [
            (one.margin if one.margin is not None else -np.inf, number)
            for number, one in enumerate(self.mouths)
            if one.verdict == "needs-steering"
        ]
        return min(found)[1] if found else None

    @property
    def counterexample(self) -> Pose | None:
        """The pose that misses the worst mouth, where the leaf passes but must be steered."""
        worst = self.worst_mouth
        return None if worst is None or self.verdict != "needs-steering" else self.mouths[worst].snag


def prove(rows: Sequence[Row]) -> list[RowProof]:
    """The verdicts of many rows at once."""
    if not rows:
        return []
    arrays = profiles(tuple(rows))
    fits = _fits(arrays)
    mouths = prove_mouths(arrays)
    return [_together(row, fit, own) for row, fit, own in zip(rows, fits, mouths, strict=True)]


def _together(row: Row, fit: _Fit, mouths: tuple[MouthProof, ...]) -> RowProof:
    if fit.margin is not None and fit.margin < -WELD:
        verdict: Verdict = "does-not-pass"
    elif any(one.verdict == "does-not-pass" for one in mouths):
        verdict = "does-not-pass"
    elif any(one.verdict == "needs-steering" for one in mouths):
        verdict = "needs-steering"
    else:
        verdict = "guides-itself"
    return RowProof(row, verdict, fit.margin, fit.pose, fit.edges, mouths)


@dataclass(frozen=True)
class _Fit:
    margin: float | None
    pose: Pose | None
    edges: tuple[Edge, ...]


def fit_depths(row: Row) -> Floats:
    """(n,) float, mm; depths of the nose at which the leaf may be tightest.

    Between two depths at which a station comes under the nose or leaves the rear, every triple of edges that holds
    the leaf gets steadily tighter or wider, so the tightest depth is one of these. A nose farther in with the rear
    past no further station is only tighter; of the depths with the same stations at the rear the last few will do. A
    raised nose brings its upper corner to a station a little later than the lower one: hence depths between.
    """
    stations = np.unique([x for one in row.openings for x in _stations(one)])
    begin = row.openings[0].face
    events = np.concatenate([stations, stations + row.length, [row.travel]])
    events = np.unique(events[(events >= begin) & (events <= row.travel)])
    events = np.unique(np.concatenate([events, (events[1:] + events[:-1]) / 2]))
    behind = np.searchsorted(stations, events - row.length, side="left")
    ends = np.flatnonzero(np.append(behind[1:] != behind[:-1], True))
    return events[np.unique(np.concatenate([ends, ends - 1, ends - 2]).clip(0))]


def _stations(opening) -> tuple[float, ...]:  # noqa: ANN001
    return (
        opening.face,
        opening.face + opening.entry.run,
        opening.end - opening.exit.run,
        opening.end,
    )


def _fits(arrays: Profiles) -> list[_Fit]:
    """The tightest place of each row."""
    depths = [fit_depths(row) for row in arrays.rows]
    row = np.repeat(np.arange(len(depths)), [len(own) for own in depths])
    depth = np.concatenate(depths)
    stances = Stances(arrays, row, depth)
    slope, room = stances.best()
    bounds = stances.bounds(slope)
    fits = []
    for number in range(len(depths)):
        own = np.flatnonzero((row == number) & np.isfinite(room))
        if not len(own):
            fits.append(_Fit(None, None, ()))
            continue
        place = int(own[room[own] <= room[own].min() + WELD][0])
        edges = _edges(
            arrays.rows[number],
            float(slope[place]),
            *(one[place] for one in (bounds.low, bounds.low_x, bounds.high, bounds.high_x)),
        )
        low, high = float(bounds.low[place].max()), float(bounds.high[place].min())
        at = min(max((one.x for one in edges), default=float(depth[place])), float(depth[place]))
        at = max(at, arrays.rows[number].openings[0].face)
        height = (low + high) / 2 + float(slope[place]) * at
        fits.append(_Fit(float(room[place]) / 2, Pose(at, height, float(np.arctan(slope[place]))), edges))
    return fits


def _edges(
    row: Row, slope: float, low: Floats, low_x: Floats, high: Floats, high_x: Floats
) -> tuple[Edge, ...]:
    """The edges that hold the leaf at its best slope: of each side those farthest apart, at most three together."""
    found = {}
    for side, bound, places, sign in (("lower", low, low_x, 1.0), ("upper", high, high_x, -1.0)):
        tight = np.flatnonzero(sign * bound >= (sign * bound).max() - _SAME)
        found[side] = sorted((float(places[one]), float(bound[one])) for one in tight)
    lower, upper = (
        [ends[0]] if ends[0][0] == ends[-1][0] else [ends[0], ends[-1]] for ends in found.values()
    )
    if len(lower) == 2 and len(upper) == 2:
        # Four at once: three of them hold it as well; those around the middle one of the other side.
        upper = [one for one in upper if lower[0][0] <= one[0] <= lower[1][0]][:1] or upper
        lower = lower if len(upper) == 1 else lower[:1]
    edges = [_edge(row, "lower", x) for x, _ in lower] + [_edge(row, "upper", x) for x, _ in upper]
    return tuple(sorted(edges, key=lambda one: one.x))


def _edge(row: Row, side: Literal["lower", "upper"], x: float) -> Edge:
    """The station of the row that is at x, or the nearest one on that side where a corner of the leaf is there."""
    best: tuple[float, int, int] | None = None
    for number, opening in enumerate(row.openings):
        if (opening.bottom if side == "lower" else opening.top) is None:
            continue
        for station, place in enumerate(_stations(opening)):
            # The land's ends stand for a mouth that has no chamfer.
            away = (abs(place - x), number, station if station in (1, 2) else station + STATIONS)
            best = away if best is None or away < best else best
    assert best is not None
    _, number, station = best
    station %= STATIONS
    opening = row.openings[number]
    chamfer = opening.entry if station == 0 else opening.exit
    rise = chamfer.rise if station in (0, 3) else 0.0
    edge = (opening.bottom or 0.0) - rise if side == "lower" else (opening.top or 0.0) + rise
    return Edge(number, side, STATION_NAMES[station], _stations(opening)[station], edge)
