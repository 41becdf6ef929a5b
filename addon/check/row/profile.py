"""A leaf and the row of openings on its way, seen from the side or from above: all that the proof looks at.

    z        ############          ############        wood above: the head of the opening, chamfered at both faces
    ^          ##########__________##########
    |         0          1        2          3         the opening's stations: entry face, land start, land end, exit
    |   +==============================+               face
    |   |  leaf             its nose > |
    |   +==============================+
    |          ##########----------##########          wood below: the sill
    |        ############          ############
    +-------+--------------------------------+-----> x, the travel
          face                              end

One plane, mm: x along the travel, z across it (up in the side view, to the leaf's left in the plan view). Wood lies
below the lower and above the upper edge of every opening. Between two stations an edge is straight, so that a leaf is
clear of it when it is clear of its stations and of where its own corners are.
"""

from __future__ import annotations

from dataclasses import dataclass, field, fields
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Floats
from ...sizes.tolerances import WELD

STATIONS: Final = 4
"""Places along an opening where its edges turn: entry face, start and end of the land, exit face."""

StationName = Literal["entry face", "land start", "land end", "exit face"]
STATION_NAMES: Final[tuple[StationName, ...]] = ("entry face", "land start", "land end", "exit face")


@dataclass(frozen=True)
class Chamfer:
    """A chamfer at an opening or on the leaf's leading end; zeros mean none.

    Parameters
    ----------
    run : along the travel, mm
    rise : across it, mm
    """

    run: float = 0.0
    rise: float = 0.0


SQUARE: Final = Chamfer()


@dataclass(frozen=True)
class RowOpening:
    """One opening of the row.

    Parameters
    ----------
    face : x of the entry face, mm
    board : thickness of the board that it is cut into, mm
    sill, head : its edges across the travel, mm; None where there is no wood on that side
    entry, exit : chamfers at its openings, on both edges
    label : of the part
    holds : whether it can be counted on to hold the leaf; another leaf need not be there
    window : whether it is an opening cut for the leaf, slot or window, rather than wood beside its way
    """

    face: float
    board: float
    sill: float | None
    head: float | None
    entry: Chamfer = SQUARE
    exit: Chamfer = SQUARE
    label: str = ""
    holds: bool = True
    window: bool = True

    @property
    def end(self) -> float:
        """x of the exit face, mm."""
        return self.face + self.board

    def edge_at(self, x: float, side: int) -> float | None:
        """Its lower (side -1) or upper edge at x between its faces, mm; None where it has no wood there."""
        land = self.sill if side < 0 else self.head
        if land is None or not self.face <= x <= self.end:
            return None
        rise = 0.0
        if x < self.face + self.entry.run:
            rise = self.entry.rise * (1 - (x - self.face) / self.entry.run)
        elif x > self.end - self.exit.run:
            rise = self.exit.rise * (1 - (self.end - x) / self.exit.run)
        return land + side * rise


def stations(opening: RowOpening) -> tuple[float, float, float, float]:
    """x of its four stations, mm."""
    return (
        opening.face,
        opening.face + opening.entry.run,
        opening.end - opening.exit.run,
        opening.end,
    )


@dataclass(frozen=True)
class Row:
    """A leaf and its openings.

    Parameters
    ----------
    length, thickness : of the leaf, mm; in the plan view its width stands for the thickness
    openings : in any order; the nose meets them in that of their entry faces
    travel : x at which the leading end stops, mm
    lead : chamfer of the leaf's leading end, on both edges
    level : lower edge of the leaf as drawn, mm; None: it lies on the first opening's lower edge
    wide : judge the upper leading corner where it meets an opening itself, which a leaf as wide as in the plan view
        does much later or earlier than the lower one; else where the lower one does
    hand : how far off line, either way, a hand holds the middle of the leaf's outer end, mm; None: however it is held
    """

    length: float
    thickness: float
    openings: tuple[RowOpening, ...]
    travel: float
    lead: Chamfer = SQUARE
    level: float | None = None
    wide: bool = False
    hand: float | None = None

    @property
    def first(self) -> float:
        """x of the first opening, into which the hand leads the leaf, mm."""
        return min(one.face for one in self.openings)

    @property
    def line(self) -> float:
        """Height of the middle of the leaf on its way, from which the hand measures, mm."""
        return self.rest + self.thickness / 2

    @property
    def rest(self) -> float:
        """Height of the leaf's lower edge on its way, mm."""
        if self.level is not None:
            return self.level
        sills = [(one.face, one.sill) for one in self.openings if one.sill is not None]
        return min(sills)[1] if sills else 0.0


@dataclass(frozen=True, eq=False)
class Profiles:
    """Rows as arrays, padded to the longest one.

    Attributes
    ----------
    x : (rows, openings, 4) float, mm; stations
    low, high : (rows, openings, 4) float, mm; edges there; -inf and +inf where there is no wood
    present : (rows, openings) bool; False for padding
    holds : (rows, openings) bool; see `RowOpening`
    length, thickness, travel, lead_run, lead_rise : (rows,) float, mm
    hand, line : (rows,) float, mm; see `Row`; an infinite hand where it may hold the leaf anyhow
    """

    x: Floats
    low: Floats
    high: Floats
    present: NDArray[np.bool_]
    holds: NDArray[np.bool_]
    length: Floats
    thickness: Floats
    travel: Floats
    lead_run: Floats
    lead_rise: Floats
    hand: Floats
    line: Floats
    rows: tuple[Row, ...] = field(default=(), repr=False)

    def both_ways_up(self) -> Profiles:
        """The rows, and after them the same leaves and openings upside down."""
        twice = {
            one.name: np.concatenate([value, value])
            for one in fields(self)
            if isinstance(value := getattr(self, one.name), np.ndarray)
        }
        heights = {
            "low": np.concatenate([self.low, -self.high]),
            "high": np.concatenate([self.high, -self.low]),
            "line": np.concatenate([self.line, -self.line]),
        }
        return Profiles(**{**twice, **heights}, rows=self.rows * 2)


def profiles(rows: tuple[Row, ...]) -> Profiles:
    """The stations of all openings of all rows."""
    most = max((len(row.openings) for row in rows), default=0)
    shape = (len(rows), most)
    values = np.zeros((8, *shape))
    values[2], values[3] = -np.inf, np.inf
    present, holds = np.zeros((2, *shape), dtype=bool)
    for number, row in enumerate(rows):
        count = len(row.openings)
        present[number, :count] = True
        holds[number, :count] = [one.holds for one in row.openings]
        values[:, number, :count] = np.array([_numbers(one) for one in row.openings]).T.reshape(8, count)
    face, board, sill, head, entry_run, entry_rise, exit_run, exit_rise = values
    return Profiles(
        np.stack([face, face + entry_run, face + board - exit_run, face + board], axis=-1),
        np.stack([sill - entry_rise, sill, sill, sill - exit_rise], axis=-1),
        np.stack([head + entry_rise, head, head, head + exit_rise], axis=-1),
        present,
        holds,
        np.array([row.length for row in rows]),
        np.array([row.thickness for row in rows]),
        np.array([row.travel for row in rows]),
        np.array([row.lead.run for row in rows]),
        np.array([row.lead.rise for row in rows]),
        np.array([np.inf if row.hand is None else row.hand for row in rows]),
        np.array([row.line for row in rows]),
        rows,
    )


def _numbers(opening: RowOpening) -> tuple[float, ...]:
    return (
        opening.face,
        opening.board,
        -np.inf if opening.sill is None else opening.sill,
        np.inf if opening.head is None else opening.head,
        opening.entry.run,
        opening.entry.rise,
        opening.exit.run,
        opening.exit.rise,
    )


def hidden(profiles: Profiles) -> NDArray[np.bool_]:
    """(rows, openings) bool: whether an opening lies behind the edges of other openings that reach to its face or past
    it, so that no nose meets it; boards that touch and edges that are flush, to the rounding, count."""
    return _covered(profiles.x, profiles.low) & _covered(profiles.x, -profiles.high)


def _covered(x: Floats, edge: Floats) -> NDArray[np.bool_]:
    """(rows, openings) bool: whether the outer ends of openings' wood below lie behind wood of others that is as high;
    those without wood do. Stations and edges there are (rows, openings, 4) float mm, -inf where there is no wood."""
    face, outer = x[:, :, None, 0], edge[:, :, None, 0]
    first, start, stop, last = np.moveaxis(x[:, None], 3, 0)
    entry, land, _, leave = np.moveaxis(edge[:, None], 3, 0)
    at = np.minimum(face, last)
    with np.errstate(all="ignore"):  # where a chamfer has no run, nothing is on it
        on_entry = (entry - land) * (1 - (at - first) / (start - first))
        on_exit = (leave - land) * (1 - (last - at) / (last - stop))
    height = land + np.where(at < start, on_entry, np.where(at > stop, on_exit, 0.0))
    around = (first < face) & (face <= last + WELD) & np.isfinite(land)
    return (around & (height >= outer - WELD)).any(axis=2) | np.isneginf(edge[:, :, 0])
