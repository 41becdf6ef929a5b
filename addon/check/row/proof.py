"""Does a leaf go through its row of openings, does it need steering, or does it guide itself?

                        room at every depth?    every opening catches the nose?
    does not pass              no                        -                        three edges hold it: the fit
    needs steering             yes                       no                       a pose that snags: the counterexample
    guides itself              yes                       yes

The depths that matter are those at which the leaf comes over another station, or leaves one: between two of them what
holds it stays the same, and only its own corners move.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from ...sizes.arrays import Floats, Ints
from ...sizes.tolerances import WELD
from .openings import OpeningProof, Pose, Verdict, prove_openings
from .profile import STATION_NAMES, STATIONS, Profiles, Row, StationName, profiles, stations
from .stances import Stances

_FIRST: Final = 12
"""How many of a row's tightest stances are looked at first: mostly the first of them is what is looked for."""

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
    openings : one an opening
    """

    row: Row
    verdict: Verdict
    fit_margin: float | None
    fit: Pose | None
    edges: tuple[Edge, ...]
    openings: tuple[OpeningProof, ...]

    @property
    def worst_opening(self) -> int | None:
        """Number of the opening that can be missed by the most, one that nothing guides before all others."""
        found = [
            (one.margin if one.margin is not None else -np.inf, number)
            for number, one in enumerate(self.openings)
            if one.verdict == "needs-steering"
        ]
        return min(found)[1] if found else None

    @property
    def steer(self) -> float | None:
        """Least distance off line of the outer end with which an opening can be missed, mm; None: with none."""
        return min((one.steer for one in self.openings if one.steer is not None), default=None)

    @property
    def counterexample(self) -> Pose | None:
        """The pose that misses the worst opening, where the leaf passes but needs steering."""
        worst = self.worst_opening
        return None if worst is None or self.verdict != "needs-steering" else self.openings[worst].snag


def prove(rows: Sequence[Row]) -> list[RowProof]:
    """The verdicts of many rows at once. Rows with the same numbers, as of mirrored leaves, are worked out once."""
    numbers: dict[tuple[int | None, ...], int] = {}
    own = [numbers.setdefault(_key(row), len(numbers)) for row in rows]
    different = tuple(rows[own.index(number)] for number in range(len(numbers)))
    if not different:
        return []
    arrays = profiles(different)
    fits, openings = _fits(arrays), prove_openings(arrays)
    return [_together(row, fits[number], openings[number]) for row, number in zip(rows, own, strict=True)]


def _key(row: Row) -> tuple[int | None, ...]:
    """All numbers of a row, to the last digit that means anything."""
    values = [
        row.length,
        row.thickness,
        row.travel,
        row.lead.run,
        row.lead.rise,
        row.level,
        row.wide,
        row.hand,
    ]
    for one in row.openings:
        values += [one.face, one.board, one.sill, one.head, one.holds]
        values += [one.entry.run, one.entry.rise, one.exit.run, one.exit.rise]
    return tuple(value if value is None else round(value / WELD) for value in values)


def _together(row: Row, fit: _Fit, openings: tuple[OpeningProof, ...]) -> RowProof:
    if fit.margin is not None and fit.margin < -WELD:
        verdict: Verdict = "does-not-pass"
    elif any(one.verdict == "does-not-pass" for one in openings):
        verdict = "does-not-pass"
    elif any(one.verdict == "needs-steering" for one in openings):
        verdict = "needs-steering"
    else:
        verdict = "guides-itself"
    return RowProof(row, verdict, fit.margin, fit.pose, fit.edges, openings)


@dataclass(frozen=True)
class _Fit:
    margin: float | None
    pose: Pose | None
    edges: tuple[Edge, ...]


def fit_events(row: Row) -> tuple[Floats, Floats]:
    """Where the leaf may be tightest: (n,) float mm, a depth, and (n, 2), the point of the leaf that is there.

    Between two depths at which a corner of the leaf comes to a station, every triple of edges that holds the leaf gets
    steadily tighter or wider, so the tightest depth is one of these; the corners of a tilted leaf come there one after
    the other.
    """
    places = np.unique([x for one in row.openings for x in stations(one)])
    t, run, rise = row.thickness, row.lead.run, row.lead.rise
    front = [(0.0, rise), (0.0, t - rise)] + ([(run, 0.0), (run, t)] if run > 0 else [])
    points = np.array([*front, (row.length, 0.0), (row.length, t)])
    depth, kind = np.repeat(places, len(points)), np.tile(np.arange(len(points)), len(places))
    point = points[kind]
    nose = depth + point[:, 0]
    kept = (nose >= row.first) & (nose <= row.travel)
    depth, point, nose = depth[kept], point[kept], nose[kept]
    order = np.argsort(nose, kind="stable")
    return np.append(depth[order], row.travel), np.append(point[order], [[0.0, 0.0]], axis=0)


def fit_stances(arrays: Profiles) -> tuple[Stances, Ints]:
    """All places where a leaf may be tightest, and the numbers of their rows, (n,) int."""
    events = [fit_events(row) for row in arrays.rows]
    row = np.repeat(np.arange(len(events)), [len(depth) for depth, _ in events])
    depth, point = (np.concatenate(own) for own in zip(*events, strict=True))
    return Stances(arrays, row, depth, point=point), row


def _fits(arrays: Profiles) -> list[_Fit]:
    """The tightest place of each row."""
    every, row = fit_stances(arrays)
    chosen, slope, room = _tightest(every, row, len(arrays.rows))
    if not len(chosen):
        return [_Fit(None, None, ())] * len(arrays.rows)
    stances = every.take(chosen)
    depth, bounds = stances.nose(slope), stances.bounds(slope)
    fits = {}
    for one, number in enumerate(row[chosen].tolist()):
        incline = float(slope[one])
        lean = arrays.thickness[number] * np.sin(np.arctan(incline))
        found = (bounds.low[one], bounds.low_x[one], bounds.high[one], bounds.high_x[one])
        edges = _edges(arrays.rows[number], lean, *found)
        at = max(edge.x + (lean if edge.side == "upper" else 0.0) for edge in edges)
        at = float(min(max(at, arrays.rows[number].first), depth[one]))
        height = float(bounds.low[one].max() + bounds.high[one].min()) / 2 + incline * at
        fits[number] = _Fit(float(room[one]) / 2, Pose(at, height, float(np.arctan(incline))), edges)
    return [fits.get(number, _Fit(None, None, ())) for number in range(len(arrays.rows))]


def _tightest(stances: Stances, row: Ints, rows: int) -> tuple[Ints, Floats, Floats]:
    """The first stance of each row with the least room, the slope that gives it the most, and that room, mm.

    (k,) each; rows without wood on both sides have none. A level leaf has no more room than one at its best slope: what
    has just the least level room is the tightest place, and the others need not be looked at.
    """
    level = stances.gap(np.zeros(len(stances)))[0]
    least = np.full(rows, np.inf)
    np.minimum.at(least, row, level)
    held = np.isfinite(level)
    tightest = np.flatnonzero(held & (level <= least[row] + WELD))
    begins = np.searchsorted(row[tightest], np.arange(rows))
    asked = tightest[np.arange(len(tightest)) < begins[row[tightest]] + _FIRST]
    slope, room = stances.take(asked).best(row[asked])
    settled = np.zeros(rows, dtype=bool)
    settled[row[asked[room <= least[row[asked]] + WELD]]] = True
    if len(more := np.flatnonzero(held & ~settled[row])):
        kept = settled[row[asked]]
        others, rooms = stances.take(more).best(row[more])
        asked = np.concatenate([asked[kept], more])
        slope, room = np.concatenate([slope[kept], others]), np.concatenate([room[kept], rooms])
    least[:] = np.inf
    np.minimum.at(least, row[asked], room)
    chosen = np.flatnonzero(room <= least[row[asked]] + WELD)
    chosen = chosen[np.unique(row[asked[chosen]], return_index=True)[1]]
    return asked[chosen], slope[chosen], room[chosen]


def _edges(
    row: Row, lean: float, low: Floats, low_x: Floats, high: Floats, high_x: Floats
) -> tuple[Edge, ...]:
    """The edges that hold the leaf at its best slope, those that the nose reaches first where several sets do.

    Either an upper edge lies between two lower ones, or a lower one between two upper ones, or they face each other
    squarely. `lean` is t·sin(tilt), by which an upper edge faces a lower one farther along.
    """
    lower = np.unique(low_x[low >= low.max() - _SAME])
    upper = np.unique(high_x[high <= high.min() + _SAME]) + lean
    facing = np.abs(lower[:, None] - upper) < WELD
    sets: list[tuple[float, list[float], list[float]]] = [
        (float(x), [float(x)], [float(x)]) for x in lower[facing.any(axis=1)]
    ]
    for middle, around, swap in ((upper, lower, False), (lower, upper, True)):
        for x in middle.tolist():
            before, after = around[around < x], around[around > x]
            if len(before) and len(after):
                pair = [float(before[-1]), float(after[0])]
                sets.append((pair[1], [x], pair) if swap else (pair[1], pair, [x]))
    if not sets:
        sets = [(float(max(lower[0], upper[0])), [float(lower[0])], [float(upper[0])])]
    _, below, above = min(sets, key=lambda one: one[0])
    edges = [_edge(row, "lower", x) for x in below] + [_edge(row, "upper", x - lean) for x in above]
    return tuple(sorted(edges, key=lambda one: one.x))


def _edge(row: Row, side: Literal["lower", "upper"], x: float) -> Edge:
    """The station of the row that is at x, or the nearest one on that side where a corner of the leaf is there."""
    best: tuple[float, int, int] | None = None
    for number, opening in enumerate(row.openings):
        if (opening.sill if side == "lower" else opening.head) is None:
            continue
        for station, place in enumerate(stations(opening)):
            # The land's ends stand for an opening that has no chamfer.
            away = (abs(place - x), number, station if station in (1, 2) else station + STATIONS)
            best = away if best is None or away < best else best
    assert best is not None
    _, number, station = best
    station %= STATIONS
    opening = row.openings[number]
    chamfer = opening.entry if station == 0 else opening.exit
    rise = chamfer.rise if station in (0, 3) else 0.0
    edge = (opening.sill or 0.0) - rise if side == "lower" else (opening.head or 0.0) + rise
    return Edge(number, side, STATION_NAMES[station], stations(opening)[station], edge)
